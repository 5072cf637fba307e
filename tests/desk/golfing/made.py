"""Small made-up surfaces, comparisons and records for the parts of the question golfers."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import numpy as np

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.values import Course, Feedback, Green, Reading, Rounds, Snapshot, Station
from greenwright.measure.belief import lognormal_estimate

DAY = date(2026, 6, 12)
GREENS = ("1", "2", "3")


def before(days: int) -> date:
    return DAY - timedelta(days=days)


def record(**more: Any) -> Snapshot:
    """Return a record of three greens in play."""
    greens = tuple(Green(green=g, order=i) for i, g in enumerate(GREENS, 1))
    course = Course(course="heron", name="Heron Fen")
    return Snapshot(course=course, as_of=DAY, **{"greens": greens, **more})


def surface(quantity: str, course: Estimate, per_green: tuple[Estimate, ...] = ()) -> Any:
    """Return what stands for a surface: its estimates, memory and observers."""
    return SimpleNamespace(
        quantity=quantity,
        greens=GREENS,
        in_play=(True,) * len(GREENS),
        course=course,
        per_green=per_green or (course,) * len(GREENS),
        observers=(),
        day_sd=0.3,
        slow_sd=0.2,
        correlation_days=3.0,
        slow_days=30.0,
        last_read=(DAY,) * len(GREENS),
        method="",
        evidence=("measure.day_sd",),
    )


def speed(value: float = 3.0, sd: float = 0.05) -> Any:
    return surface("green_speed", normal_estimate(value, sd, "m", n=6))


def smoothness(value: float = 7.0, sd: float = 0.3) -> Any:
    return surface("smoothness", normal_estimate(value, sd, "score", n=6))


def trueness(value: float = 2e-6, log_sd: float = 0.4) -> Any:
    return surface(
        "trueness", lognormal_estimate(np.log(value), log_sd, "m", n=20, basis="readings")
    )


@dataclass
class Compared:
    """A stand-in for the comparisons of a quantity: known means and sds, normal draws."""

    quantity: str = "green_speed"
    unit: str = "m"
    means: tuple[float, ...] = (3.0, 3.1, 2.9)
    sd: float = 0.02
    steps: tuple[float, float] = (0.2, 0.1)
    greens: tuple[str, ...] = GREENS
    in_play: tuple[bool, ...] = (True, True, True)
    consistency: Any = None
    levels: Any = field(default=None)

    def __post_init__(self) -> None:
        playing = [m for m, p in zip(self.means, self.in_play, strict=True) if p]
        course = normal_estimate(sum(playing) / len(playing), self.sd, self.unit)
        self.levels = surface(self.quantity, course)
        self.levels.playing = np.array(self.in_play) / sum(self.in_play)
        self.yesterday, self.lately = (
            normal_estimate(step, self.sd, self.unit) for step in self.steps
        )
        self.against_others = tuple(normal_estimate(0.0, self.sd, self.unit) for _ in self.means)
        self.consistency = SimpleNamespace(
            sd=normal_estimate(0.1, 0.01, self.unit),
            range=normal_estimate(0.2, 0.02, self.unit),
            pair=normal_estimate(0.1, 0.02, self.unit),
        )

    def draws(self, n: int, seed: int) -> np.ndarray:
        rng = np.random.default_rng(seed)
        return np.array(self.means) + self.sd * rng.standard_normal((n, len(self.means)))

    def yesterday_draws(self, n: int, seed: int) -> np.ndarray:
        rng = np.random.default_rng(seed + 1)
        return self.steps[0] + self.sd * rng.standard_normal(n)

    def lately_draws(self, n: int, seed: int) -> np.ndarray:
        rng = np.random.default_rng(seed + 2)
        return self.steps[1] + self.sd * rng.standard_normal(n)


def scored(day: date, value: float, observer: str = "ana", green: str = "1") -> Reading:
    return Reading(
        date=day, green=green, kind="roll_score", value=value, unit="score", observer=observer
    )


def played(day: date, rounds: float) -> Rounds:
    return Rounds(date=day, rounds=rounds)


def said(day: date, topic: str, count: int, **more: Any) -> Feedback:
    return Feedback(date=day, topic=topic, count=count, **more)


def station(green: str, slope_pct: float | None) -> Station:
    return Station(green=green, station="C", slope_pct=slope_pct)
