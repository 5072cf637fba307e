"""Repeated ratings: the area under the progress curve, and the whole series over time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.stats.trials.factors import Array


def progress_area(days: Sequence[float], values: Sequence[float]) -> float:
    """Return the area under a progress curve by trapezoids [unit x day].

    Args:
        days: increasing [d], at least two; values: as many [unit].

    Raises:
        BadInput: fewer than two, or days that do not increase.

    >>> progress_area([0, 7, 14], [0.0, 10.0, 30.0])
    175.0
    """
    x, y = np.asarray(days, float), np.asarray(values, float)
    if len(x) < 2 or len(x) != len(y) or np.any(np.diff(x) <= 0):
        raise BadInput(
            "an area under the progress curve needs two or more ratings on increasing days",
            where="progress curve",
        )
    return float(np.sum(np.diff(x) * (y[1:] + y[:-1]) / 2))


def sphericity(series: Array, groups: Array) -> float:
    """Return the Greenhouse-Geisser epsilon of repeated readings, 1 / (times - 1) .. 1.

    Times of a plot resemble each other unequally; the tests over time are then taken at epsilon
    times their degrees of freedom.

    Args:
        series: (plots, times) [unit]; groups: (plots) code of the treatment of each plot.
    """
    means = np.vstack([series[groups == g].mean(axis=0) for g in range(groups.max() + 1)])
    rest = series - means[groups]
    cov = rest.T @ rest
    times = cov.shape[0]
    centre = np.eye(times) - 1 / times
    inner = centre @ cov @ centre
    top = float(np.trace(inner)) ** 2
    return min(1.0, max(1 / (times - 1), top / ((times - 1) * float(np.sum(inner * inner)))))
