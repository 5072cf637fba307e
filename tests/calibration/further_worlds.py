"""Invented courses on which a second practice follows the look of the greens beside rolling.

``python -m tests.calibration.further_worlds 4`` plays some of each kind.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from greenwright import simulate
from greenwright.respond.learning import learn
from greenwright.simulate.practices import RESPONSES, Response
from greenwright.stats.dynamic import effects
from tests.calibration.learned_world import TODAY, TRUE_ROLL, record_of

TRUE_GROOM = 0.08
"""Gain of grooming on its morning [m], put in for these worlds; half of it is gone in 0.8 days."""
MANAGERS = {
    "coin": simulate.Manager.coin_flip(),
    "need": simulate.Manager.coin_flip().driven(1.0),
    "group": simulate.Manager(),
}
"""Who decides on rolling; grooming goes green by green."""


@dataclass(frozen=True)
class Further:
    """What one world said: mean and sd [m] of readings alone, and with the decisions."""

    acts: tuple[str, ...]
    alone: tuple[float, float]
    decided: tuple[float, float]
    roll: tuple[float, float]


def played(seed: int, kind: str, *, need: float, days: int = 300, greens: int = 12) -> Further:
    """Play a course that is groomed by need of a given strength, and learn its green speed."""
    manager = replace(MANAGERS[kind], sham="groom", sham_lean=-1.0, sham_need=need)
    gain = Response("groom", "green_speed", TRUE_GROOM, 0.8)
    world = simulate.World(greens=greens, days=days, manager=manager, responses=(*RESPONSES, gain))
    record = record_of(simulate.course(seed, today=TODAY, world=world))
    one = learn(record, seed=1, quantities=["green_speed"]).outcomes["green_speed", ""]
    return Further(
        acts=tuple(c.act for c in one.also),
        alone=effects(one.plain).at("groom"),
        decided=effects(one.fit).at("groom"),
        roll=effects(one.fit).at("roll"),
    )


def told(kind: str, made: Sequence[Further]) -> str:
    """Say on one line how large the effects came out, as shares of the truth."""
    parts = []
    for name, truth in (("alone", TRUE_GROOM), ("decided", TRUE_GROOM), ("roll", TRUE_ROLL)):
        mean, sd = np.array([getattr(w, name) for w in made]).T
        holds = np.mean(np.abs(mean - truth) < 1.96 * sd)
        parts.append(f"{name} {mean.mean() / truth:.2f} (holds {holds:.2f})")
    return f"{kind}, {len(made)} worlds: {', '.join(parts)}"


if __name__ == "__main__":
    seeds = range(1, 1 + int(sys.argv[1] if len(sys.argv) > 1 else 4))
    for driven, strength in (("coin", 0.0), ("coin", 1.0), ("need", 1.0), ("group", 1.0)):
        worlds = [played(seed, driven, need=strength) for seed in seeds]
        print(told(f"rolled by {driven}, groomed by need {strength:g}", worlds), flush=True)
