"""What is refused says what is wrong, where, what was expected and what to do about it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.roll import (
    Aim,
    HeightGrid,
    Terrain,
    aim_for,
    break_on_plane,
    capture_half_width,
    capture_speed,
    free_fall_speed,
    heading_walk,
    index_of_sideways,
    level_speed_from_one_way,
    ramp_rolls,
    read_ascii_grid,
    read_csv_grid,
    sideways_per_metre,
    sideways_variance,
    simulate_putts,
    slide_to_roll,
    straight_putt,
    trueness_index,
    two_way_speed,
)

NAN, INF = float("nan"), float("inf")
GRID = "ncols 2\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n"


def refused(call: Callable[[], Any]) -> BadInput:
    with pytest.raises(BadInput) as caught:
        call()
    return caught.value


CASES: list[tuple[Callable[[], Any], str, str, str]] = [
    (lambda: two_way_speed(2.0, NAN), "down_m", "above zero", "metres"),
    (lambda: two_way_speed(0.05, 9.0), "two-way speed", "any slope", "same unit"),
    (lambda: ramp_rolls(3.0, 0.09), "ramp rolls", "never stops", "0.080"),
    (lambda: ramp_rolls(3.0, NAN), "ramp rolls", "never stops", "slope"),
    (lambda: level_speed_from_one_way(9.0, 0.05), "one-way speed", "that far", "positive"),
    (lambda: break_on_plane(1.0, 3.0, 0.09, 1.0), "slope", "never stops", "8.0%"),
    (lambda: break_on_plane(INF, 3.0, 0.02, 1.0), "break", "launch speed", "m/s"),
    (lambda: break_on_plane(1.0, 3.0, 0.02, NAN), "angle", "direction", "180 degrees"),
    (lambda: straight_putt(3.0, 3.0, slope=-0.1), "slope", "never stops", "8.0%"),
    (lambda: straight_putt(3.0, 3.0, past_m=NAN), "past", "short", "0 m or more"),
    (lambda: capture_speed(0.0541), "offset", "does not cross", "54 mm"),
    (lambda: capture_speed(NAN), "offset", "does not cross", "54 mm"),
    (lambda: capture_speed(0.0, centre_limit=-1.0), "capture", "above zero", "m/s"),
    (lambda: free_fall_speed(-0.06), "offset", "does not cross", "54 mm"),
    (lambda: capture_half_width(NAN), "capture", "below zero", "m/s"),
    (lambda: capture_half_width(1.0, centre_limit=0.0), "capture", "above zero", "m/s"),
    (lambda: heading_walk(-1e-9, 3.0), "roughness", "trueness index", "metres"),
    (lambda: trueness_index(INF, 3.0), "roughness", "heading walk", "metres"),
    (lambda: index_of_sideways(-0.01, 3.0), "roughness", "spread", "metres"),
    (lambda: sideways_variance(1e-4, 0.0), "sideways variance", "above zero", "metres"),
    (lambda: sideways_variance(1e-4, 3.0, -0.1), "roughness", "way left", "metres"),
    (lambda: sideways_per_metre(1e-6, 3.0, roll_m=0.0), "sideways variance", "roll", "metres"),
    (lambda: Terrain(green_speed_m=12.5), "green speed", "rolls that far", "0.3 to 12 m"),
    (lambda: HeightGrid(0, 0, NAN, np.zeros((2, 2))), "height grid", "above zero", "metres"),
    (lambda: read_csv_grid("x_m\n1"), "line 1", "y_m, z_m", "x_m, y_m, z_m"),
    (lambda: read_csv_grid("x_m,y_m,z_m\n0,0,\n"), "line 2", "not a number", "metres"),
    (lambda: read_ascii_grid(GRID + "0 0\n0 inf\n"), "line 7", "not a number", "metres"),
    (lambda: read_ascii_grid("ncols x\n"), "line 1", "not a number", "metres"),
]


@pytest.mark.parametrize(("call", "where", "what", "expected"), CASES)
def test_each_refusal_says_what_where_and_what_was_expected(
    call: Callable[[], Any], where: str, what: str, expected: str
) -> None:
    error = refused(call)
    assert error.where == where
    assert what in error.what
    assert expected in error.expected
    assert str(error).endswith((".", "?", "!"))


@pytest.mark.parametrize(
    ("call", "advice"),
    [
        (lambda: ramp_rolls(3.0, 0.09), "flatter ground"),
        (lambda: two_way_speed(-1.0, 2.0), "correct the distance"),
        (lambda: level_speed_from_one_way(9.0, 0.05), "sign and size"),
        (lambda: straight_putt(3.0, 3.0, slope=-0.1), "slower green"),
        (lambda: break_on_plane(1.0, 3.0, 0.09, 1.0), "flatter slope"),
        (lambda: read_ascii_grid(GRID + "0 0\n0 -9999\n"), "fill the gap"),
    ],
)
def test_where_there_is_a_next_step_it_is_told(call: Callable[[], Any], advice: str) -> None:
    assert advice in refused(call).do.lower()


@pytest.mark.parametrize(
    "wrong",
    [
        {"angle_sd": NAN},
        {"distance_sd": NAN},
        {"heading_rad": INF},
        {"heading_rad": NAN},
        {"launch_speed": INF},
        {"start": (NAN, 0.0)},
        {"hole": (2.0, INF)},
    ],
)
def test_an_aim_of_no_number_is_refused(wrong: dict[str, Any]) -> None:
    held = {"start": (0.0, 0.0), "hole": (2.0, 0.0), "launch_speed": 1.0, "heading_rad": 0.0}
    assert refused(lambda: Aim(**(held | wrong))).where == "aim"


@pytest.mark.parametrize(
    "name",
    [
        "slope_x",
        "slope_y",
        "trueness_t",
        "heading_k",
        "distance_noise_m",
        "correlation_m",
        "along_slope_rms",
        "impact_length_m",
        "rim_spread",
    ],
)
def test_a_green_of_no_number_is_refused(name: str) -> None:
    assert refused(lambda: Terrain(**{name: NAN})).where == "terrain"


def test_impacts_have_a_length() -> None:
    assert refused(lambda: Terrain(impact_length_m=0.0)).where == "terrain"


@pytest.mark.parametrize("past", [-0.1, NAN])
def test_nobody_aims_to_stop_short(past: float) -> None:
    error = refused(lambda: aim_for(Terrain(), (0.0, 0.0), (0.0, 2.0), past_m=past))
    assert error.where == "past" and "0 m" in error.expected


def test_a_ball_on_the_hole_has_no_aim() -> None:
    assert "already" in refused(lambda: aim_for(Terrain(), (1.0, 1.0), (1.0, 1.0), past_m=0.4)).what


@pytest.mark.parametrize("n", [0, -5, 2**31])
def test_only_a_sound_number_of_balls_is_rolled(n: int) -> None:
    aim = Aim(start=(0, 0), hole=(2, 0), launch_speed=1.0, heading_rad=0.0)
    assert refused(lambda: simulate_putts(Terrain(), aim, n=n)).where == "putts"


@pytest.mark.parametrize("friction", [0.0, -0.2, NAN, INF])
def test_a_ball_slides_with_some_friction(friction: float) -> None:
    assert "friction" in refused(lambda: slide_to_roll(2.0, friction)).what


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.8, 1.0])
def test_the_rule_of_capture_by_hand(share: float) -> None:
    # by hand: 1.63 (1 - share^2)
    assert capture_speed(share * 0.05398) == pytest.approx(1.63 * (1 - share**2))
    assert capture_speed(-share * 0.05398) == capture_speed(share * 0.05398)
    if share < 1:
        back = capture_half_width(1.63 * (1 - share**2))
        assert back == pytest.approx(share * 0.05398, abs=1e-9)


@pytest.mark.parametrize(
    ("offset", "chord"),
    [
        (0.0, 0.08662),  # by hand: 53.98 + 32.64 mm
        (0.02, 0.075933),  # by hand: root(53.98^2 - 20^2) + root(32.64^2 - 20^2) = 50.138 + 25.795
        (0.03, 0.0577355),  # by hand: 44.8759 + 12.8596
    ],
)
def test_a_free_ball_falls_its_radius_while_it_crosses(offset: float, chord: float) -> None:
    fall_s = math.sqrt(2 * 0.02134 / 9.80665)  # by hand: half g t^2 is the radius
    assert free_fall_speed(offset) * fall_s == pytest.approx(chord, abs=2e-6)


def test_less_is_caught_further_off_whatever_the_rule() -> None:
    offsets = np.linspace(0, 0.05398, 50)
    assert np.all(np.diff(capture_speed(offsets)) < 0)
    assert np.all(np.diff(free_fall_speed(offsets)) <= 0)
    # the rim's help never takes less than falling free at the centre
    assert free_fall_speed(0.0) < capture_speed(0.0)


def test_shapes_of_capture_follow_what_is_given() -> None:
    assert isinstance(capture_speed(0.01), float) and isinstance(free_fall_speed(0.01), float)
    assert capture_speed(np.zeros((2, 1)), centre_limit=np.ones(3)).shape == (2, 3)
    assert capture_half_width(np.zeros((2, 3))) == pytest.approx(np.full((2, 3), 0.05398))
