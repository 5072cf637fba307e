"""Hyper-parameters by penalised marginal likelihood, and a small mixture about the best."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from greenwright.base.errors import BadInput
from greenwright.stats.layout import Floats, Layout
from greenwright.stats.marginal import HYPERS, Conditioned, condition, gradient

_REACH = 4.0
_STEP = 0.05


@dataclass(frozen=True, slots=True)
class HyperPrior:
    """Log-normal prior of one hyper-parameter: its median [its unit] and sd of its log."""

    median: float
    log_sd: float

    def __post_init__(self) -> None:
        if not (self.median > 0 and self.log_sd > 0):
            raise BadInput("a hyper-parameter's prior needs a median and a log sd above zero")


@dataclass(frozen=True, slots=True)
class PoolingPrior:
    """Prior of the pooled model: level and its sd [unit], and one HyperPrior per HYPERS."""

    level: float
    level_sd: float
    hyper: Mapping[str, HyperPrior]

    def __post_init__(self) -> None:
        missing = [name for name in HYPERS if name not in self.hyper]
        if missing or not self.level_sd > 0:
            raise BadInput(f"pooling prior lacks {', '.join(missing) or 'a level sd above zero'}")

    @property
    def centre(self) -> Floats:
        """Return the log medians in the order of HYPERS."""
        return np.log([self.hyper[name].median for name in HYPERS])

    @property
    def spread(self) -> Floats:
        """Return the log sds in the order of HYPERS."""
        return np.array([self.hyper[name].log_sd for name in HYPERS])


@dataclass(frozen=True, slots=True)
class Mixture:
    """Weighted points of the log hyper-parameters; the first is the best one."""

    points: Floats
    weights: Floats


def named(point: Floats) -> dict[str, float]:
    """Return the hyper-parameters of a point on the log scale, by name."""
    return dict(zip(HYPERS, np.exp(point).tolist(), strict=True))


def log_posterior(layout: Layout, prior: PoolingPrior, point: Floats) -> tuple[float, Conditioned]:
    """Return the log posterior density (up to a constant) and the model conditioned there."""
    at = condition(layout, named(point), level_sd=prior.level_sd)
    away = (point - prior.centre) / prior.spread
    return at.log_likelihood - 0.5 * float(away @ away), at


def best(layout: Layout, prior: PoolingPrior) -> Floats:
    """Return the log hyper-parameters of highest posterior density (L-BFGS-B)."""
    found = minimize(
        lambda point: _descent(layout, prior, point),
        prior.centre,
        jac=True,
        method="L-BFGS-B",
        bounds=list(zip(prior.centre - _REACH * prior.spread, _upper(prior), strict=True)),
        options={"maxiter": 60, "ftol": 1e-7, "gtol": 1e-3},
    )
    return found.x


def mixture(
    layout: Layout, prior: PoolingPrior, *, pairs: int, rng: np.random.Generator
) -> Mixture:
    """Return the best point and weighted points drawn about it.

    Points come in antithetic pairs from the normal curve that the log posterior's bend
    suggests, weighted by how likely they really are; no weight may rule.
    """
    top = best(layout, prior)
    root = _bend_root(layout, prior, top)
    draws = rng.standard_normal((pairs, len(HYPERS)))
    steps = np.vstack([np.zeros(len(HYPERS)), draws, -draws])
    low, high = prior.centre - _REACH * prior.spread, _upper(prior)
    points = np.clip(top + steps @ root.T, low, high)
    heights = np.array([log_posterior(layout, prior, point)[0] for point in points])
    logs = heights + 0.5 * np.square(steps).sum(axis=1)
    weights = np.exp(logs - logs.max())
    capped = np.minimum(weights, weights.mean() * np.sqrt(len(weights)))
    return Mixture(points, capped / capped.sum())


def _upper(prior: PoolingPrior) -> Floats:
    return prior.centre + _REACH * prior.spread


def _slope(layout: Layout, prior: PoolingPrior, point: Floats) -> tuple[float, Floats]:
    value, at = log_posterior(layout, prior, point)
    return value, gradient(layout, at) - (point - prior.centre) / prior.spread**2


def _descent(layout: Layout, prior: PoolingPrior, point: Floats) -> tuple[float, Floats]:
    value, slope = _slope(layout, prior, point)
    return -value, -slope


def _bend_root(layout: Layout, prior: PoolingPrior, top: Floats) -> Floats:
    """Return a root of the inverse curvature; flat directions keep the prior's width."""
    rows = []
    for step in _STEP * np.eye(len(top)):
        above, below = (_slope(layout, prior, top + s)[1] for s in (step, -step))
        rows.append((below - above) / (2 * _STEP))
    scaled = np.array(rows) * np.outer(prior.spread, prior.spread)
    values, vectors = np.linalg.eigh((scaled + scaled.T) / 2)
    return prior.spread[:, None] * vectors / np.sqrt(np.clip(values, 0.7, None))
