"""Ordered ratings: cumulative logit, with a random part for plots rated more than once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize
from scipy.special import expit, logsumexp

from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.stats.trials.factors import Array

NODES = 15
FAR = 30.0


@dataclass(frozen=True, slots=True)
class OrdinalFit:
    """A fitted cumulative logit: P(rating <= k) = logistic(cut_k - x b - u).

    Args:
        cuts: (ratings - 1), increasing, on the logit scale.
        beta: higher = better ratings; cov: covariance of cuts and beta (and log sd of groups).
        sd_group: sd of the random part, 0 where there is none.
        log_likelihood: at the top.
    """

    cuts: Array
    beta: Array
    cov: Array
    sd_group: float
    log_likelihood: float

    def chances(self, row: Array) -> Array:
        """Return the chance of each rating at a row of x, for a middling plot."""
        below = expit(self.cuts - float(row @ self.beta))
        return np.diff(np.concatenate([[0.0], below, [1.0]]))

    @property
    def se(self) -> Array:
        """Return the standard errors of beta."""
        k = len(self.cuts)
        return np.sqrt(np.diag(self.cov)[k : k + len(self.beta)])


def fit_ordinal(ratings: Array, x: Array, groups: Array | None = None) -> OrdinalFit:
    """Return the cumulative logit by maximum likelihood; groups by adaptive quadrature.

    Args:
        ratings: (n) 0 .. k - 1, each occurring; x: (n, p), no intercept.
        groups: (n) code of the plot of each row, or None.

    Raises:
        BadInput: a rating that never occurs, or only one.
        CannotAnswer: some treatment has only the lowest or highest rating (no finite answer).
    """
    counts = np.bincount(ratings)
    if len(counts) < 2 or np.any(counts == 0):
        raise BadInput(
            "every rating between the lowest and the highest must occur",
            where="ratings",
            do="Join neighbouring ratings",
        )
    start = _start(counts, x.shape[1], groups is not None)

    def cost(par: Array) -> float:
        return -_log_likelihood(par, ratings, x, groups)

    found = minimize(cost, start, method="BFGS", options={"gtol": 1e-6, "maxiter": 500})
    k = len(counts) - 1
    beta = found.x[k : k + x.shape[1]]
    if np.max(np.abs(beta), initial=0.0) > FAR:
        raise CannotAnswer(
            "some treatment was only ever given the lowest or the highest rating",
            where="ratings",
            do="Join neighbouring ratings, or compare the means of the ratings",
        )
    free = found.x.copy()
    cov = _covariance(cost, free, k)
    sd = float(np.exp(free[-1])) if groups is not None else 0.0
    return OrdinalFit(_cuts(free[:k]), beta, cov, sd, -float(found.fun))


def _start(counts: Array, width: int, grouped: bool) -> Array:
    share = np.cumsum(counts)[:-1] / counts.sum()
    cuts = np.log(share / (1 - share))
    steps = np.concatenate([cuts[:1], np.log(np.maximum(np.diff(cuts), 1e-3))])
    return np.concatenate([steps, np.zeros(width), [-0.5] if grouped else []])


def _cuts(steps: Array) -> Array:
    return np.cumsum(np.concatenate([steps[:1], np.exp(steps[1:])]))


def _log_likelihood(par: Array, ratings: Array, x: Array, groups: Array | None) -> float:
    k = int(ratings.max())
    cuts = _cuts(par[:k])
    eta = x @ par[k : k + x.shape[1]]
    if groups is None:
        return float(np.sum(_log_chance(cuts, ratings, eta)))
    return _grouped(cuts, ratings, eta, groups, sd=float(np.exp(min(par[-1], 5.0))))


def _log_chance(cuts: Array, ratings: Array, eta: Array) -> Array:
    edges = np.concatenate([[-np.inf], cuts, [np.inf]])
    high, low = edges[ratings + 1] - eta, edges[ratings] - eta
    # In the tail where both are near one the difference is taken from the other side.
    far = low > 0
    chance = np.where(far, expit(-low) - expit(-high), expit(high) - expit(low))
    return np.log(np.maximum(chance, 1e-300))


def _grouped(cuts: Array, ratings: Array, eta: Array, groups: Array, *, sd: float) -> float:
    """Return the log likelihood with each group's own shift integrated out."""
    z, w = np.polynomial.hermite_e.hermegauss(NODES)
    top, width = _summits(cuts, ratings, eta, groups, sd=sd)
    u = top[:, None] + width[:, None] * z[None, :]
    rows = _log_chance(cuts, ratings[:, None], eta[:, None] + u[groups])
    total = np.zeros_like(u)
    np.add.at(total, groups, rows)
    total += -0.5 * (u / sd) ** 2 - np.log(sd) + 0.5 * z**2 + np.log(w) + np.log(width)[:, None]
    return float(np.sum(logsumexp(total, axis=1) - 0.5 * np.log(2 * np.pi)))


def _summits(
    cuts: Array, ratings: Array, eta: Array, groups: Array, *, sd: float
) -> tuple[Array, Array]:
    """Return where each group's likelihood is highest, and its width there."""
    count = int(groups.max()) + 1
    u, curve = np.zeros(count), np.ones(count)
    edges = np.concatenate([[-np.inf], cuts, [np.inf]])
    for _ in range(12):
        high = expit(edges[ratings + 1] - eta - u[groups])
        low = expit(edges[ratings] - eta - u[groups])
        slope = np.bincount(groups, high + low - 1, count) - u / sd**2
        bend = np.bincount(groups, high * (1 - high) + low * (1 - low), count) + 1 / sd**2
        u, curve = u + np.clip(slope / bend, -2, 2), bend
    return u, 1 / np.sqrt(curve)


def _covariance(cost: object, par: Array, k: int) -> Array:
    """Return the covariance of cuts, coefficients (and log sd) from second differences."""
    size, step = len(par), 1e-4
    hess = np.empty((size, size))
    eye = np.eye(size) * step
    for i in range(size):
        for j in range(i, size):
            a, b = eye[i], eye[j]
            ends = cost(par + a + b) - cost(par + a - b) - cost(par - a + b) + cost(par - a - b)  # type: ignore[operator]
            hess[i, j] = hess[j, i] = ends / (4 * step * step)
    turn = np.eye(size)
    for i in range(1, k):
        turn[i:k, i] = np.exp(par[i])
    turn[:k, 0] = 1.0
    return turn @ np.linalg.pinv(hess) @ turn.T
