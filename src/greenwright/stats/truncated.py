"""A normal belief and the window in which a quantity lies: cut to it, or piled at its ends."""

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


def piled_estimate(
    mean: float,
    sd: float,
    unit: str,
    *,
    window: tuple[float, float],
    n: int = 0,
    basis: Basis = "readings",
    level: float = 0.9,
) -> Estimate:
    """Return the estimate of N(mean, sd) on a scale that ends: what lies beyond counts as the end.

    Mean, sd and quantiles of min(max(x, low), high).

    Args:
        mean, sd: of the normal [unit].
        window: low and high end of the scale [unit].

    Raises:
        BadInput: the window is empty.

    >>> one = piled_estimate(10.0, 1.0, "score", window=(0, 10))
    >>> round(one.value, 3), one.high  # 10 - 1 / sqrt(2 pi)
    (9.601, 10.0)
    """
    low, high = window
    if not low < high:
        raise BadInput(f"window {window} is empty")
    if sd <= 0:
        centre = min(max(mean, low), high)
        return Estimate(centre, unit, 0.0, centre, centre, level, n, basis)
    ends = (np.array([low, high]) - mean) / sd
    below, above = normal_area(ends)
    heights = np.exp(-0.5 * ends**2) / np.sqrt(2 * np.pi)
    inside = above - below
    first = inside * mean + sd * (heights[0] - heights[1])
    middle = first + low * below + high * (1 - above)
    # About the middle, so that a narrow belief far from the ends loses no digits.
    away = mean - middle
    tail = sd**2 * (ends[0] * heights[0] - ends[1] * heights[1])
    spread = inside * (sd**2 + away**2) + 2 * away * sd * (heights[0] - heights[1]) + tail
    spread += (low - middle) ** 2 * below + (high - middle) ** 2 * (1 - above)
    tails = mean + sd * normal_quantile([(1 - level) / 2, (1 + level) / 2])
    left, right = (float(end) for end in np.clip(tails, low, high))
    value = float(np.clip(middle, left, right))
    return Estimate(value, unit, float(np.sqrt(max(spread, 0.0))), left, right, level, n, basis)


def piled_chance(
    mean: ArrayLike, sd: ArrayLike, *, band: tuple[float, float], window: tuple[float, float]
) -> np.ndarray:
    """Return the chance that a normal lies in a band of a scale that ends.

    An end of the band at or beyond an end of the window takes in all that is piled up there.

    Args:
        mean, sd: of the normal, arrays of one shape [unit].
        band, window: low and high ends [unit].

    >>> piled_chance([9.0], [1.0], band=(8, 10), window=(0, 10)).round(3).tolist()
    [0.841]
    """
    low = -np.inf if band[0] <= window[0] else band[0]
    high = np.inf if band[1] >= window[1] else band[1]
    spread = np.maximum(np.asarray(sd, dtype=float), 1e-12)
    centre = np.asarray(mean, dtype=float)
    return normal_area((high - centre) / spread) - normal_area((low - centre) / spread)
