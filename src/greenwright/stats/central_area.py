"""The share of a normal curve within z standard deviations, quickly for large arrays.

The standard library gives it for one number at a time; a table with exact slopes, read by
cubic Hermite interpolation, gives whole arrays to 1e-9 without a heavy library.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

_STEP = 1 / 64
_END = 8.5
_KNOTS = np.arange(0.0, _END + 2 * _STEP, _STEP)
_AREAS = np.array([math.erf(z / math.sqrt(2)) for z in _KNOTS.tolist()])
_RISES = _STEP * math.sqrt(2 / math.pi) * np.exp(-(_KNOTS**2) / 2)


def central_area(z: ArrayLike) -> Floats:
    """Return 2 Phi(z) - 1, odd in z, same shape; accurate to 1e-9.

    Args:
        z: standard deviations, any shape, infinite allowed, not nan.

    >>> central_area([0.0, 1.0, np.inf]).round(6).tolist()
    [0.0, 0.682689, 1.0]
    """
    given = np.asarray(z, dtype=float)
    place = np.minimum(np.abs(given), _END) / _STEP
    at = place.astype(np.intp)
    t = place - at
    rest = 1 - t
    low, high = _AREAS[at], _AREAS[at + 1]
    level = rest * rest * ((1 + 2 * t) * low + t * _RISES[at])
    level += t * t * ((3 - 2 * t) * high - rest * _RISES[at + 1])
    return np.copysign(level, given)


def area_below(z: ArrayLike) -> Floats:
    """Return Phi(z), the share of a normal curve below z, same shape.

    >>> float(area_below(0.0))
    0.5
    """
    return (1 + central_area(z)) / 2
