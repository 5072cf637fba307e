"""The ramp read both ways along one line: level green speed and slope, exactly.

A ball released at v0 on a plane tilted by theta obeys v^2 = v0^2 - (10/7) g (rho cos theta
+- sin theta) d, so it stops after U uphill and D downhill with
1/U + 1/D = 2 cos theta / S and 1/U - 1/D = 2 sin theta / c, where rho is the rolling
resistance, S the stopping distance on the level and c = rho S = v0^2 / ((10/7) g).
Slope is rise over run (tan theta) everywhere; distances run along the surface.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.roll.constants import STOPPING_LENGTH_M
from greenwright.roll.numbers import FloatOrArray, plain


@dataclass(frozen=True, slots=True)
class TwoWay:
    """Level green speed [m] and slope (rise over run; positive = the first roll went uphill)."""

    level_speed_m: FloatOrArray
    slope: FloatOrArray


def two_way_speed(up_m: ArrayLike, down_m: ArrayLike) -> TwoWay:
    """Return the level green speed and the slope behind rolls both ways along one line.

    level speed = 2 U D / (U + D), which is the stopping distance on the level divided by
    cos theta (0.05 % at a slope of 3 %); sin theta = c/2 (1/U - 1/D) with c = 0.2387 m.

    Args:
        up_m, down_m: mean roll each way [m], numbers or arrays of one shape; their order
            only sets the sign of the slope.

    Raises:
        BadInput: a roll is not above zero, or the two differ more than any slope allows.

    Range of validity: a plane between the two stopping points, no grain.
    Source: correction for slope, Agronomy Journal, 1991 (formula); slope derived.

    >>> result = two_way_speed(8 * 0.3048, 12 * 0.3048)
    >>> round(result.level_speed_m, 5), round(result.slope, 4)
    (2.92608, 0.0163)
    """
    up, down = _positive(up_m, "up_m"), _positive(down_m, "down_m")
    sine = STOPPING_LENGTH_M / 2 * (1 / up - 1 / down)
    if np.any(np.abs(sine) >= 1):
        raise BadInput(
            "the two rolls differ more than any slope allows",
            where="two-way speed",
            expected="rolls both ways along one line, in the same unit",
            do="check the two distances and their units",
        )
    return TwoWay(plain(2 * up * down / (up + down)), plain(sine / np.sqrt(1 - sine**2)))


def ramp_rolls(level_speed_m: ArrayLike, slope: ArrayLike) -> tuple[FloatOrArray, FloatOrArray]:
    """Return how far the ramp's ball runs up and down a slope of a green of known speed.

    U = S / (cos theta + sin theta / rho), D = S / (cos theta - sin theta / rho).

    Args:
        level_speed_m: stopping distance on the level [m].
        slope: rise over run; a negative slope swaps the two.

    Raises:
        BadInput: speed not above zero; or so steep that a ball never stops downhill.

    >>> up, down = ramp_rolls(3.048, 0.02)
    >>> round(up / 0.3048, 3), round(down / 0.3048, 3)
    (7.968, 13.432)
    """
    speed, tilt = _positive(level_speed_m, "level_speed_m"), np.asarray(slope, dtype=float)
    rho = resistance(speed)
    if not np.all(np.abs(tilt) < rho):
        raise BadInput(
            "on this slope a ball never stops downhill",
            where="ramp rolls",
            expected=f"a slope under the rolling resistance ({float(np.min(rho)):.3f})",
            do="give a smaller slope, or read on flatter ground",
        )
    run = np.sqrt(1 + tilt**2)
    return plain(speed * run / (1 + tilt / rho)), plain(speed * run / (1 - tilt / rho))


def level_speed_from_one_way(roll_m: ArrayLike, slope: ArrayLike) -> FloatOrArray:
    """Return the level green speed that one roll along a known slope speaks of.

    1/level = 1/roll - sin theta / c: the inverse of the two-way relation, on its scale.

    Args:
        roll_m: distance run [m].
        slope: rise over run in the direction of the roll; positive = it went uphill.

    Raises:
        BadInput: roll not above zero, or a roll so long uphill that no friction is left.

    >>> round(level_speed_from_one_way(8 * 0.3048, 0.01632), 3)
    2.926
    """
    roll, tilt = _positive(roll_m, "roll_m"), np.asarray(slope, dtype=float)
    inverse = 1 / roll - tilt / np.sqrt(1 + tilt**2) / STOPPING_LENGTH_M
    if not np.all(inverse > 0):
        raise BadInput(
            "a ball cannot run that far up this slope",
            where="one-way speed",
            expected="a slope that is positive where the ball ran uphill",
            do="check the sign and size of the slope",
        )
    return plain(1 / inverse)


def resistance(level_speed_m: ArrayLike) -> FloatOrArray:
    """Return the coefficient of rolling resistance rho = 0.2387 m / S (S: green speed [m]).

    >>> round(resistance(3.048), 4)
    0.0783
    """
    return plain(STOPPING_LENGTH_M / _positive(level_speed_m, "level_speed_m"))


def _positive(values: ArrayLike, name: str) -> NDArray[np.float64]:
    numbers = np.asarray(values, dtype=float)
    if not np.all(np.isfinite(numbers) & (numbers > 0)):
        raise BadInput(
            "a distance must be above zero",
            where=name,
            expected="metres above zero",
            do="correct the distance",
        )
    return numbers
