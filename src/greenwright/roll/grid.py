"""Height grids of a green: read from plain open formats, with the slope at any place."""

from __future__ import annotations

import csv
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput

Floats = NDArray[np.float64]
_LARGEST = 4_000_000
_HEADER = ("ncols", "nrows", "xllcorner", "yllcorner", "xllcenter", "yllcenter", "cellsize")


@dataclass(frozen=True, slots=True, eq=False)
class HeightGrid:
    """Heights on a regular grid of square cells.

    Args:
        x0_m, y0_m: place of heights_m[0, 0], the south-west node [m].
        cell_m: distance between nodes [m].
        heights_m: (rows, columns) [m], row 0 in the south, columns towards the east.
    """

    x0_m: float
    y0_m: float
    cell_m: float
    heights_m: Floats

    def __post_init__(self) -> None:
        heights = np.asarray(self.heights_m, dtype=float)
        if heights.ndim != 2 or min(heights.shape) < 2 or not np.isfinite(heights).all():
            raise BadInput(
                "a height grid needs at least two rows and two columns of finite heights",
                where="height grid",
            )
        if not (np.isfinite(self.cell_m) and self.cell_m > 0):
            raise BadInput("cells need a size above zero", where="height grid", expected="metres")

    @property
    def extent_m(self) -> tuple[float, float, float, float]:
        """Return west, south, east and north end [m]."""
        rows, columns = self.heights_m.shape
        east = self.x0_m + (columns - 1) * self.cell_m
        return self.x0_m, self.y0_m, east, self.y0_m + (rows - 1) * self.cell_m

    def height(self, x_m: ArrayLike, y_m: ArrayLike) -> Floats:
        """Return the height between the nodes, bilinear; outside, that of the nearest edge [m]."""
        at, u, v = self._place(x_m, y_m)
        (sw, se), (nw, ne) = self._corners(at)
        return (1 - v) * ((1 - u) * sw + u * se) + v * ((1 - u) * nw + u * ne)

    def gradient(self, x_m: ArrayLike, y_m: ArrayLike) -> tuple[Floats, Floats]:
        """Return dz/dx and dz/dy, bilinear between the slopes at the four nodes around.

        Slopes at the nodes are central differences, so the gradient has no jumps where a ball
        leaves one cell for the next. Outside the grid the nearest edge's slope holds.
        """
        south_north, west_east = np.gradient(self.heights_m, self.cell_m)
        at, u, v = self._place(x_m, y_m)
        return _between(west_east, at, u, v), _between(south_north, at, u, v)

    def _place(
        self, x_m: ArrayLike, y_m: ArrayLike
    ) -> tuple[tuple[NDArray[np.int64], NDArray[np.int64]], Floats, Floats]:
        rows, columns = self.heights_m.shape
        x = np.clip((np.asarray(x_m, dtype=float) - self.x0_m) / self.cell_m, 0, columns - 1)
        y = np.clip((np.asarray(y_m, dtype=float) - self.y0_m) / self.cell_m, 0, rows - 1)
        column = np.minimum(x.astype(np.int64), columns - 2)
        row = np.minimum(y.astype(np.int64), rows - 2)
        return (row, column), x - column, y - row

    def _corners(
        self, at: tuple[NDArray[np.int64], NDArray[np.int64]]
    ) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
        (row, column), z = at, self.heights_m
        return (z[row, column], z[row, column + 1]), (z[row + 1, column], z[row + 1, column + 1])


def _between(
    field: Floats, at: tuple[NDArray[np.int64], NDArray[np.int64]], u: Floats, v: Floats
) -> Floats:
    row, column = at
    south = (1 - u) * field[row, column] + u * field[row, column + 1]
    north = (1 - u) * field[row + 1, column] + u * field[row + 1, column + 1]
    return (1 - v) * south + v * north


