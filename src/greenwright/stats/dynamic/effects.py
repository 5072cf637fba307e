"""What is believed of the effects: mean, sd and draws, for all units and unit by unit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from greenwright.stats.draws import normal_draws
from greenwright.stats.dynamic.fitting import REACH, DynamicFit
from greenwright.stats.dynamic.model import Floats, Ints


@dataclass(frozen=True, slots=True)
class Effects:
    """Belief about the effect of one dose of each term [unit of the outcome].

    Args:
        names: of the terms.
        mean, sd: (terms,) common effect.
        prior_mean, prior_sd: (terms,).
        share_local: (terms,) share of the prior's variance that the readings removed, 0..1.
        unit_mean, unit_sd: (terms, units) effect on each unit, its departure included.
    """

    names: tuple[str, ...]
    mean: Floats
    sd: Floats
    prior_mean: Floats
    prior_sd: Floats
    share_local: Floats
    unit_mean: Floats
    unit_sd: Floats

    def at(self, name: str) -> tuple[float, float]:
        """Return mean and sd of one term's common effect."""
        k = self.names.index(name)
        return float(self.mean[k]), float(self.sd[k])


@dataclass(frozen=True, slots=True)
class EffectDraws:
    """Equally likely draws of effects and of what shapes them.

    Args:
        common: (n, terms).
        by_unit: (n, terms, units).
        shapes: hyper-parameter -> (n,), half-lives and the like [days], shares.
    """

    common: Floats
    by_unit: Floats
    shapes: Mapping[str, Floats]


def effects(fit: DynamicFit) -> Effects:
    """Return the belief about all effects, hyper-parameters integrated out."""
    model, border = fit.layout.model, fit.layout.border
    terms = np.arange(border.terms, border.fixed)
    mean, variance = _moments(fit, terms[:, None], np.ones((len(terms), 1)))
    places, loads = _by_unit(fit)
    unit_mean, unit_variance = _moments(fit, places.reshape(-1, 2), loads.reshape(-1, 2))
    shape = (len(terms), model.units)
    prior_sd = np.array([t.sd for t in model.terms])
    return Effects(
        names=tuple(t.name for t in model.terms),
        mean=mean,
        sd=np.sqrt(variance),
        prior_mean=np.array([t.mean for t in model.terms]),
        prior_sd=prior_sd,
        share_local=np.clip(1 - variance / prior_sd**2, 0, 1),
        unit_mean=unit_mean.reshape(shape),
        unit_sd=np.sqrt(unit_variance).reshape(shape),
    )


def effect_draws(fit: DynamicFit, *, n: int, rng: np.random.Generator) -> EffectDraws:
    """Return n equally likely draws of every effect, with the shapes each goes with."""
    places, loads = _by_unit(fit)
    used, back = np.unique(places, return_inverse=True)
    picked = chosen(fit.weights, n=n, rng=rng)
    drawn = np.empty((n, len(used)))
    for k in np.unique(picked):
        at, mine = fit.at[k], picked == k
        cov = at.cov[np.ix_(used, used)]
        drawn[mine] = normal_draws(at.mean[used], cov, n=int(mine.sum()), rng=rng)
    both = drawn[:, back.reshape(places.shape)]
    shapes = fit.layout.model.shapes
    return EffectDraws(
        common=both[:, :, 0, 0],
        by_unit=(both * loads).sum(axis=-1),
        shapes={h: _shape_draws(fit, h, picked, rng=rng) for h in _used(fit, shapes)},
    )


def chosen(weights: Floats, *, n: int, rng: np.random.Generator) -> Ints:
    """Return n places drawn by weight, each as often as its weight says to within one."""
    even = (rng.permutation(n) + rng.random()) / n
    return np.minimum(np.searchsorted(np.cumsum(weights), even), len(weights) - 1)


def _shape_draws(fit: DynamicFit, name: str, picked: Ints, *, rng: np.random.Generator) -> Floats:
    """Return draws from the Laplace curve, in the order of the points that were picked.

    The points are few, so their own values would make a rough curve, too narrow; their order
    keeps a shape with the effects it goes with.
    """
    place, prior = list(fit.layout.model.hypers).index(name), fit.layout.model.hypers[name]
    away = fit.top[place] + np.linalg.norm(fit.root[place]) * rng.standard_normal(len(picked))
    smooth = np.sort(prior.median * np.exp(prior.log_sd * np.clip(away, -REACH, REACH)))
    rough = np.array([at.hyper[name] for at in fit.at])[picked]
    drawn = np.empty(len(picked))
    drawn[np.lexsort((rng.random(len(picked)), rough))] = smooth
    return drawn


def _used(fit: DynamicFit, shapes: Mapping[str, object]) -> list[str]:
    return [name for name in shapes if name in fit.hyper]


def _by_unit(fit: DynamicFit) -> tuple[Ints, Floats]:
    """Return the border's two places of each (term, unit) effect, and their loads."""
    model, border = fit.layout.model, fit.layout.border
    places = np.zeros((len(model.terms), model.units, 2), dtype=np.intp)
    loads = np.ones((len(model.terms), model.units, 2))
    own = border.own(np.arange(model.units))
    places[:, :, 0] = np.arange(border.terms, border.fixed)[:, None]
    for k in range(len(model.terms)):
        if k in model.apart:
            places[k, :, 1] = own[:, 1 + model.apart.index(k)]
        else:
            loads[k, :, 1] = 0.0
    return places, loads


def _moments(fit: DynamicFit, places: Ints, loads: Floats) -> tuple[Floats, Floats]:
    """Return mean and variance over the mixture of sums of some of the border, (q, j)."""
    means = np.array([(a.mean[places] * loads).sum(axis=1) for a in fit.at])
    inner = [a.cov[places[:, :, None], places[:, None, :]] for a in fit.at]
    variances = np.array([np.einsum("qi,qij,qj->q", loads, c, loads) for c in inner])
    mean = fit.weights @ means
    return mean, fit.weights @ (variances + np.square(means - mean))
