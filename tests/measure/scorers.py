"""Invented observers who score six greens for a hundred days: steady, or one drifting."""

from __future__ import annotations

import numpy as np

from greenwright.base.values import Reading, Snapshot
from tests.measure.invented import day, reading, record

SCORERS = ("ash", "birch", "cedar")
GREENS = ("1", "2", "3", "4", "5", "6")
DAYS = 100


def walk(rng: np.random.Generator, width: int, sd: float, memory_d: float) -> np.ndarray:
    keep, path = np.exp(-1 / memory_d), np.empty((DAYS, width))
    path[0] = sd * rng.standard_normal(width)
    for t in range(1, DAYS):
        path[t] = keep * path[t - 1] + sd * np.sqrt(1 - keep**2) * rng.standard_normal(width)
    return path


def scored_season(
    seed: int, *, drift: float = 0.0, scatter: tuple[float, float, float] = (0.7, 0.7, 0.7)
) -> Snapshot:
    """Return a record in which cedar gives ``drift`` points more in the last 30 days.

    Every third day two of the three score each green, in half points; they differ by a lasting
    leniency (sd 0.7) and by how widely they scatter.
    """
    rng = np.random.default_rng([seed, 5])
    truth = 7.2 + 0.5 * rng.standard_normal(len(GREENS)) + walk(rng, 1, 0.5, 5.0)
    truth = truth + walk(rng, len(GREENS), 0.3, 3.0)
    bias, rows = 0.7 * rng.standard_normal(3), []
    for t in range(0, DAYS, 3):
        for who in rng.choice(3, size=2, replace=False):
            late = drift if who == 2 and t > DAYS - 1 - 30 else 0.0
            seen = truth[t] + bias[who] + late + scatter[who] * rng.standard_normal(len(GREENS))
            rows += _written(t, np.clip(np.round(2 * seen) / 2, 0, 10), SCORERS[who])
    return record(rows, greens=GREENS, on=day(DAYS - 1))


def _written(t: int, scores: np.ndarray, who: str) -> list[Reading]:
    return [
        reading("smoothness_score", float(value), date=day(t), green=green, observer=who)
        for green, value in zip(GREENS, scores, strict=True)
    ]
