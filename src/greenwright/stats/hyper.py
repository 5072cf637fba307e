"""Hyper-parameters by penalised marginal likelihood, and a small mixture about the best."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.stats.ascent import climb
from greenwright.stats.layout import Floats, Layout
from greenwright.stats.marginal import HYPERS, Conditioned, condition, gradient

_REACH = 4.0
_STEP = 0.05
_LEAST_BEND = 0.7


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
    """Weighted points of the log hyper-parameters, and the model conditioned at each.

    The first point is the best one.
    """

    points: Floats
    weights: Floats
    at: tuple[Conditioned, ...]


def named(point: Floats) -> dict[str, float]:
    """Return the hyper-parameters of a point on the log scale, by name."""
    return dict(zip(HYPERS, np.exp(point).tolist(), strict=True))


def log_posterior(layout: Layout, prior: PoolingPrior, point: Floats) -> tuple[float, Conditioned]:
    """Return the log posterior density (up to a constant) and the model conditioned there."""
    at = condition(layout, named(point), level_sd=prior.level_sd)
    away = (point - prior.centre) / prior.spread
    return at.log_likelihood - 0.5 * float(away @ away), at


def best(
    layout: Layout, prior: PoolingPrior, *, near: Floats | None = None, gain: float = 1e-4
) -> Floats:
    """Return the log hyper-parameters of highest posterior density.

    Args:
        near: where to begin; None = the prior's centre.
        gain: log density worth another step.
    """
    start = prior.centre if near is None else near
    top = climb(
        lambda away: _hill(layout, prior, away),
        (start - prior.centre) / prior.spread,
        _first_bend(layout, prior),
        gain=gain,
    )
    return prior.centre + prior.spread * top.point


def at_points(
    layout: Layout, prior: PoolingPrior, points: Floats, *, steps: Floats | None = None
) -> Mixture:
    """Return the mixture of given points of the log hyper-parameters.

    Args:
        points: (m, k), the best one first.
        steps: (m, k) standard normal steps by which the points were drawn: each weighs by how
            likely it really is against how likely it was to be drawn; None = all weigh alike.
    """
    found = [log_posterior(layout, prior, point) for point in points]
    heights = np.array([height for height, _ in found])
    at = tuple(model for _, model in found)
    if steps is None:
        return Mixture(points, np.full(len(points), 1 / len(points)), at)
    logs = heights + 0.5 * np.square(steps).sum(axis=1)
    weights = np.exp(logs - logs.max())
    capped = np.minimum(weights, weights.mean() * np.sqrt(len(weights)))
    return Mixture(points, capped / capped.sum(), at)


def mixture(
    layout: Layout,
    prior: PoolingPrior,
    *,
    pairs: int,
    rng: np.random.Generator,
    near: Floats | None = None,
    gain: float = 1e-4,
) -> Mixture:
    """Return the best point and weighted points drawn about it.

    Points come in antithetic pairs from the normal curve that the log posterior's bend
    suggests, weighted by how likely they really are; no weight may rule. ``near`` and ``gain``
    are those of ``best``.
    """
    top = best(layout, prior, near=near, gain=gain)
    if not pairs:
        return at_points(layout, prior, top[None, :])
    draws = rng.standard_normal((pairs, len(HYPERS)))
    steps = np.vstack([np.zeros(len(HYPERS)), draws, -draws])
    reach = _REACH * prior.spread
    points = top + steps @ _bend_root(layout, prior, top).T
    points = np.clip(points, prior.centre - reach, prior.centre + reach)
    return at_points(layout, prior, points, steps=steps)


def _hill(layout: Layout, prior: PoolingPrior, away: Floats) -> tuple[float, Floats]:
    """Return log posterior and slope over (log hyper - centre) / spread."""
    value, at = log_posterior(layout, prior, prior.centre + prior.spread * away)
    return value, prior.spread * gradient(layout, at) - away


def _first_bend(layout: Layout, prior: PoolingPrior) -> Floats:
    """Return a guess of the bend: each log sd is known by as many things as show it.

    The log of an sd seen in m independent things bends by about 2 m; here half of that, as
    the parts are seen through one another.
    """
    days, units = (
        float(len(layout.days)),
        float(len({int(u) for s in layout.stacks for u in s.unit})),
    )
    seen = dict.fromkeys(HYPERS, 0.0)
    seen |= {"unit_sd": units, "day_sd": days, "unit_day_sd": layout.n / 2}
    seen |= {"noise_sd": layout.n / 2, "rater_sd": float(layout.n_raters)}
    return np.diag(1 + np.array([seen[name] for name in HYPERS]) * prior.spread**2)


def _bend_root(layout: Layout, prior: PoolingPrior, top: Floats) -> Floats:
    """Return a root of the inverse curvature; flat directions keep the prior's width."""
    away = (top - prior.centre) / prior.spread
    here = _hill(layout, prior, away)[1]
    steps = _STEP * np.eye(len(top)) / prior.spread
    bend = np.array([here - _hill(layout, prior, away + step)[1] for step in steps])
    bend /= _STEP / prior.spread[:, None]
    values, vectors = np.linalg.eigh((bend + bend.T) / 2)
    return prior.spread[:, None] * vectors / np.sqrt(np.clip(values, _LEAST_BEND, None))
