"""Normal beliefs multiplied by what was seen, against scipy and plain sums."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from greenwright.base.errors import BadInput
from greenwright.stats.tilted import count_moments, interval_moments

INF = np.inf


def one_interval(mean: float, sd: float, low: float, high: float) -> tuple[float, float]:
    ends = {"low": np.array([low]), "high": np.array([high])}
    m, v = interval_moments(np.array([mean]), np.array([sd**2]), **ends)
    return float(m[0]), float(v[0])


@pytest.mark.parametrize(
    ("mean", "sd", "low", "high"),
    [
        (7.0, 1.0, 7.25, 7.75),
        (7.0, 1.0, 9.75, INF),
        (7.0, 1.0, -INF, 0.25),
        (7.0, 0.3, 2.0, 3.0),
        (9.9, 2.0, 9.5, INF),
        (5.0, 3.0, 0.0, 10.0),
        (0.0, 1.0, -6.0, 0.0),
    ],
)
def test_intervals_equal_the_truncated_normal_of_scipy(
    mean: float, sd: float, low: float, high: float
) -> None:
    reference = stats.truncnorm((low - mean) / sd, (high - mean) / sd, loc=mean, scale=sd)
    got = one_interval(mean, sd, low, high)
    assert got == pytest.approx((reference.mean(), reference.var()), rel=1e-6)


def test_half_a_normal_by_hand() -> None:
    # textbook: mean sqrt(2/pi), variance 1 - 2/pi
    assert one_interval(0, 1, 0, INF) == pytest.approx(
        (np.sqrt(2 / np.pi), 1 - 2 / np.pi), rel=1e-9
    )


def test_a_far_tail_follows_its_asymptote() -> None:
    # textbook (ratio of a tail): beyond a >> 1 the excess is 1/a - 2/a^3 + ..., its variance 1/a^2
    mean, variance = one_interval(0.0, 1.0, 40.0, INF)
    assert mean - 40 == pytest.approx(1 / 40 - 2 / 40**3, rel=1e-4)
    assert variance == pytest.approx(1 / 40**2, rel=0.01)


def test_a_narrow_interval_is_uniform() -> None:
    # by hand: middle, and width^2 / 12
    assert one_interval(0.0, 1.0, 0.5, 0.5001) == pytest.approx((0.50005, 1e-8 / 12), rel=1e-4)


@given(st.floats(-30, 30), st.floats(0.05, 5), st.floats(-10, 10), st.floats(0.01, 20))
def test_moments_stay_inside_and_never_widen(
    mean: float, sd: float, low: float, width: float
) -> None:
    middle, variance = one_interval(mean, sd, low, low + width)
    assert low <= middle <= low + width
    assert 0 < variance <= min(sd**2, width**2 / 4) * (1 + 1e-9)


def test_empty_and_open_intervals_are_refused() -> None:
    for low, high in ((1.0, 1.0), (2.0, 1.0), (-INF, INF)):
        with pytest.raises(BadInput, match="low < high"):
            one_interval(0.0, 1.0, low, high)


def exact_count(
    mean: float, variance: float, *, hits: int, tries: int, centre: float, per: float
) -> tuple[float, float]:
    """Reference: scipy's adaptive quadrature of prior times binomial mass."""

    def density(z: float) -> float:
        share = 1 / (1 + np.exp(-(z - centre) / per))
        return stats.norm.pdf(z, mean, np.sqrt(variance)) * stats.binom.pmf(hits, tries, share)

    ends = mean - 9 * np.sqrt(variance), mean + 9 * np.sqrt(variance)
    grid = np.linspace(*ends, 4001)
    peak = grid[np.argmax([density(z) for z in grid])]
    whole = [
        integrate.quad(lambda z, p=p: z**p * density(z), *ends, points=[peak], limit=400)[0]
        for p in range(3)
    ]
    first = whole[1] / whole[0]
    return first, whole[2] / whole[0] - first**2


@pytest.mark.parametrize(
    ("hits", "tries", "mean", "variance"),
    [(7, 10, 7.0, 1.5), (10, 10, 7.0, 1.0), (0, 12, 8.0, 2.0), (150, 200, 2.0, 4.0), (1, 1, 7, 1)],
)
def test_counts_equal_adaptive_quadrature(
    hits: int, tries: int, mean: float, variance: float
) -> None:
    arrays = {"hits": hits, "tries": tries, "centre": 5.0, "per": 1.8}
    seen = {name: np.array([float(v)]) for name, v in arrays.items()}
    got = count_moments(np.array([float(mean)]), np.array([float(variance)]), **seen)
    expected = exact_count(mean, variance, hits=hits, tries=tries, centre=5.0, per=1.8)
    assert (got[0][0], got[1][0]) == pytest.approx(expected, rel=1e-5, abs=1e-7)


def test_a_count_of_nothing_says_nothing() -> None:
    zero, one = np.zeros(1), np.ones(1)
    got = count_moments(7 * one, 2 * one, hits=zero, tries=zero, centre=5 * one, per=one)
    # by hand: the belief itself, but for what lies beyond six sds
    assert (got[0][0], got[1][0]) == pytest.approx((7.0, 2.0), rel=1e-6)


def test_batch_equals_one_by_one() -> None:
    rng = np.random.default_rng(2)
    mean, variance = rng.normal(7, 2, 30), rng.uniform(0.1, 4, 30)
    low = rng.normal(7, 3, 30)
    together = interval_moments(mean, variance, low=low, high=low + 0.5)
    alone = [
        one_interval(m, np.sqrt(v), a, a + 0.5) for m, v, a in zip(mean, variance, low, strict=True)
    ]
    gaps = np.array(together).T / np.array(alone) - 1
    assert np.abs(gaps).max() < 1e-12
