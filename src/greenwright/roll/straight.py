"""A straight putt: how hard to strike it, how fast it arrives, and how its slide ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value
from greenwright.roll.constants import GRAVITY_M_S2, PULL_M_S2, RELEASE_SPEED_M_S, ROLLING_FACTOR
from greenwright.roll.numbers import FloatOrArray, plain
from greenwright.roll.two_way import resistance

PAST_HOLE_M = 0.4318
"""How far past the hole a putt is aimed to run, 17 in (key roll.past_hole) [m]."""


@dataclass(frozen=True, slots=True)
class StraightPutt:
    """Speed of pure rolling at the start and at the hole [m/s], and the time between [s]."""

    launch_speed: FloatOrArray
    arrival_speed: FloatOrArray
    time_s: FloatOrArray


@dataclass(frozen=True, slots=True)
class SlideToRoll:
    """What is left when a struck ball stops sliding: speed [m/s], way [m], time [s]."""

    rolling_speed: FloatOrArray
    distance_m: FloatOrArray
    time_s: FloatOrArray


def deceleration(speed_m: ArrayLike) -> FloatOrArray:
    """Return how fast a rolling ball slows down on the level, v0^2 / (2 S) [m/s2].

    Args:
        speed_m: green speed S [m].

    Raises:
        BadInput: a speed not above zero.

    >>> round(deceleration(3.048), 4)
    0.5486
    """
    speed = np.asarray(speed_m, dtype=float)
    _above_zero(speed, "green speed")
    return plain(RELEASE_SPEED_M_S**2 / (2 * speed))


def straight_putt(
    distance_m: ArrayLike,
    green_speed_m: ArrayLike,
    *,
    slope: ArrayLike = 0.0,
    past_m: ArrayLike = PAST_HOLE_M,
) -> StraightPutt:
    """Return the putt that would stop a given way past the hole, straight up or down a plane.

    v^2 = 2 b d with b = (5/7) g (rho cos theta + sin theta), the ball rolling from the start.

    Args:
        distance_m: from ball to hole along the ground [m].
        green_speed_m: on the level [m].
        slope: rise over run, positive = uphill.
        past_m: how far past the hole it would come to rest [m]; 0 = it dies at the hole.

    Raises:
        BadInput: a distance or speed not above zero, past below zero, or a slope so steep
            downhill that the ball never stops.

    >>> round(straight_putt(3, 3.048, past_m=0).launch_speed, 4)
    1.8143
    """
    distance, past = np.asarray(distance_m, dtype=float), np.asarray(past_m, dtype=float)
    _above_zero(distance, "distance")
    if not np.all(past >= 0):
        raise BadInput("a putt cannot be aimed to stop short", where="past", expected="0 m or more")
    slowing = _slowing(green_speed_m, slope)
    launch, arrival = np.sqrt(2 * slowing * (distance + past)), np.sqrt(2 * slowing * past)
    return StraightPutt(plain(launch), plain(arrival), plain((launch - arrival) / slowing))


def level_equivalent(
    distance_m: ArrayLike, green_speed_m: ArrayLike, slope: ArrayLike
) -> FloatOrArray:
    """Return the level putt that needs the same strike: d (1 + tan theta / rho) cos theta [m].

    Raises:
        BadInput: as in `straight_putt`.

    >>> round(level_equivalent(3, 3.048, 0.02), 3)
    3.765
    """
    distance = np.asarray(distance_m, dtype=float)
    _above_zero(distance, "distance")
    return plain(distance * _slowing(green_speed_m, slope) / deceleration(green_speed_m))


def slide_to_roll(speed: ArrayLike, friction: ArrayLike | None = None) -> SlideToRoll:
    """Return how a ball struck without spin comes to roll: 5/7 of its speed is left.

    d = 12 v^2 / (49 mu g), t = 2 v / (7 mu g).

    Args:
        speed: just after the strike [m/s].
        friction: coefficient of sliding; None = the evidence table's.

    Raises:
        BadInput: speed or friction not above zero.

    Source key: roll.slide_friction.

    >>> round(slide_to_roll(2.0).rolling_speed, 3), round(slide_to_roll(2.0).distance_m, 3)
    (1.429, 0.25)
    """
    struck = np.asarray(speed, dtype=float)
    grip = np.asarray(value("roll.slide_friction") if friction is None else friction, dtype=float)
    _above_zero(struck, "speed")
    _above_zero(grip, "friction")
    drag = grip * GRAVITY_M_S2
    return SlideToRoll(
        plain(ROLLING_FACTOR * struck * np.ones_like(drag)),
        plain(12 * struck**2 / (49 * drag)),
        plain(2 * struck / (7 * drag)),
    )


def _slowing(green_speed_m: ArrayLike, slope: ArrayLike) -> NDArray[np.float64]:
    """Return the deceleration up a slope [m/s2]."""
    tilt = np.asarray(slope, dtype=float)
    cosine = 1 / np.sqrt(1 + tilt**2)
    slowing = PULL_M_S2 * cosine * (resistance(green_speed_m) + tilt)
    if not np.all(slowing > 0):
        raise BadInput(
            "down this slope a ball never stops",
            where="slope",
            expected=f"flatter than {float(np.min(resistance(green_speed_m))):.1%} downhill",
            do="give a flatter slope or a slower green",
        )
    return slowing


def _above_zero(numbers: NDArray[np.float64], name: str) -> None:
    if not np.all(np.isfinite(numbers) & (numbers > 0)):
        raise BadInput(f"{name} must be above zero", where="putt", do=f"correct the {name}")
