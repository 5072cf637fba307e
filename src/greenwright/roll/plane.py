"""Where a ball comes to rest on a plane that tilts: the break of a putt in closed form.

With phi the angle between the path and straight downhill and k = rho / tan theta, the speed
falls as v(phi) = v sin phi0 / sin phi (tan(phi/2) / tan(phi0/2))^k, so the ball turns downhill
as it slows, and the place where it stops scales with the square of its first speed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.roll.constants import PULL_M_S2
from greenwright.roll.numbers import FloatOrArray, plain
from greenwright.roll.two_way import resistance

LEAST_SLOPE = 1e-9
"""Under this slope the green is level."""


@dataclass(frozen=True, slots=True)
class Break:
    """Resting place seen from the start: downhill and across the slope [m]."""

    downhill_m: FloatOrArray
    across_m: FloatOrArray


def break_on_plane(
    launch_speed: ArrayLike, green_speed_m: ArrayLike, slope: ArrayLike, angle_rad: ArrayLike
) -> Break:
    """Return where a rolling ball stops on a plane.

    Args:
        launch_speed: of pure rolling [m/s].
        green_speed_m: on the level [m].
        slope: rise over run, 0 or more.
        angle_rad: first direction from straight downhill, 0..pi; pi/2 = along the contour.

    Raises:
        BadInput: a number outside these ranges, or a slope on which a ball never stops.

    Source: a ball crossing an inclined green (abstract: both distances go with the square of
    the speed); formulas derived, checked against an integrator of differential equations.

    >>> rest = break_on_plane(1.8288, 3.048, 0.02, np.pi / 2)
    >>> round(rest.downhill_m, 4), round(rest.across_m, 4)
    (0.4164, 3.0991)
    """
    speed, tilt, angle = (np.asarray(x, dtype=float) for x in (launch_speed, slope, angle_rad))
    rho = np.asarray(resistance(green_speed_m))
    _check(speed, tilt, angle, rho)
    sine = tilt / np.sqrt(1 + tilt**2)
    # Towards the contour's two ends the general form divides nothing by nothing.
    half = np.clip(angle / 2, 1e-9, np.pi / 2 - 1e-9)
    u, k = np.tan(half), rho / np.maximum(tilt, LEAST_SLOPE)
    size = speed**2 * np.sin(2 * half) ** 2
    size = size / (PULL_M_S2 * np.maximum(sine, LEAST_SLOPE))
    downhill = size / 4 * (u**-2 / (2 * k - 2) - u**2 / (2 * k + 2))
    across = size / 2 * (u**-1 / (2 * k - 1) + u / (2 * k + 1))
    return Break(plain(downhill), plain(across))


def _check(
    speed: NDArray[np.float64],
    tilt: NDArray[np.float64],
    angle: NDArray[np.float64],
    rho: NDArray[np.float64],
) -> None:
    if not np.all(np.isfinite(speed) & (speed > 0)):
        raise BadInput("launch speed must be above zero", where="break", expected="m/s above zero")
    if not np.all((tilt >= 0) & (tilt < rho)):
        raise BadInput(
            "on this slope a ball never stops",
            where="slope",
            expected=f"0 up to {float(np.min(rho)):.1%}",
            do="give a flatter slope (an uphill putt has an angle above 90 degrees)",
        )
    if not np.all((angle >= 0) & (angle <= np.pi)):
        raise BadInput(
            "the direction lies between straight downhill and straight uphill",
            where="angle",
            expected="0 to 180 degrees from straight downhill",
        )
