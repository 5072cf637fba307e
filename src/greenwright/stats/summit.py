"""The top of a small log likelihood and the curvature there, by finite differences."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.stats.ascent import climb

Floats = NDArray[np.float64]

_STEP = 1e-4


@dataclass(frozen=True, slots=True)
class Summit:
    """The most likely point (k,) and the covariance (k, k) of a normal belief around it."""

    point: Floats
    cov: Floats


def summit(height: Callable[[Floats], float], start: Floats, scale: Floats) -> Summit:
    """Return the top of a log likelihood (or log posterior) and its Laplace covariance.

    Args:
        height: log likelihood of a point (k,), smooth, with one top near the start.
        start: (k,). scale: (k,) how far off the start may be; sets the unit of the search.

    >>> top = summit(lambda x: -float((x[0] - 2) ** 2) / 2, np.array([0.0]), np.array([1.0]))
    >>> top.point.round(4).tolist(), top.cov.round(4).tolist()
    ([2.0], [[1.0]])
    """

    def hill(x: Floats) -> tuple[float, Floats]:
        return height(start + scale * x), _slope(lambda z: height(start + scale * z), x)

    origin = np.zeros(len(start))
    bend = _bend(lambda z: height(start + scale * z), origin)
    top = climb(hill, origin, _definite(bend), gain=1e-9, most_steps=200)
    final = _definite(_bend(lambda z: height(start + scale * z), top.point))
    return Summit(start + scale * top.point, np.linalg.inv(final) * np.outer(scale, scale))


def _slope(height: Callable[[Floats], float], x: Floats) -> Floats:
    return np.array([(height(x + e) - height(x - e)) / (2 * _STEP) for e in _steps(len(x))])


def _bend(height: Callable[[Floats], float], x: Floats) -> Floats:
    """Return minus the matrix of second derivatives."""
    ends = np.array([[_corner(height, x, (e, f)) for f in _steps(len(x))] for e in _steps(len(x))])
    return -(ends + ends.T) / 2


def _corner(height: Callable[[Floats], float], x: Floats, ends: tuple[Floats, Floats]) -> float:
    e, f = (10 * end for end in ends)
    across = height(x + e + f) - height(x + e - f) - height(x - e + f) + height(x - e - f)
    return across / (400 * _STEP**2)


def _steps(k: int) -> Floats:
    return _STEP * np.eye(k)


def _definite(bend: Floats) -> Floats:
    """Return the matrix with its eigenvalues kept clear of zero, so that it can be inverted."""
    values, vectors = np.linalg.eigh(bend)
    kept = np.maximum(np.abs(values), 1e-6 * max(float(np.abs(values).max()), 1e-12))
    return np.asarray((vectors * kept) @ vectors.T)
