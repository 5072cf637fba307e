"""The normal curve: areas under it, and where a given area ends.

By the standard library, since a scientific library for these alone doubles the start of a
question.
"""

from __future__ import annotations

from math import erfc, sqrt
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput

_STANDARD = NormalDist()
_ROOT_TWO = sqrt(2.0)


def normal_area(z: ArrayLike) -> NDArray[np.float64]:
    """Return the area under the standard normal curve left of z, same shape.

    >>> normal_area([0.0, 1.0]).round(4).tolist()
    [0.5, 0.8413]
    """
    ends = np.asarray(z, dtype=float)
    areas = [0.5 * erfc(-end / _ROOT_TWO) for end in ends.ravel().tolist()]
    return np.array(areas, dtype=float).reshape(ends.shape)


def normal_quantile(area: ArrayLike) -> NDArray[np.float64]:
    """Return where the area left of a point of the standard normal curve reaches a share.

    Args:
        area: between 0 and 1, both ends excluded, any shape.

    Raises:
        BadInput: a share that no point reaches.

    >>> normal_quantile([0.5, 0.95]).round(4).tolist()
    [0.0, 1.6449]
    """
    shares = np.asarray(area, dtype=float)
    if not np.all((shares > 0) & (shares < 1)):
        raise BadInput("a quantile needs shares between 0 and 1", where="normal curve")
    points = [_STANDARD.inv_cdf(share) for share in shares.ravel().tolist()]
    return np.array(points, dtype=float).reshape(shares.shape)
