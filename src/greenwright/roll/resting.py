"""The last centimetres of a roll: in closed form, because there the heading turns fast.

Plain scalar functions of numbers, so that the same lines serve as they stand and compiled.
"""

from __future__ import annotations

import math

from greenwright.roll.constants import GRAVITY_M_S2, HOLE_RADIUS_M, ROLLING_FACTOR

_PULL = ROLLING_FACTOR * GRAVITY_M_S2
_LEVEL = 1e-7
_END = 1e-9

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
    slowing = _PULL / math.sqrt(1 + tilt * tilt)
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
