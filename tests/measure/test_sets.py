"""Balls to sets to speeds: hand numbers, grouping, one direction, noise, cautions."""

from __future__ import annotations

import math

import numpy as np
import pytest

from greenwright.base.evidence import value as number
from greenwright.base.values import Station
from greenwright.measure import set_cautions, speed_sets
from greenwright.measure.rounding import SPEED_STEPS_M, rounding_variance, writing_step
from tests.measure.invented import at, balls, day, reading

FOOT, INCH = 0.3048, 0.0254


def test_hand_worked_sets_of_the_small_record() -> None:
    """Three rows as written in the small record: 8'0", 8 ft, 96 in up; 12 ft thrice down."""
    one = balls([8 * FOOT, 8 * FOOT, 96 * INCH], [12 * FOOT, 12 * FOOT, 3.6576], set="s1")
    three = balls([2.35, 2.39, 2.37], [2.50, 2.52, 2.48], set="s3", green="3", observer="ben")
    first, second = speed_sets([*one, *three])
    # by hand: 2*8*12/(8+12) = 9.6 ft = 2.92608 m
    assert first.level_speed_m == pytest.approx(2.92608, abs=5e-6)
    assert (first.mean_up_m, first.mean_down_m) == pytest.approx((8 * FOOT, 12 * FOOT))
    # table of the ramp on a slope: 8 and 12 ft lie on 1.63 %
    assert first.slope == pytest.approx(0.0163, abs=5e-5)
    # by hand: means 2.37 and 2.50, 2*2.37*2.50/4.87 = 2.43326 m
    assert (second.mean_a_m, second.mean_b_m) == pytest.approx((2.37, 2.50))
    assert second.level_speed_m == pytest.approx(2.43326, abs=5e-6)
    assert [s.n for s in (first, second)] == [6, 6]


def test_downhill_first_turns_the_slope_not_the_speed() -> None:
    up, down = balls([2.4] * 3, [3.6] * 3), balls([3.6] * 3, [2.4] * 3)
    one, other = speed_sets(up)[0], speed_sets(down)[0]
    assert one.level_speed_m == other.level_speed_m
    assert one.slope == pytest.approx(-other.slope)
    assert one.slope > 0
    assert (other.mean_up_m, other.mean_down_m) == pytest.approx((2.4, 3.6))


def test_variance_by_the_delta_method() -> None:
    """Against brute force: the spread of the formula when its two means are jittered."""
    one = speed_sets(balls([2.4] * 3, [3.6] * 3))[0]
    prior = number("measure.roll_sd_within_set")
    # six equal balls: pooled sd^2 = 10 prior^2 / (10 + 4), prior worth ten balls
    ball = prior**2 * 10 / 14
    mean = ball / 3 + number("measure.speed_rounding") ** 2 / 12
    rng = np.random.default_rng(2)
    a, b = (m + math.sqrt(mean) * rng.standard_normal(200_000) for m in (2.4, 3.6))
    assert one.sd_m == pytest.approx(np.std(2 * a * b / (a + b)), rel=0.01)


def test_wild_balls_raise_the_pooled_spread() -> None:
    calm = speed_sets(balls([2.5, 2.5, 2.5], [2.5, 2.5, 2.5]))[0]
    wild = speed_sets(balls([2.2, 2.5, 2.8], [2.2, 2.5, 2.8]))[0]
    assert wild.sd_m > 2 * calm.sd_m
    assert wild.span_m == pytest.approx(0.6)


def test_without_a_set_balls_within_an_hour_belong_together() -> None:
    early = balls([2.4, 2.4], time=at(7)) + balls([], [2.6, 2.6], time=at(7, 40))
    late = balls([2.5], [2.5], time=at(15))
    other = balls([2.0], [2.1], time=at(7), observer="ben")
    assert [s.n for s in speed_sets([*late, *early, *other])] == [4, 2, 2]


def test_a_set_joins_whatever_the_time() -> None:
    rows = balls([2.4], time=at(7), set="x") + balls([], [2.6], time=at(9), set="x")
    assert [s.way for s in speed_sets(rows)] == ["both"]


