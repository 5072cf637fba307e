"""Response surfaces: polynomials of several doses by least squares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

from greenwright.base.errors import BadInput
from greenwright.stats.trials.factors import Array


@dataclass(frozen=True, slots=True)
class Surface:
    """A fitted polynomial surface.

    Args:
        powers: exponents of each term, one for each dose.
        coefficients, se: (terms) [unit per product of doses].
        df: left for error; sd: residual [unit]; r2: share of the variance told.
    """

    powers: tuple[tuple[int, ...], ...]
    coefficients: Array
    se: Array
    df: int
    sd: float
    r2: float

    def at(self, doses: Sequence[float]) -> float:
        """Return the value at doses [unit]."""
        row = columns_of(np.asarray(doses, float)[None, :], self.powers)[0]
        return float(row @ self.coefficients)

    @property
    def p(self) -> Array:
        """Return the two-sided p of each coefficient."""
        return 2 * stdtr(self.df, -np.abs(self.coefficients / self.se))


def quadratic(doses: int) -> tuple[tuple[int, ...], ...]:
    """Return the powers of a full quadratic: one, each, each squared, each product.

    >>> quadratic(2)
    ((0, 0), (1, 0), (0, 1), (2, 0), (0, 2), (1, 1))
    """
    eye = np.eye(doses, dtype=int)
    singles = [tuple(int(x) for x in k * row) for k in (1, 2) for row in eye]
    both = [
        tuple(int(x) for x in eye[i] + eye[j]) for i in range(doses) for j in range(i + 1, doses)
    ]
    return (tuple([0] * doses), *singles, *both)


def columns_of(doses: Array, powers: Sequence[Sequence[int]]) -> Array:
    """Return (n, terms) products of powers of the doses (n, k)."""
    return np.stack([np.prod(doses ** np.asarray(p), axis=1) for p in powers], axis=1)


def fit_surface(doses: Array, y: Array, powers: Sequence[Sequence[int]]) -> Surface:
    """Return the least-squares surface.

    Args:
        doses: (n, k); y: (n) [unit]; powers: of each term.

    Raises:
        BadInput: too few rows, or terms that the doses cannot tell apart.
    """
    x = columns_of(doses, powers)
    if len(y) <= x.shape[1] or np.linalg.matrix_rank(x) < x.shape[1]:
        raise BadInput(
            f"{len(y)} rows cannot tell {x.shape[1]} terms of a surface apart",
            where="response surface",
            expected="more rows than terms, and as many doses as a term's power needs",
            do="Leave terms out",
        )
    beta, *_ = np.linalg.lstsq(x, y, rcond=None)
    rest = y - x @ beta
    df = len(y) - x.shape[1]
    s2 = float(rest @ rest) / df
    se = np.sqrt(s2 * np.diag(np.linalg.inv(x.T @ x)))
    spread = float(np.sum((y - y.mean()) ** 2))
    held = tuple(tuple(int(k) for k in p) for p in powers)
    return Surface(held, beta, se, df, s2**0.5, 1 - s2 * df / spread)
