"""Linear mixed models by REML, tested by Kenward and Roger's F.

y = X b + sum Z_i u_i + e, each u_i and e independent and normal. Variances maximise the
restricted likelihood, none below zero. Tests of b use the covariance enlarged for the variances'
own uncertainty and the degrees of freedom that match its first two moments: "Small sample
inference for fixed effects from restricted maximum likelihood", Biometrics, 1997.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize

from greenwright.base.errors import CannotAnswer
from greenwright.stats.trials.contrasts import Linear
from greenwright.stats.trials.factors import Array
from greenwright.stats.trials.strata import f_tail

NOTHING = 1e-9
"""A variance under this share of the residual is taken as zero."""


@dataclass(frozen=True, slots=True)
class MixedFit:
    """A fitted mixed model.

    Args:
        names: of the variances, the residual last.
        variances: [unit squared].
        beta: coefficients; cov: their covariance; cov_wide: the same, enlarged.
        criterion: -2 log restricted likelihood.
        slopes: change of the coefficients' information with each variance (P_i).
        uncertain: covariance of the variances (W).
        residuals: readings less fixed effects (n) [unit].
    """

    names: tuple[str, ...]
    variances: Array
    beta: Array
    cov: Array
    cov_wide: Array
    criterion: float
    slopes: tuple[Array, ...]
    uncertain: Array
    residuals: Array

    def variance(self, name: str) -> float:
        """Return one variance [unit squared]."""
        return float(self.variances[self.names.index(name)])


@dataclass(frozen=True, slots=True)
class FTest:
    """A joint test of several combinations of coefficients."""

    df: int
    df_error: float
    f: float
    p: float


def fit_mixed(y: Array, x: Array, groups: Sequence[tuple[str, Array]]) -> MixedFit:
    """Return the REML fit.

    Args:
        y: (n) [unit]; x: (n, p) of full column rank.
        groups: (name, Z (n, k)) of each random part.

    Raises:
        CannotAnswer: no reading is left for error.
    """
    n, p = x.shape
    if n - p < 1 + len(groups):
        raise CannotAnswer(
            f"{n} readings cannot tell {p} coefficients and {1 + len(groups)} variances",
            where="mixed model",
            do="Add blocks or greens, or leave terms out",
        )
    parts = [z @ z.T for _, z in groups]
    unit = float(np.std(y)) or 1.0
    ratios = _ratios(y / unit, x, parts)
    weights = np.append(ratios, 1.0)
    shape = np.eye(n) + sum((r * g for r, g in zip(ratios, parts, strict=True)), np.zeros((n, n)))
    state = _solve(y, x, shape)
    sigma2 = state.quadratic / (n - p)
    return _joined(y, x, [*parts, np.eye(n)], variances=weights * sigma2, names=_names(groups))


def _names(groups: Sequence[tuple[str, Array]]) -> tuple[str, ...]:
    return (*(name for name, _ in groups), "residual")


@dataclass(frozen=True, slots=True)
class _State:
    beta: Array
    cov: Array
    quadratic: float
    log_det: float
    log_det_x: float


def _solve(y: Array, x: Array, shape: Array) -> _State:
    c = cho_factor(shape, lower=True)
    vx, vy = cho_solve(c, x), cho_solve(c, y)
    info = x.T @ vx
    cov = np.linalg.inv(info)
    beta = cov @ (x.T @ vy)
    rest = y - x @ beta
    quadratic = float(rest @ cho_solve(c, rest))
    return _State(
        beta,
        cov,
        max(quadratic, 1e-300),
        2 * float(np.sum(np.log(np.diag(c[0])))),
        float(np.linalg.slogdet(info)[1]),
    )


def _ratios(y: Array, x: Array, parts: Sequence[Array]) -> Array:
    """Return the variances over the residual's that maximise the restricted likelihood."""
    if not parts:
        return np.zeros(0)
    n, p = x.shape
    eye = np.eye(n)

    def cost(roots: Array) -> tuple[float, Array]:
        """Return -2 log restricted likelihood at roots of the ratios, and its slope."""
        shape = eye + sum(r * r * g for r, g in zip(roots, parts, strict=True))
        c = cho_factor(shape, lower=True)
        vx = cho_solve(c, x)
        info = x.T @ vx
        inverse = cho_solve(c, eye)
        proj = inverse - vx @ np.linalg.solve(info, vx.T)
        py = proj @ y
        quadratic = max(float(y @ py), 1e-300)
        value = 2 * float(np.sum(np.log(np.diag(c[0])))) + float(np.linalg.slogdet(info)[1])
        value += (n - p) * np.log(quadratic)
        grad = [
            2 * r * (float(np.sum(proj * g)) - (n - p) * float(py @ g @ py) / quadratic)
            for r, g in zip(roots, parts, strict=True)
        ]
        return value, np.array(grad)

    starts = [np.full(len(parts), 0.7), np.full(len(parts), 0.1)]
    found = [
        minimize(cost, s, jac=True, method="L-BFGS-B", options={"ftol": 1e-15, "gtol": 1e-9})
        for s in starts
    ]
    best = min(found, key=lambda one: one.fun).x
    ratios = best**2
    return np.where(ratios < NOTHING, 0.0, ratios)


