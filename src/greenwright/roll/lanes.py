"""Many putts in machine code: 32 balls side by side in single precision, blocks on threads.

The steps are those of `stepping`. Within one chunk of sixteen steps a ball's place and speed
squared are kept as small single-precision changes against anchors in double precision, so that
thousands of additions do not add up their rounding. A ball's chance is counted from
(seed, ball, step): the result is the same on any number of threads.
"""

from __future__ import annotations

import math
from collections import namedtuple
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import numba
import numpy as np

from greenwright.roll import resting
from greenwright.roll.chance import BYTES_SD, LAST, WORDS
from greenwright.roll.constants import (
    GRAVITY_M_S2,
    HOLE_RADIUS_M,
    ROLLING_FACTOR,
    STOPPING_LENGTH_M,
)
from greenwright.roll.stepping import CHUNK, LONGEST_M, MARGIN, STEP_M

LANES = 32
"""Balls side by side in one block."""

ROLLING, SLOW, CAUGHT = 0, 1, 2
"""What became of a ball: still rolling, about to rest, in the hole."""

LEAST = 0.05
F, U, WHOLE = np.float32, np.uint32, np.int32
_STEP, _PER_STEP = F(STEP_M), F(1 / STEP_M)
_HOLE = F(1 / HOLE_RADIUS_M**2)
_PULL = ROLLING_FACTOR * GRAVITY_M_S2
_BYTE = F(1 / BYTES_SD)
_CHUNKS = int(LONGEST_M / (STEP_M * CHUNK)) + 1
X, Y, ENERGY, CX, CY, FACTOR, LIMIT = range(7)
"""Rows of a block's anchors."""
DX, DY, LEVEL = range(3)
"""Rows of a block's ground."""


Block = namedtuple("Block", "anchor ground lot state words")
"""Arrays of 32 balls side by side, each row after row in one line: the compiler turns that into
vector code."""


def compiled(function: Callable[..., Any], **how: Any) -> Any:
    """Return a function compiled on first use, kept on disk where a folder allows it."""
    # Division as numpy does it: a check for zero in the loop would keep it from being vector code.
    how = {"error_model": "numpy", **how}
    try:
        return numba.njit(cache=True, **how)(function)
    except RuntimeError:
        return numba.njit(**how)(function)


@compiled
def _mixed(x):
    x = U(x ^ (x >> U(16)))
    x = U(x * U(0x7FEB352D))
    x = U(x ^ (x >> U(15)))
    x = U(x * U(0x846CA68B))
    return U(x ^ (x >> U(16)))


@compiled
def _keys(ball, salt):
    first = _mixed(U(_mixed(U(ball ^ salt)) + salt))
    return first, U(_mixed(U(first ^ U(0x68E31DA4))) | U(1))


@compiled
def _nearly_normal(first, second, draw):
    bits = _mixed(U(U(draw * second) + first))
    pairs = U((bits & U(0x00FF00FF)) + (U(bits >> U(8)) & U(0x00FF00FF)))
    total = U(pairs & U(0xFFFF)) + U(pairs >> U(16))
    return (F(WHOLE(total)) - F(510.0)) * _BYTE


@compiled
def _normal(ball, salt):
    first, second = _keys(ball, salt)
    radius = math.sqrt(-2 * math.log((first + 0.5) / WORDS))
    return radius * math.cos(2 * math.pi * second / WORDS)


@compiled
def _among(shape, place, x, y):
    """Return the node south-west of a place and the shares of the way to the next ones.

    place = (west, south, nodes per metre).
    """
    u = min(max((x - place[0]) * place[2], 0.0), shape[1] - 1.0)
    v = min(max((y - place[1]) * place[2], 0.0), shape[0] - 1.0)
    i, j = min(int(v), shape[0] - 2), min(int(u), shape[1] - 2)
    return i, j, u - j, v - i


@compiled
def _between(field, at):
    """Return a field between its nodes, at = what `_among` gives."""
    i, j, u, v = at
    south = field[i, j] + u * (field[i, j + 1] - field[i, j])
    north = field[i + 1, j] + u * (field[i + 1, j + 1] - field[i + 1, j])
    return south + v * (north - south)


@compiled
def _start(block, lane, ball, stroke):
    """Set a ball off: its stroke and its own factors."""
    anchor = block.anchor
    energy, heading, factor, limit = stroke.energy, stroke.heading, 1.0, 1.0
    if stroke.distance_sd > 0:
        energy *= max(1 + stroke.distance_sd * _normal(ball, stroke.salts[2]), LEAST)
    if stroke.angle_sd > 0:
        heading += stroke.angle_sd * _normal(ball, stroke.salts[1])
    if stroke.noise > 0:
        way = energy / (2 * _PULL * stroke.rho)
        factor = max(1 + math.sqrt(stroke.noise / way) * _normal(ball, stroke.salts[3]), LEAST)
    if stroke.rim > 0:
        limit = max(1 + stroke.rim * _normal(ball, stroke.salts[4]), LEAST)
    anchor[lane + X * LANES], anchor[lane + Y * LANES] = stroke.x, stroke.y
    anchor[lane + CX * LANES], anchor[lane + CY * LANES] = math.cos(heading), math.sin(heading)
    anchor[lane + ENERGY * LANES], anchor[lane + FACTOR * LANES] = energy, factor
    anchor[lane + LIMIT * LANES] = limit * stroke.limit


