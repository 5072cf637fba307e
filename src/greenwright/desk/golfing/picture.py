"""A picture of simulated putts on one green, now and perfectly true, with the same chance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.desk.answering import SEED, Row
from greenwright.desk.golfing.asked import Asked
from greenwright.desk.golfing.levels import Levels
from greenwright.golfers import Player
from greenwright.measure import Surface
from greenwright.roll import STOPPING_LENGTH_M, aim_for
from greenwright.roll.grid import HeightGrid, read_ascii_grid, read_csv_grid
from greenwright.roll.paths import PuttPaths, putt_paths
from greenwright.roll.stroke import Aim
from greenwright.roll.terrain import Terrain

PUTTS = 200
PATHS = 60
"""Putts simulated, and paths handed over to be drawn."""

_DISTANCE_KEY, _SLOPE_KEY = "putts.picture_distance", "putts.picture_slope"
_LARGEST_FILE = 20_000_000
_STEEP_SHARE = 0.9

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Scene:
    """The ground of a picture: green, where ball and hole are, slope, and what was assumed."""

    green: str
    speed_m: float
    trueness_t: float
    slope: float
    grid: HeightGrid | None
    start: tuple[float, float]
    hole: tuple[float, float]
    assumed: frozenset[str] = frozenset()


def scene(record: Snapshot, surfaces: Mapping[str, Surface], levels: Levels, asked: Asked) -> Scene:
    """Return where the putts are rolled.

    The green named, else the one in play whose speed is nearest the course's; its own slope
    from the stations, across the line of the putt; or a height grid, putted towards its middle.

    Raises:
        UnknownKey: no such green. BadInput: a height file that cannot be used.
    """
    green = _green(record, surfaces, asked.green)
    distance = asked.distance_m or value(_DISTANCE_KEY)
    assumed = {_DISTANCE_KEY} if asked.distance_m is None else set()
    speed, trueness = _level(surfaces, levels, green)
    grid = None if asked.heights is None else read_heights(asked.heights)
    if grid is None:
        known = _slope(record, green)
        assumed |= {_SLOPE_KEY} if known is None else set()
        slope = value(_SLOPE_KEY) if known is None else known
        ends = ((0.0, 0.0), (0.0, float(distance)))
    else:
        ends = on_grid(grid, distance)
        slope = _mean_slope(grid, *ends)
    check_slope(slope, speed)
    return Scene(green, speed, trueness, slope, grid, *ends, frozenset(assumed))


def check_slope(slope: float, speed_m: float) -> None:
    """Refuse a slope on which hardly a ball would stop.

    Raises:
        BadInput: names the steepest at this green speed.
    """
    steepest = _STEEP_SHARE * STOPPING_LENGTH_M / speed_m
    if abs(slope) > steepest:
        raise BadInput(
            f"a slope of {100 * slope:.1f} % is too steep to putt on at this speed",
            where="slope",
            expected=f"at most {100 * steepest:.1f} %",
            do="Name another green or a flatter place",
        )


def putts_row(place: Scene, who: Player, asked: Asked) -> Row:
    """Return the putts of one player, now and on a perfectly true surface of the same shape."""
    ground, aim = stroke_on(place, who, place.trueness_t)
    now, perfect = (
        putt_paths(green, aim, n=PUTTS, seed=SEED)
        for green in (ground, replace(ground, trueness_t=0.0))
    )
    return {
        "green": place.green,
        "distance_m": float(np.hypot(*np.subtract(place.hole, place.start))),
        "slope": place.slope,
        "slope_is": "across the putt, higher on the right" if place.grid is None else "mean",
        "speed_m": place.speed_m,
        "trueness_t": place.trueness_t,
        "player": who.name,
        "n": PUTTS,
        "holed": int(now.holed.sum()),
        "holed_perfect": int(perfect.holed.sum()),
        "hole": list(place.hole),
        "start": list(place.start),
        "ends": _ends(now),
        "paths": [_path(path) for path in now.paths[:PATHS]],
        "perfect_ends": _ends(perfect),
        "heights": None if asked.heights is None else Path(asked.heights).name,
        "seed": SEED,
    }


def read_heights(path: Path) -> HeightGrid:
    """Return the height grid of a file: ESRI ASCII grid, or CSV with x_m, y_m, z_m.

    Raises:
        BadInput: no such file, too large, or not a grid.
    """
    file = Path(path)
    if not file.is_file():
        raise BadInput("there is no such file", where=str(path), expected="a height grid")
    if file.stat().st_size > _LARGEST_FILE:
        raise BadInput(
            "the height grid is too large",
            where=str(path),
            expected=f"at most {_LARGEST_FILE // 1_000_000} MB",
            do="Cut it to one green, or coarsen it",
        )
    text = file.read_bytes().decode("utf-8-sig", "replace")
    return read_csv_grid(text) if file.suffix.lower() == ".csv" else read_ascii_grid(text)


def stroke_on(place: Scene, who: Player, trueness_t: float) -> tuple[Terrain, Aim]:
    """Return the ground and a player's stroke at the hole, aimed as he means to putt.

    Args:
        place: where. who: the player. trueness_t: index T of the surface [m].
    """
    terrain = Terrain(
        slope_x=0.0 if place.grid is not None else place.slope,
        grid=place.grid,
        green_speed_m=place.speed_m,
        trueness_t=trueness_t,
    )
    aim = aim_for(terrain, place.start, place.hole, past_m=who.overshoot_m)
    return terrain, replace(
        aim,
        angle_sd=who.angle_sd,
        distance_sd=who.distance_sd,
        capture_limit=who.capture_speed,
    )


def _ends(made: PuttPaths) -> list[list[float | bool]]:
    rows = zip(made.x.tolist(), made.y.tolist(), made.holed.tolist(), strict=True)
    return [[round(x, 4), round(y, 4), bool(holed)] for x, y, holed in rows]


def _path(path: Floats) -> list[list[float]]:
    seen = path[np.isfinite(path).all(axis=1)]
    return [[round(float(x), 4), round(float(y), 4)] for x, y in seen]


def _green(record: Snapshot, surfaces: Mapping[str, Surface], named: str) -> str:
    playing = [one.green for one in record.greens if one.in_play]
    if named:
        if named in (one.green for one in record.greens):
            return named
        raise UnknownKey(f"no green {named!r}", where="green", expected=", ".join(playing))
    speed = surfaces.get("green_speed")
    if speed is None:
        return playing[0]
    usual = speed.course.value
    near = {g: abs(e.value - usual) for g, e in zip(speed.greens, speed.per_green, strict=True)}
    return min(playing, key=lambda green: near[green])


def _level(surfaces: Mapping[str, Surface], levels: Levels, green: str) -> tuple[float, float]:
    """Return green speed and trueness of the green, or the level asked for in their place."""
    made = []
    pairs = (("green_speed", "speed_m", levels.speed), ("trueness", "trueness_t", levels.trueness))
    for quantity, option, course in pairs:
        held = surfaces.get(quantity)
        own = course if held is None else held.per_green[held.greens.index(green)]
        made.append(levels.given.get(option, own.value))
    return made[0], made[1]


def _slope(record: Snapshot, green: str) -> float | None:
    known = [
        one.slope_pct / 100
        for one in record.stations
        if one.green == green and one.slope_pct is not None
    ]
    return sum(known) / len(known) if known else None


def on_grid(grid: HeightGrid, distance: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return ball and hole on a grid: the hole north of its middle, the ball south of it.

    Raises:
        BadInput: the putt does not fit.
    """
    rows, columns = grid.heights_m.shape
    x = grid.x0_m + grid.cell_m * (columns - 1) / 2
    depth = grid.cell_m * (rows - 1)
    if distance + 2 * _MARGIN_M > depth:
        raise BadInput(
            f"a putt of {distance:g} m does not fit on this height grid",
            where="heights",
            expected=f"at most {max(depth - 2 * _MARGIN_M, 0):.1f} m from south to north",
            do="Give a shorter distance or a larger grid",
        )
    middle = grid.y0_m + depth / 2
    return (x, middle - distance / 2), (x, middle + distance / 2)


_MARGIN_M = 1.0


def _mean_slope(grid: HeightGrid, start: tuple[float, float], hole: tuple[float, float]) -> float:
    """Return the mean steepness along the line from ball to hole."""
    share = np.linspace(0, 1, 50)
    x = start[0] + share * (hole[0] - start[0])
    y = start[1] + share * (hole[1] - start[1])
    gradient = grid.gradient(x, y)
    return float(np.hypot(*np.asarray(gradient)).mean())
