"""A right read of the green: checked with balls rolled by another roller, and in closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.roll import Terrain, aim_for, putt_paths, straight_putt
from greenwright.roll.grid import HeightGrid

PAST = 0.41
SLOPES = [(0.0, 0.0), (0.02, 0.0), (-0.05, 0.0), (0.06, 0.0), (0.02, -0.03), (0.03, 0.01)]


def crossing(terrain: Terrain, distance: float) -> tuple[float, float]:
    """Return how far from the hole's centre the ball passes, and how far it runs beyond."""
    aim = aim_for(terrain, (0.0, 0.0), (0.0, distance), past_m=PAST)
    rolled = putt_paths(terrain, replace(aim, capture_limit=1e-6), n=1)
    path = rolled.paths[0]
    path = path[np.isfinite(path[:, 0])] - (0.0, distance)
    steps = np.diff(path, axis=0)
    share = np.clip(-(path[:-1] * steps).sum(axis=1) / (steps**2).sum(axis=1), 0, 1)
    away = np.hypot(*(path[:-1] + share[:, None] * steps).T)
    at = int(away.argmin())
    lengths = np.hypot(*steps.T)
    return float(away[at]), float((1 - share[at]) * lengths[at] + lengths[at + 1 :].sum())


@pytest.mark.parametrize(("slope_x", "slope_y"), SLOPES)
@pytest.mark.parametrize("distance", [0.5, 3.0, 8.0])
def test_the_ball_crosses_the_centre_and_runs_past(
    slope_x: float, slope_y: float, distance: float
) -> None:
    terrain = Terrain(slope_x=slope_x, slope_y=slope_y, green_speed_m=3.0)
    away, beyond = crossing(terrain, distance)
    # the roller of the other room takes its own steps; the hole is 54 mm wide each way
    assert away < 0.006 and beyond == pytest.approx(PAST, abs=0.02)


@pytest.mark.parametrize("slope_y", [-0.03, 0.0, 0.04])
def test_straight_up_and_down_it_is_the_closed_form(slope_y: float) -> None:
    aim = aim_for(Terrain(slope_y=slope_y, green_speed_m=3.0), (0.0, 0.0), (0.0, 3.0), past_m=PAST)
    expected = straight_putt(3.0, 3.0, slope=slope_y, past_m=PAST).launch_speed
    # map and ground differ by the cosine of the slope, 0.1 % at 4 %
    assert aim.launch_speed == pytest.approx(expected, rel=2e-3)
    assert aim.heading_rad == pytest.approx(math.pi / 2, abs=1e-9)


def test_it_aims_above_the_hole_and_the_same_on_the_other_side() -> None:
    right, left = (
        aim_for(Terrain(slope_x=s, green_speed_m=3.0), (0.0, 0.0), (0.0, 3.0), past_m=PAST)
        for s in (0.02, -0.02)
    )
    # the ground rises to the right: the aim is right of the hole
    assert right.heading_rad < math.pi / 2 < left.heading_rad
    assert right.heading_rad + left.heading_rad == pytest.approx(math.pi, abs=2e-3)


def test_a_grid_of_a_plane_is_the_plane() -> None:
    x = np.arange(-2, 2.1, 0.25)
    heights = np.tile(0.03 * x, (25, 1))
    grid = HeightGrid(-2.0, -1.0, 0.25, heights)
    on_grid, on_plane = (
        aim_for(t, (0.0, 0.0), (0.0, 3.0), past_m=PAST)
        for t in (Terrain(grid=grid, green_speed_m=3.0), Terrain(slope_x=0.03, green_speed_m=3.0))
    )
    assert on_grid.heading_rad == pytest.approx(on_plane.heading_rad, abs=1e-6)
    assert on_grid.launch_speed == pytest.approx(on_plane.launch_speed, rel=1e-6)


def test_where_no_ball_rests_behind_the_hole_it_is_refused() -> None:
    with pytest.raises(BadInput, match="no stroke"):
        aim_for(Terrain(slope_y=-0.085, green_speed_m=3.0), (0.0, 0.0), (0.0, 3.0), past_m=PAST)
