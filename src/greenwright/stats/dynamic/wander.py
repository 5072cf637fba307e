"""A stationary process whose correlation halves with the gap in time: the exact pieces needed.

Markov: cut at knots, what happens between two knots depends on the rest through them alone. So
long records cost no more per day than short ones.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Chain:
    """Precision of the process at ordered times, tridiagonal: diagonal, beside it, log det."""

    diagonal: Floats
    beside: Floats
    log_det: float


def chain(times: Floats, sd: float, time: float) -> Chain:
    """Return the precision of the process at ordered times [days], none included.

    >>> chain(np.array([0.0, 1.0]), 1.0, 1e-3).diagonal.round(6).tolist()
    [1.0, 1.0]
    """
    if not len(times):
        return Chain(np.zeros(0), np.zeros(0), 0.0)
    gaps = np.diff(times)
    keep = np.exp(-gaps / time)
    fresh = 1 / (sd**2 * -np.expm1(-2 * gaps / time))
    diagonal = np.zeros(len(gaps) + 1)
    diagonal[0] = 1 / sd**2
    diagonal[1:] += fresh
    diagonal[:-1] += keep**2 * fresh
    return Chain(diagonal, -keep * fresh, float(np.log(fresh).sum()) - 2 * np.log(sd))


def chain_slopes(
    gaps: Floats, moments: tuple[Floats, Floats], *, sd: float, time: float
) -> tuple[float, float]:
    """Return slopes of the expected log density by log sd and by log correlation time.

    Args:
        gaps: between consecutive times [days].
        moments: expected squares at the times, and expected products of neighbours.
        sd, time: of the process.
    """
    square, product = moments
    keep, left = np.exp(-gaps / time), -np.expm1(-2 * gaps / time)
    before, after = square[:-1], square[1:]
    miss = (after - 2 * keep * product + keep**2 * before) / sd**2
    by_sd = -len(square) + square[0] / sd**2 + float((miss / left).sum())
    by_keep = keep / left + (product - keep * before) / (sd**2 * left) - keep * miss / left**2
    return by_sd, float((by_keep * keep * gaps / time).sum())


def correlation(first: Floats, second: Floats, time: float) -> Floats:
    """Return the correlation between times, (..., n, m) for (..., n) and (..., m)."""
    return np.exp(-np.abs(first[..., :, None] - second[..., None, :]) / time)


@dataclass(frozen=True, slots=True)
class Bridge:
    """The process at some times given its values at knots: mean weights and correlation left.

    Args:
        weights: (b, n, k) of the knots' values.
        left: (b, n, n) covariance over variance.
        by_weights, by_left: their slopes by the log correlation time.
    """

    weights: Floats
    left: Floats
    by_weights: Floats
    by_left: Floats


def bridge(times: Floats, knots: Floats, time: float) -> Bridge:
    """Return the process at times (b, n) given knots (k,), k from 0 to 2 [days]."""
    plain, by_plain = _with_slope(times, times, time)
    if not len(knots):
        none = np.zeros((*times.shape, 0))
        return Bridge(none, plain, none, by_plain)
    cross, by_cross = _with_slope(times, knots[None, :], time)
    among, by_among = _with_slope(knots, knots, time)
    inverse = np.linalg.inv(among)
    weights = cross @ inverse
    back = np.swapaxes(weights, -1, -2)
    turned = by_cross @ back
    by_left = by_plain - turned - np.swapaxes(turned, -1, -2) + weights @ by_among @ back
    left = plain - weights @ np.swapaxes(cross, -1, -2)
    return Bridge(weights, left, (by_cross - weights @ by_among) @ inverse, by_left)


def _with_slope(first: Floats, second: Floats, time: float) -> tuple[Floats, Floats]:
    gap = np.abs(first[..., :, None] - second[..., None, :]) / time
    plain = np.exp(-gap)
    return plain, plain * gap
