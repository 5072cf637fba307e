"""Further acts whose choice is modelled beside the foremost: which, and whether the look led it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from greenwright.respond.learning.worked import Worked
from greenwright.stats.dynamic import Decisions, DynamicFit, effects, levels
from greenwright.stats.dynamic.model import Floats

ALSO = ("double_cut", "brush", "groom")
"""Acts done before play whose decisions are modelled beside, where they were taken often."""
FEWEST_ALSO, MOST_ALSO = 30, 2
"""Days with and days without such an act that are needed, and how many acts are taken at most."""
LED_FROM = 0.7
"""Standard scores from which a choice is modelled: the glance is dim, as readings alone credit such
work with too little and so take its mornings for better than they were; to model costs time
alone."""
_LOOKED_AT = 600


def also_modelled(work: Worked, *, acts: Collection[str]) -> tuple[str, ...]:
    """Return further acts whose decisions are worth modelling, those done most often first.

    Args:
        work: the record's work.
        acts: those that the model has a term for.
    """
    often = {}
    for act in ALSO:
        done = (work.doses[act] > 0) if act in acts else np.zeros((1, 0), dtype=bool)
        days, left = int(done.any(axis=0).sum()), int((~done).any(axis=0).sum())
        if min(days, left) >= FEWEST_ALSO:
            often[act] = days
    return tuple(sorted(often, key=lambda act: -often[act])[:MOST_ALSO])


def led_by_look(fit: DynamicFit, act: str, decisions: Decisions) -> float:
    """Return how clearly an act was done where the level before it was low [standard scores].

    A quick look at some decisions, spread evenly, before they are modelled at length; what else
    pushed them is taken away. The levels are those of the readings alone.

    Args:
        fit: of the readings.
        act: a term of it.
        decisions: on it.
    """
    count = len(decisions.done)
    some = np.unique(np.linspace(0, count - 1, min(count, _LOOKED_AT)).astype(int))
    unit, day = decisions.unit[some], decisions.day[some]
    best = replace(fit, at=fit.at[:1], weights=np.ones(1))
    dose = next(t.dose for t in fit.layout.model.terms if t.name == act)
    level = levels(best, unit, day).mean - effects(best).at(act)[0] * np.minimum(dose[unit, day], 1)
    features, share = decisions.features[some], decisions.share[some]
    done, look = (_without(values, features) for values in (decisions.done[some], level))
    weight = float(share.mean())
    spread = float(np.sqrt((done**2).mean() * (look**2).mean()))
    correlation = float((done * look).mean() / spread) if spread > 0 else 0.0
    free = max(len(some) * weight - features.shape[1], 1.0)
    return -correlation * float(np.sqrt(free / max(1 - correlation**2, 1e-9)))


def _without(values: Floats, features: Floats) -> Floats:
    return values - features @ np.linalg.lstsq(features, values, rcond=None)[0]
