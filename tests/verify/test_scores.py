"""The score of a forecast against its definition, draws, and published closed values."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import lognorm, norm

from greenwright.verify.scores import crps, crps_log_normal, crps_normal

CASES = [(0.0, 0.0, 1.0), (1.3, 0.2, 0.7), (-4.0, 1.0, 2.0), (2.9, 2.84, 0.12), (9.0, 7.3, 0.4)]


def by_integral(value: float, cdf) -> float:
    """Return the definition: the squared gap between forecast and step, over all thresholds."""
    below = quad(lambda x: cdf(x) ** 2, -60, value, limit=400)[0]
    above = quad(lambda x: (1 - cdf(x)) ** 2, value, 60, limit=400)[0]
    return below + above


@pytest.mark.parametrize(("value", "mean", "sd"), CASES)
def test_the_normal_score_is_its_integral(value: float, mean: float, sd: float) -> None:
    wanted = by_integral(value, norm(mean, sd).cdf)
    assert crps_normal(value, mean, sd) == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize(("value", "mean", "sd"), [(0.2, 0.0, 0.5), (2.0, 1.7, 0.3), (-1, 0.4, 1)])
def test_the_log_normal_score_is_its_integral(value: float, mean: float, sd: float) -> None:
    wanted = by_integral(np.exp(value), lognorm(s=sd, scale=np.exp(mean)).cdf)
    assert crps_log_normal(value, mean, sd) == pytest.approx(wanted, rel=1e-5)


def test_the_score_at_the_centre_is_the_published_one() -> None:
    # (sqrt(2) - 1) / sqrt(pi) for a standard normal hit in the middle, by hand from the closed
    # form of Journal of the American Statistical Association 102 (2007)
    assert crps_normal(0.0, 0.0, 1.0) == pytest.approx((np.sqrt(2) - 1) / np.sqrt(np.pi), rel=1e-12)


def test_draws_of_the_forecast_have_the_same_fair_score() -> None:
    # Fair: the mean gap between two draws counts pairs of different draws only.
    draws = np.sort(np.random.default_rng(4).normal(2.8, 0.2, 40_000))
    n = len(draws)
    between = 2 * np.sum(draws * (2 * np.arange(1, n + 1) - n - 1)) / (n * (n - 1))
    fair = np.abs(draws - 3.1).mean() - between / 2
    assert crps_normal(3.1, 2.8, 0.2) == pytest.approx(fair, abs=0.002)


def test_an_honest_spread_scores_best_in_the_long_run() -> None:
    came = np.random.default_rng(1).normal(0.0, 1.0, 20_000)
    scores = {sd: crps_normal(came, 0.0, sd).mean() for sd in (0.5, 0.8, 1.0, 1.25, 2.0)}
    assert min(scores, key=scores.get) == 1.0
    # of an honest normal: sd / sqrt(pi), by hand from its two parts
    assert scores[1.0] == pytest.approx(1 / np.sqrt(np.pi), abs=0.01)


def test_a_narrow_log_normal_is_a_normal() -> None:
    # by hand: exp is nearly straight over so short a way
    near = crps_normal(np.exp(0.001), 1.0, 0.002)
    assert crps_log_normal(0.001, 0.0, 0.002) == pytest.approx(near, rel=0.01)


def test_which_score_is_taken_is_said_by_log() -> None:
    one = np.array([0.3]), np.array([0.1]), np.array([0.2])
    assert crps(*one, log=False) == crps_normal(*one)
    assert crps(*one, log=True) == crps_log_normal(*one)


@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(0.01, 5))
def test_a_score_is_never_negative_and_never_more_than_the_miss(
    value: float, mean: float, sd: float
) -> None:
    score = crps_normal(value, mean, sd)
    # The gap between two draws is taken off the mean gap to what came.
    assert 0 <= score <= abs(value - mean) + sd
    assert crps_log_normal(value / 5, mean / 5, sd / 5) >= 0
