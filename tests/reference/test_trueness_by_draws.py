"""Surface and launcher told apart, against the same model worked by brute force with draws.

The reference knows nothing of grids or moments: it draws jitter, level and every place's log T
from the stated priors and weighs the draws by the chi-square law of the rolls.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

import numpy as np
import pytest
from scipy.stats import chi2
from scipy.stats import t as student

from greenwright.measure.trueness_jitter import told_apart
from greenwright.measure.trueness_sets import OffsetSet
from greenwright.measure.trueness_speed import SpeedBeside

SPEED, C = 3.0, 0.2387  # m, m
LEVEL, LEVEL_SD = -13.122363, 1.0  # prior of log T, as in the evidence table
SCATTER = math.sqrt(0.3375)  # sqrt(0.35^2 + 2 * 0.25^2 + 0.3^2), as in the evidence table
JITTER, JITTER_SD = math.log(0.003), math.log(0.012 / 0.00075) / (2 * 1.6449)
DRAWS = 400_000


@dataclass(frozen=True)
class Rolls:
    """One set: length [m], sd of the ends [m], degrees of freedom."""

    length: float
    sd: float
    freedom: int


CASES = {
    "two lengths": [
        [Rolls(1.5, 0.013, 7), Rolls(4.5, 0.024, 7)],
        [Rolls(1.5, 0.009, 7), Rolls(4.5, 0.021, 7)],
        [Rolls(1.5, 0.017, 7), Rolls(4.5, 0.037, 7)],
    ],
    "one length": [[Rolls(3.0, 0.016, 9)], [Rolls(3.0, 0.022, 9)], [Rolls(3.0, 0.012, 9)]],
    "few rolls": [[Rolls(1.5, 0.012, 1), Rolls(3.0, 0.02, 2)], [Rolls(3.0, 0.016, 1)]],
    "one place": [[Rolls(1.5, 0.012, 20), Rolls(4.5, 0.024, 20)]],
}


def as_set(one: Rolls) -> OffsetSet:
    return OffsetSet(
        date=date(2026, 6, 1),
        green="1",
        station="",
        part="",
        launcher="ramp",
        length_m=one.length,
        squares_m2=one.freedom * one.sd**2,
        freedom=one.freedom,
        rounding_m2=0.0,
        rows=one.freedom + 1,
    )


def by_draws(places: list[list[Rolls]]) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and sd of each place's log T after the rolls."""
    rng = np.random.default_rng(1)
    jitter = np.exp(JITTER + JITTER_SD * student.rvs(4, size=DRAWS, random_state=rng))
    level = LEVEL + LEVEL_SD * rng.standard_normal(DRAWS)
    log_t = level[:, None] + SCATTER * rng.standard_normal((DRAWS, len(places)))
    weight = np.zeros(DRAWS)
    for i, sets in enumerate(places):
        walk = np.exp(log_t[:, i]) / (4 * (C / SPEED) ** 2)
        for one in sets:
            variance = (jitter * one.length) ** 2 + walk * one.length
            squares = one.freedom * one.sd**2
            weight += chi2.logpdf(squares / variance, one.freedom) - np.log(variance)
    weight = np.exp(weight - weight.max())
    weight /= weight.sum()
    assert 1 / np.sum(weight**2) > 2_000  # enough draws count
    mean = weight @ log_t
    return mean, np.sqrt(weight @ (log_t - mean) ** 2)


def by_grids(places: list[list[Rolls]]) -> tuple[np.ndarray, np.ndarray]:
    """Return the same from the normal likelihoods and the shared shift, by plain algebra."""
    beside = [SpeedBeside(math.log(SPEED), 1e-4, "read")] * len(places)
    says = told_apart([[as_set(s) for s in sets] for sets in places], beside)
    seen = np.array([p.log_t for p in says.places])
    noise = np.diag([p.variance for p in says.places]) + says.shift_sd**2
    n = len(places)
    prior = LEVEL_SD**2 * np.ones((n, n)) + SCATTER**2 * np.eye(n)
    gain = prior @ np.linalg.inv(prior + noise)
    cov = prior - gain @ prior
    return LEVEL + gain @ (seen - LEVEL), np.sqrt(np.diag(cov))


@pytest.mark.parametrize("case", list(CASES))
def test_the_grids_agree_with_the_draws(case: str) -> None:
    mean, sd = by_draws(CASES[case])
    got_mean, got_sd = by_grids(CASES[case])
    # a normal stands in for a curve with a longer lower tail: a fifth of the sd is borne
    assert np.abs(got_mean - mean) == pytest.approx(np.zeros(len(mean)), abs=0.2 * sd.max())
    assert got_sd == pytest.approx(sd, rel=0.2)
