"""Degree days: warmth added up over a base."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput


def degree_days(t_min_c: ArrayLike, t_max_c: ArrayLike, base_c: float) -> NDArray[np.float64]:
    """Return the degree days of each day: what the middle of its temperatures lies over a base.

    max(0, (Tmax + Tmin) / 2 - base).

    Args:
        t_min_c, t_max_c: ends of each day's temperature [degC], one shape.
        base_c: base temperature [degC]; it belongs to the model that uses the sum.

    Valid for: daily ends of air temperature.

    Raises:
        BadInput: a highest temperature under the lowest, or lists of unequal length.

    >>> degree_days([10.0, -4.0], [20.0, 2.0], 0.0).tolist()
    [15.0, 0.0]
    """
    low, high = np.asarray(t_min_c, dtype=float), np.asarray(t_max_c, dtype=float)
    if low.shape != high.shape:
        raise BadInput(
            f"{low.size} lowest and {high.size} highest temperatures",
            where="t_max",
            expected="one of each for every day",
        )
    if np.any(high < low):
        raise BadInput(
            "the highest temperature of a day is under its lowest",
            where="t_max",
            expected="at least t_min",
            do="were they swapped?",
        )
    return np.clip((low + high) / 2 - base_c, 0.0, None)