@compiled
def _look(block, lane, field):
    """Look up a ball's slopes and level resistance for one chunk, half a chunk ahead."""
    anchor, ground = block.anchor, block.ground
    ahead = STEP_M * CHUNK / 2
    x = anchor[lane + X * LANES] + ahead * anchor[lane + CX * LANES] + field.hole_x
    y = anchor[lane + Y * LANES] + ahead * anchor[lane + CY * LANES] + field.hole_y
    if field.shaped:
        at = _among(field.dx.shape, field.heights_at, x, y)
        ground[lane + DX * LANES] = field.slope_x + _between(field.dx, at)
        ground[lane + DY * LANES] = field.slope_y + _between(field.dy, at)
    if field.varied:
        at = _among(field.speed.shape, field.speeds_at, x, y)
        ground[lane + LEVEL * LANES] = STOPPING_LENGTH_M / _between(field.speed, at)


@compiled
def _turn(cx, cy, angle):
    square = angle * angle
    sine = angle * (F(1) - square * (F(1 / 6) - square * F(1 / 120)))
    cosine = F(1) - square * (F(0.5) - square * (F(1 / 24) - square * F(1 / 720)))
    return cosine * cx - sine * cy, sine * cx + cosine * cy


def _advance(block, step, cut, impact):
    """Take one step with all lanes; a ball that is slow or caught stays as it is.

    lot: 16 rows of 32 in single precision, end to end: changes of place and energy since the
    anchor and the heading; anchor; slopes, resistance, wander, drag, stop, slowing, limit.
    """
    lot, state, words = block.lot, block.state, block.words
    for lane in range(LANES):
        ox, oy, od = lot[lane], lot[lane + LANES], lot[lane + 2 * LANES]
        cx, cy = lot[lane + 3 * LANES], lot[lane + 4 * LANES]
        dx, dy, rho = lot[lane + 8 * LANES], lot[lane + 9 * LANES], lot[lane + 10 * LANES]
        energy, half = lot[lane + 7 * LANES] + od, lot[lane + 12 * LANES]
        slope, side = dx * cx + dy * cy, dy * cx - dx * cy
        middle = energy - half * (rho + impact * energy + slope)
        per_middle = F(1) / middle
        nearness = min(per_middle * lot[lane + 14 * LANES], cut)
        draw = _nearly_normal(words[lane], words[lane + LANES], step)
        wander = lot[lane + 11 * LANES] * nearness * draw
        mx, my = _turn(cx, cy, F(0.5) * (wander - half * side / energy))
        slope, side = dx * mx + dy * my, dy * mx - dx * my
        drop = F(2) * half * (rho + impact * middle + slope)
        ex, ey = _turn(cx, cy, wander - half * side * per_middle)
        x0, y0 = lot[lane + 5 * LANES] + ox, lot[lane + 6 * LANES] + oy
        nx, ny = ox + _STEP * mx, oy + _STEP * my
        x1, y1 = lot[lane + 5 * LANES] + nx, lot[lane + 6 * LANES] + ny
        ahead, behind = -(x0 * cx + y0 * cy), -(x1 * ex + y1 * ey)
        off = x0 * my - y0 * mx
        room, at = F(1) - off * off * _HOLE, energy - drop * (ahead * _PER_STEP)
        rolling = state[lane] == ROLLING
        go = rolling & (energy > lot[lane + 13 * LANES])
        caught = go & (ahead >= F(0)) & (behind < F(0)) & (room > F(0))
        caught = caught & (at <= lot[lane + 15 * LANES] * room * room)
        lot[lane] = nx if go else ox
        lot[lane + LANES] = ny if go else oy
        lot[lane + 2 * LANES] = od - drop if go else od
        lot[lane + 3 * LANES] = ex if go else cx
        lot[lane + 4 * LANES] = ey if go else cy
        slowed = WHOLE(SLOW) if rolling & (not go) else state[lane]
        state[lane] = WHOLE(CAUGHT) if caught else slowed


_advance = compiled(_advance, fastmath={"contract", "nsz", "arcp"})


