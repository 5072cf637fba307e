"""A normal belief multiplied by what was seen: mean and variance of the product.

By quadrature, so that far tails, narrow intervals and sharp counts cost no digits.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput

Floats = NDArray[np.float64]

_REACH2 = 50.0
_INTERVAL = np.polynomial.legendre.leggauss(32)
_COUNT = np.polynomial.legendre.leggauss(48)
_WIDE, _LOCAL = 6.0, 12.0
_STEPS = 12


def interval_moments(
    mean: Floats, variance: Floats, *, low: Floats, high: Floats
) -> tuple[Floats, Floats]:
    """Return mean and variance of normal beliefs given that each lies in its interval.

    Args:
        mean, variance: (n,) of the beliefs [unit, unit squared].
        low, high: (n,) ends [unit]; one of each pair may be infinite.

    Raises:
        BadInput: an interval that is empty or open at both ends.

    Holds for intervals any number of sds away: the density beyond exp(-25) of its highest
    value inside is left out.

    >>> m, v = interval_moments(np.zeros(1), np.ones(1), low=np.zeros(1), high=np.array([np.inf]))
    >>> m.round(4).tolist(), v.round(4).tolist()  # sqrt(2/pi), 1 - 2/pi
    ([0.7979], [0.3634])
    """
    if not np.all((low < high) & (np.isfinite(low) | np.isfinite(high))):
        raise BadInput("an interval needs low < high and one end at least", where="sites")
    sd = np.sqrt(variance)
    a, b = (low - mean) / sd, (high - mean) / sd
    turned = a + b < 0
    near, far = np.where(turned, -b, a), np.where(turned, -a, b)
    start = np.maximum(near, -np.sqrt(_REACH2))
    inner = np.maximum(start, 0.0) ** 2
    end = np.minimum(far, np.sqrt(inner + _REACH2))
    points, weights = _spread(start, end, _INTERVAL)
    weights = weights * np.exp(-0.5 * (points**2 - inner[:, None]))
    middle, spread = _moments(points, weights)
    return mean + sd * np.where(turned, -middle, middle), variance * spread


def count_moments(
    mean: Floats, variance: Floats, *, hits: Floats, tries: Floats, centre: Floats, per: Floats
) -> tuple[Floats, Floats]:
    """Return mean and variance of normal beliefs given counts that depend on them.

    hits ~ binomial(tries, p) with log odds of p = (value - centre) / per.

    Args:
        mean, variance: (n,) of the beliefs [unit, unit squared].
        hits, tries: (n,) counts, 0 <= hits <= tries.
        centre: (n,) value at which half hit [unit].
        per: (n,) value per unit of log odds [unit], positive.
    """
    top, local = _highest(mean, variance, hits=hits, tries=tries, centre=centre, per=per)
    half = np.minimum(_WIDE * np.sqrt(variance), _LOCAL * local)
    points, weights = _spread(top - half, top + half, _COUNT)
    odds = (points - centre[:, None]) / per[:, None]
    logs = hits[:, None] * odds - tries[:, None] * np.logaddexp(0.0, odds)
    logs -= 0.5 * (points - mean[:, None]) ** 2 / variance[:, None]
    weights = weights * np.exp(logs - logs.max(axis=1, keepdims=True))
    return _moments(points, weights)


def _highest(
    mean: Floats, variance: Floats, *, hits: Floats, tries: Floats, centre: Floats, per: Floats
) -> tuple[Floats, Floats]:
    """Return where the product is highest, and the sd of its curve there, by Newton steps."""
    odds = np.log((hits + 0.5) / (tries - hits + 0.5))
    seen = per**2 * (1 / (hits + 0.5) + 1 / (tries - hits + 0.5))
    at = (mean / variance + (centre + per * odds) / seen) / (1 / variance + 1 / seen)
    for _ in range(_STEPS):
        share = 1 / (1 + np.exp(-np.clip((at - centre) / per, -500, 500)))
        bend = 1 / variance + tries * share * (1 - share) / per**2
        slope = (mean - at) / variance + (hits - tries * share) / per
        reach = 2 / np.sqrt(bend)
        at = at + np.clip(slope / bend, -reach, reach)
    return at, 1 / np.sqrt(bend)


def _spread(low: Floats, high: Floats, rule: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Return the points (n, k) of a rule between the ends, and their weights (1, k)."""
    middle, half = (low + high) / 2, (high - low) / 2
    return middle[:, None] + half[:, None] * rule[0][None, :], rule[1][None, :]


def _moments(points: Floats, weights: Floats) -> tuple[Floats, Floats]:
    shares = weights / weights.sum(axis=1, keepdims=True)
    mean = (shares * points).sum(axis=1)
    return mean, (shares * (points - mean[:, None]) ** 2).sum(axis=1)
