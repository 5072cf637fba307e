"""Trend over the ground: neighbours in rows and columns resemble each other (AR1 x AR1)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize

from greenwright.base.errors import CannotAnswer
from greenwright.stats.trials.factors import Array
from greenwright.stats.trials.strata import f_tail


@dataclass(frozen=True, slots=True)
class SpatialFit:
    """Treatments tested with the ground's own trend beside them.

    Args:
        row_correlation, column_correlation: of neighbours at distance one, 0..1.
        nugget: share of the variance that is each plot's own.
        aic: of the restricted likelihood; aic_plain: without correlation.
        f, df, df_error, p: of the treatments, correlations taken as known (a little too sure).
    """

    row_correlation: float
    column_correlation: float
    nugget: float
    aic: float
    aic_plain: float
    f: float
    df: int
    df_error: int
    p: float


def fit_spatial(y: Array, x: Array, tested: Array, place: tuple[Array, Array]) -> SpatialFit:
    """Return the treatments' F under correlated errors, beside the plain fit's AIC.

    Args:
        y: (n) [unit]; x: (n, p), full rank.
        tested: (q) indices of the treatments' columns in x.
        place: row and column of each plot, in steps of one (rounded).

    Raises:
        CannotAnswer: nothing left for error.
    """
    n, p = x.shape
    if n - p < 4:
        raise CannotAnswer("too few plots to tell a trend over the ground", where="spatial trend")
    rows, columns = (np.rint(np.abs(a[:, None] - a[None, :])).astype(int) for a in place)
    far = np.arange(max(rows.max(), columns.max()) + 1)

    def shape(par: Array) -> Array:
        r, c, nugget = 1 / (1 + np.exp(-par))
        return (1 - nugget) * (r**far)[rows] * (c**far)[columns] + nugget * np.eye(n)

    def cost(par: Array) -> float:
        return _criterion(y, x, shape(par))

    starts = ([1.0, 1.0, -1.0], [-1.0, -1.0, -1.0])
    best = min(
        (minimize(cost, s, method="Nelder-Mead", options={"maxiter": 160, "xatol": 1e-2,
                  "fatol": 1e-3}) for s in starts),
        key=lambda one: one.fun,
    )  # fmt: skip
    r, c, nugget = 1 / (1 + np.exp(-best.x))
    f = _f(y, x, tested, shape(best.x))
    q = len(tested)
    return SpatialFit(
        float(r), float(c), float(nugget), float(best.fun) + 8, _criterion(y, x, np.eye(n)) + 2,
        f, q, n - p, f_tail(f, q, n - p),
    )  # fmt: skip


def _criterion(y: Array, x: Array, shape: Array) -> float:
    """Return -2 log restricted likelihood, the overall variance at its best."""
    n, p = x.shape
    c = cho_factor(shape + 1e-9 * np.eye(n), lower=True)
    vx = cho_solve(c, x)
    info = x.T @ vx
    rest = y - x @ np.linalg.solve(info, vx.T @ y)
    quadratic = float(rest @ cho_solve(c, rest))
    logs = 2 * float(np.sum(np.log(np.diag(c[0])))) + float(np.linalg.slogdet(info)[1])
    return logs + (n - p) * (np.log(2 * np.pi * quadratic / (n - p)) + 1)


def _f(y: Array, x: Array, tested: Array, shape: Array) -> float:
    n, p = x.shape
    inverse = np.linalg.inv(shape)
    cov = np.linalg.inv(x.T @ inverse @ x)
    beta = cov @ (x.T @ (inverse @ y))
    rest = y - x @ beta
    sigma2 = float(rest @ inverse @ rest) / (n - p)
    value = beta[tested]
    return float(value @ np.linalg.solve(cov[np.ix_(tested, tested)], value)) / len(tested) / sigma2
