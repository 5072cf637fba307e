"""Partial pooling in time: units of one family, read now and then by biased raters.

See ``marginal`` for the model. The hyper-parameters are estimated under stated priors and
their uncertainty is carried by a small mixture, so intervals stay honest with few readings.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from threadpoolctl import ThreadpoolController

from greenwright.stats.hyper import Mixture, PoolingPrior, mixture, named
from greenwright.stats.layout import Floats, Layout, Observations, lay_out
from greenwright.stats.marginal import Conditioned, Solved, shared_cov


def _none() -> Floats:
    return np.zeros(0)


@dataclass(frozen=True, slots=True)
class PooledFit:
    """A fitted pooled model: layout, prior and the mixture of hyper-parameters.

    Args:
        scatter: (n_raters,) noise sd of each rater over the common one; empty = all alike.
        scatter_log_sd: sd of its log.
    """

    layout: Layout
    prior: PoolingPrior
    mixture: Mixture
    scatter: Floats = field(default_factory=_none)
    scatter_log_sd: Floats = field(default_factory=_none)

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
        rater_mean, rater_sd: shift of each rater, in the late period where there is one [unit].
        scale_mean, scale_sd: shift of each other scale [unit].
        late_mean, late_sd: how much of each rater's shift came with the late period [unit];
            empty where no rater has one.
    """

    mean: Floats
    cov: Floats
    rater_mean: Floats
    rater_sd: Floats
    scale_mean: Floats
    scale_sd: Floats
    late_mean: Floats = field(default_factory=_none)
    late_sd: Floats = field(default_factory=_none)


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


def posterior(fit: PooledFit, days: ArrayLike, *, over: ArrayLike | None = None) -> PooledPosterior:
    """Return the belief about every unit on the given days, jointly.

    Args:
        fit: a fitted pooled model.
        days: query days [days, the origin of the observations].
        over: (q, days) weights: the belief is then of q weighted means of the days, each with
            weights of sum 1, instead of the days; None = the days themselves.

    The belief is of level + unit + both processes: what a perfect reading of the whole
    unit would give, free of rater, scale, spot and noise.
    """
    wanted = np.atleast_1d(np.asarray(days, dtype=float))
    means = np.eye(len(wanted)) if over is None else np.asarray(over, dtype=float)
    with one_blas_thread():
        parts = [_at_point(fit, at, wanted, over=means) for at in fit.mixture.at]
    mean, cov = _mixed([p[0] for p in parts], [p[1] for p in parts], fit.mixture.weights)
    shift, spread = _mixed([p[2] for p in parts], [p[3] for p in parts], fit.mixture.weights)
    shape = (len(means), fit.layout.n_units)
    return PooledPosterior(
        mean=mean.reshape(shape) + fit.prior.level,
        cov=cov.reshape(shape + shape),
        **_shifts(fit.layout, shift, spread),
    )


@contextmanager
def one_blas_thread() -> Iterator[None]:
    """Hold linear algebra to one thread: small blocks lose time on more."""
    with _threads().limit(limits=1, user_api="blas"):
        yield


@lru_cache(maxsize=1)
def _threads() -> ThreadpoolController:
    return ThreadpoolController()


def _shifts(layout: Layout, mean: Floats, cov: Floats) -> dict[str, Floats]:
    """Return mean and sd of the shifts of raters, scales and late periods, by name."""
    first = layout.slices["raters"].start
    place = {
        name: np.arange(layout.slices[name].start, layout.slices[name].stop) - first
        for name in ("raters", "scales", "late")
    }
    pick = np.eye(len(mean))
    now = pick[place["raters"]]
    if len(place["late"]):
        now = now + pick[place["late"]]
    rows = {"rater": now, "scale": pick[place["scales"]], "late": pick[place["late"]]}
    made = {}
    for name, row in rows.items():
        variance = np.einsum("ri,ij,rj->r", row, cov, row)
        made |= {f"{name}_mean": row @ mean, f"{name}_sd": np.sqrt(np.clip(variance, 0, None))}
    return made


def _at_point(
    fit: PooledFit, at: Conditioned, days: Floats, *, over: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return mean and covariance of (weighted days, unit) levels and of the shifts."""
    gap = np.abs(days[:, None] - days[None, :])
    own_prior = at.hyper["unit_sd"] ** 2 + at.hyper["unit_day_sd"] ** 2 * np.exp(
        -gap / at.hyper["unit_correlation"]
    )
    lever, shared_left = _shared(fit, at, days, gap)
    lever, shared_left = over @ lever, over @ shared_left @ over.T
    count, units = len(over), fit.layout.n_units
    levers = np.repeat(lever[:, None, :], units, axis=1)
    mean = np.repeat((lever @ at.mean)[:, None], units, axis=1)
    left = np.repeat((over @ own_prior @ over.T)[None, :, :], units, axis=0)
    for piece, alpha in zip(at.solved, at.alpha, strict=True):
        cross, unit = over @ _cross(piece, at, days), piece.stack.unit
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
