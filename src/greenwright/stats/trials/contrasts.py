"""Means of treatments and their differences, with the error that belongs to each.

A mean or difference is a weighting of the readings. Its variance is the sum over strata of the
stratum's mean square times the squared length of the weighting in it; where several strata share
in it the degrees of freedom are Satterthwaite's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from scipy.special import stdtr, stdtrit

from greenwright.stats.trials.factors import Array, Factor, Term, products
from greenwright.stats.trials.strata import StrataFit


@dataclass(frozen=True, slots=True)
class Linear:
    """One estimated mean or difference.

    Args:
        label: which levels.
        value: [unit]; se: its standard error [unit].
        df: degrees of freedom of the standard error.
    """

    label: str
    value: float
    se: float
    df: float

    @property
    def t(self) -> float:
        """Return value over standard error."""
        return self.value / self.se if self.se > 0 else float("inf")

    @property
    def p(self) -> float:
        """Return the two-sided chance of such a t where there is no difference."""
        return float(2 * stdtr(self.df, -abs(self.t))) if np.isfinite(self.t) else 0.0

    def reach(self, level: float = 0.95) -> float:
        """Return the half width of the interval [unit]."""
        return float(stdtrit(self.df, 0.5 + level / 2)) * self.se


def cells(factors: Sequence[Factor]) -> list[tuple[int, ...]]:
    """Return every combination of levels, as indices."""
    return list(product(*(range(len(one.levels)) for one in factors)))


def label_of(factors: Sequence[Factor], cell: Sequence[int]) -> str:
    """Return a combination of levels in words."""
    return " ".join(one.levels[i] for one, i in zip(factors, cell, strict=True))


def mean_row(
    terms: Sequence[Term], factors: Mapping[str, Factor], wanted: Mapping[str, int]
) -> Array:
    """Return the row of the model (intercept first) whose value is the mean of a combination.

    Terms with a factor that is not wanted average out: codes sum to zero over their levels.

    Args:
        terms: of the model, covariates included (their columns are centred).
        factors: name -> factor.
        wanted: factor -> index of its level.
    """
    parts = [np.ones(1)]
    for term in terms:
        width = term.columns.shape[1]
        if not term.factors or any(name not in wanted for name in term.factors):
            parts.append(np.zeros(width))
            continue
        row = np.ones((1, 1))
        for name in term.factors:
            row = products(row, factors[name].coding[wanted[name]][None, :])
        parts.append(row.reshape(-1))
    return np.concatenate(parts)


def design(terms: Sequence[Term], n: int) -> Array:
    """Return the model's columns (n, 1 + …), intercept first."""
    return np.hstack([np.ones((n, 1)), *(term.columns for term in terms)])


def solver(model: Array, within: Array | None = None) -> Array:
    """Return (columns, n): what turns readings into coefficients.

    Args:
        model: (n, columns).
        within: basis of the one stratum to estimate in; None = ordinary least squares.
    """
    if within is None:
        return np.linalg.pinv(model)
    return np.linalg.pinv(within.T @ model) @ within.T


def estimate(
    label: str, weights: Array, y: Array, fit: StrataFit, *, level: str | None = None
) -> Linear:
    """Return a weighted sum of the readings with its standard error and degrees of freedom.

    Args:
        label: of the estimate; weights: (n); y: (n) [unit]; fit: by strata.
        level: stratum whose error the overall mean has; None = the coarsest.
    """
    parts = []
    level = level or fit.splitting.strata[0].name
    for stratum in fit.splitting.strata:
        share = float(np.sum((stratum.basis.T @ weights) ** 2))
        share += float(np.sum(weights)) ** 2 / len(y) if stratum.name == level else 0.0
        df, ss = fit.error[stratum.name]
        if share > 1e-12 * float(weights @ weights) and df:
            parts.append((share * ss / df, df))
        elif share > 1e-9 * float(weights @ weights):
            return Linear(label, float(weights @ y), float("nan"), float("nan"))
    return _joined(label, float(weights @ y), parts)


def _joined(label: str, value: float, parts: Sequence[tuple[float, int]]) -> Linear:
    variance = sum(v for v, _ in parts)
    below = sum(v * v / df for v, df in parts)
    df = variance**2 / below if below > 0 else float(min((df for _, df in parts), default=1))
    return Linear(label, value, variance**0.5, df)


def pairs(count: int, *, control: int | None = None) -> list[tuple[int, int]]:
    """Return the pairs to compare, each as (first, second): all, or each against a control.

    >>> pairs(3), pairs(3, control=0)
    ([(1, 0), (2, 0), (2, 1)], [(1, 0), (2, 0)])
    """
    if control is not None:
        return [(i, control) for i in range(count) if i != control]
    return sorted((j, i) for i, j in combinations(range(count), 2))
