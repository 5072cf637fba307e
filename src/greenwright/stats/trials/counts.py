"""Counts and percentages: log-linear and logit models with the spread the data show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import expit, xlogy

from greenwright.base.errors import BadInput
from greenwright.stats.trials.factors import Array
from greenwright.stats.trials.strata import f_tail

Kind = Literal["count", "share"]


@dataclass(frozen=True, slots=True)
class SpreadFit:
    """A fitted model of counts or shares.

    Args:
        beta: on the log or logit scale; cov: their covariance, spread included.
        deviance, df: left over; dispersion: Pearson chi squared over df (1 = as chance alone).
    """

    beta: Array
    cov: Array
    deviance: float
    df: int
    dispersion: float


@dataclass(frozen=True, slots=True)
class DevianceTest:
    """Whether terms tell something: an F of the deviance they take, over the dispersion."""

    df: int
    df_error: int
    deviance: float
    f: float
    p: float


def fit_spread(y: Array, x: Array, *, kind: Kind, of: Array | None = None) -> SpreadFit:
    """Return the model by iterated weighted least squares.

    Args:
        y: (n) counts, or counts out of `of`; x: (n, p) with an intercept.
        kind: count (log link) | share (logit link).
        of: (n) trials behind each share.

    Raises:
        BadInput: a negative count, or more than there were.
    """
    trials = np.ones_like(y) if of is None else of
    if np.any(y < 0) or (kind == "share" and np.any(y > trials)):
        raise BadInput("a count below zero, or above what there was", where="counts")
    eta = _start(y, trials, kind)
    beta = np.zeros(x.shape[1])
    for _ in range(100):
        mean, weight = _moments(eta, trials, kind)
        working = eta + (y - mean) / weight
        new = np.linalg.lstsq(x * np.sqrt(weight)[:, None], working * np.sqrt(weight), rcond=None)
        moved = float(np.max(np.abs(new[0] - beta)))
        beta = new[0]
        eta = np.clip(x @ beta, -30, 30)
        if moved < 1e-11:
            break
    return _fitted(y, x, beta, kind=kind, trials=trials)


def _start(y: Array, trials: Array, kind: Kind) -> Array:
    if kind == "count":
        return np.log(y + 0.1)
    share = (y + 0.5) / (trials + 1)
    return np.log(share / (1 - share))


def _moments(eta: Array, trials: Array, kind: Kind) -> tuple[Array, Array]:
    if kind == "count":
        mean = np.exp(eta)
        return mean, mean
    share = expit(eta)
    return trials * share, np.maximum(trials * share * (1 - share), 1e-12)


def _fitted(y: Array, x: Array, beta: Array, *, kind: Kind, trials: Array) -> SpreadFit:
    mean, weight = _moments(np.clip(x @ beta, -30, 30), trials, kind)
    df = len(y) - np.linalg.matrix_rank(x)
    dispersion = float(np.sum((y - mean) ** 2 / weight) / df) if df else float("nan")
    cov = dispersion * np.linalg.pinv(x.T @ (weight[:, None] * x))
    return SpreadFit(beta, cov, _deviance(y, mean, trials, kind), int(df), dispersion)


def _deviance(y: Array, mean: Array, trials: Array, kind: Kind) -> float:
    if kind == "count":
        return float(2 * np.sum(xlogy(y, y) - xlogy(y, mean) - y + mean))
    rest, left = trials - y, trials - mean
    parts = xlogy(y, y) - xlogy(y, mean) + xlogy(rest, rest) - xlogy(rest, left)
    return float(2 * np.sum(parts))


def deviance_test(small: SpreadFit, large: SpreadFit) -> DevianceTest:
    """Return whether the larger model tells more than the smaller one inside it."""
    df, drop = small.df - large.df, small.deviance - large.deviance
    f = drop / df / large.dispersion
    return DevianceTest(df, large.df, drop, f, f_tail(f, df, large.df))
