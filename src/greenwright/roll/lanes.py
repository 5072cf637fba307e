"""Many putts in machine code: blocks of 32 balls, rolled side by side on all threads.

Every sixteen steps each ball's ground is looked up in double precision and its place, heading
and speed squared are anchored anew; in between `lockstep` moves all 32. A ball's chance is
counted from (seed, ball, step): the result is the same on any number of threads.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock
from typing import Any

import numba
import numpy as np

from greenwright.roll import lockstep as to
from greenwright.roll import resting
from greenwright.roll.chance import LAST, WORDS
from greenwright.roll.constants import (
    HOLE_RADIUS_M,
    PULL_M_S2,
    STOPPING_LENGTH_M,
)
from greenwright.roll.lockstep import (
    IN_HOLE,
    LANES,
    LOT_ROWS,
    RESTING,
    ROLLING,
    SLOW,
    Block,
    F,
    U,
    advance,
    compiled,
    keys,
    nearly_normal,
)
from greenwright.roll.stepping import CHUNK, LONGEST_M, MARGIN, STEP_M
from greenwright.roll.stroke import LEAST

_CHUNKS = int(LONGEST_M / (STEP_M * CHUNK)) + 1
_NEAR2 = (HOLE_RADIUS_M + (CHUNK + 1) * STEP_M) ** 2
X, Y, CX, CY, ENERGY, FACTOR, LIMIT = (row * LANES for row in range(7))
"""Where in a block's anchors each row starts."""
DX, DY, LEVEL = (row * LANES for row in range(3))
"""Where in a block's ground each row starts."""
_last_way, _drops = compiled(resting.last_way), compiled(resting.drops)
_comes_to_rest, _crawled = compiled(resting.comes_to_rest), compiled(resting.crawled)


@compiled
def _normal(ball, salt):
    first, second = keys(ball, salt)
    radius = math.sqrt(-2 * math.log((first + 0.5) / WORDS))
    return radius * math.cos(2 * math.pi * second / WORDS)


@compiled
def _start(block, lane, ball, stroke):
    """Set a ball off: its stroke and its own factors."""
    anchor, salts = block.anchor, stroke.salts
    energy, heading, factor, limit = stroke.energy, stroke.heading, 1.0, 1.0
    if stroke.distance_sd > 0:
        energy *= max(1 + stroke.distance_sd * _normal(ball, salts[2]), LEAST)
    if stroke.angle_sd > 0:
        heading += stroke.angle_sd * _normal(ball, salts[1])
    if stroke.noise > 0:
        way = energy / (2 * PULL_M_S2 * stroke.rho)
        factor = 1 / max(1 + math.sqrt(stroke.noise / way) * _normal(ball, salts[3]), LEAST)
    if stroke.rim > 0:
        limit = max(1 + stroke.rim * _normal(ball, salts[4]), LEAST)
    anchor[X + lane], anchor[Y + lane] = stroke.x, stroke.y
    anchor[CX + lane], anchor[CY + lane] = math.cos(heading), math.sin(heading)
    anchor[ENERGY + lane], anchor[FACTOR + lane] = energy, factor
    anchor[LIMIT + lane] = limit * stroke.limit


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
def _between(field, i, j, uv):
    """Return a field between its nodes."""
    south = field[i, j] + uv[0] * (field[i, j + 1] - field[i, j])
    north = field[i + 1, j] + uv[0] * (field[i + 1, j + 1] - field[i + 1, j])
    return south + uv[1] * (north - south)


@compiled
def _look(block, field):
    """Look up the slopes and the level resistance of one chunk, half a chunk ahead."""
    anchor, ground, state = block.anchor, block.ground, block.state
    east, north, speeds = field.dx, field.dy, field.speed
    ahead = STEP_M * CHUNK / 2
    for lane in range(LANES):
        if state[lane] != ROLLING:
            continue
        x = anchor[X + lane] + ahead * anchor[CX + lane] + field.hole_x
        y = anchor[Y + lane] + ahead * anchor[CY + lane] + field.hole_y
        if field.shaped:
            i, j, u, v = _among(east.shape, field.heights_at, x, y)
            ground[DX + lane] = field.slope_x + _between(east, i, j, (u, v))
            ground[DY + lane] = field.slope_y + _between(north, i, j, (u, v))
        if field.varied:
            i, j, u, v = _among(speeds.shape, field.speeds_at, x, y)
            ground[LEVEL + lane] = STOPPING_LENGTH_M / _between(speeds, i, j, (u, v))


