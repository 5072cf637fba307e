"""The units' levels on any days, past or to come, and why two of them differ."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.stats.draws import normal_draws
from greenwright.stats.dynamic.effects import chosen
from greenwright.stats.dynamic.evidence import Conditioned, columns_of
from greenwright.stats.dynamic.fitting import DynamicFit
from greenwright.stats.dynamic.latents import Latents, latents, spread_of
from greenwright.stats.dynamic.model import DynamicModel, Floats, Ints
from greenwright.stats.pooling import one_blas_thread


@dataclass(frozen=True, slots=True)
class Levels:
    """Joint belief about q levels, as a mixture of normals [unit of the outcome].

    Args:
        unit, day: (q,) which.
        means: (m, q); covs: (m, q, q); weights: (m,).
        noises: (m,) variance of a single set of one reading at each point.
    """

    unit: Ints
    day: Ints
    means: Floats
    covs: Floats
    weights: Floats
    noises: Floats

    @property
    def mean(self) -> Floats:
        """Return the mean of each level."""
        return self.weights @ self.means

    @property
    def cov(self) -> Floats:
        """Return the covariance of the levels."""
        away = self.means - self.mean
        inside = np.tensordot(self.weights, self.covs, axes=1)
        return inside + (away * self.weights[:, None]).T @ away

    def draws(self, *, n: int, rng: np.random.Generator) -> Floats:
        """Return n equally likely draws (n, q) of the levels, jointly."""
        picked = chosen(self.weights, n=n, rng=rng)
        made = np.empty((n, len(self.unit)))
        for k in np.unique(picked):
            mine = picked == k
            made[mine] = normal_draws(self.means[k], self.covs[k], n=int(mine.sum()), rng=rng)
        return made


@dataclass(frozen=True, slots=True)
class Change:
    """Why one level differs from another: parts that add up to the whole.

    Args:
        parts: practice, covariate, "unit", "shared" and "own" process, in that order.
        kinds: practice | covariate | unit | shared | own, of each part.
        mean, sd: of each part [unit of the outcome].
        cov: (parts, parts).
    """

    parts: tuple[str, ...]
    kinds: tuple[str, ...]
    mean: Floats
    sd: Floats
    cov: Floats

    @property
    def total(self) -> tuple[float, float]:
        """Return mean and sd of the whole change."""
        return float(self.mean.sum()), float(np.sqrt(max(self.cov.sum(), 0.0)))


def levels(
    fit: DynamicFit,
    unit: Ints,
    day: Ints,
    *,
    model: DynamicModel | None = None,
    seen_by: Floats | None = None,
) -> Levels:
    """Return what a perfect reading of the units on the days would give, jointly.

    Args:
        fit: a fitted model.
        unit, day: (q,) which, in the calendar of ``model``.
        model: the fitted model with other doses and covariates, or a longer calendar (a
            plan); None = as fitted. Doses before the last reading must be the same.
        seen_by: (q, fixed columns of the border) what is added of it to each level: the shifts
            of those who read, as the levels are known only together with them.

    Errors: BadInput for days outside the calendar.
    """
    wanted = _checked(fit, unit, day, model)
    with one_blas_thread():
        parts = [_level(fit, at, wanted, seen_by) for at in fit.at]
    noises = [at.hyper["noise_sd"] ** 2 + at.hyper["set_sd"] ** 2 for at in fit.at]
    return Levels(
        unit=wanted[1],
        day=wanted[2],
        means=np.array([p[0] for p in parts]),
        covs=np.array([p[1] for p in parts]),
        weights=fit.weights,
        noises=np.array(noises),
    )


def change(
    fit: DynamicFit,
    before: tuple[int, int],
    after: tuple[int, int],
    *,
    model: DynamicModel | None = None,
) -> Change:
    """Return why the level at ``after`` differs from that at ``before``.

    Args:
        fit: a fitted model.
        before, after: (unit, day).
        model: as in ``levels``.
    """
    unit, day = np.array([before, after]).T
    return contrast(fit, unit, day, np.array([-1.0, 1.0]), model=model)


def contrast(
    fit: DynamicFit,
    unit: Ints,
    day: Ints,
    weight: Floats,
    *,
    model: DynamicModel | None = None,
) -> Change:
    """Return what a weighted sum of levels is made of, as a change of a mean of units.

    Args:
        fit: a fitted model.
        unit, day, weight: (q,) levels and what each counts; weights that add up to 0 compare.
        model: as in ``levels``.
    """
    wanted = _checked(fit, unit, day, model)
    with one_blas_thread():
        found = [_parts(fit, at, wanted, weight) for at in fit.at]
    labels, _ = _labels(wanted[0])
    means = np.array([f[0] for f in found])
    mean = fit.weights @ means
    away = means - mean
    cov = np.tensordot(fit.weights, np.array([f[1] for f in found]), axes=1)
    cov += (away * fit.weights[:, None]).T @ away
    sd = np.sqrt(np.clip(np.diagonal(cov), 0, None))
    return Change(
        parts=tuple(name for name, _ in labels),
        kinds=tuple(kind for _, kind in labels),
        mean=mean,
        sd=sd,
        cov=cov,
    )


Wanted = tuple[DynamicModel, Ints, Ints]


def _checked(fit: DynamicFit, unit: Ints, day: Ints, model: DynamicModel | None) -> Wanted:
    use = model or fit.layout.model
    units, days = np.atleast_1d(np.asarray(unit)), np.atleast_1d(np.asarray(day))
    if [t.name for t in use.terms] != [t.name for t in fit.layout.model.terms]:
        raise BadInput("the plan's model has other terms than the fitted one")
    if len(days) and not (days.min() >= 0 and days.max() < use.days):
        raise BadInput(f"a day lies outside the calendar of {use.days}; lengthen the plan's")
    return use, units, days


def _level(
    fit: DynamicFit, at: Conditioned, wanted: Wanted, seen_by: Floats | None
) -> tuple[Floats, Floats]:
    found = latents(fit.layout, at, wanted[1], wanted[2])
    loads = np.zeros((len(wanted[1]), len(found.mean)))
    if seen_by is not None:
        loads[:, : seen_by.shape[1]] = seen_by
    for _, places, values in pieces(fit, at, wanted, found):
        np.add.at(loads, (np.arange(len(loads))[:, None], places), values)
    return loads @ found.mean, spread_of(found, loads)


def _parts(
    fit: DynamicFit, at: Conditioned, wanted: Wanted, weight: Floats
) -> tuple[Floats, Floats]:
    found = latents(fit.layout, at, wanted[1], wanted[2])
    labels, place = _labels(wanted[0])
    loads = np.zeros((len(labels), len(found.mean)))
    for name, places, values in pieces(fit, at, wanted, found):
        np.add.at(loads[place[name]], places, weight[:, None] * values)
    return loads @ found.mean, spread_of(found, loads)


def _labels(model: DynamicModel) -> tuple[list[tuple[str, str]], dict[tuple[str, str], int]]:
    practices = dict.fromkeys(t.practice for t in model.terms)
    labels = [(p, "practice") for p in practices]
    labels += [(c.name, "covariate") for c in model.covariates]
    labels += [("unit", "unit"), ("shared", "shared"), ("own", "own")]
    return labels, {label: k for k, label in enumerate(labels)}


def pieces(
    fit: DynamicFit, at: Conditioned, wanted: Wanted, found: Latents
) -> list[tuple[tuple[str, str], Ints, Floats]]:
    """Return (part, (q, j) places, (q, j) loads) whose sums are the levels."""
    model, unit, day = wanted
    border, count = fit.layout.border, len(unit)
    own, ones = border.own(unit), np.ones((count, 1))
    level = np.column_stack([np.zeros(count, dtype=np.intp), own[:, 0]])
    pieces = [(("unit", "unit"), level, np.ones((count, 2)))]
    for k, one in enumerate(model.covariates):
        values = np.broadcast_to(one.values, (model.units, model.days))[unit, day]
        at_one = np.full((count, 1), 1 + k)
        pieces.append(((one.name, "covariate"), at_one, values[:, None]))
    whole = columns_of(model, fit.layout, at.hyper).whole
    for k, term in enumerate(model.terms):
        places = [np.full(count, border.terms + k)]
        if k in fit.layout.model.apart:
            places.append(own[:, 1 + fit.layout.model.apart.index(k)])
        loads = np.repeat(whole[k][unit, day][:, None], len(places), axis=1)
        pieces.append(((term.practice, "practice"), np.column_stack(places), loads))
    pieces.append((("shared", "shared"), found.shared[:, None], ones))
    pieces.append((("own", "own"), found.own[:, None], ones))
    return pieces
