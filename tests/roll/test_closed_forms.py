"""Closed forms of the ball: against an integrator of differential equations, and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from greenwright.base.errors import BadInput
from greenwright.roll import (
    HOLE_RADIUS_M,
    break_on_plane,
    capture_half_width,
    capture_speed,
    deceleration,
    free_fall_speed,
    heading_walk,
    level_equivalent,
    ramp_rolls,
    resistance,
    sideways_per_metre,
    sideways_variance,
    slide_to_roll,
    straight_putt,
    trueness_index,
)
from tests.roll.twin import integrated

FT = 0.3048


@pytest.mark.parametrize("slope", [0.01, 0.02, 0.04])
@pytest.mark.parametrize("degrees", [15, 60, 90, 135, 175])
@pytest.mark.parametrize("launch", [0.7, 1.8288])
def test_break_is_what_an_integrator_finds(slope: float, degrees: float, launch: float) -> None:
    angle = math.radians(degrees)
    rest = break_on_plane(launch, 3.3, slope, angle)
    x, y = integrated(3.3, (-slope, 0.0), launch, angle)  # downhill is +x
    assert rest.downhill_m == pytest.approx(x, abs=2e-5)
    assert rest.across_m == pytest.approx(y, abs=2e-5)


@given(
    some.floats(0.3, 3.0), some.floats(1.5, 5.0), some.floats(0.002, 0.04), some.floats(0.05, 3.0)
)
def test_break_grows_with_the_square_of_speed(
    launch: float, speed: float, slope: float, angle: float
) -> None:
    one, two = (break_on_plane(v, speed, slope, angle) for v in (launch, 2 * launch))
    assert two.downhill_m == pytest.approx(4 * one.downhill_m, rel=1e-9, abs=1e-12)
    assert two.across_m == pytest.approx(4 * one.across_m, rel=1e-9, abs=1e-12)


def test_break_at_its_two_ends_is_the_ramp_read_both_ways() -> None:
    up, down = ramp_rolls(3.048, 0.02)
    assert break_on_plane(1.8288, 3.048, 0.02, 0.0).downhill_m == pytest.approx(down, rel=1e-6)
    assert break_on_plane(1.8288, 3.048, 0.02, math.pi).downhill_m == pytest.approx(-up, rel=1e-6)


def test_break_on_the_level_is_none() -> None:
    rest = break_on_plane(1.8288, 3.048, 0.0, math.pi / 2)
    assert rest.across_m == pytest.approx(3.048, rel=1e-6)
    assert rest.downhill_m == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("launch", "slope", "angle", "word"),
    [
        (0, 0.02, 1.0, "launch"),
        (1, 0.09, 1.0, "never stops"),
        (1, -0.01, 1.0, "never stops"),
        (1, 0.02, 4.0, "direction"),
        (float("nan"), 0.02, 1.0, "launch"),
    ],
)
def test_break_refuses_what_cannot_be(launch: float, slope: float, angle: float, word: str) -> None:
    with pytest.raises(BadInput, match=word):
        break_on_plane(launch, 3.048, slope, angle)


def test_straight_putt_takes_the_time_of_even_slowing() -> None:
    putt = straight_putt(3.0, 3.048)
    # mean of the two speeds times the time is the distance
    assert (putt.launch_speed + putt.arrival_speed) / 2 * putt.time_s == pytest.approx(3.0)
    # by hand: 2 a past = 2 x 0.5486 x 0.4318 = 0.4738, root 0.688 m/s
    assert putt.arrival_speed == pytest.approx(0.688, abs=5e-4)


def test_downhill_putts_may_be_so_steep_that_they_never_stop() -> None:
    with pytest.raises(BadInput, match="never stops"):
        straight_putt(3.0, 3.048, slope=-0.08)
    with pytest.raises(BadInput, match="distance"):
        straight_putt(0.0, 3.048)
    with pytest.raises(BadInput, match="short"):
        straight_putt(3.0, 3.048, past_m=-0.1)


def test_level_equivalent_needs_the_same_strike() -> None:
    level = level_equivalent(3.0, 3.048, 0.02)
    here = straight_putt(3.0, 3.048, slope=0.02, past_m=0).launch_speed
    assert straight_putt(level, 3.048, past_m=0).launch_speed == pytest.approx(here)


def test_sliding_keeps_momentum_about_the_ground() -> None:
    slide = slide_to_roll(2.0, 0.4)
    # by hand: m v R = m w R + 2/5 m w R, so w = 5/7 v; slowing mu g: v - 5/7 v = mu g t
    assert slide.rolling_speed == pytest.approx(10 / 7)
    assert slide.time_s == pytest.approx((2 - 10 / 7) / (0.4 * 9.80665))
    assert slide.distance_m == pytest.approx((2 + 10 / 7) / 2 * slide.time_s)
    with pytest.raises(BadInput):
        slide_to_roll(2.0, 0.0)


@given(some.floats(0, 1), some.floats(0, 1), some.floats(0.5, 2.0))
def test_a_wider_or_faster_ball_is_never_caught_more_easily(
    one: float, two: float, limit: float
) -> None:
    near, far = sorted((one, two))
    speeds = capture_speed([near * HOLE_RADIUS_M, far * HOLE_RADIUS_M], centre_limit=limit)
    assert speeds[0] >= speeds[1]
    widths = capture_half_width([near * limit, far * limit], centre_limit=limit)
    assert widths[0] >= widths[1]


@given(some.floats(0.0, 1.6))
def test_half_width_is_the_capture_speed_read_backwards(speed: float) -> None:
    assert capture_speed(capture_half_width(speed)) == pytest.approx(speed, abs=1e-9)


def test_nothing_is_caught_over_the_limit_or_beside_the_hole() -> None:
    assert capture_half_width(2.0) == 0
    assert free_fall_speed(0.05) == 0
    with pytest.raises(BadInput, match="does not cross"):
        capture_speed(0.06)
    with pytest.raises(BadInput):
        capture_half_width(-0.1)
    with pytest.raises(BadInput):
        capture_speed(0.0, centre_limit=0.0)


@given(some.floats(1e-8, 1e-4), some.floats(1.5, 5.0))
def test_index_and_walk_are_each_others_inverse(index: float, speed: float) -> None:
    assert trueness_index(heading_walk(index, speed), speed) == pytest.approx(index)


def test_a_faster_green_shows_the_same_surface_more() -> None:
    # K goes with S^2 and the ramp's own end spread with S^1.5 (K L with L = S), by hand
    assert heading_walk(2e-6, 4.0) == pytest.approx(4 * heading_walk(2e-6, 2.0))
    spread = [sideways_per_metre(2e-6, s) * s for s in (2.0, 4.0)]
    assert spread[1] == pytest.approx(2**1.5 * spread[0])


@given(some.floats(0.5, 6.0), some.floats(0, 1), some.floats(0, 1))
def test_sideways_variance_grows_as_the_ball_goes_on(roll: float, one: float, two: float) -> None:
    late, early = sorted((one, two))
    assert sideways_variance(1e-4, roll, late * roll) >= sideways_variance(1e-4, roll, early * roll)


def test_sideways_variance_is_none_at_the_start_and_all_at_rest() -> None:
    assert sideways_variance(8e-5, 3.0, 3.0) == pytest.approx(0, abs=1e-15)
    assert sideways_variance(8e-5, 3.0) == pytest.approx(2.4e-4)
    with pytest.raises(BadInput):
        sideways_variance(8e-5, 3.0, 3.1)
    with pytest.raises(BadInput):
        heading_walk(-1e-6, 3.0)


def test_a_slower_green_stops_a_ball_sooner() -> None:
    speeds = np.array([2.0, 3.0, 4.0])
    assert np.all(np.diff(deceleration(speeds)) < 0)
    # (5/7) g rho is the deceleration: the same friction told twice
    assert deceleration(speeds) == pytest.approx(5 / 7 * 9.80665 * resistance(speeds))
    with pytest.raises(BadInput):
        deceleration(0.0)
