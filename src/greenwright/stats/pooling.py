"""Partial pooling in time: units of one family, read now and then by biased raters.

See ``marginal`` for the model. The hyper-parameters are estimated under stated priors and
their uncertainty is carried by a small mixture, so intervals stay honest with few readings.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from threadpoolctl import ThreadpoolController

from greenwright.stats.hyper import Mixture, PoolingPrior, mixture, named
from greenwright.stats.layout import Floats, Layout, Observations, lay_out
from greenwright.stats.marginal import Conditioned, Solved, shared_cov


@dataclass(frozen=True, slots=True)
class PooledFit:
    """A fitted pooled model: layout, prior and the mixture of hyper-parameters."""

    layout: Layout
    prior: PoolingPrior
    mixture: Mixture

    @property
    def hyper(self) -> Mapping[str, float]:
        """Return the best hyper-parameters by name."""
        return named(self.mixture.points[0])


@dataclass(frozen=True, slots=True)
class PooledPosterior:
    """What is believed of each unit on each day, jointly, and of raters and scales.

    Args:
        mean: (days, units) [unit].
        cov: (days, units, days, units) [unit squared].
        rater_mean, rater_sd: shift of each rater [unit].
        scale_mean, scale_sd: shift of each other scale [unit].
    """

    mean: Floats
    cov: Floats
    rater_mean: Floats
    rater_sd: Floats
    scale_mean: Floats
    scale_sd: Floats


def fit_pooled(
    observations: Observations,
    prior: PoolingPrior,
    *,
    rng: np.random.Generator,
    pairs: int = 8,
) -> PooledFit:
    """Fit the pooled model.

    Args:
        observations: any number, none included (then the prior speaks).
        prior: level and hyper-parameters.
        rng: draws the mixture's points.
        pairs: antithetic pairs of points in the mixture; 0 = the best point alone.

    Errors: BadInput for impossible observations or priors.
    """
    layout = lay_out(observations, level=prior.level)
    with one_blas_thread():
        return PooledFit(layout, prior, mixture(layout, prior, pairs=pairs, rng=rng))


def posterior(fit: PooledFit, days: ArrayLike) -> PooledPosterior:
    """Return the belief about every unit on the given days, jointly.

    Args:
        fit: a fitted pooled model.
        days: query days [days, the origin of the observations].

    The belief is of level + unit + both processes: what a perfect reading of the whole
    unit would give, free of rater, scale, spot and noise.
    """
    wanted = np.atleast_1d(np.asarray(days, dtype=float))
    with one_blas_thread():
        parts = [_at_point(fit, at, wanted) for at in fit.mixture.at]
    mean, cov = _mixed([p[0] for p in parts], [p[1] for p in parts], fit.mixture.weights)
    shift, spread = _mixed([p[2] for p in parts], [p[3] for p in parts], fit.mixture.weights)
    shape = (len(wanted), fit.layout.n_units)
    sd = np.sqrt(np.clip(np.diag(spread), 0, None))
    cut = fit.layout.n_raters
    return PooledPosterior(
        mean=mean.reshape(shape) + fit.prior.level,
        cov=cov.reshape(shape + shape),
        rater_mean=shift[:cut],
        rater_sd=sd[:cut],
        scale_mean=shift[cut:],
        scale_sd=sd[cut:],
    )


@contextmanager
def one_blas_thread() -> Iterator[None]:
    """Hold linear algebra to one thread: small blocks lose time on more."""
    with _threads().limit(limits=1, user_api="blas"):
        yield


@lru_cache(maxsize=1)
def _threads() -> ThreadpoolController:
    return ThreadpoolController()


def _at_point(
    fit: PooledFit, at: Conditioned, days: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return mean and covariance of (day, unit) levels and of the shifts, at one point."""
    gap = np.abs(days[:, None] - days[None, :])
    own_prior = at.hyper["unit_sd"] ** 2 + at.hyper["unit_day_sd"] ** 2 * np.exp(
        -gap / at.hyper["unit_correlation"]
    )
    lever, shared_left = _shared(fit, at, days, gap)
    count, units = len(days), fit.layout.n_units
    levers = np.repeat(lever[:, None, :], units, axis=1)
    mean = np.repeat((lever @ at.mean)[:, None], units, axis=1)
    left = np.repeat(own_prior[None, :, :], units, axis=0)
    for piece, alpha in zip(at.solved, at.alpha, strict=True):
        cross, unit = _cross(piece, at, days), piece.stack.unit
        levers[:, unit] -= (cross @ piece.weighted).transpose(1, 0, 2)
        mean[:, unit] += (cross @ alpha[:, :, None])[:, :, 0].T
        left[unit] -= cross @ piece.inverse @ cross.transpose(0, 2, 1)
    flat = levers.reshape(count * units, -1)
    cov = (flat @ at.cov @ flat.T).reshape(count, units, count, units)
    cov += shared_left[:, None, :, None]
    every = np.arange(units)
    cov[:, every, :, every] += left
    tail = slice(fit.layout.slices["raters"].start, fit.layout.width)
    joint = cov.reshape(count * units, count * units)
    return mean.ravel(), joint, at.mean[tail], at.cov[tail, tail]


def _shared(fit: PooledFit, at: Conditioned, days: Floats, gap: Floats) -> tuple[Floats, Floats]:
    """Return the regression of level + shared process on the latents, and what it leaves."""
    layout, level = fit.layout, fit.prior.level_sd**2
    cross = np.zeros((len(days), layout.width))
    cross[:, 0] = level
    far = np.abs(days[:, None] - layout.days[None, :])
    cross[:, layout.slices["days"]] = shared_cov(far, at.hyper)
    seen = slice(0, layout.slices["days"].stop)
    lever = np.zeros_like(cross)
    half = np.linalg.solve(at.prior_root[seen, seen], cross[:, seen].T)
    lever[:, seen] = np.linalg.solve(at.prior_root[seen, seen].T, half).T
    return lever, level + shared_cov(gap, at.hyper) - half.T @ half


def _cross(piece: Solved, at: Conditioned, days: Floats) -> Floats:
    """Return the covariance of each unit's own level on the days with its observations."""
    far = np.abs(days[None, :, None] - piece.stack.day[:, None, :])
    process = np.exp(-far / at.hyper["unit_correlation"])
    own = at.hyper["unit_sd"] ** 2 + at.hyper["unit_day_sd"] ** 2 * process
    return own * piece.stack.real[:, None, :]


def _mixed(means: list[Floats], covs: list[Floats], weights: Floats) -> tuple[Floats, Floats]:
    """Return mean and covariance of a mixture of normals."""
    stacked = np.array(means)
    mean = weights @ stacked
    away = stacked - mean
    inside = np.tensordot(weights, np.array(covs), axes=1)
    return mean, inside + (away * weights[:, None]).T @ away