def _joined(
    y: Array, x: Array, parts: Sequence[Array], *, variances: Array, names: tuple[str, ...]
) -> MixedFit:
    n, p = x.shape
    v = sum((s * g for s, g in zip(variances, parts, strict=True)), np.zeros((n, n)))
    state = _solve(y, x, v)
    inverse = np.linalg.inv(v)
    cov = state.cov
    vx = inverse @ x
    held = [g @ vx for g in parts]
    slopes = tuple(-vx.T @ h for h in held)
    seconds = [[h.T @ inverse @ k for k in held] for h in held]
    vg = [inverse @ g for g in parts]
    uncertain = _uncertain(vg, cov, slopes, seconds)
    widen = sum(
        uncertain[i, j] * (seconds[i][j] - slopes[i] @ cov @ slopes[j])
        for i in range(len(parts))
        for j in range(len(parts))
    )
    wide = cov + 2 * cov @ widen @ cov
    criterion = (n - p) * np.log(2 * np.pi) + state.log_det + state.log_det_x + state.quadratic
    rest = y - x @ state.beta
    return MixedFit(
        names, variances, state.beta, cov, wide, float(criterion), slopes, uncertain, rest
    )


def _uncertain(
    vg: Sequence[Array], cov: Array, slopes: Sequence[Array], seconds: Sequence[Sequence[Array]]
) -> Array:
    """Return the covariance of the variances, from their expected information."""
    k = len(vg)
    info = np.empty((k, k))
    for i in range(k):
        for j in range(k):
            info[i, j] = 0.5 * (
                np.sum(vg[i] * vg[j].T)
                - 2 * np.sum(cov * seconds[i][j].T)
                + np.sum((cov @ slopes[i] @ cov) * slopes[j].T)
            )
    return np.linalg.pinv(info)


def kenward_roger(fit: MixedFit, rows: Array) -> FTest:
    """Return the joint test that rows @ beta is zero.

    Args:
        rows: (q, p), of full row rank.
    """
    q = rows.shape[0]
    middle = rows.T @ np.linalg.solve(rows @ fit.cov @ rows.T, rows)
    turned = [middle @ fit.cov @ s @ fit.cov for s in fit.slopes]
    w = fit.uncertain
    k = range(len(turned))
    a1 = sum(w[i, j] * np.trace(turned[i]) * np.trace(turned[j]) for i in k for j in k)
    a2 = sum(w[i, j] * np.sum(turned[i] * turned[j].T) for i in k for j in k)
    value = rows @ fit.beta
    wald = float(value @ np.linalg.solve(rows @ fit.cov_wide @ rows.T, value)) / q
    scale, df = _matched(q, float(a1), float(a2))
    f = scale * wald
    return FTest(q, df, f, f_tail(f, q, df))


def _matched(q: int, a1: float, a2: float) -> tuple[float, float]:
    """Return the scale and degrees of freedom that match the first two moments of the Wald F."""
    if a2 <= 1e-12:
        return 1.0, 1e6
    b = (a1 + 6 * a2) / (2 * q)
    g = ((q + 1) * a1 - (q + 4) * a2) / ((q + 2) * a2)
    below = 3 * q + 2 * (1 - g)
    c1, c2, c3 = g / below, (q - g) / below, (q + 2 - g) / below
    mean = 1 / max(1 - a2 / q, 1e-9)
    top, base = 1 + c1 * b, (1 - c2 * b) ** 2 * (1 - c3 * b)
    rho = (top / base) * (1 - a2 / q) ** 2 / q
    df = 4 + (q + 2) / (q * rho - 1)
    return df / (mean * (df - 2)), df


def linear(fit: MixedFit, label: str, row: Array) -> Linear:
    """Return one combination of coefficients, with Kenward and Roger's error and freedom."""
    test = kenward_roger(fit, row[None, :])
    return Linear(label, float(row @ fit.beta), float(row @ fit.cov_wide @ row) ** 0.5,
                  test.df_error)  # fmt: skip
