"""Does the model fit this record? One-step surprises, and what patterns they should not have."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from greenwright.stats.dynamic.evidence import noise_variance
from greenwright.stats.dynamic.fitting import DynamicFit
from greenwright.stats.dynamic.jumps import common_jump, unit_jumps
from greenwright.stats.dynamic.model import Floats, Ints
from greenwright.stats.pooling import one_blas_thread

_MOST = 1500
_FEWEST = 30


@dataclass(frozen=True, slots=True)
class Surprises:
    """Standardised one-step residuals in time order: standard normal where the model is right.

    Args:
        row: (m,) place of each reading.
        value: (m,) what it was, less what all readings before it said, over the sd of that.
    """

    row: Ints
    value: Floats


@dataclass(frozen=True, slots=True)
class Sign:
    """One pattern looked for: about standard normal where there is none; large = misfit.

    Args:
        name: of the pattern.
        score: how plain it is.
        day: from which day on, of a step.
        units: whose step, the plainest first; empty = of all at once, or not a step.
    """

    name: str
    score: float
    day: int | None = None
    units: tuple[int, ...] = ()


def surprises(fit: DynamicFit, *, most: int = _MOST) -> Surprises:
    """Return the one-step residuals of the last readings, at the best hyper-parameters.

    Args:
        fit: to readings alone.
        most: how many of the last readings are looked at, as if the record began with them.
    """
    order = np.argsort(fit.layout.rows.day, kind="stable")[-most:]
    with one_blas_thread():
        cov, away = _joint(fit, order)
        root = np.linalg.cholesky(cov)
        return Surprises(order, np.linalg.solve(root, away))


def signs(fit: DynamicFit, found: Surprises) -> tuple[Sign, ...]:
    """Return what the residuals' patterns say of the model.

    Tails (outliers), carry-over within a unit (a process too slow or too quick), steps of all
    units or of some that stay, and for each covariate that varies a unit's own slope. None with
    under 30 residuals.
    """
    if len(found.value) < _FEWEST:
        return ()
    rows = fit.layout.rows
    unit, day = rows.unit[found.row], rows.day[found.row]
    plain = [Sign("tails", _tails(found.value)), Sign("carry-over", _carried(found.value, unit))]
    plain += _steps(fit)
    for one in fit.layout.model.covariates:
        values = np.broadcast_to(one.values, (fit.layout.model.units, fit.layout.model.days))
        score = own_slopes(found.value, values[unit, day], unit)
        plain.append(Sign(f"own slope on {one.name}", score))
    return tuple(plain)


def _joint(fit: DynamicFit, order: Ints) -> tuple[Floats, Floats]:
    """Return the prior covariance of some readings, and their distance from the prior's mean."""
    layout, hyper, at = fit.layout, fit.hyper, fit.at[0]
    fixed = np.hstack([layout.still, at.columns.rows])[order]
    variance = layout.spread**2
    for group, (first, end) in zip(layout.model.groups, layout.border.groups, strict=True):
        variance[first:end] = hyper[f"group:{group.name}"] ** 2
    day, unit = layout.rows.day[order].astype(float), layout.rows.unit[order]
    gap = np.abs(day[:, None] - day[None, :])
    own = hyper["unit_sd"] ** 2 + hyper["own_sd"] ** 2 * np.exp(-gap / hyper["own_time"])
    for k in layout.model.apart:
        column = fixed[:, layout.border.terms + k]
        scale = hyper[f"apart:{layout.model.terms[k].name}"]
        own += scale**2 * np.outer(column, column)
    cov = (fixed * variance) @ fixed.T + own * (unit[:, None] == unit[None, :])
    cov += hyper["day_sd"] ** 2 * np.exp(-gap / hyper["day_time"])
    cov[np.diag_indices(len(order))] += noise_variance(layout, hyper)[order]
    return cov, layout.rows.value[order] - fixed @ layout.centre


def _tails(value: Floats) -> float:
    """Score the fourth moment: 3 for a normal, with sd sqrt(96 / n) where the variance is 1."""
    return float((np.mean(value**4) - 3) / np.sqrt(96 / len(value)))


def _carried(value: Floats, unit: Ints) -> float:
    """Score products of neighbours within a unit: mean 0, variance 1 where nothing carries over."""
    products = [value[unit == u][1:] * value[unit == u][:-1] for u in np.unique(unit)]
    every = np.concatenate(products)
    return float(every.sum() / np.sqrt(max(len(every), 1)))


def _steps(fit: DynamicFit) -> list[Sign]:
    """Return the likeliest steps of all units at once, and of single ones against the others."""
    common, own = common_jump(fit), unit_jumps(fit)
    told = [] if common is None else [Sign("step", common.score, common.day)]
    if own:
        first = own[0]
        along = [j for j in own if j.score >= first.score / 2 and j.size * first.size >= 0]
        units = tuple(j.unit for j in along if j.unit is not None)
        told.append(Sign("unit step", first.score, first.day, units))
    return told


def own_slopes(value: Floats, covariate: Floats, unit: Ints) -> float:
    """Score whether units lean on a covariate each in its own way.

    A chi-square, made about normal by the rule of its cube root.
    """
    total, count = 0.0, 0
    for u in np.unique(unit):
        x = covariate[unit == u] - covariate[unit == u].mean()
        size = float(x @ x)
        if size > 1e-12:
            total += float(x @ value[unit == u]) ** 2 / size
            count += 1
    if not count:
        return 0.0
    part = 2 / (9 * count)
    return float(((total / count) ** (1 / 3) - (1 - part)) / np.sqrt(part))
