"""Binomial beliefs, truncated normals and draws against scipy and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from greenwright.base.errors import BadInput
from greenwright.stats import (
    chance_within,
    logit_belief,
    normal_draws,
    share_estimate,
    truncated_estimate,
)


@pytest.mark.parametrize(("hits", "tries"), [(0, 1), (7, 10), (10, 10), (3, 40)])
def test_share_is_the_jeffreys_beta(hits: int, tries: int) -> None:
    beta = stats.beta(hits + 0.5, tries - hits + 0.5)  # reference: scipy.stats.beta
    one = share_estimate(hits, tries)
    assert (one.value, one.sd) == pytest.approx((beta.mean(), beta.std()))
    assert (one.low, one.high) == pytest.approx(tuple(beta.interval(0.9)))


def test_logit_belief_against_numerical_integration() -> None:
    beta = stats.beta(7.5, 3.5)
    mean = beta.expect(lambda p: np.log(p / (1 - p)))  # reference: scipy's quadrature
    square = beta.expect(lambda p: np.log(p / (1 - p)) ** 2)
    one = logit_belief(7, 10)
    assert one.mean == pytest.approx(mean, rel=1e-6)
    assert one.variance == pytest.approx(square - mean**2, rel=1e-6)


def test_no_trials_is_the_bare_prior() -> None:
    one = share_estimate(0, 0)
    assert one.value == 0.5
    assert one.sd == pytest.approx(np.sqrt(1 / 8))  # by hand: Beta(1/2, 1/2) variance 1/8


@pytest.mark.parametrize(("hits", "tries"), [(-1, 5), (6, 5)])
def test_refuses_no_share(hits: int, tries: int) -> None:
    with pytest.raises(BadInput, match="not a share"):
        share_estimate(hits, tries)


@given(st.floats(0, 10), st.floats(0.01, 3))
def test_truncated_normal_equals_scipy(mean: float, sd: float) -> None:
    ends = ((0 - mean) / sd, (10 - mean) / sd)
    reference = stats.truncnorm(*ends, loc=mean, scale=sd)
    one = truncated_estimate(mean, sd, "score", window=(0, 10))
    # the curve is cut at six sds, which moves nothing by more than a millionth
    assert (one.value, one.sd) == pytest.approx((reference.mean(), reference.std()), abs=1e-5)
    assert (one.low, one.high) == pytest.approx(tuple(reference.interval(0.9)), abs=1e-5)
    assert 0 <= one.low <= one.value <= one.high <= 10


def test_truncation_far_from_the_ends_changes_nothing() -> None:
    one = truncated_estimate(5.0, 0.1, "score", window=(0, 10))
    # 1.644854 = 95 % point of the normal, table
    assert (one.low, one.high) == pytest.approx((5 - 0.1644854, 5 + 0.1644854))


def test_truncation_limits() -> None:
    sure = truncated_estimate(4.0, 0.0, "score", window=(0, 10))
    assert (sure.low, sure.value, sure.high) == (4, 4, 4)
    beyond = truncated_estimate(12.0, 0.5, "score", window=(0, 10))
    assert 9 < beyond.low < beyond.value < beyond.high <= 10
    with pytest.raises(BadInput, match="empty"):
        truncated_estimate(1.0, 1.0, "m", window=(2, 2))


def test_chance_within_equals_scipy() -> None:
    reference = stats.truncnorm((0 - 9) / 1.0, (10 - 9) / 1.0, loc=9, scale=1.0)
    got = chance_within([9.0], [1.0], band=(8, 99), window=(0, 10))
    assert got[0] == pytest.approx(1 - reference.cdf(8))
    parts = [chance_within([9.0], [1.0], band=b, window=(0, 10))[0] for b in ((0, 8), (8, 10))]
    assert sum(parts) == pytest.approx(1)


def test_draws_have_the_moments_and_repeat() -> None:
    mean, cov = [1.0, -2.0], [[2.0, 0.8], [0.8, 1.0]]
    one = normal_draws(mean, cov, n=40_000, rng=np.random.default_rng(4))
    assert one.mean(axis=0) == pytest.approx(mean, abs=0.03)  # 4 standard errors: 0.028
    assert np.cov(one.T) == pytest.approx(np.array(cov), abs=0.06)
    again = normal_draws(mean, cov, n=40_000, rng=np.random.default_rng(4))
    assert np.array_equal(one, again)


def test_draws_of_a_singular_belief_keep_its_ties() -> None:
    one = normal_draws([0.0, 0.0], [[1.0, 1.0], [1.0, 1.0]], n=50, rng=np.random.default_rng(0))
    assert one[:, 0] == pytest.approx(one[:, 1])


def test_draws_refuse_what_is_no_covariance() -> None:
    with pytest.raises(BadInput, match="semi-definite"):
        normal_draws([0.0], [[-1.0]], n=2, rng=np.random.default_rng(0))
    with pytest.raises(BadInput, match="shape"):
        normal_draws([0.0, 1.0], [[1.0]], n=2, rng=np.random.default_rng(0))
