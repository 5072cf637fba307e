"""The way of a ball, mark by mark, and where its energy goes: sums made outside the program.

The equations are written here over the length of the way, not over time as in `twin`:
dE/ds = -2 a (rho + slope along), dpsi/ds = -a (slope across) / E, with E = v^2 and
a = (5/7) g cos(theta).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from scipy.integrate import quad, solve_ivp

from greenwright.roll import (
    Aim,
    HeightGrid,
    Terrain,
    break_on_plane,
    putt_paths,
    sideways_variance,
    simulate_putts,
)
from greenwright.roll.paths import PuttPaths
from tests.roll.twin import SEVENTHS, V0, G, friction

MARK = 5 / 64  # by hand: sixteen steps of 5/1024 m
Slope = Callable[[float, float], tuple[float, float]]
FAR = (90.0, 90.0)


def film(slope_at: Slope, speed: float, launch: float, heading: float) -> np.ndarray:
    """Return places (n, 2) of a ball every MARK of its way, by a general integrator."""
    rho = friction(speed)

    def change(_: float, state: np.ndarray) -> list[float]:
        x, y, energy, angle = state
        dx, dy = slope_at(x, y)
        pull = SEVENTHS * G / math.sqrt(1 + dx * dx + dy * dy)
        cosine, sine = math.cos(angle), math.sin(angle)
        fall = -2 * pull * (rho + dx * cosine + dy * sine)
        return [cosine, sine, fall, -pull * (dy * cosine - dx * sine) / energy]

    def slow(_: float, state: np.ndarray) -> float:
        return float(state[2]) - 0.15

    slow.terminal = True  # type: ignore[attr-defined]
    got = solve_ivp(
        change,
        (0.0, 40.0),
        [0.0, 0.0, launch**2, heading],
        events=slow,
        dense_output=True,
        rtol=1e-10,
        atol=1e-12,
    )
    marks = np.arange(0.0, got.t[-1], MARK)
    return got.sol(marks)[:2].T


def rolled(terrain: Terrain, launch: float, heading: float, n: int = 1) -> PuttPaths:
    aim = Aim(start=(0.0, 0.0), hole=FAR, launch_speed=launch, heading_rad=heading)
    return putt_paths(terrain, aim, n=n)


def length_of(path: np.ndarray) -> float:
    """Return the length of a way told by its places."""
    steps = np.diff(path[np.isfinite(path[:, 0])], axis=0)
    return float(np.hypot(*steps.T).sum())


@pytest.mark.parametrize("slope", [(0.0, 0.0), (0.03, 0.0), (-0.02, 0.035), (0.0, -0.045)])
@pytest.mark.parametrize("heading", [0.0, 1.1, 2.6, -2.0])
def test_on_a_plane_every_mark_lies_where_an_integrator_passes(
    slope: tuple[float, float], heading: float
) -> None:
    # origin: solve_ivp at a relative tolerance of 1e-10
    wanted = film(lambda x, y: slope, 3.2, 1.9, heading)
    got = rolled(Terrain(green_speed_m=3.2, slope_x=slope[0], slope_y=slope[1]), 1.9, heading)
    assert len(wanted) > 15
    assert got.paths[0, : len(wanted)] == pytest.approx(wanted, abs=2e-5)


@pytest.mark.parametrize("heading", [0.3, 1.5, 2.8, -0.9])
def test_in_a_bowl_every_mark_lies_where_an_integrator_passes(heading: float) -> None:
    y, x = np.mgrid[-24:25, -24:25] * 0.25
    bowl = HeightGrid(-6.0, -6.0, 0.25, 0.008 * ((x - 1.0) ** 2 + 1.5 * y**2))
    # by hand: slopes of 0.008 ((x - 1)^2 + 1.5 y^2)
    wanted = film(lambda x, y: (0.016 * (x - 1.0), 0.024 * y), 3.0, 1.8, heading)
    got = rolled(Terrain(grid=bowl, green_speed_m=3.0), 1.8, heading)
    assert len(wanted) > 15
    # the slope is looked up once in 78 mm, half of it ahead
    assert got.paths[0, : len(wanted)] == pytest.approx(wanted, abs=5e-4)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    slope_x=some.floats(-0.04, 0.04),
    slope_y=some.floats(-0.04, 0.04),
    launch=some.floats(0.8, 2.4),
    heading=some.floats(-3.1, 3.1),
)
def test_the_stroke_s_energy_is_the_work_of_friction_and_of_the_climb(
    slope_x: float, slope_y: float, launch: float, heading: float
) -> None:
    got = rolled(Terrain(green_speed_m=3.0, slope_x=slope_x, slope_y=slope_y), launch, heading)
    pull = SEVENTHS * G / math.sqrt(1 + slope_x**2 + slope_y**2)
    climb = slope_x * got.x[0] + slope_y * got.y[0]
    work = 2 * pull * (friction(3.0) * length_of(got.paths[0]) + climb)
    # by hand: nothing else takes energy; the way is told by chords of 78 mm
    assert work == pytest.approx(launch**2, rel=4e-3)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(
    slope=some.floats(0.002, 0.05),
    angle=some.floats(0.05, 3.09),
    launch=some.floats(0.5, 2.2),
)
def test_the_closed_form_of_the_break_keeps_the_same_account(
    slope: float, angle: float, launch: float
) -> None:
    rest = break_on_plane(launch, 3.2, slope, angle)
    pull = SEVENTHS * G / math.sqrt(1 + slope**2)
    way = (launch**2 / (2 * pull) + slope * rest.downhill_m) / friction(3.2)
    # by hand: no way is shorter than the straight one, nor much longer on a gentle slope
    straight = math.hypot(rest.downhill_m, rest.across_m)
    assert straight - 1e-9 <= way <= 1.6 * straight


def test_a_rough_green_turns_a_ball_but_takes_no_energy() -> None:
    level = rolled(Terrain(green_speed_m=3.0, heading_k=2e-5), 1.8288, 0.0, n=20)
    for path in level.paths:
        # by hand: on the level the way is the green speed, however crooked; chords cut a little
        assert 2.97 < length_of(path) <= 3.0 + 1e-6
    assert level.y.std() > 0.003


@pytest.mark.parametrize("rate", [-0.3, 0.2, 0.6])
def test_a_green_that_grows_faster_along_the_way_by_hand(rate: float) -> None:
    x = np.tile(np.arange(-2.0, 8.1, 0.25), (3, 1))
    speeds = HeightGrid(-2.0, -0.25, 0.25, np.maximum(3.0 + rate * x, 0.4))
    got = rolled(Terrain(green_speed_m=speeds), V0, 0.0)
    # by hand: the integral of dx / (3 + rate x) from 0 is 1, so x = 3 (exp(rate) - 1) / rate
    assert got.x[0] == pytest.approx(3.0 * (math.exp(rate) - 1) / rate, abs=2e-3)


@pytest.mark.parametrize("curve", [0.01, 0.03])
def test_a_bank_that_grows_steeper_stops_a_ball_by_hand(curve: float) -> None:
    x = np.tile(np.arange(-1.0, 5.1, 0.125), (3, 1))
    bank = HeightGrid(-1.0, -0.125, 0.125, curve * x**2 / 2)
    got = rolled(Terrain(grid=bank, green_speed_m=3.0), V0, 0.0)
    rho = friction(3.0)
    # by hand: rho x + curve x^2 / 2 = v0^2 / (2 (5/7) g) = 3 rho, but for cos(theta)
    wanted = (-rho + math.sqrt(rho**2 + 6 * curve * rho)) / curve
    assert got.x[0] == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize("roller", [simulate_putts, putt_paths], ids=["lanes", "paths"])
@pytest.mark.parametrize(("slope", "heading"), [(0.02, 0.4), (0.04, -1.2), (0.03, 2.5)])
def test_a_mirrored_stroke_breaks_the_other_way(roller, slope: float, heading: float) -> None:  # type: ignore[no-untyped-def]
    def ends(tilt: float, angle: float) -> tuple[float, float]:
        aim = Aim(start=(0.0, 0.0), hole=FAR, launch_speed=1.7, heading_rad=angle)
        got = roller(Terrain(green_speed_m=3.0, slope_y=tilt), aim, n=1)
        return float(got.x[0]), float(got.y[0])

    x, y = ends(slope, heading)
    # by hand: mirrored in the x axis the slope and the heading turn their signs
    assert ends(-slope, -heading) == pytest.approx((x, -y), abs=2e-5)
    # by hand: mirrored in the y axis the slope stays
    assert ends(slope, math.pi - heading) == pytest.approx((-x, y), abs=5e-5)


@pytest.mark.parametrize("turn", [0.5, 2.0, -2.7])
def test_turning_the_whole_green_turns_where_the_ball_ends(turn: float) -> None:
    cosine, sine = math.cos(turn), math.sin(turn)
    one = rolled(Terrain(green_speed_m=3.0, slope_x=0.03), 1.8, 1.0)
    two = rolled(
        Terrain(green_speed_m=3.0, slope_x=0.03 * cosine, slope_y=0.03 * sine), 1.8, 1.0 + turn
    )
    x, y = one.x[0], one.y[0]
    assert two.x[0] == pytest.approx(cosine * x - sine * y, abs=1e-6)  # by hand
    assert two.y[0] == pytest.approx(sine * x + cosine * y, abs=1e-6)


@pytest.mark.parametrize("left", [0.05, 0.4, 1.0, 2.5])
def test_sideways_variance_is_the_integral_of_the_turns_still_seen(left: float) -> None:
    # by hand: a turn sqrt(K) / u, made with u to go, has moved the ball by (u - left) of it
    wanted = quad(lambda u: (1 - left / u) ** 2, left, 3.0)[0]
    assert sideways_variance(1e-4, 3.0, left) == pytest.approx(1e-4 * wanted, rel=1e-9)
