"""T in plain words: mm sideways per metre at today's speed."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from greenwright.base.estimate import normal_estimate
from greenwright.measure import surface
from greenwright.measure.belief import lognormal_estimate
from greenwright.measure.trueness_sideways import sideways, sideways_estimate

from .test_trueness import course


def pair() -> tuple:
    snapshot = course()
    return surface(snapshot, "trueness"), surface(snapshot, "green_speed")


def index_of(value: float, log_sd: float = 0.0) -> object:
    return lognormal_estimate(math.log(value), log_sd, "m", n=5, basis="readings")


@pytest.mark.parametrize(
    ("t", "speed", "mm"),
    [
        # side slope sd 1 %, 10 mm: K = 8.150e-5 m, 15.76 mm over 3.048 m (worked derivation)
        (2e-6, 3.048, 15.76 / 3.048),
        # smoothest road class: T = 3.2e-6 m, 6.5 mm/m at 10 ft (worked derivation)
        (3.2e-6, 3.048, 6.5),
    ],
)
def test_known_surfaces_in_plain_words(t: float, speed: float, mm: float) -> None:
    got = sideways_estimate(index_of(t), normal_estimate(speed, 0.001, "m"))
    assert got.value == pytest.approx(mm, rel=0.01)
    assert (got.unit, got.n) == ("mm/m", 5)


def test_faster_greens_show_more_of_one_surface() -> None:
    slow, fast = (
        sideways_estimate(index_of(2e-6), normal_estimate(s, 0.01, "m")).value for s in (2.0, 4.0)
    )
    # per metre of the ramp's own roll sqrt(K / S) = sqrt(T S) / (2 c): root of the ratio
    assert fast / slow == pytest.approx(math.sqrt(2), rel=1e-3)


def test_both_uncertainties_are_carried() -> None:
    got = sideways_estimate(index_of(2e-6, 0.6), normal_estimate(3.0, 0.3, "m"))
    # by hand: half of hypot(0.6, 0.0998) in the log, so high / value = exp(1.645 * 0.304)
    assert got.high / got.value == pytest.approx(math.exp(1.645 * 0.304), rel=0.005)


def test_surfaces_give_greens_and_course() -> None:
    index, speed = pair()
    got = sideways(index, speed)
    for i, one in enumerate(got.per_green):
        alone = sideways_estimate(index.per_green[i], speed.per_green[i])
        assert (one.value, one.high) == pytest.approx((alone.value, alone.high), rel=1e-6)
    assert min(e.value for e in got.per_green) < got.course.value * 1.5
    # the simulated surface: T = 2e-6 m at 3 m, so 1000 sqrt(2e-6 * 3) / (2 * 0.2387) = 5.13
    assert got.course.low < 5.13 < got.course.high


def test_without_speeds_the_usual_one_is_taken_widely() -> None:
    index, speed = pair()
    known, usual = sideways(index, speed), sideways(index, None)
    assert all(u > k for u, k in zip(usual.log_sd, known.log_sd, strict=True))


def test_chance_of_a_band_agrees_with_draws() -> None:
    got = sideways(*pair())
    rng = np.random.default_rng(7)
    draws = np.exp(got.log_mean[0] + got.log_sd[0] * rng.standard_normal(200_000))
    assert got.chance(4.0, 6.0)[0] == pytest.approx(((draws > 4) & (draws < 6)).mean(), abs=0.005)
    assert got.chance(None, None) == pytest.approx(np.ones(3))
    assert got.course_chance(0.0, got.course.value) == pytest.approx(0.5, abs=1e-6)


def test_a_surface_of_other_greens_is_not_matched_green_by_green() -> None:
    index, speed = pair()
    fewer = replace(speed, per_green=speed.per_green[:2])
    got = sideways(index, fewer)
    assert len(got.per_green) == 3
