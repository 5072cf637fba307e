"""One step of 32 balls at once, as vector code in single precision, and its counted chance.

The step is that of `stepping`. Place, heading and speed squared are kept as small changes since
an anchor in double precision, so that thousands of additions do not add up their rounding.
Branches inside the loop over lanes are written as choices of value: the compiler turns those,
and nothing else, into vector code.
"""

from __future__ import annotations

from collections import namedtuple
from collections.abc import Callable
from typing import Any

import numba
import numpy as np

from greenwright.roll.chance import BYTES_SD
from greenwright.roll.constants import HOLE_RADIUS_M
from greenwright.roll.stepping import STEP_M

LANES = 32
"""Balls side by side in one block."""

ROLLING, SLOW, RESTING, IN_HOLE = 0, 1, 2, 3
"""What became of a ball: under way, slow since this chunk, about to rest, in the hole."""

F, U, WHOLE = np.float32, np.uint32, np.int32
_STEP, _PER_STEP = F(STEP_M), F(1 / STEP_M)
_HOLE = F(1 / HOLE_RADIUS_M**2)
_BYTE = F(1 / BYTES_SD)

LOT_ROWS = 18
MOVED_X, MOVED_Y, GAINED, TURNED_X, TURNED_Y = (row * LANES for row in range(5))
"""Where in a lot the changes since the anchor start: place, speed squared, heading."""
FROM_X, FROM_Y, ENERGY, HEADING_X, HEADING_Y = (row * LANES for row in range(5, 10))
"""Where the anchor itself starts."""
SLOPE_X, SLOPE_Y, RHO, WANDER, HALF, STOP, SLOWING, LIMIT = (row * LANES for row in range(10, 18))
"""Where the ground starts: slopes, resistance, root of walk times step, half a step's fall of
the speed squared for each unit of slope, level of slow balls, twice the slowing on the level,
square of the hole's limit."""

Block = namedtuple("Block", "anchor ground lot state words")
"""Arrays of 32 balls side by side, one row after the other in one line."""


def compiled(function: Callable[..., Any], **how: Any) -> Any:
    """Return a function that is compiled on first use."""
    # Division as numpy does it: a check for zero in the loop would keep it from being vector code.
    return numba.njit(error_model="numpy", **how)(function)


@compiled
def _mixed(x):
    x = U(x ^ (x >> U(16)))
    x = U(x * U(0x7FEB352D))
    x = U(x ^ (x >> U(15)))
    x = U(x * U(0x846CA68B))
    return U(x ^ (x >> U(16)))


@compiled
def keys(ball: Any, salt: Any) -> Any:
    """Return the two words of a ball's stream, as `chance.keys` does."""
    first = _mixed(U(_mixed(U(ball ^ salt)) + salt))
    return first, U(_mixed(U(first ^ U(0x68E31DA4))) | U(1))


@compiled
def nearly_normal(first: Any, second: Any, draw: Any) -> Any:
    """Return a draw of a stream, as `chance.nearly_normal` does."""
    bits = _mixed(U(U(draw * second) + first))
    pairs = U((bits & U(0x00FF00FF)) + (U(bits >> U(8)) & U(0x00FF00FF)))
    total = U(pairs & U(0xFFFF)) + U(pairs >> U(16))
    return (F(WHOLE(total)) - F(510.0)) * _BYTE


@compiled
def _turn(cx, cy, angle):
    """Return by how much a heading changes when it turns by a small angle."""
    square = angle * angle
    sine = angle * (F(1) - square * (F(1 / 6) - square * F(1 / 120)))
    short = square * (F(0.5) - square * F(1 / 24))
    return -short * cx - sine * cy, sine * cx - short * cy


def _advance(block, step, how):
    """Take one step with all lanes; a ball that is slow or in the hole stays as it is.

    how: one over the correlation length, loss by impacts for each unit of speed squared, and
    whether any ball could come by the hole.
    """
    lot, state, words = block.lot, block.state, block.words
    cut, impact, near = how
    for lane in range(LANES):
        ox, oy, od = lot[MOVED_X + lane], lot[MOVED_Y + lane], lot[GAINED + lane]
        tx, ty = lot[TURNED_X + lane], lot[TURNED_Y + lane]
        cx, cy = lot[HEADING_X + lane] + tx, lot[HEADING_Y + lane] + ty
        dx, dy, rho = lot[SLOPE_X + lane], lot[SLOPE_Y + lane], lot[RHO + lane]
        energy, half = lot[ENERGY + lane] + od, lot[HALF + lane]
        slope, side = dx * cx + dy * cy, dy * cx - dx * cy
        middle = energy - half * (rho + impact * energy + slope)
        per_middle = F(1) / middle
        draw = nearly_normal(words[lane], words[LANES + lane], step)
        wander = lot[WANDER + lane] * min(per_middle * lot[SLOWING + lane], cut) * draw
        hx, hy = _turn(cx, cy, F(0.5) * (wander - half * side / energy))
        mx, my = cx + hx, cy + hy
        slope, side = dx * mx + dy * my, dy * mx - dx * my
        drop = F(2) * half * (rho + impact * middle + slope)
        hx, hy = _turn(cx, cy, wander - half * side * per_middle)
        nx, ny = ox + _STEP * mx, oy + _STEP * my
        go = (state[lane] == ROLLING) & (energy > lot[STOP + lane])
        caught = False
        if near:
            x0, y0 = lot[FROM_X + lane] + ox, lot[FROM_Y + lane] + oy
            x1, y1 = lot[FROM_X + lane] + nx, lot[FROM_Y + lane] + ny
            ahead = -(x0 * cx + y0 * cy)
            behind = -(x1 * (cx + hx) + y1 * (cy + hy))
            off = x0 * my - y0 * mx
            room, at = F(1) - off * off * _HOLE, energy - drop * (ahead * _PER_STEP)
            caught = go & (ahead >= F(0)) & (behind < F(0)) & (room > F(0))
            caught = caught & (at <= lot[LIMIT + lane] * room * room)
        lot[MOVED_X + lane] = nx if go else ox
        lot[MOVED_Y + lane] = ny if go else oy
        lot[GAINED + lane] = od - drop if go else od
        lot[TURNED_X + lane] = tx + hx if go else tx
        lot[TURNED_Y + lane] = ty + hy if go else ty
        slowed = WHOLE(SLOW) if (state[lane] == ROLLING) & (not go) else state[lane]
        state[lane] = WHOLE(IN_HOLE) if caught else slowed


advance = compiled(_advance, fastmath={"contract", "nsz", "arcp"})