@compiled
def _lay(block, lane, field):
    """Set a lane's numbers for one chunk: no change yet, the anchor, the ground."""
    lot, anchor, ground = block.lot, block.anchor, block.ground
    dx, dy = ground[lane + DX * LANES], ground[lane + DY * LANES]
    level = ground[lane + LEVEL * LANES]
    rho, square = level * anchor[lane + FACTOR * LANES], dx * dx + dy * dy
    drag = _PULL / math.sqrt(1 + square)
    lot[lane] = lot[lane + LANES] = lot[lane + 2 * LANES] = F(0)
    lot[lane + 3 * LANES] = F(anchor[lane + CX * LANES])
    lot[lane + 4 * LANES] = F(anchor[lane + CY * LANES])
    lot[lane + 5 * LANES] = F(anchor[lane + X * LANES])
    lot[lane + 6 * LANES] = F(anchor[lane + Y * LANES])
    lot[lane + 7 * LANES] = F(anchor[lane + ENERGY * LANES])
    lot[lane + 8 * LANES] = F(ground[lane + DX * LANES])
    lot[lane + 9 * LANES] = F(ground[lane + DY * LANES])
    lot[lane + 10 * LANES] = F(rho)
    walk = field.index / (4 * level * level) + field.walk
    lot[lane + 11 * LANES] = F(math.sqrt(walk * STEP_M))
    lot[lane + 12 * LANES] = F(STEP_M * drag)
    lot[lane + 13 * LANES] = F(MARGIN * STEP_M * drag * (rho + math.sqrt(square)))
    lot[lane + 14 * LANES] = F(2 * drag * rho)
    lot[lane + 15 * LANES] = F(anchor[lane + LIMIT * LANES] ** 2)


@compiled
def _chunk(block, first, field):
    """Roll a block for one look at the ground."""
    lot, anchor = block.lot, block.anchor
    if field.shaped or field.varied:
        for lane in range(LANES):
            if block.state[lane] == ROLLING:
                _look(block, lane, field)
    for lane in range(LANES):
        _lay(block, lane, field)
    cut, impact = F(1 / field.correlation), F(field.impact)
    for step in range(CHUNK):
        _advance(block, U(first + step), cut, impact)
    for lane in range(LANES):
        anchor[lane + X * LANES] += lot[lane]
        anchor[lane + Y * LANES] += lot[lane + LANES]
        anchor[lane + ENERGY * LANES] += lot[lane + 2 * LANES]
        cx, cy = float(lot[lane + 3 * LANES]), float(lot[lane + 4 * LANES])
        norm = 1 / math.sqrt(cx * cx + cy * cy)
        anchor[lane + CX * LANES], anchor[lane + CY * LANES] = cx * norm, cy * norm


_last_way, _drops = compiled(resting.last_way), compiled(resting.drops)


@compiled
def _end(block, lane, field):
    """Return where a ball ends seen from the hole, whether it is holed, whether it rests."""
    anchor, ground, state, words = block.anchor, block.ground, block.state, block.words
    x, y = anchor[lane + X * LANES], anchor[lane + Y * LANES]
    if state[lane] == CAUGHT:
        return 0.0, 0.0, True, True
    if state[lane] == ROLLING:
        return x, y, False, False
    ball = (
        x,
        y,
        anchor[lane + CX * LANES],
        anchor[lane + CY * LANES],
        anchor[lane + ENERGY * LANES],
    )
    level = ground[lane + LEVEL * LANES]
    walk = field.index / (4 * level * level) + field.walk
    rho = level * anchor[lane + FACTOR * LANES]
    under = (ground[lane + DX * LANES], ground[lane + DY * LANES], rho, walk)
    kick = float(_nearly_normal(words[lane], words[lane + LANES], U(LAST)))
    way_x, way_y, _, _, held = _last_way(ball, under, kick, field.correlation)
    if held > 0 and _drops(ball, way_x, way_y, anchor[lane + LIMIT * LANES]):
        return 0.0, 0.0, True, True
    return x + way_x, y + way_y, False, held > 0


@compiled
def _block(first_ball, stroke, field, out):
    """Roll 32 balls from stroke to rest."""
    block = Block(
        np.empty(7 * LANES),
        np.empty(3 * LANES),
        np.empty(16 * LANES, F),
        np.zeros(LANES, np.int32),
        np.empty(2 * LANES, np.uint32),
    )
    for lane in range(LANES):
        ball = U(first_ball + lane)
        _start(block, lane, ball, stroke)
        block.words[lane], block.words[lane + LANES] = _keys(ball, stroke.salts[0])
        block.ground[lane + DX * LANES] = field.slope_x
        block.ground[lane + DY * LANES] = field.slope_y
        block.ground[lane + LEVEL * LANES] = STOPPING_LENGTH_M / field.speed[0, 0]
    steps = 0
    for chunk in range(_CHUNKS):
        if block.state.min() > ROLLING:
            break
        _chunk(block, chunk * CHUNK, field)
        steps += CHUNK
    for lane in range(LANES):
        ball = first_ball + lane
        if ball < out.x.size:
            end = _end(block, lane, field)
            out.x[ball], out.y[ball], out.holed[ball], out.rested[ball] = end
    return steps


def _every_block(n_blocks, stroke, field, out):
    steps = np.zeros(n_blocks, np.int64)
    for block in numba.prange(n_blocks):
        steps[block] = _block(block * LANES, stroke, field, out)
    return steps


roll_blocks = compiled(_every_block, parallel=True)
"""Roll blocks of balls on all threads; returns the steps that each block took."""


@contextmanager
def on_threads(threads: int | None) -> Iterator[None]:
    """Hold the compiled code to a number of threads."""
    before = numba.get_num_threads()
    numba.set_num_threads(min(threads or before, numba.config.NUMBA_NUM_THREADS))
    try:
        yield
    finally:
        numba.set_num_threads(before)
