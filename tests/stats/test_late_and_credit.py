"""Late periods of raters, weighted days, and who brought what: against dense algebra."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import approx_fprime
from scipy.stats import multivariate_normal

from greenwright.stats import HYPERS, PooledFit, credited, posterior, surprises
from greenwright.stats.hyper import at_points
from greenwright.stats.layout import Observations, lay_out
from greenwright.stats.marginal import condition, gradient
from tests.stats.test_pooling_dense import (
    HYPER,
    LEVEL,
    LEVEL_SD,
    PRIOR,
    dense_cov,
    dense_cross,
    fit_at,
    repeated,
    some_observations,
)

LATE_SD = 0.35


def with_late(n: int = 40) -> Observations:
    o = some_observations(n)
    chance = np.random.default_rng(9)
    late = ((o.day > 8) & (o.rater >= 0)).astype(float)
    return replace(o, late=late, late_sd=LATE_SD, noise=chance.uniform(0.2, 2, n))


def late_cov(o: Observations, h: dict[str, float]) -> np.ndarray:
    """Return the covariance with late changes and shares of noise, pair by pair."""
    cov = dense_cov(o, h)
    for i in range(len(o)):
        for j in range(len(o)):
            if o.rater[i] == o.rater[j] >= 0 and o.late[i] and o.late[j]:
                cov[i, j] += LATE_SD**2
        cov[i, i] += (o.noise[i] - 1) * h["noise_sd"] ** 2
    return cov


def test_likelihood_with_late_periods_and_shares_of_noise_equals_the_dense() -> None:
    o = with_late()
    at = condition(lay_out(o, level=LEVEL), HYPER, level_sd=LEVEL_SD)
    dense = multivariate_normal(np.full(len(o), LEVEL), late_cov(o, HYPER)).logpdf(o.value)
    assert at.log_likelihood == pytest.approx(dense, abs=1e-5)


@pytest.mark.parametrize("repeats", [False, True])
def test_its_gradient_equals_finite_differences(repeats: bool) -> None:
    o = with_late()
    if repeats:
        rows = np.repeat(np.arange(40), [1, 2, 1, 4] * 10)
        names = ("variance", "day", "unit", "rater", "scale", "spot", "noise", "late")
        value = o.value[rows] + 0.3 * np.random.default_rng(3).standard_normal(len(rows))
        o = replace(o, value=value, **{name: getattr(o, name)[rows] for name in names})
    layout = lay_out(o, level=LEVEL)

    def height(point: np.ndarray) -> float:
        hyper = dict(zip(HYPERS, np.exp(point), strict=True))
        return condition(layout, hyper, level_sd=LEVEL_SD).log_likelihood

    point = np.log([HYPER[name] for name in HYPERS])
    slopes = gradient(layout, condition(layout, HYPER, level_sd=LEVEL_SD))
    # reference: scipy's forward differences
    assert slopes == pytest.approx(approx_fprime(point, height, 1e-6), abs=5e-4)


def test_late_shifts_equal_dense_conditioning() -> None:
    o = with_late()
    seen, inverse = posterior(fit_at(o), [0.0]), np.linalg.inv(late_cov(o, HYPER))
    for r in range(3):
        mine, late = (o.rater == r).astype(float), (o.rater == r) * o.late
        change = LATE_SD**2 * late
        now = HYPER["rater_sd"] ** 2 * mine + change
        away = inverse @ (o.value - LEVEL)
        assert seen.late_mean[r] == pytest.approx(change @ away, abs=1e-6)
        assert seen.late_sd[r] ** 2 == pytest.approx(
            LATE_SD**2 - change @ inverse @ change, abs=1e-6
        )
        assert seen.rater_mean[r] == pytest.approx(now @ away, abs=1e-6)
        whole = HYPER["rater_sd"] ** 2 + LATE_SD**2
        assert seen.rater_sd[r] ** 2 == pytest.approx(whole - now @ inverse @ now, abs=1e-6)


def test_without_late_periods_there_are_no_late_shifts() -> None:
    seen = posterior(fit_at(some_observations()), [0.0])
    assert len(seen.late_mean) == len(seen.late_sd) == 0


def test_weighted_days_are_the_weighted_days() -> None:
    """By hand: mean and covariance of sums of a joint normal."""
    fit, days = fit_at(some_observations()), [14.0, 13.0, 7.0, 2.0]
    over = np.array([[1.0, 0, 0, 0], [0, 0.5, 0.25, 0.25]])
    each, means = posterior(fit, days), posterior(fit, days, over=over)
    assert means.mean == pytest.approx(over @ each.mean, abs=1e-9)
    expected = np.einsum("qd,duev,re->qurv", over, each.cov, over)
    assert means.cov == pytest.approx(expected, abs=1e-9)


def some_fit(o: Observations) -> PooledFit:
    layout = lay_out(o, level=PRIOR.level)
    return PooledFit(layout, PRIOR, at_points(layout, PRIOR, PRIOR.centre[None, :]))


@pytest.mark.parametrize("repeats", [False, True])
def test_credits_add_up_to_what_was_learnt(repeats: bool) -> None:
    o = some_observations()
    if repeats:
        o = repeated(o, [1, 2, 1, 3] * 10, np.random.default_rng(6))
    fit, weights = some_fit(o), np.array([0.4, 0.3, 0.2, 0.1, 0.0])
    left = posterior(fit, [14.0]).cov[0, :, 0, :]
    nothing = posterior(some_fit(cut(o, 0)), [14.0]).cov[0, :, 0, :]
    brought = credited(fit, 14.0, weights)
    assert len(brought) == len(o)
    # reference: the same model's own variance with and without all observations
    assert brought.sum() == pytest.approx(weights @ (nothing - left) @ weights, abs=1e-6)


def test_each_credit_equals_the_dense_formula() -> None:
    o, weights = some_observations(), np.array([0.4, 0.3, 0.2, 0.1, 0.0])
    side = sum(w * dense_cross(o, HYPER, 14.0, u) for u, w in enumerate(weights))
    expected = side * np.linalg.solve(dense_cov(o, HYPER), side)
    assert credited(some_fit(o), 14.0, weights) == pytest.approx(expected, abs=1e-6)


def cut(o: Observations, n: int) -> Observations:
    names = ("value", "variance", "day", "unit", "rater", "scale", "spot")
    return replace(o, **{name: getattr(o, name)[:n] for name in names})


def test_a_planted_outlier_is_the_greatest_surprise() -> None:
    o = some_observations()
    value = o.value.copy()
    value[17] += 9.0
    far = surprises(some_fit(replace(o, value=value)))
    assert np.argmax(np.abs(far)) == 17
    assert far[17] > 4
