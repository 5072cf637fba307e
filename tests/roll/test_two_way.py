"""The two-way reading: shapes, batch equals loop, hand numbers, limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.roll import (
    GRAVITY_M_S2,
    RELEASE_SPEED_M_S,
    STOPPING_LENGTH_M,
    level_speed_from_one_way,
    ramp_rolls,
    resistance,
    two_way_speed,
)

FOOT = 0.3048
SPEEDS = st.floats(1.2, 4.5)
SLOPES = st.floats(-0.04, 0.04)


def test_scalars_give_floats_and_arrays_keep_their_shape() -> None:
    assert isinstance(two_way_speed(2.0, 3.0).level_speed_m, float)
    both = two_way_speed(np.full((2, 3), 2.0), np.full((2, 3), 3.0))
    assert both.level_speed_m.shape == both.slope.shape == (2, 3)


def test_batch_equals_loop() -> None:
    up, down = np.array([2.1, 2.5, 3.0]), np.array([2.4, 2.2, 3.9])
    batch = two_way_speed(up, down)
    for i in range(3):
        one = two_way_speed(up[i], down[i])
        assert (one.level_speed_m, one.slope) == (batch.level_speed_m[i], batch.slope[i])


def test_order_only_turns_the_sign_of_the_slope() -> None:
    one, other = two_way_speed(2.0, 3.0), two_way_speed(3.0, 2.0)
    assert one.level_speed_m == other.level_speed_m
    assert one.slope == -other.slope > 0


def test_equal_rolls_mean_level_ground() -> None:
    flat = two_way_speed(2.7, 2.7)
    assert flat.level_speed_m == pytest.approx(2.7)
    assert flat.slope == 0


def test_hand_worked_sets_of_the_small_record() -> None:
    # by hand: 2*8*12/20 = 9.6 ft = 2.92608 m; 2*2.37*2.50/4.87 = 11.85/4.87 = 2.43326 m
    assert two_way_speed(8 * FOOT, 12 * FOOT).level_speed_m == pytest.approx(2.92608, abs=5e-6)
    assert two_way_speed(2.37, 2.50).level_speed_m == pytest.approx(2.43326, abs=5e-6)


def test_resistance_constant() -> None:
    # by hand: 0.7 * 1.8288^2 / 9.80665 = 0.23873 m, over 0.3048 = 0.7832 per foot of speed
    assert pytest.approx(0.23873, abs=5e-6) == STOPPING_LENGTH_M
    assert pytest.approx(STOPPING_LENGTH_M) == 0.7 * RELEASE_SPEED_M_S**2 / GRAVITY_M_S2
    assert resistance(10 * FOOT) == pytest.approx(0.07832, abs=5e-6)


@given(SPEEDS, SLOPES)
def test_rolls_and_back(speed: float, slope: float) -> None:
    up, down = ramp_rolls(speed, slope)
    back = two_way_speed(up, down)
    assert back.slope == pytest.approx(slope, abs=1e-12)
    # exact up to cos theta, as the closed form says
    assert back.level_speed_m == pytest.approx(speed * np.sqrt(1 + slope**2), rel=1e-12)
    assert level_speed_from_one_way(up, slope) == pytest.approx(back.level_speed_m, rel=1e-9)
    assert level_speed_from_one_way(down, -slope) == pytest.approx(back.level_speed_m, rel=1e-9)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_refuses_what_is_no_distance(bad: float) -> None:
    with pytest.raises(BadInput, match="above zero"):
        two_way_speed(bad, 2.0)
    with pytest.raises(BadInput, match="down_m"):
        two_way_speed(2.0, [2.0, bad])


def test_refuses_beyond_the_formula() -> None:
    with pytest.raises(BadInput, match="any slope"):
        two_way_speed(0.1, 100.0)
    with pytest.raises(BadInput, match="never stops"):
        ramp_rolls(3.048, 0.0784)  # rho at 10 ft is 0.0783
    with pytest.raises(BadInput, match="cannot run"):
        level_speed_from_one_way(10.0, 0.03)


@given(SPEEDS, st.floats(-0.999, 0.999))
def test_rolls_and_back_right_up_to_the_slope_on_which_a_ball_never_stops(
    speed: float, share: float
) -> None:
    slope = share * resistance(speed)
    up, down = ramp_rolls(speed, slope)
    back = two_way_speed(up, down)
    assert back.level_speed_m == pytest.approx(speed * np.sqrt(1 + slope**2), rel=1e-9)
    assert back.slope == pytest.approx(slope, abs=1e-9)


def test_the_downhill_roll_grows_without_end_towards_that_slope() -> None:
    rho = resistance(2.743)
    downs = [ramp_rolls(2.743, share * rho)[1] for share in (0.9, 0.99, 0.999, 0.9999)]
    # by hand: S / (1 - share), cos theta aside: ten times longer with each step
    assert np.array(downs[1:]) / np.array(downs[:-1]) == pytest.approx([10, 10, 10], rel=0.01)


@given(SPEEDS, SLOPES)
def test_both_ways_of_one_line_are_shorter_up_and_lie_about_the_level(
    speed: float, slope: float
) -> None:
    up, down = ramp_rolls(speed, slope)
    assert (up <= down) == (slope >= 0) or slope == pytest.approx(0, abs=1e-12)
    level, dust = two_way_speed(up, down).level_speed_m, 1e-12
    assert min(up, down) - dust <= level <= max(up, down) + dust


@given(st.floats(0.6, 10), st.floats(0.6, 10))
def test_the_level_speed_is_never_above_the_plain_mean(a: float, b: float) -> None:
    # by hand: the harmonic mean never exceeds the arithmetic one
    assert two_way_speed(a, b).level_speed_m <= (a + b) / 2 + 1e-12


def test_arrays_with_one_bad_slope_are_refused_whole() -> None:
    with pytest.raises(BadInput, match="never stops"):
        ramp_rolls(np.array([2.0, 4.0]), 0.08)  # by hand: rho is 0.119 and 0.060
    with pytest.raises(BadInput, match="cannot run"):
        level_speed_from_one_way([2.0, 9.0], 0.03)  # by hand: 0.2387 / 9 = 0.0265 < 0.03
    with pytest.raises(BadInput, match="above zero"):
        resistance([2.0, 0.0])


def test_shapes_broadcast_speed_against_slope() -> None:
    up, down = ramp_rolls(np.full((3, 1), 2.7), np.array([0.0, 0.01]))
    assert up.shape == down.shape == (3, 2)
    assert np.allclose(up[:, 0], 2.7) and np.all(up[:, 1] < 2.7)
