"""Closed forms of the rolling ball against tables worked out elsewhere, to their printed digits.

Origin of every table, unless a line says otherwise: a separate worksheet that evaluates the
formula named beside the table and was checked there against a solver of differential equations.
Speeds of greens are in feet, as the worksheet has them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from greenwright.roll import (
    BALL_RADIUS_M,
    GRAVITY_M_S2,
    HOLE_RADIUS_M,
    RELEASE_SPEED_M_S,
    break_on_plane,
    capture_half_width,
    capture_speed,
    deceleration,
    free_fall_speed,
    heading_walk,
    level_equivalent,
    resistance,
    sideways_variance,
    slide_to_roll,
    straight_putt,
    trueness_index,
)

FOOT = 0.3048

# The worksheet prints 0.0560 for mu at 10 ft and rho at 14 ft, each rounded twice; by hand they
# are 0.54864 / 9.80665 = 0.055946 and 0.78323 / 14 = 0.055945.
# green speed [ft], a [m/s2], mu = a / g, rho, time of the ramp's roll [s], steepest slope [%]
GREENS = [
    (4, 1.3716, 0.1399, 0.1958, 1.333, 19.6),
    (8, 0.6858, 0.0699, 0.0979, 2.667, 9.8),
    (10, 0.5486, 0.0559, 0.0783, 3.333, 7.8),
    (12, 0.4572, 0.0466, 0.0653, 4.000, 6.5),
    (14, 0.3919, 0.0400, 0.0559, 4.667, 5.6),
]
# green speed [ft], slope, launch speed [m/s], angle from downhill [deg], k, down x, across y [m]
BREAKS = [
    (10, 0.02, 1.8288, 90, 3.9162, 0.4164, 3.0991),
    (10, 0.02, 1.000, 90, 3.9162, 0.1245, 0.9266),
    (10, 0.01, 1.8288, 90, 7.8324, 0.1978, 3.0606),
    (12, 0.04, 1.8288, 90, 1.6317, 1.7963, 4.0398),
    (10, 0.02, 1.8288, 60, 3.9162, 2.1511, 2.8553),
]
# share of the hole's radius, fit [m/s], free fall [m/s]
CAPTURE = [
    (0.0, 1.630, 1.313),
    (0.25, 1.528, 1.243),
    (0.5, 1.2225, 0.987),
    (0.6, 1.043, 0.716),
    (0.75, 0.713, None),
    (0.9, 0.310, None),
    (1.0, 0.0, None),
]


@pytest.mark.parametrize(("feet", "a", "mu", "rho", "seconds", "steepest"), GREENS)
def test_greens_from_slow_to_fast(
    feet: float, a: float, mu: float, rho: float, seconds: float, steepest: float
) -> None:
    speed = feet * FOOT
    assert deceleration(speed) == pytest.approx(a, abs=5.01e-5)
    assert deceleration(speed) / GRAVITY_M_S2 == pytest.approx(mu, abs=5.01e-5)
    assert resistance(speed) == pytest.approx(rho, abs=5.01e-5)
    assert 100 * resistance(speed) == pytest.approx(steepest, abs=0.0501)
    ramp = straight_putt(speed, speed, past_m=0)
    assert ramp.launch_speed == pytest.approx(RELEASE_SPEED_M_S, rel=1e-12)
    assert ramp.time_s == pytest.approx(seconds, abs=5.01e-4)


@pytest.mark.parametrize(("feet", "rho"), [(12, 0.065), (4, 0.196)])
def test_resistance_meets_the_published_range(feet: float, rho: float) -> None:
    # "The physics of putting" (2002): 0.065 fast to 0.196 slow (from memory)
    assert resistance(feet * FOOT) == pytest.approx(rho, abs=5.01e-4)


@pytest.mark.parametrize(("slope", "launch"), [(0, 1.8143), (0.02, 2.0326), (-0.02, 1.5655)])
def test_three_metres_on_ten_feet_dying_at_the_hole(slope: float, launch: float) -> None:
    putt = straight_putt(3, 10 * FOOT, slope=slope, past_m=0)
    assert putt.launch_speed == pytest.approx(launch, abs=5.01e-5)
    assert putt.arrival_speed == 0


@pytest.mark.parametrize(("feet", "arrival"), [(8, 0.770), (10, 0.688), (12, 0.628)])
def test_speed_at_the_hole_of_a_putt_17_inches_past(feet: float, arrival: float) -> None:
    assert straight_putt(3, feet * FOOT, past_m=0.4318).arrival_speed == pytest.approx(
        arrival, abs=5.01e-4
    )


def test_level_equivalent_is_the_level_putt_of_the_same_launch_speed() -> None:
    # 2.0326 and 1.5655 m/s are the table's launch speeds up and down 2 %; by hand v^2 / 2a
    for slope, launch in ((0.02, 2.0326), (-0.02, 1.5655)):
        by_hand = launch**2 / (2 * 0.54864)
        assert level_equivalent(3, 10 * FOOT, slope) == pytest.approx(by_hand, abs=3e-4)


def test_a_struck_ball_keeps_five_sevenths_of_its_speed() -> None:
    # worksheet: mu 0.4, 2 m/s -> 1.429 m/s after 0.250 m and 0.146 s
    end = slide_to_roll(2.0, 0.4)
    assert end.rolling_speed == pytest.approx(1.429, abs=5.01e-4)
    assert end.distance_m == pytest.approx(0.250, abs=5.01e-4)
    assert end.time_s == pytest.approx(0.146, abs=5.01e-4)


@pytest.mark.parametrize(
    ("angle", "exit_speed", "rolling"),
    [(20, 1.885, 1.829), (20.5, None, 1.847), (22, None, 1.897)],
)
def test_release_speed_from_the_ramp(
    angle: float, exit_speed: float | None, rolling: float
) -> None:
    # v_r = sqrt(2 g L sin a / (1 + 0.4 (R/r_e)^2)); v0 = 5/7 v_r cos a + 2/7 v_r R / r_e
    lean = math.sqrt(BALL_RADIUS_M**2 - 0.00635**2)
    assert 1000 * lean == pytest.approx(20.37, abs=5.01e-3)
    tilt, spin = math.radians(angle), BALL_RADIUS_M / lean
    leaving = math.sqrt(2 * GRAVITY_M_S2 * 0.762 * math.sin(tilt) / (1 + 0.4 * spin**2))
    if exit_speed is not None:
        assert leaving == pytest.approx(exit_speed, abs=5.01e-4)
    level = 5 / 7 * leaving * math.cos(tilt) + 2 / 7 * leaving * spin
    assert level == pytest.approx(rolling, abs=6e-4)
    if angle == 20:
        assert pytest.approx(level, abs=5e-4) == RELEASE_SPEED_M_S


@pytest.mark.parametrize(("feet", "slope", "speed", "degrees", "k", "down", "across"), BREAKS)
def test_break_on_a_plane(
    feet: float, slope: float, speed: float, degrees: float, k: float, down: float, across: float
) -> None:
    assert resistance(feet * FOOT) / slope == pytest.approx(k, abs=6e-5)
    rest = break_on_plane(speed, feet * FOOT, slope, math.radians(degrees))
    assert rest.downhill_m == pytest.approx(down, abs=5.01e-5)
    assert rest.across_m == pytest.approx(across, abs=5.01e-5)


@pytest.mark.parametrize(("feet", "slope", "degrees"), [(10, 0.02, 7.65), (12, 0.04, 23.97)])
def test_angle_of_a_putt_along_the_contour(feet: float, slope: float, degrees: float) -> None:
    # x / y = (4 k^2 - 1) / (8 k (k^2 - 1)) whatever the speed
    k = resistance(feet * FOOT) / slope
    law = (4 * k**2 - 1) / (8 * k * (k**2 - 1))
    for speed in (0.6, 1.0, 2.4):
        rest = break_on_plane(speed, feet * FOOT, slope, math.pi / 2)
        assert rest.downhill_m / rest.across_m == pytest.approx(law, rel=1e-9)
    assert math.degrees(math.atan(law)) == pytest.approx(degrees, abs=5.01e-3)


@pytest.mark.parametrize(("share", "fit", "falling"), CAPTURE)
def test_capture_table(share: float, fit: float, falling: float | None) -> None:
    offset = share * HOLE_RADIUS_M
    assert capture_speed(offset) == pytest.approx(fit, abs=6e-4)
    if falling is not None:
        assert free_fall_speed(offset) == pytest.approx(falling, abs=6e-4)


@pytest.mark.parametrize(
    ("speed", "millimetres"), [(0.25, 49.7), (0.5, 44.9), (1.0, 33.6), (1.25, 26.1), (1.5, 15.2)]
)
def test_half_width_of_the_hole(speed: float, millimetres: float) -> None:
    assert 1000 * capture_half_width(speed) == pytest.approx(millimetres, abs=0.0501)


def test_the_random_walks_worked_example() -> None:
    # worksheet: S 10 ft, side slope sd 0.01 over 10 mm -> T 2e-6 m, K 8.150e-5 m, L 3.048 m
    index = 2 * 0.01**2 * 0.010
    walk = heading_walk(index, 10 * FOOT)
    assert walk == pytest.approx(8.150e-5, abs=5.01e-9)
    assert trueness_index(walk, 10 * FOOT) == pytest.approx(index, rel=1e-12)
    assert 1000 * np.sqrt(sideways_variance(walk, 3.048)) == pytest.approx(15.76, abs=5.01e-3)
    assert 1000 * np.sqrt(sideways_variance(walk, 3.048, 0.432)) == pytest.approx(
        10.29, abs=5.01e-3
    )


@pytest.mark.parametrize(("per_metre", "walk"), [(4.9, 7.3e-5), (13, 5.2e-4), (16.5, 8.3e-4)])
def test_walks_behind_published_sideways_numbers(per_metre: float, walk: float) -> None:
    # mm/m read as an sd over 3.05 m: K = (mm/m)^2 L, two printed digits
    assert sideways_variance(walk, 3.05) == pytest.approx((per_metre * 3.05e-3) ** 2, rel=0.01)


@pytest.mark.parametrize(("walk", "short", "long"), [(7.3e-5, 10.9, 20.2), (2e-4, 17.6, 31.3)])
def test_two_lengths_tell_jitter_from_surface(walk: float, short: float, long: float) -> None:
    # worksheet: jitter 2 mrad, Var = jitter^2 L^2 + K L at 1.5 and 4.5 m, sd in mm
    for length, sd in ((1.5, short), (4.5, long)):
        variance = (0.002 * length) ** 2 + sideways_variance(walk, length)
        assert 1000 * math.sqrt(variance) == pytest.approx(sd, abs=0.0501)