def read_ascii_grid(text: str) -> HeightGrid:
    """Return the grid of an ESRI ASCII grid (header of six lines, then rows from the north).

    Args:
        text: the file's text; heights and cell size in metres.

    Raises:
        BadInput: a header line missing or not a number, a row too short or too long, a word
            among the heights, or a node without data; says which line.
    """
    lines = [(n, line.split()) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    header, body = _header(lines)
    columns, rows = int(header["ncols"]), int(header["nrows"])
    if not (columns >= 2 and rows >= 2 and columns * rows <= _LARGEST):
        raise BadInput(
            f"a grid of {columns} columns and {rows} rows cannot be used",
            where="height grid",
            expected=f"2 or more of each, {_LARGEST:,} heights at most",
        )
    if len(body) != rows:
        raise BadInput(f"{rows} rows announced, {len(body)} found", where="height grid")
    heights = np.array([_row(n, cells, columns, header) for n, cells in body])
    cell = header["cellsize"]
    half = {axis: 0.0 if f"{axis}llcenter" in header else cell / 2 for axis in "xy"}
    x0, y0 = (header.get(f"{a}llcenter", header.get(f"{a}llcorner", 0.0)) + half[a] for a in "xy")
    return HeightGrid(x0, y0, cell, heights[::-1].copy())


def read_csv_grid(text: str) -> HeightGrid:
    """Return the grid of a CSV with the columns x_m, y_m, z_m: one row for each node.

    Raises:
        BadInput: a column missing, a cell that is no number, or nodes that do not fill a
            regular grid of square cells; says which line.
    """
    rows = csv.DictReader(text.lstrip("\ufeff").splitlines())
    missing = {"x_m", "y_m", "z_m"} - set(rows.fieldnames or ())
    if missing:
        raise BadInput(
            f"no column {', '.join(sorted(missing))}", where="line 1", expected="x_m, y_m, z_m"
        )
    nodes = np.array([_node(n, row) for n, row in enumerate(rows, 2)]).reshape(-1, 3)
    xs, ys = np.unique(nodes[:, 0]), np.unique(nodes[:, 1])
    if min(len(xs), len(ys)) < 2 or len(nodes) != len(xs) * len(ys):
        raise BadInput(
            f"{len(nodes)} nodes do not fill {len(xs)} columns by {len(ys)} rows",
            where="height grid",
            expected="one row for every node of a regular grid",
        )
    steps = np.concatenate([np.diff(xs), np.diff(ys)])
    if np.ptp(steps) > 1e-6 * steps[0] + 1e-9:
        raise BadInput("the nodes are not evenly spaced", where="height grid", expected="squares")
    order = np.lexsort((nodes[:, 0], nodes[:, 1]))
    heights = nodes[order, 2].reshape(len(ys), len(xs))
    return HeightGrid(float(xs[0]), float(ys[0]), float(steps[0]), heights)


def _header(
    lines: list[tuple[int, list[str]]],
) -> tuple[dict[str, float], list[tuple[int, list[str]]]]:
    found: dict[str, float] = {}
    for place, (n, cells) in enumerate(lines):
        name = cells[0].lower()
        if name not in (*_HEADER, "nodata_value"):
            _complete(found)
            return found, lines[place:]
        if len(cells) != 2:
            raise BadInput(f"{cells[0]} needs one number", where=f"line {n}")
        found[name] = _number(cells[1], n)
    _complete(found)
    return found, []


def _complete(found: dict[str, float]) -> None:
    missing = [name for name in ("ncols", "nrows", "cellsize") if name not in found]
    missing += [
        f"{a}llcorner" for a in "xy" if f"{a}llcorner" not in found and f"{a}llcenter" not in found
    ]
    if missing:
        raise BadInput(
            f"the header lacks {', '.join(missing)}",
            where="height grid",
            expected="an ESRI ASCII grid",
        )
    if found["ncols"] % 1 or found["nrows"] % 1:
        raise BadInput("ncols and nrows are whole numbers", where="height grid")


def _row(n: int, cells: list[str], columns: int, header: dict[str, float]) -> list[float]:
    if len(cells) != columns:
        raise BadInput(f"{columns} heights announced, {len(cells)} found", where=f"line {n}")
    heights = [_number(cell, n) for cell in cells]
    empty = header.get("nodata_value", -9999.0)
    if empty in heights:
        raise BadInput(
            f"node {heights.index(empty) + 1} of the row has no height",
            where=f"line {n}",
            do="cut the grid to the green, or fill the gap where it was surveyed",
        )
    return heights


def _node(n: int, row: dict[str, str]) -> list[float]:
    return [_number(row[name] or "", n) for name in ("x_m", "y_m", "z_m")]


def _number(text: str, line: int) -> float:
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if not np.isfinite(number):
        raise BadInput(f"{text[:20]!r} is not a number", where=f"line {line}", expected="metres")
    return number
