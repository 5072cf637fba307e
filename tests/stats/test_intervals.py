"""Binomial beliefs, truncated normals and draws against scipy and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.special import digamma, polygamma

from greenwright.base.errors import BadInput
from greenwright.stats import (
    chance_within,
    logit_belief,
    normal_draws,
    truncated_estimate,
)
from greenwright.stats.shares import share_estimate


@pytest.mark.parametrize(("hits", "tries"), [(0, 1), (7, 10), (10, 10), (3, 40), (0, 1000)])
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


@pytest.mark.parametrize(("hits", "tries"), [(0, 5), (5, 5), (0, 1), (1, 1), (0, 500), (500, 500)])
def test_none_and_all_of_n_stay_finite_and_sure_only_of_a_side(hits: int, tries: int) -> None:
    # reference: scipy.special, whose polygamma is not ours
    a, b = hits + 0.5, tries - hits + 0.5
    one = logit_belief(hits, tries)
    assert one.mean == pytest.approx(float(digamma(a) - digamma(b)), rel=1e-12)
    assert one.variance == pytest.approx(float(polygamma(1, a) + polygamma(1, b)), rel=1e-12)
    # by hand: trigamma(1/2) = pi^2 / 2 = 4.9348, the least doubt that a pure count leaves
    assert one.variance > 4.93


@given(st.integers(0, 400), st.integers(0, 400))
def test_hits_and_misses_are_mirror_images(hits: int, misses: int) -> None:
    one, other = logit_belief(hits, hits + misses), logit_belief(misses, hits + misses)
    assert one.mean == pytest.approx(-other.mean, abs=1e-9)
    assert one.variance == pytest.approx(other.variance)
    assert (one.mean > 0) == (hits > misses)


def test_more_trials_of_one_share_leave_less_doubt() -> None:
    doubts = [logit_belief(n // 4, n).variance for n in (4, 8, 40, 400, 4000)]
    assert doubts == sorted(doubts, reverse=True)
    # by hand: 1/hits + 1/misses for large counts: 1/1000 + 1/3000
    assert doubts[-1] == pytest.approx(1 / 1000 + 1 / 3000, rel=2e-3)


def test_no_trials_is_the_bare_prior() -> None:
    one = share_estimate(0, 0)
    assert one.value == 0.5
    assert one.sd == pytest.approx(np.sqrt(1 / 8))  # by hand: Beta(1/2, 1/2) variance 1/8


@pytest.mark.parametrize(
    ("hits", "tries"), [(-1, 5), (6, 5), (float("nan"), 5), (3, float("nan")), (3, float("inf"))]
)
def test_refuses_no_share(hits: float, tries: float) -> None:
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
