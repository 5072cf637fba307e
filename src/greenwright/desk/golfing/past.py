"""The eye's score of past days: what was written down about them, and what lies between.

A small Gaussian process on the course's daily means, with the spread and the memory that the
day's surface was fitted with; an observer's own leaning is taken off first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from greenwright.base.evidence import value
from greenwright.base.values import Reading, Snapshot
from greenwright.measure import Surface

Floats = NDArray[np.float64]

KINDS = ("roll_score", "smoothness_score")
"""Kinds of reading that are scores of the eye."""

_LEVEL = "measure.smoothness.level"
_LEVEL_SD = "measure.smoothness.level_sd"
_NOISE = "measure.smoothness.noise_sd"
_OBSERVER = "measure.smoothness.observer_sd"

Score = tuple[float | None, float]


def past_scores(record: Snapshot, smoothness: Surface | None, days: Sequence[date]) -> list[Score]:
    """Return the course's score of each day and how unsure it is; None where none was ever read.

    Args:
        record: whose readings of the eye are used.
        smoothness: of the day asked about: its observers, spread and memory.
        days: in order.

    Valid for: courses whose greens are scored without favour; a mean of the greens scored that
    day stands for the course.
    """
    told = _daily(record.readings, smoothness)
    if smoothness is None or not told:
        return [(None, 0.0)] * len(days)
    when = np.array([day.toordinal() for day in told], dtype=float)
    means, noise = np.array(list(told.values())).T
    wanted = np.array([day.toordinal() for day in days], dtype=float)
    level, sd = value(_LEVEL), value(_LEVEL_SD)
    inside = sd**2 + _process(when, when, smoothness) + np.diag(noise)
    across = sd**2 + _process(wanted, when, smoothness)
    solved = np.linalg.solve(inside, across.T)
    mean = level + solved.T @ (means - level)
    whole = sd**2 + smoothness.day_sd**2 + smoothness.slow_sd**2
    left = np.clip(whole - (across * solved.T).sum(axis=1), 1e-6, None)
    low, high = 0.0, 10.0
    return [
        (float(np.clip(m, low, high)), float(s)) for m, s in zip(mean, np.sqrt(left), strict=True)
    ]


def _process(left: Floats, right: Floats, one: Surface) -> Floats:
    gap = np.abs(left[:, None] - right[None, :])
    quick = one.day_sd**2 * np.exp(-gap / one.correlation_days)
    return quick + one.slow_sd**2 * np.exp(-gap / one.slow_days)


def _daily(
    readings: Sequence[Reading], smoothness: Surface | None
) -> dict[date, tuple[float, float]]:
    """Return by day the mean score, leanings taken off, and the variance of its error."""
    leaning = {} if smoothness is None else {o.observer: o.shift for o in smoothness.observers}
    days: dict[date, list[tuple[float, str]]] = defaultdict(list)
    for row in readings:
        if row.kind in KINDS:
            shift = leaning[row.observer].value if row.observer in leaning else 0.0
            days[row.date].append((row.value - shift, row.observer))
    noise, unknown = value(_NOISE), value(_OBSERVER)
    made = {}
    for day in sorted(days):
        scores = [score for score, _ in days[day]]
        unsure = {who: leaning[who].sd if who in leaning else unknown for _, who in days[day]}
        shared = sum(sd**2 for sd in unsure.values()) / len(unsure) ** 2
        made[day] = (sum(scores) / len(scores), noise**2 / len(scores) + shared)
    return made