@compiled
def _lay(block, field):
    """Set all lanes' numbers for one chunk; return whether a ball could come by the hole."""
    lot, anchor, ground, state = block.lot, block.anchor, block.ground, block.state
    index, walk, near = field.index, field.walk, 0
    for lane in range(LANES):
        dx, dy, level = ground[DX + lane], ground[DY + lane], ground[LEVEL + lane]
        rho, square = level * anchor[FACTOR + lane], dx * dx + dy * dy
        drag, limit = PULL_M_S2 / math.sqrt(1 + square), anchor[LIMIT + lane]
        x, y = anchor[X + lane], anchor[Y + lane]
        lot[to.MOVED_X + lane] = lot[to.MOVED_Y + lane] = lot[to.GAINED + lane] = F(0)
        lot[to.TURNED_X + lane] = lot[to.TURNED_Y + lane] = F(0)
        lot[to.FROM_X + lane], lot[to.FROM_Y + lane] = F(x), F(y)
        lot[to.ENERGY + lane] = F(anchor[ENERGY + lane])
        lot[to.HEADING_X + lane], lot[to.HEADING_Y + lane] = (
            F(anchor[CX + lane]),
            F(anchor[CY + lane]),
        )
        lot[to.SLOPE_X + lane], lot[to.SLOPE_Y + lane] = F(dx), F(dy)
        lot[to.RHO + lane], lot[to.HALF + lane] = F(rho), F(STEP_M * drag)
        lot[to.WANDER + lane] = F(math.sqrt((index / (4 * level * level) + walk) * STEP_M))
        lot[to.STOP + lane] = F(MARGIN * STEP_M * drag * (rho + math.sqrt(square)))
        lot[to.SLOWING + lane], lot[to.LIMIT + lane] = F(2 * drag * rho), F(limit * limit)
        near |= (x * x + y * y < _NEAR2) & (state[lane] == ROLLING)
    return near > 0


@compiled
def _chunk(block, first, field):
    """Roll a block for one look at the ground."""
    lot, anchor = block.lot, block.anchor
    if field.uneven:
        _look(block, field)
    near = _lay(block, field)
    how = (F(1 / field.correlation), F(field.impact), near)
    for step in range(CHUNK):
        advance(block, U(first + step), how)
    for lane in range(LANES):
        anchor[X + lane] += lot[to.MOVED_X + lane]
        anchor[Y + lane] += lot[to.MOVED_Y + lane]
        anchor[ENERGY + lane] += lot[to.GAINED + lane]
        cx, cy = (
            anchor[CX + lane] + lot[to.TURNED_X + lane],
            anchor[CY + lane] + lot[to.TURNED_Y + lane],
        )
        norm = 1 / math.sqrt(cx * cx + cy * cy)
        anchor[CX + lane], anchor[CY + lane] = cx * norm, cy * norm


@compiled
def _seen(block, lane, field):
    """Return a ball and the plane under it, as `resting` takes them."""
    anchor, ground = block.anchor, block.ground
    level = ground[LEVEL + lane]
    walk = field.index / (4 * level * level) + field.walk
    ball = (
        anchor[X + lane],
        anchor[Y + lane],
        anchor[CX + lane],
        anchor[CY + lane],
        anchor[ENERGY + lane],
    )
    return ball, (ground[DX + lane], ground[DY + lane], level * anchor[FACTOR + lane], walk)


