"""Numbers or arrays in, the same out: what the closed forms give back."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatOrArray = float | NDArray[np.float64]


def plain(values: ArrayLike) -> FloatOrArray:
    """Return a lone number as a float, anything else as an array.

    >>> plain(np.array(2.0)), plain([1.0, 2.0]).tolist()
    (2.0, [1.0, 2.0])
    """
    numbers = np.asarray(values, dtype=float)
    return float(numbers) if numbers.ndim == 0 else numbers
