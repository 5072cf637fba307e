"""An invented course's remarks with known truth; shares no code with the estimators."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from greenwright.golfers.tally import DayOfPlay

FIRST = date(2025, 1, 1)
BASE = 1 / 200


def wandering(rng: np.random.Generator, n: int, sd: float, memory_d: float) -> np.ndarray:
    keep, path = np.exp(-1 / memory_d), np.empty(n)
    path[0] = sd * rng.standard_normal()
    for t in range(1, n):
        path[t] = keep * path[t - 1] + sd * np.sqrt(1 - keep**2) * rng.standard_normal()
    return path


def remark_days(
    seed: int, *, n: int = 300, slope: float = 1.0, zeros: bool = True, base: float = BASE
) -> list[DayOfPlay]:
    """Days whose complaints follow the surface (slope 1: double a point) or not (slope 0).

    Complaints: gamma-mixed, in spells of eight days. Praise has nothing to do with anything.
    Without zeros, a day on which nothing is said leaves no row.
    """
    rng = np.random.default_rng(seed)
    score = np.clip(7 + wandering(rng, n, 0.9, 15), 2, 10)
    rounds = np.round(60 * rng.gamma(20, 1 / 20, n))
    worse = slope * np.log(2) * (8 - score) if slope else np.full(n, np.log(2))
    mean = rounds * base * np.exp(worse + wandering(rng, n, 0.5, 8) - 0.125)
    said = rng.poisson(mean * rng.gamma(1.5, 1 / 1.5, n))
    topics = rng.multinomial(said, [0.5, 0.3, 0.2])
    praise = rng.poisson(0.003 * rounds)
    days = []
    for t in range(n):
        named = dict(zip(("bumpy", "slow", "other"), topics[t].tolist(), strict=True))
        counts = {k: v for k, v in {**named, "praise": int(praise[t])}.items() if v or zeros}
        day = FIRST + timedelta(days=t)
        days.append(DayOfPlay(day, float(rounds[t]), float(score[t]), 0.2, counts or None))
    return days


def true_rate(score: float, slope: float) -> float:
    return BASE * 2 ** (8 - score) if slope else BASE * 2