@compiled
def _settle(block, field):
    """Let the balls that became slow come to rest, or crawl on to the next chunk."""
    anchor, state = block.anchor, block.state
    for lane in range(LANES):
        if state[lane] != SLOW:
            continue
        state[lane] = RESTING
        ball, under = _seen(block, lane, field)
        if _comes_to_rest(ball[4], under, field.uneven):
            continue
        x, y, cx, cy, energy, fate = _crawled(ball, under, anchor[LIMIT + lane], CHUNK * STEP_M)
        anchor[X + lane], anchor[Y + lane] = x, y
        anchor[CX + lane], anchor[CY + lane], anchor[ENERGY + lane] = cx, cy, energy
        if fate == resting.GOING:
            state[lane] = ROLLING
        elif fate == resting.CAUGHT:
            state[lane] = IN_HOLE
        else:
            anchor[ENERGY + lane] = 0.0


@compiled
def _end(block, lane, field):
    """Return where a ball ends seen from the hole, whether it is holed, whether it rests."""
    state, words = block.state, block.words
    if state[lane] == IN_HOLE:
        return 0.0, 0.0, True, True
    ball, under = _seen(block, lane, field)
    if state[lane] == ROLLING:
        return ball[0], ball[1], False, False
    if ball[4] == 0:
        return ball[0], ball[1], False, True
    kick = float(nearly_normal(words[lane], words[LANES + lane], U(LAST)))
    way_x, way_y, _, _, _ = _last_way(ball, under, kick, field.correlation)
    if _drops(ball, way_x, way_y, block.anchor[LIMIT + lane]):
        return 0.0, 0.0, True, True
    return ball[0] + way_x, ball[1] + way_y, False, True


@compiled
def _block(first_ball, stroke, field, out):
    """Roll 32 balls from stroke to rest; return the steps that they took."""
    anchor, ground, lot = np.empty(7 * LANES), np.empty(3 * LANES), np.empty(LOT_ROWS * LANES, F)
    state, words = np.zeros(LANES, np.int32), np.empty(2 * LANES, np.uint32)
    block = Block(anchor, ground, lot, state, words)
    for lane in range(LANES):
        ball = U(first_ball + lane)
        _start(block, lane, ball, stroke)
        words[lane], words[LANES + lane] = keys(ball, stroke.salts[0])
        ground[DX + lane], ground[DY + lane] = field.slope_x, field.slope_y
        ground[LEVEL + lane] = STOPPING_LENGTH_M / field.speed[0, 0]
    steps = 0
    for chunk in range(_CHUNKS):
        if state.min() > ROLLING:
            break
        _chunk(block, chunk * CHUNK, field)
        _settle(block, field)
        steps += CHUNK
    for lane in range(LANES):
        ball = first_ball + lane
        if ball < out.x.size:
            end = _end(block, lane, field)
            out.x[ball], out.y[ball], out.holed[ball], out.rested[ball] = end
    return steps


def _kept_on_disk(mark: str) -> Any:
    """Return the compiled whole, kept on disk where a folder allows it.

    The mark is part of what names the kept code: all pieces in it, so that none is ever stale.
    """

    def _every_block(n_blocks, stroke, field, out):
        steps = np.zeros(n_blocks + 0 * len(mark), np.int64)
        for block in numba.prange(n_blocks):
            steps[block] = _block(block * LANES, stroke, field, out)
        return steps

    how: dict[str, Any] = {"parallel": True, "error_model": "numpy"}
    try:
        return numba.njit(cache=True, **how)(_every_block)
    except RuntimeError:
        return numba.njit(**how)(_every_block)


def _mark() -> str:
    pieces = [*vars(to).items(), *globals().items()]
    codes = [piece.py_func.__code__ for _, piece in pieces if hasattr(piece, "py_func")]
    numbers = [f"{name}={piece}" for name, piece in pieces if isinstance(piece, int | float)]
    return repr([(c.co_code, c.co_consts) for c in codes] + numbers)


roll_blocks = _kept_on_disk(_mark())
"""Roll blocks of balls on all threads; returns the steps that each block took."""

_ONE_CALL = Lock()


@contextmanager
def on_threads(threads: int | None) -> Iterator[None]:
    """Hold the compiled code to a number of threads, and to one call at a time.

    Not every threading layer that the compiler may find bears calls from two threads.
    """
    with _ONE_CALL:
        before = numba.get_num_threads()
        numba.set_num_threads(min(threads or before, numba.config.NUMBA_NUM_THREADS))
        try:
            yield
        finally:
            numba.set_num_threads(before)
