"""One ball, many balls, a few millimetres at a time: the way between stroke and rest.

State is the speed squared (it falls in a straight line on the level, so a level roll is exact),
the heading as a unit vector, and the place seen from the hole. A step of 5/1024 m is a
midpoint step; the slope under a ball is looked up for sixteen steps at a time, at the place
where the middle of them will be. The compiled lanes take the very same steps.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from greenwright.roll.constants import HOLE_RADIUS_M, PULL_M_S2
from greenwright.roll.stroke import Aim, Launched
from greenwright.roll.terrain import Terrain

Floats = NDArray[np.float64]

STEP_M = 5 / 1024
"""Length of a step [m]; a sum of two powers of two, so that places add up exactly."""

CHUNK = 16
"""Steps between two looks at the slope."""

LONGEST_M = 60.0
"""A ball that rolled so far has left the green [m]."""

MARGIN = 16.0
"""A ball is slow that would roll less than half as many steps straight up the slope it is on."""


@dataclass(frozen=True, slots=True)
class Balls:
    """Balls on the move, (n,) each: which, place from the hole, heading, speed squared."""

    which: NDArray[np.int64]
    x: Floats
    y: Floats
    cx: Floats
    cy: Floats
    energy: Floats


@dataclass(frozen=True, slots=True)
class Ground:
    """What a ball feels for one chunk: (n,) slopes, resistance, walk, drag and stop level."""

    dx: Floats
    dy: Floats
    rho: Floats
    walk: Floats
    drag: Floats
    stop: Floats
    impact: float


def at_start(aim: Aim, start: Launched) -> Balls:
    """Return the balls as they are struck."""
    n = len(start.energy)
    return Balls(
        which=np.arange(n),
        x=np.full(n, aim.start[0] - aim.hole[0]),
        y=np.full(n, aim.start[1] - aim.hole[1]),
        cx=np.cos(start.heading),
        cy=np.sin(start.heading),
        energy=start.energy.copy(),
    )


def ground_under(terrain: Terrain, aim: Aim, balls: Balls, start: Launched) -> Ground:
    """Return the ground of the coming chunk, looked up half a chunk ahead."""
    ahead = STEP_M * CHUNK / 2
    x, y = (balls.x + ahead * balls.cx + aim.hole[0], balls.y + ahead * balls.cy + aim.hole[1])
    dx, dy = terrain.gradient(x, y)
    level = terrain.resistance(x, y)
    tilt = np.hypot(dx, dy)
    drag = PULL_M_S2 / np.sqrt(1 + tilt**2)
    rho = level * start.resistance[balls.which]
    return Ground(
        dx=dx,
        dy=dy,
        rho=rho,
        walk=terrain.walk(level),
        drag=drag,
        stop=MARGIN * STEP_M * drag * (rho + tilt),
        impact=terrain.impact,
    )


def stepped(balls: Balls, ground: Ground, turn: Floats, *, correlation_m: float) -> Balls:
    """Return balls one step on.

    Args:
        balls, ground: of one length n.
        turn: (n,) draws of mean 0 and sd 1 that turn the headings.
        correlation_m: the walk is cut off below it [m].
    """
    along, side = _slopes(balls.cx, balls.cy, ground)
    half = STEP_M * ground.drag
    loss = ground.rho + ground.impact * balls.energy
    energy = balls.energy - half * (loss + along)
    left = energy / (2 * ground.drag * ground.rho)
    wander = np.sqrt(ground.walk * STEP_M) / np.maximum(left, correlation_m) * turn
    cx, cy = _turned(balls.cx, balls.cy, (-half * side / balls.energy + wander) / 2)
    along, side = _slopes(cx, cy, ground)
    after = balls.energy - 2 * half * (ground.rho + ground.impact * energy + along)
    end_x, end_y = _turned(balls.cx, balls.cy, -half * side / energy + wander)
    return replace(
        balls,
        x=balls.x + STEP_M * cx,
        y=balls.y + STEP_M * cy,
        cx=end_x,
        cy=end_y,
        energy=after,
    )


def crossing(before: Balls, after: Balls, limit: Floats) -> NDArray[np.bool_]:
    """Return whether the hole catches balls that pass abreast of its centre in this step."""
    ahead = -(before.x * before.cx + before.y * before.cy)
    behind = -(after.x * after.cx + after.y * after.cy)
    mx, my = (after.x - before.x) / STEP_M, (after.y - before.y) / STEP_M
    room = 1 - ((before.x * my - before.y * mx) / HOLE_RADIUS_M) ** 2
    energy = before.energy + (after.energy - before.energy) * ahead / STEP_M
    passed = (ahead >= 0) & (behind < 0) & (room > 0)
    return passed & (energy <= (limit * room) ** 2)


def _slopes(cx: Floats, cy: Floats, ground: Ground) -> tuple[Floats, Floats]:
    return ground.dx * cx + ground.dy * cy, ground.dy * cx - ground.dx * cy


def _turned(cx: Floats, cy: Floats, angle: Floats) -> tuple[Floats, Floats]:
    sine, cosine = np.sin(angle), np.cos(angle)
    return cosine * cx - sine * cy, sine * cx + cosine * cy
