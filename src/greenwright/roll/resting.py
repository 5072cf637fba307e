"""A slow ball: its last centimetres in closed form, or a crawl where the slope may win.

Plain scalar functions of numbers, so that the same lines serve as they stand and compiled.
"""

from __future__ import annotations

import math

from greenwright.roll.constants import HOLE_RADIUS_M, PULL_M_S2

_LEVEL = 1e-7
_END = 1e-9
_TICK_S = 0.002
_TICKS = 5000
_STILL = 1e-4
REACH_M = 0.25
"""On uneven ground a ball that may still roll so far is not brought to rest at one stroke [m]."""

GOING, CAUGHT, RESTED = 0.0, 1.0, 2.0
"""What a crawl came to."""

Ball = tuple[float, float, float, float, float]
"""Place seen from the hole [m], heading as a unit vector, speed squared [m2/s2]."""

Under = tuple[float, float, float, float]
"""Slopes dz/dx and dz/dy, the ball's resistance, the heading's walk K [m]."""


def last_way(ball: Ball, under: Under, kick: float, correlation_m: float) -> Ball:
    """Return the way (x, y) that a slow ball still rolls, the heading it sets off in, and 1.

    The last number is 0, and the way none, where no friction holds the ball. The wander still
    to come is one turn of the heading, of the size that gives the sideways variance of the
    random walk from there to rest, cut off at the correlation length.

    Args:
        ball, under: the ball and the plane it lies on.
        kick: a draw of mean 0 and sd 1.
        correlation_m: length below which the surface does not turn the heading [m].
    """
    _, _, cx, cy, energy = ball
    dx, dy, rho, walk = under
    tilt = math.hypot(dx, dy)
    if rho <= tilt * (1 + _END):
        return 0.0, 0.0, cx, cy, 0.0
    slowing = PULL_M_S2 / math.sqrt(1 + tilt * tilt)
    left = energy / (2 * slowing * rho)
    cut = correlation_m
    reach = left - 2 * cut / 3 if left > cut else left**3 / (3 * cut * cut)
    turn = kick * math.sqrt(walk * reach) / max(left, 1e-12)
    sine, cosine = math.sin(turn), math.cos(turn)
    cx, cy = cosine * cx - sine * cy, sine * cx + cosine * cy
    if tilt < _LEVEL:
        return left * cx, left * cy, cx, cy, 1.0
    # The closed form of `plane`, held off its two ends where it divides nothing by nothing.
    fall_x, fall_y, k = -dx / tilt, -dy / tilt, rho / tilt
    along, across = cx * fall_x + cy * fall_y, cy * fall_x - cx * fall_y
    half = min(max(math.atan2(abs(across), along) / 2, _END), math.pi / 2 - _END)
    u, size = math.tan(half), energy / (slowing * tilt) * math.sin(2 * half) ** 2
    down = size / 4 * (1 / (u * u) / (2 * k - 2) - u * u / (2 * k + 2))
    side = size / 2 * (1 / u / (2 * k - 1) + u / (2 * k + 1))
    side = math.copysign(side, across)
    return down * fall_x - side * fall_y, down * fall_y + side * fall_x, cx, cy, 1.0


def drops(ball: Ball, way_x: float, way_y: float, limit: float) -> bool:
    """Return whether the hole catches a ball on its last way, or it comes to rest over it.

    Args:
        ball: before that way.
        way_x, way_y: the way [m].
        limit: fastest ball that the hole's centre catches [m/s].
    """
    x, y, _, _, energy = ball
    if math.hypot(x + way_x, y + way_y) < HOLE_RADIUS_M:
        return True
    way = math.hypot(way_x, way_y)
    if way == 0:
        return False
    share = -(x * way_x + y * way_y) / (way * way)
    off = abs(x * way_y - y * way_x) / (way * HOLE_RADIUS_M)
    if not (0 <= share <= 1 and off < 1):
        return False
    return math.sqrt(energy * (1 - share)) <= limit * (1 - off * off)


def comes_to_rest(energy: float, under: Under, uneven: bool) -> bool:
    """Return whether the closed form may end a slow ball's roll here.

    Not where the slope is steeper than the friction, and on uneven ground not where the ball
    could leave the plane that it lies on.

    Args:
        energy: speed squared [m2/s2].
        under: the plane the ball lies on.
        uneven: whether the ground differs from place to place.
    """
    dx, dy, rho, _ = under
    tilt = math.hypot(dx, dy)
    spare = rho - tilt
    if spare <= _END * tilt:
        return False
    return not uneven or energy * math.sqrt(1 + tilt * tilt) <= 2 * PULL_M_S2 * spare * REACH_M


def crawled(
    ball: Ball, under: Under, limit: float, way_m: float
) -> tuple[float, float, float, float, float, float]:
    """Return a slow ball a short way on, and what became of it: GOING, CAUGHT or RESTED.

    Midpoint steps of 2 ms on place and velocity, which pass a standstill without harm: a ball
    that came up a bank too slowly turns round and rolls back. Roughness is left out.

    Args:
        ball, under: the ball and the plane it lies on.
        limit: fastest ball that the hole's centre catches [m/s].
        way_m: how far to go at most [m].
    """
    x, y, cx, cy, energy = ball
    dx, dy, rho, _ = under
    drag = PULL_M_S2 / math.sqrt(1 + dx * dx + dy * dy)
    speed = math.sqrt(energy)
    vx, vy, way, fate = speed * cx, speed * cy, 0.0, GOING
    for _tick in range(_TICKS):
        pace = max(speed, _STILL)
        ax, ay = -drag * (rho * vx / pace + dx), -drag * (rho * vy / pace + dy)
        if rho > math.hypot(dx, dy) and speed * pace <= -(ax * vx + ay * vy) * _TICK_S:
            fate = RESTED
            break
        mx, my = vx + ax * _TICK_S / 2, vy + ay * _TICK_S / 2
        pace = max(math.hypot(mx, my), _STILL)
        vx -= drag * (rho * mx / pace + dx) * _TICK_S
        vy -= drag * (rho * my / pace + dy) * _TICK_S
        x, y, way, speed = (
            x + mx * _TICK_S,
            y + my * _TICK_S,
            way + pace * _TICK_S,
            math.hypot(vx, vy),
        )
        if speed <= limit * (1 - (x * x + y * y) / HOLE_RADIUS_M**2):
            fate = CAUGHT
            break
        if way >= way_m:
            break
    pace = max(speed, _END)
    return x, y, vx / pace, vy / pace, speed * speed, fate
