"""Roughness as the ball feels it: its heading wanders, and the more the slower it rolls.

d psi = sqrt(K) / r dW per metre of path, with r = v^2 / (2a) the way that a ball of that speed
has left on the level. K grows with the square of the green speed on an unchanged surface, so
the surface itself is told by T = 4 rho^2 K, which does not depend on speed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.roll.numbers import FloatOrArray, plain
from greenwright.roll.two_way import resistance


def heading_walk(trueness_t: ArrayLike, green_speed_m: ArrayLike) -> FloatOrArray:
    """Return the heading's random walk K = T / (4 rho^2) [m] of a surface at a green speed.

    Args:
        trueness_t: speed-free trueness index T [m], 0 = perfectly true.
        green_speed_m: level green speed [m].

    Raises:
        BadInput: a negative index, or a speed not above zero.

    >>> round(1e5 * heading_walk(2e-6, 3.048), 3)
    8.15
    """
    index = _not_negative(trueness_t, "trueness index")
    return plain(index / (4 * np.square(resistance(green_speed_m))))


def trueness_index(heading_k: ArrayLike, green_speed_m: ArrayLike) -> FloatOrArray:
    """Return the speed-free trueness index T = 4 rho^2 K [m].

    Raises:
        BadInput: a negative walk, or a speed not above zero.

    >>> round(1e6 * trueness_index(8.15e-5, 3.048), 3)
    2.0
    """
    walk = _not_negative(heading_k, "heading walk")
    return plain(4 * np.square(resistance(green_speed_m)) * walk)


def sideways_variance(
    heading_k: ArrayLike, roll_m: ArrayLike, left_m: ArrayLike = 0.0
) -> FloatOrArray:
    """Return the variance of a ball's sideways place on the level [m2].

    K (L - 2 r ln(L / r) - r^2 / L): at rest (r = 0) it is K L.

    Args:
        heading_k: K [m].
        roll_m: whole way L that the ball rolls [m].
        left_m: way r that it still has to go [m], 0..L.

    Raises:
        BadInput: a number out of these ranges.

    Valid for: r far above the correlation length of the surface (about 10 mm).

    >>> round(1000 * sideways_variance(8.15e-5, 3.048) ** 0.5, 2)
    15.76
    """
    walk, left = _not_negative(heading_k, "heading walk"), _not_negative(left_m, "way left")
    whole = np.asarray(roll_m, dtype=float)
    if not np.all(np.isfinite(whole) & (whole > 0) & (left <= whole)):
        raise BadInput(
            "a roll must be above zero and not shorter than the way left",
            where="sideways variance",
            expected="metres",
        )
    safe = np.where(left > 0, left, whole)
    spread = whole - 2 * left * np.log(whole / safe) - left**2 / whole
    return plain(walk * np.maximum(spread, 0.0))


def sideways_per_metre(
    trueness_t: ArrayLike, green_speed_m: ArrayLike, *, roll_m: ArrayLike | None = None
) -> FloatOrArray:
    """Return the sd of where equal balls stop sideways, per metre of roll [m/m].

    sqrt(K L) / L with L the ramp's own roll, which is the green speed.

    Args:
        trueness_t: T [m].
        green_speed_m: level green speed [m].
        roll_m: another length of roll [m].

    Raises:
        BadInput: a negative index, a speed or a roll not above zero.

    >>> round(1000 * sideways_per_metre(2e-6, 3.048), 2)
    5.17
    """
    length = np.asarray(green_speed_m if roll_m is None else roll_m, dtype=float)
    variance = sideways_variance(heading_walk(trueness_t, green_speed_m), length)
    return plain(np.sqrt(variance) / length)


def index_of_sideways(sideways_per_metre: ArrayLike, green_speed_m: ArrayLike) -> FloatOrArray:
    """Return the index T [m] of a surface on which the ramp's balls stop so far sideways.

    The inverse of `sideways_per_metre` over the ramp's own roll: T = (2 c s)^2 / S, c = 0.2387 m.

    Args:
        sideways_per_metre: sd of where equal balls stop, per metre of roll [m/m].
        green_speed_m: level green speed [m].

    Raises:
        BadInput: a negative spread, or a speed not above zero.

    >>> f"{index_of_sideways(6.5e-3, 3.048):.1e}"
    '3.2e-06'
    """
    spread, speed = _not_negative(sideways_per_metre, "spread"), np.asarray(green_speed_m, float)
    return trueness_index(spread**2 * speed, speed)


def _not_negative(values: ArrayLike, name: str) -> NDArray[np.float64]:
    numbers = np.asarray(values, dtype=float)
    if not np.all(np.isfinite(numbers) & (numbers >= 0)):
        raise BadInput(f"the {name} cannot be below zero", where="roughness", expected="metres")
    return numbers
