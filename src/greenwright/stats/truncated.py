"""A normal belief cut to the window in which a quantity can lie."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Basis, Estimate
from greenwright.stats.normal import normal_area, normal_quantile

_FAR = 6.0


def truncated_estimate(
    mean: float,
    sd: float,
    unit: str,
    *,
    window: tuple[float, float],
    n: int = 0,
    basis: Basis = "readings",
    level: float = 0.9,
) -> Estimate:
    """Return the estimate of N(mean, sd) given that the value lies in the window.

    The mean, sd and quantiles are those of the truncated normal; far from both ends they
    are the plain normal's. A mean outside the window is first brought to its nearer end.

    Args:
        mean, sd: of the normal before it is cut [unit].
        window: low and high end [unit].

    Raises:
        BadInput: the window is empty.

    >>> truncated_estimate(9.9, 0.5, "score", window=(0, 10)).high <= 10
    True
    """
    low, high = window
    if not low < high:
        raise BadInput(f"window {window} is empty")
    centre = min(max(mean, low), high)
    if sd <= 0:
        return Estimate(centre, unit, 0.0, centre, centre, level, n, basis)
    a, b = max((low - centre) / sd, -_FAR), min((high - centre) / sd, _FAR)
    mass = float(normal_area(b) - normal_area(a))
    pa, pb = (np.exp(-0.5 * z * z) / np.sqrt(2 * np.pi) for z in (a, b))
    shift = (pa - pb) / mass
    variance = 1 + (a * pa - b * pb) / mass - shift**2
    tails = normal_quantile(normal_area(a) + mass * np.array([(1 - level) / 2, (1 + level) / 2]))
    ends = np.clip(centre + sd * tails, low, high)
    middle = float(np.clip(centre + sd * shift, low, high))
    return Estimate(
        middle, unit, float(sd * np.sqrt(variance)), float(ends[0]), float(ends[1]), level, n, basis
    )


def chance_within(
    mean: ArrayLike, sd: ArrayLike, *, band: tuple[float, float], window: tuple[float, float]
) -> np.ndarray:
    """Return the chance that a truncated normal lies in a band.

    Args:
        mean, sd: of the normal before it is cut, arrays of one shape [unit].
        band, window: low and high ends [unit]; the band is cut to the window.

    >>> chance_within([9.0], [1.0], band=(8, 10), window=(0, 10)).round(3).tolist()
    [0.811]
    """
    centre = np.clip(np.asarray(mean, dtype=float), *window)
    spread = np.maximum(np.asarray(sd, dtype=float), 1e-12)
    ends = [min(max(end, window[0]), window[1]) for end in band]
    inside = normal_area((ends[1] - centre) / spread) - normal_area((ends[0] - centre) / spread)
    whole = normal_area((window[1] - centre) / spread) - normal_area((window[0] - centre) / spread)
    return np.clip(inside / whole, 0.0, 1.0)
