"""Where and how hard a player aims who reads the green rightly: found by trying."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.roll.constants import PULL_M_S2
from greenwright.roll.stroke import Aim
from greenwright.roll.terrain import Terrain

_STEP_M = 0.02
_TRIES = 20
_NUDGES = np.diag([1e-3, 1e-3])
_LONGEST = 0.15
_CLOSE_M = 0.002
_FARTHEST_M = 60.0

Place = tuple[float, float]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Passing:
    """How a ball without chance goes by the hole: metres left of it, metres it runs beyond."""

    left_m: float
    beyond_m: float


def aim_for(terrain: Terrain, start: Place, hole: Place, *, past_m: float) -> Aim:
    """Return the stroke whose ball, without chance, crosses the hole's centre and runs past it.

    Args:
        terrain: the green; its roughness is not used.
        start, hole: places [m].
        past_m: how far it would run beyond the hole, were there none [m].

    Raises:
        BadInput: no stroke does so, as on a green too steep to hold a ball at the hole; or a way
            past it below zero.
    """
    if not past_m >= 0:
        raise BadInput("a putt cannot be aimed to stop short", where="past", expected="0 m or more")
    aim = _straight(terrain, start, hole, past_m)
    for _ in range(_TRIES):
        miss = _miss(terrain, aim, past_m)
        if np.abs(miss).max() < _CLOSE_M:
            return aim
        nudged = [_miss(terrain, _moved(aim, step), past_m) - miss for step in _NUDGES]
        slopes = np.array(nudged).T / _NUDGES.max(axis=1)
        step = np.linalg.lstsq(slopes, -miss, rcond=None)[0]
        aim = _moved(aim, step * min(1.0, _LONGEST / max(np.abs(step).max(), 1e-12)))
    raise BadInput(
        "no stroke brings a ball over this hole and to rest behind it",
        where="putts",
        expected="a green that holds a ball at the hole",
        do="Choose a flatter place or a shorter way past the hole",
    )


def _miss(terrain: Terrain, aim: Aim, past_m: float) -> Floats:
    seen = _passing(terrain, aim)
    return np.array([seen.left_m, seen.beyond_m - past_m])


def _moved(aim: Aim, step: Floats) -> Aim:
    """Return the aim turned [rad] and struck harder [share of the speed]."""
    return replace(
        aim,
        heading_rad=aim.heading_rad + float(step[0]),
        launch_speed=aim.launch_speed * (1 + float(step[1])),
    )


def _straight(terrain: Terrain, start: Place, hole: Place, past_m: float) -> Aim:
    away = (hole[0] - start[0], hole[1] - start[1])
    speed = math.sqrt(2 * _slowing(terrain, hole) * (math.hypot(*away) + past_m))
    return Aim(start=start, hole=hole, launch_speed=speed, heading_rad=math.atan2(away[1], away[0]))


def _slowing(terrain: Terrain, at: Place) -> float:
    return PULL_M_S2 * float(terrain.resistance(*at))


def _passing(terrain: Terrain, aim: Aim) -> _Passing:
    """Roll one ball in midpoint steps, and see where it comes nearest to the hole."""
    x, y = aim.start
    vx = aim.launch_speed * math.cos(aim.heading_rad)
    vy = aim.launch_speed * math.sin(aim.heading_rad)
    way, nearest = 0.0, (math.inf, 0.0, 0.0)
    while way < _FARTHEST_M:
        ax, ay, speed = _pull(terrain, (x, y), (vx, vy))
        dt = _STEP_M / max(speed, 0.2)
        if (vx + ax * dt) * vx + (vy + ay * dt) * vy <= 0:
            # What is left of the way, straight on: v^2 / 2a.
            way += speed**2 / (2 * math.hypot(ax, ay))
            break
        mid = (x + vx * dt / 2, y + vy * dt / 2)
        half = (vx + ax * dt / 2, vy + ay * dt / 2)
        ax, ay, _ = _pull(terrain, mid, half)
        gone = math.hypot(*half) * dt
        nearest = min(nearest, _nearest((x, y), half, (gone, way), aim.hole))
        x, y, vx, vy, way = (
            x + half[0] * dt,
            y + half[1] * dt,
            vx + ax * dt,
            vy + ay * dt,
            way + gone,
        )
    miss, left, at = nearest
    return _Passing(left, way - at if way > at else -miss)


def _nearest(
    place: Place, velocity: Place, ways: tuple[float, float], hole: Place
) -> tuple[float, float, float]:
    """Return distance to the hole, metres left of it, and the way gone where it is nearest."""
    gone, way = ways
    speed = math.hypot(*velocity)
    ux, uy = velocity[0] / speed, velocity[1] / speed
    dx, dy = hole[0] - place[0], hole[1] - place[1]
    along = min(max(dx * ux + dy * uy, 0.0), gone)
    rest = dx * ux + dy * uy - along
    aside = dx * uy - dy * ux
    return math.hypot(rest, aside), aside, way + along


def _pull(terrain: Terrain, place: Place, velocity: Place) -> tuple[float, float, float]:
    speed = max(math.hypot(*velocity), 1e-9)
    east, north = (float(part) for part in terrain.gradient(*place))
    rho = float(terrain.resistance(*place))
    pull = PULL_M_S2 / math.sqrt(1 + east * east + north * north)
    return (
        -pull * (rho * velocity[0] / speed + east),
        -pull * (rho * velocity[1] / speed + north),
        speed,
    )
