"""Putts by the million: where they end and how many the hole takes, without their paths."""

from __future__ import annotations

from collections import namedtuple
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.roll.chance import STREAM, salt
from greenwright.roll.grid import HeightGrid
from greenwright.roll.stroke import Aim
from greenwright.roll.terrain import Terrain

Floats = NDArray[np.float64]

_Stroke = namedtuple("_Stroke", "x y energy heading limit angle_sd distance_sd noise rim rho salts")
_Field = namedtuple(
    "_Field",
    "slope_x slope_y shaped dx dy heights_at varied speed speeds_at uneven index walk "
    "correlation impact hole_x hole_y",
)
_Ends = namedtuple("_Ends", "x y holed rested")


@dataclass(frozen=True, slots=True, eq=False)
class PuttEnds:
    """Rolled putts, (n,) each.

    Args:
        x, y: resting place on the terrain, the hole's centre for holed balls [m].
        holed: whether the hole has them.
        rested: False where a ball was still on the move after 60 m.
        steps: steps taken by all balls together, those that idle in their block included.
    """

    x: Floats
    y: Floats
    holed: NDArray[np.bool_]
    rested: NDArray[np.bool_]
    steps: int


def simulate_putts(
    terrain: Terrain, aim: Aim, *, n: int, seed: int = 0, threads: int | None = None
) -> PuttEnds:
    """Roll n putts, compiled, 32 side by side.

    Args:
        terrain, aim: the green and the stroke.
        n: how many, up to 2^31.
        seed: the same seed rolls the same putts, whatever the number of threads.
        threads: at most this many; None = as many as there are processors.

    Raises:
        BadInput: fewer than one ball or one thread.

    The first call compiles (some seconds, kept on disk afterwards). Model and limits as in
    `putt_paths`, whose double precision it matches to a few hundredths of a millimetre on a
    plane without chance.
    """
    if not 1 <= n < 2**31 or (threads is not None and threads < 1):
        raise BadInput("roll at least one ball on at least one thread", where="putts")
    lanes = import_module("greenwright.roll.lanes")
    flags = np.zeros((2, n), dtype=bool)
    out = _Ends(np.empty(n), np.empty(n), flags[0], flags[1])
    with lanes.on_threads(threads):
        steps = lanes.roll_blocks(
            -(-n // lanes.LANES), _stroke(terrain, aim, seed), _field(terrain, aim), out
        )
    return PuttEnds(
        out.x + aim.hole[0],
        out.y + aim.hole[1],
        out.holed,
        out.rested,
        lanes.LANES * int(steps.sum()),
    )


def _stroke(terrain: Terrain, aim: Aim, seed: int) -> Any:
    return _Stroke(
        x=aim.start[0] - aim.hole[0],
        y=aim.start[1] - aim.hole[1],
        energy=aim.launch_speed**2,
        heading=float(aim.heading_rad),
        limit=float(aim.capture_limit),
        angle_sd=float(aim.angle_sd),
        distance_sd=float(aim.distance_sd),
        noise=float(terrain.distance_noise_m),
        rim=float(terrain.rim_spread),
        rho=float(terrain.resistance(*aim.start)),
        salts=np.array([salt(seed, stream) for stream in STREAM], dtype=np.uint32),
    )


def _field(terrain: Terrain, aim: Aim) -> Any:
    speed = terrain.green_speed_m
    speeds = speed if isinstance(speed, HeightGrid) else _even(float(speed))
    heights = terrain.grid or _even(0.0)
    south_north, west_east = np.gradient(heights.heights_m, heights.cell_m)
    return _Field(
        slope_x=float(terrain.slope_x),
        slope_y=float(terrain.slope_y),
        shaped=terrain.grid is not None,
        dx=np.ascontiguousarray(west_east),
        dy=np.ascontiguousarray(south_north),
        heights_at=_place(heights),
        varied=isinstance(speed, HeightGrid),
        speed=np.ascontiguousarray(speeds.heights_m, dtype=float),
        speeds_at=_place(speeds),
        uneven=terrain.uneven,
        index=float(terrain.trueness_t),
        walk=float(terrain.heading_k),
        correlation=float(terrain.correlation_m),
        impact=terrain.impact,
        hole_x=float(aim.hole[0]),
        hole_y=float(aim.hole[1]),
    )


def _even(value: float) -> HeightGrid:
    return HeightGrid(0.0, 0.0, 1.0, np.full((2, 2), value))


def _place(grid: HeightGrid) -> Floats:
    return np.array([grid.x0_m, grid.y0_m, 1 / grid.cell_m], dtype=float)
