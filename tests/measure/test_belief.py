"""Beliefs turned into estimates: log-normal moments, averages, differences, chances."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from greenwright.measure import Belief

MEAN = np.array([1.0, 1.4])
COV = np.array([[0.09, 0.04], [0.04, 0.16]])
HALF = np.array([0.5, 0.5])


def belief(scale: str, window: tuple[float, float] = (0.0, 500.0)) -> Belief:
    return Belief(MEAN, COV, scale=scale, window=window, unit="u")


def draws(n: int = 400_000) -> np.ndarray:
    return np.random.default_rng(8).multivariate_normal(MEAN, COV, n)


def test_plain_moments_of_a_plain_belief_are_its_own() -> None:
    mean, cov = belief("plain").plain_moments()
    assert mean is MEAN
    assert cov is COV


def test_lognormal_moments_against_draws() -> None:
    mean, cov = belief("log").plain_moments()
    plain = np.exp(draws())
    assert mean == pytest.approx(plain.mean(axis=0), rel=0.01)
    assert cov == pytest.approx(np.cov(plain.T), rel=0.03)


def test_lognormal_estimate_equals_scipy() -> None:
    one = belief("log").estimate(1, n=3, basis="readings")
    reference = stats.lognorm(s=0.4, scale=np.exp(1.4))
    assert one.value == pytest.approx(reference.median())
    assert one.sd == pytest.approx(reference.std())
    assert (one.low, one.high) == pytest.approx(reference.interval(0.9))


def test_plain_estimate_is_cut_to_the_window() -> None:
    one = belief("plain", (0.0, 1.5)).estimate(1, n=1, basis="model")
    reference = stats.truncnorm((0 - 1.4) / 0.4, (1.5 - 1.4) / 0.4, loc=1.4, scale=0.4)
    assert (one.value, one.sd) == pytest.approx((reference.mean(), reference.std()), abs=2e-3)
    assert one.high <= 1.5


def test_average_by_hand_and_by_draws() -> None:
    plain = belief("plain").average(HALF)
    # by hand: (1 + 1.4)/2 and (0.09 + 0.16 + 2*0.04)/4
    assert (plain.mean[0], plain.cov[0, 0]) == pytest.approx((1.2, 0.0825))
    logs = belief("log").average(HALF).estimate(0, n=1, basis="readings")
    mixed = np.exp(draws()) @ HALF
    assert logs.value == pytest.approx(np.median(mixed), rel=0.02)
    assert (logs.low, logs.high) == pytest.approx(tuple(np.quantile(mixed, [0.05, 0.95])), rel=0.03)


@pytest.mark.parametrize("scale", ["plain", "log"])
def test_difference_against_draws(scale: str) -> None:
    one = belief(scale).difference(np.array([0.0, 1.0]), np.array([1.0, 0.0]), n=2, basis="model")
    seen = draws() if scale == "plain" else np.exp(draws())
    gaps = seen[:, 1] - seen[:, 0]
    assert (one.value, one.sd) == pytest.approx((gaps.mean(), gaps.std()), rel=0.02)
    assert (one.n, one.basis) == (2, "model")


@pytest.mark.parametrize("scale", ["plain", "log"])
def test_spread_against_draws(scale: str) -> None:
    one = belief(scale).spread(np.array([0, 1]), n=5, rng=np.random.default_rng(0))
    assert one is not None
    seen = draws() if scale == "plain" else np.exp(draws())
    assert one.value == pytest.approx(seen.std(axis=1, ddof=1).mean(), rel=0.08)
    assert one.basis == "draws"
    assert belief(scale).spread(np.array([0]), n=5, rng=np.random.default_rng(0)) is None


@pytest.mark.parametrize("scale", ["plain", "log"])
def test_chance_against_scipy(scale: str) -> None:
    got = belief(scale).chance(1.0, 3.0)
    for i, sd in enumerate((0.3, 0.4)):
        if scale == "log":
            reference = stats.lognorm(s=sd, scale=np.exp(MEAN[i]))
        else:
            reference = stats.truncnorm(-MEAN[i] / sd, np.inf, loc=MEAN[i], scale=sd)
        assert got[i] == pytest.approx(reference.cdf(3.0) - reference.cdf(1.0), abs=1e-9)


def test_open_bands_are_certain_together() -> None:
    for scale in ("plain", "log"):
        assert belief(scale).chance(None, None) == pytest.approx([1.0, 1.0])
        assert belief(scale).chance(None, 0.0) == pytest.approx([0.0, 0.0], abs=1e-6)