def test_one_direction_is_corrected_by_the_stations_slope() -> None:
    """8 ft up a slope of 1.632 % is the 9.6 ft of the two-way reading (table above)."""
    place = [Station(green="1", station="C", slope_pct=1.632)]
    up = speed_sets(balls([8 * FOOT] * 3, station="C"), place)[0]
    down = speed_sets(balls([], [12 * FOOT] * 3, station="C"), place)[0]
    for one in (up, down):
        assert one.way == "one"
        assert one.level_speed_m == pytest.approx(9.6 * FOOT, abs=1e-3)
        assert one.shift_sd_m == pytest.approx(
            number("measure.station_slope_sd") * one.level_speed_m**2 / 0.23873, rel=1e-4
        )


def test_one_direction_without_slope_is_wide_and_both_are_not() -> None:
    blind = speed_sets(balls([2.5] * 3))[0]
    seen = speed_sets(balls([2.5] * 3, [2.5] * 3))[0]
    assert blind.level_speed_m == 2.5
    assert blind.shift_sd_m == number("measure.one_way_sd")
    assert blind.sd_m > 5 * seen.sd_m


def test_an_impossible_slope_is_set_aside() -> None:
    place = [Station(green="1", station="C", slope_pct=20.0)]
    one = speed_sets(balls([3.0], station="C"), place)[0]  # cannot run 3 m up 20 %
    assert (one.level_speed_m, one.shift_sd_m) == (3.0, number("measure.one_way_sd"))


def test_averaged_speeds_and_their_repeats() -> None:
    rolled = balls([2.5] * 3, [2.5] * 3, station="C", time=at(7))
    repeat = reading("green_speed", 2.5, n=6, station="C", time=at(7, 10))
    apart = reading("green_speed", 2.8, n=6, station="C", time=at(7, 10))
    assert [s.way for s in speed_sets([*rolled, repeat])] == ["both"]
    assert sorted(s.way for s in speed_sets([*rolled, apart])) == ["averaged", "both"]
    few, many = (speed_sets([reading("green_speed", 2.5, n=n)])[0].sd_m for n in (2, 20))
    assert few > many


def test_one_row_is_counted_once_but_equal_balls_are_three() -> None:
    same = balls([2.5], id="4f3c")
    assert speed_sets([*same, *same])[0].n == 1
    assert speed_sets(balls([2.5] * 3))[0].n == 3


def test_cautions_name_the_set() -> None:
    # 8 in = 0.2032 m between three balls: repeat (ramp procedure); 18 in between directions
    wide = speed_sets(balls([2.4, 2.5, 2.61], [2.5] * 3, date=day(2)))
    assert "green 1, 2026-06-03" in set_cautions(wide)[0]
    assert "repeat" in set_cautions(wide)[0]
    steep = speed_sets(balls([2.4] * 3, [2.9] * 3))
    assert "flatter" in set_cautions(steep)[0]
    assert set_cautions(speed_sets(balls([2.4, 2.5, 2.6], [2.5] * 3))) == ()


@pytest.mark.parametrize(
    ("step", "values"),
    [
        (6 * INCH, [2.4384, 2.5908, 2.7432, 2.8956] * 3),
        (INCH, [96 * INCH, 97 * INCH, 99 * INCH, 101 * INCH] * 3),
        (0.01, [2.41, 2.47, 2.53, 2.58] * 3),
        (0.05, [2.45, 2.50, 2.65, 2.70] * 3),
    ],
)
def test_the_step_of_writing_is_seen(step: float, values: list[float]) -> None:
    assert writing_step(values, SPEED_STEPS_M, usual=1.0) == pytest.approx(step)
    assert writing_step(values[:4], SPEED_STEPS_M, usual=1.0) == 1.0


def test_rounding_variance_is_that_of_a_uniform_error() -> None:
    spread = np.random.default_rng(1).uniform(-0.25, 0.25, 100_000)
    assert rounding_variance(0.5) == pytest.approx(spread.var(), rel=0.02)
