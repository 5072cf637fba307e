"""End offsets of one length: hand numbers, exact intervals, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import chi2

from greenwright.base.errors import BadInput
from greenwright.measure.trueness_offsets import (
    LAUNCHER_INSIDE,
    trueness_from_offsets,
    variance_interval,
)

FT10 = 3.048


@pytest.mark.parametrize(
    ("n", "low", "high"),
    # 95 % interval of an sd: textbook chi-square table
    [(6, 0.62, 2.45), (10, 0.69, 1.83), (20, 0.76, 1.46), (30, 0.80, 1.34)],
)
def test_interval_of_an_sd_is_the_textbooks(n: int, low: float, high: float) -> None:
    ends = [math.sqrt(f) for f in variance_interval(n - 1, level=0.95)]
    assert ends == pytest.approx([low, high], abs=0.005)


def test_interval_agrees_with_a_reference_library() -> None:
    # scipy.stats.chi2, an independent implementation
    assert variance_interval(7) == pytest.approx((7 / chi2.ppf(0.95, 7), 7 / chi2.ppf(0.05, 7)))


@pytest.mark.parametrize(
    ("mm_per_m", "walk"),
    # read as sd over 10 ft: K = (sd per metre)^2 * L, by hand; 5.2e-4 and 8.3e-4 to two digits
    [(4.9, 7.3e-5), (13.0, 5.2e-4), (16.5, 8.3e-4)],
)
def test_published_imprecision_becomes_k(mm_per_m: float, walk: float) -> None:
    half = mm_per_m / 1000 * FT10 / math.sqrt(2)  # two rolls at +-half have this sd
    got = trueness_from_offsets([-half, half], FT10, FT10)
    assert got.heading_k.value == pytest.approx(walk, rel=0.01)
    assert got.sideways_sd_per_length.value == pytest.approx(mm_per_m / 1000)
    assert got.n == 2 and got.note == LAUNCHER_INSIDE


def test_index_is_twice_slope_variance_times_length() -> None:
    # sd of side slope 1 %, 10 mm: T = 2 * 0.01^2 * 0.01 = 2e-6 m; K = 8.15e-5 m at 10 ft,
    # 15.76 mm at rest over 10 ft (worked in the derivation of the random walk)
    half = 0.01576 / math.sqrt(2)
    got = trueness_from_offsets([-half, half], FT10, FT10)
    assert got.trueness_t.value == pytest.approx(2e-6, rel=0.01)
    assert got.heading_k.value == pytest.approx(8.15e-5, rel=0.01)


def test_the_index_does_not_move_with_speed() -> None:
    # K goes with S^2 on one surface; so does the variance of the ends of equal lengths
    slow = trueness_from_offsets([-0.01, 0.0, 0.01], 3.0, 2.5)
    fast = trueness_from_offsets([-0.012, 0.0, 0.012], 3.0, 3.0)
    assert fast.trueness_t.value == pytest.approx(slow.trueness_t.value)


def test_the_mean_line_does_not_matter() -> None:
    there, here = ([y + 0.3 for y in (-0.02, 0.01, 0.02)], [-0.02, 0.01, 0.02])
    one, other = (trueness_from_offsets(y, 3.0, 2.8) for y in (there, here))
    assert one.trueness_t.value == pytest.approx(other.trueness_t.value)


def test_intervals_hold_the_truth_nine_times_in_ten() -> None:
    rng = np.random.default_rng(11)
    truth, hits = 1e-4, 0
    for _ in range(1000):
        got = trueness_from_offsets(list(rng.normal(0.1, math.sqrt(truth * 3.0), 5)), 3.0, 2.8)
        hits += got.heading_k.low <= truth <= got.heading_k.high
    assert abs(hits / 1000 - 0.9) < 0.03  # three sds of a share of 1,000


@pytest.mark.parametrize(
    ("offsets", "length", "speed", "why"),
    [
        ([0.01], 3.0, 3.0, "no spread"),
        ([0.01, 0.01, 0.01], 3.0, 3.0, "alike"),
        ([0.01, math.nan], 3.0, 3.0, "finite"),
        ([0.01, 0.02], 0.0, 3.0, "length"),
        ([0.01, 0.02], 3.0, -1.0, "speed"),
    ],
)
def test_what_cannot_be_used_is_refused(
    offsets: list[float], length: float, speed: float, why: str
) -> None:
    with pytest.raises(BadInput, match=why):
        trueness_from_offsets(offsets, length, speed)
