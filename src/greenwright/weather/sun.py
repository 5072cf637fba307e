"""The sun over a place: radiation at the top of the air and hours of daylight."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput

SOLAR_CONSTANT = 0.0820
"""Radiation of the sun outside the air [MJ/m2/min]."""

Array = NDArray[np.float64]


def extraterrestrial(latitude_deg: float, day_of_year: ArrayLike) -> tuple[Array, Array]:
    """Return the radiation at the top of the air [MJ/m2/d] and the hours of daylight.

    Ra = 24*60/pi Gsc dr (ws sin(phi) sin(d) + cos(phi) cos(d) sin(ws)), N = 24 ws / pi.

    Args:
        latitude_deg: north positive [deg].
        day_of_year: 1 to 366, any shape.

    Valid for: all latitudes; within the polar circles the day is 0 or 24 hours.

    Raises:
        BadInput: a latitude or a day that cannot be.

    >>> ra, n = extraterrestrial(-20.0, 246)  # 3 September: 32.2 MJ/m2/d
    >>> round(float(ra), 1), round(float(n), 1)
    (32.2, 11.7)
    """
    day = np.asarray(day_of_year, dtype=float)
    if not -90 <= latitude_deg <= 90:
        raise BadInput(f"{latitude_deg:g} deg is no latitude", expected="-90 to 90 deg")
    if not np.all((day >= 1) & (day <= 366)):
        raise BadInput("a day of the year is outside 1 to 366", where="day")
    phi, turn = np.radians(latitude_deg), 2 * np.pi * day / 365
    nearer = 1 + 0.033 * np.cos(turn)
    tilt = 0.409 * np.sin(turn - 1.39)
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(tilt), -1.0, 1.0))
    lit = sunset * np.sin(phi) * np.sin(tilt) + np.cos(phi) * np.cos(tilt) * np.sin(sunset)
    ra = 24 * 60 / np.pi * SOLAR_CONSTANT * nearer * np.clip(lit, 0.0, None)
    return ra, 24 / np.pi * sunset
