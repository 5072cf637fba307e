"""Height grids: reading the two open formats, refusing what cannot be, and the slope between."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from greenwright.base.errors import BadInput
from greenwright.roll import HeightGrid, read_ascii_grid, read_csv_grid

# The format's own rules (ESRI ASCII grid): six header lines, rows from the north, corner of the
# south-west cell; heights stand in the middle of the cells.
ASCII = """ncols 3
nrows 2
xllcorner 10.0
yllcorner 20.0
cellsize 2.0
NODATA_value -9999
1.0 1.1 1.2
0.0 0.1 0.2
"""


def test_ascii_grid_has_its_last_row_in_the_south() -> None:
    grid = read_ascii_grid(ASCII)
    assert (grid.x0_m, grid.y0_m, grid.cell_m) == (11.0, 21.0, 2.0)  # half a cell in
    assert grid.heights_m.tolist() == [[0.0, 0.1, 0.2], [1.0, 1.1, 1.2]]
    assert grid.extent_m == (11.0, 21.0, 15.0, 23.0)


def test_ascii_grid_given_by_its_centre_stands_there() -> None:
    grid = read_ascii_grid(ASCII.replace("llcorner", "llcenter"))
    assert (grid.x0_m, grid.y0_m) == (10.0, 20.0)


def test_ascii_grid_needs_no_nodata_line_and_takes_any_case_and_spacing() -> None:
    text = ASCII.replace("NODATA_value -9999\n", "").replace("ncols 3", "NCOLS      3")
    assert read_ascii_grid(text).heights_m.shape == (2, 3)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("ncols 3\n", "", "lacks ncols"),
        ("cellsize 2.0\n", "", "lacks cellsize"),
        ("xllcorner 10.0\n", "", "lacks xllcorner"),
        ("nrows 2", "nrows 3", "3 rows announced, 2 found"),
        ("1.0 1.1 1.2", "1.0 1.1", "3 heights announced, 2 found"),
        ("0.1", "low", "'low' is not a number"),
        ("0.1", "nan", "'nan' is not a number"),
        ("0.1", "-9999", "has no height"),
        ("cellsize 2.0", "cellsize 0", "size above zero"),
        ("ncols 3", "ncols 3.5", "whole numbers"),
        ("ncols 3", "ncols", "one number"),
        ("ncols 3", "ncols 1", "cannot be used"),
    ],
)
def test_a_faulty_ascii_grid_is_refused_with_the_reason(old: str, new: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        read_ascii_grid(ASCII.replace(old, new, 1))


def test_a_faulty_height_is_named_by_its_line() -> None:
    with pytest.raises(BadInput) as caught:
        read_ascii_grid(ASCII.replace("0.1", "x"))
    assert "line 8" in str(caught.value)
    with pytest.raises(BadInput):
        read_ascii_grid("")


def as_csv(xs: list[float], ys: list[float]) -> str:
    rows = [f"{x},{y},{0.02 * x - 0.01 * y}" for y in ys for x in reversed(xs)]
    return "\n".join(["x_m,y_m,z_m", *rows])


def test_csv_grid_may_come_in_any_order() -> None:
    grid = read_csv_grid("\ufeff" + as_csv([0, 0.5, 1.0], [2.0, 2.5]))
    assert (grid.x0_m, grid.y0_m, grid.cell_m) == (0.0, 2.0, 0.5)
    assert grid.heights_m[0] == pytest.approx([-0.02, -0.01, 0.0])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("x_m,y_m\n0,0", "no column z_m"),
        (as_csv([0, 1], [0, 1]) + "\n5,5,0", "do not fill"),
        (as_csv([0, 1, 3], [0, 1, 2]), "evenly spaced"),
        (as_csv([0, 1], [0, 1]).replace("0.02", "up"), "not a number"),
        ("x_m,y_m,z_m", "do not fill"),
    ],
)
def test_a_faulty_csv_grid_is_refused_with_the_reason(text: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        read_csv_grid(text)


@given(some.floats(-5, 5), some.floats(-5, 5), some.floats(-0.1, 0.1), some.floats(-0.1, 0.1))
def test_a_plane_has_its_slope_everywhere(x: float, y: float, east: float, north: float) -> None:
    ys, xs = np.mgrid[-5:6, -5:6] * 1.0
    grid = HeightGrid(-5.0, -5.0, 1.0, east * xs + north * ys)
    assert [float(g) for g in grid.gradient(x, y)] == pytest.approx([east, north], abs=1e-12)
    assert float(grid.height(x, y)) == pytest.approx(east * x + north * y, abs=1e-12)


def test_slopes_of_a_bowl_are_its_derivative_and_end_at_the_edge() -> None:
    ys, xs = np.mgrid[-20:21, -20:21] * 0.25
    bowl = HeightGrid(-5.0, -5.0, 0.25, 0.01 * (xs**2 + ys**2))
    # by hand: d/dx 0.01 x^2 = 0.02 x
    assert float(bowl.gradient(1.3, -2.1)[0]) == pytest.approx(0.026, abs=1e-12)
    assert float(bowl.gradient(1.3, -2.1)[1]) == pytest.approx(-0.042, abs=1e-12)
    assert float(bowl.gradient(50.0, 0.0)[0]) == pytest.approx(float(bowl.gradient(5.0, 0.0)[0]))


@pytest.mark.parametrize("heights", [[[0.0, 1.0]], [[0.0, np.nan], [0.0, 1.0]], [0.0, 1.0]])
def test_a_grid_needs_heights_in_two_directions(heights: list) -> None:
    with pytest.raises(BadInput):
        HeightGrid(0.0, 0.0, 1.0, np.array(heights))
