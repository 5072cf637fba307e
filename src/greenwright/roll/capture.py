"""Which balls the hole catches: the fastest one by how far off its centre it comes."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.roll.constants import BALL_RADIUS_M, GRAVITY_M_S2, HOLE_RADIUS_M
from greenwright.roll.numbers import FloatOrArray, plain

CENTRE_LIMIT_M_S = 1.63
"""Fastest ball that the hole's centre catches (key roll.capture.centre_limit) [m/s]."""


def capture_speed(
    offset_m: ArrayLike, *, centre_limit: ArrayLike = CENTRE_LIMIT_M_S
) -> FloatOrArray:
    """Return the fastest ball caught at an offset: limit (1 - (offset / hole radius)^2) [m/s].

    Args:
        offset_m: distance of the ball's line from the hole's centre [m], either sign.
        centre_limit: fastest ball caught through the centre [m/s].

    Raises:
        BadInput: a line that does not cross the hole, or a limit not above zero.

    Source key: roll.capture.centre_limit (from memory; repeated in secondary texts). Near the
    limit the rim may still throw a ball out or turn it in: a chance, not a line.

    >>> round(capture_speed(0.02699), 4)
    1.2225
    """
    offset, limit = _within_hole(offset_m), _limit(centre_limit)
    return plain(limit * (1 - (offset / HOLE_RADIUS_M) ** 2))


def free_fall_speed(offset_m: ArrayLike) -> FloatOrArray:
    """Return the fastest ball that drops under the far rim without its help [m/s].

    sqrt(g / 2R) (sqrt(Rh^2 - d^2) + sqrt((Rh - R)^2 - d^2)), R the ball's and Rh the hole's
    radius; 0 where the whole ball does not cross the hole.

    Raises:
        BadInput: a line that does not cross the hole.

    >>> round(free_fall_speed(0.0), 3)
    1.313
    """
    offset = _within_hole(offset_m)
    inner = (HOLE_RADIUS_M - BALL_RADIUS_M) ** 2 - offset**2
    chord = np.sqrt(HOLE_RADIUS_M**2 - offset**2) + np.sqrt(np.maximum(inner, 0))
    speed = np.sqrt(GRAVITY_M_S2 / (2 * BALL_RADIUS_M)) * chord
    return plain(np.where(inner < 0, 0.0, speed))


def capture_half_width(
    speed: ArrayLike, *, centre_limit: ArrayLike = CENTRE_LIMIT_M_S
) -> FloatOrArray:
    """Return how far off centre a ball of that speed is still caught [m]; 0 over the limit.

    Rh sqrt(1 - v / limit).

    Args:
        speed: of the ball at the hole [m/s], 0 or more.
        centre_limit: fastest ball caught through the centre [m/s].

    Raises:
        BadInput: a negative speed, or a limit not above zero.

    >>> round(1000 * capture_half_width(1.0), 1)
    33.6
    """
    pace = np.asarray(speed, dtype=float)
    if not np.all(pace >= 0):
        raise BadInput("a speed cannot be below zero", where="capture", expected="0 m/s or more")
    left = np.maximum(1 - pace / _limit(centre_limit), 0)
    return plain(HOLE_RADIUS_M * np.sqrt(left))


def _limit(centre_limit: ArrayLike) -> NDArray[np.float64]:
    limit = np.asarray(centre_limit, dtype=float)
    if not np.all(limit > 0):
        raise BadInput("the limit must be above zero", where="capture", expected="m/s above zero")
    return limit


def _within_hole(offset_m: ArrayLike) -> NDArray[np.float64]:
    offset = np.abs(np.asarray(offset_m, dtype=float))
    if not np.all(offset <= HOLE_RADIUS_M):
        raise BadInput(
            "that line does not cross the hole",
            where="offset",
            expected=f"up to {1000 * HOLE_RADIUS_M:.0f} mm from the centre",
            do="give the distance from the hole's centre to the ball's line",
        )
    return offset
