"""Did something change once and stay? Steps of all units, or of one, that wandering does not make.

A model without steps takes one for slow wandering and then is not surprised by it. So each day is
tried as the date of a step, with the wandering's size and length free to be others on either side
of the question: twice the gain in log density is the likelihood ratio for one number more.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.linalg import solve_triangular

from greenwright.stats.dynamic.evidence import noise_variance
from greenwright.stats.dynamic.fitting import DynamicFit
from greenwright.stats.dynamic.model import Floats, Ints
from greenwright.stats.pooling import one_blas_thread

_FEWEST = 24
"""Days (or a unit's sets) under which no step is looked for."""
_EDGE = 0.1
"""Share of them at either end within which a step is not told from a wave."""
_MOST_DAYS = 260
_SIZES, _TIMES = (0.25, 0.45, 0.7, 1.0, 1.4), (0.05, 0.12, 0.3, 0.6, 1.0, 2.0)
"""Factors on the wandering's sd and time that are tried for all units at once ..."""
_OWN_SIZES, _OWN_TIMES = (0.5, 1.0), (0.2, 0.6, 1.5)
"""... and for one unit."""
_DATES_WORTH = 3.0
"""Likelihood ratio that trying all dates brings by itself, about: taken off."""
_UNIT_WORTH = 6.0
"""The same for a single unit's wandering, which is less even than the model says it is."""


@dataclass(frozen=True, slots=True)
class Jump:
    """The likeliest single step.

    Args:
        day: the first day after it.
        score: about standard normal, or less, where there is none.
        unit: whose; None = of all units at once.
        size: of the step [unit of the outcome].
    """

    day: int
    score: float
    unit: int | None
    size: float


def common_jump(fit: DynamicFit) -> Jump | None:
    """Return the likeliest step of all units at once; None with too few read days.

    Args:
        fit: to readings alone; its last 260 read days are looked at.
    """
    layout, hyper = fit.layout, fit.hyper
    days = np.unique(layout.rows.day)[-_MOST_DAYS:]
    if len(days) < _FEWEST:
        return None
    rows = np.flatnonzero(layout.rows.day >= days[0])
    with one_blas_thread():
        value, still = _by_day(fit, rows, days)
        wander = (hyper["day_sd"], hyper["day_time"])
        return likeliest(value, _curves(still, days, wander, tries=(_SIZES, _TIMES)), days)


def unit_jumps(fit: DynamicFit) -> tuple[Jump, ...]:
    """Return the likeliest step of each unit against the others, the plainest first.

    Sets are compared with the others of their day, so that a unit read alone says nothing.
    """
    day, unit, left, variance = _beside_others(fit)
    found = []
    tried = _UNIT_WORTH + 2 * np.log(max(len(np.unique(unit)), 1))
    with one_blas_thread():
        for one in np.unique(unit):
            mine = unit == one
            if mine.sum() >= _FEWEST:
                sets = (day[mine], left[mine], variance[mine])
                found.append(_unit_jump(fit, int(one), sets, tried))
    return tuple(sorted(found, key=lambda j: -j.score))


def _unit_jump(fit: DynamicFit, unit: int, sets: tuple[Ints, Floats, Floats], tried: float) -> Jump:
    """Return one unit's likeliest step; the plainest of many must stand out further."""
    hyper, (day, left, variance) = fit.hyper, sets
    still = np.diag(variance) + hyper["unit_sd"] ** 2
    wander = (hyper["own_sd"], hyper["own_time"])
    curves = _curves(still, day, wander, tries=(_OWN_SIZES, _OWN_TIMES))
    found = likeliest(left, curves, day)
    return Jump(found.day, float(np.sqrt(max(found.score**2 - tried, 0.0))), unit, found.size)


def _curves(
    still: Floats,
    day: Ints,
    wander: tuple[float, float],
    *,
    tries: tuple[tuple[float, ...], tuple[float, ...]],
) -> Iterator[Floats]:
    """Yield covariances with wandering of other sizes and times than its (sd, time)."""
    gap, (sd, time) = np.abs(day[:, None] - day[None, :]).astype(float), wander
    for size, length in product(*tries):
        yield still + (sd * size) ** 2 * np.exp(-gap / (time * length))


def likeliest(value: Floats, curves: Iterable[Floats], day: Ints) -> Jump:
    """Return the likeliest step in a series whose covariance is one of some curves.

    Args:
        value: (n,) less its prior mean.
        curves: (n, n) covariances, the doubt about its level included.
        day: (n,) of each value, in order; at least eight different ones.
    """
    dates = _dates(day)
    steps = (day[:, None] >= dates).astype(float)
    without, best = -np.inf, (-np.inf, 0, 0.0)
    for cov in curves:
        root = np.linalg.cholesky(cov)
        both = solve_triangular(root, np.column_stack([value, steps]), lower=True)
        plain = -0.5 * float(both[:, 0] @ both[:, 0]) - float(np.log(np.diag(root)).sum())
        size = np.square(both[:, 1:]).sum(axis=0)
        pull = both[:, 1:].T @ both[:, 0]
        gain = 0.5 * pull**2 / size
        k = int(gain.argmax())
        without = max(without, plain)
        best = max(best, (plain + float(gain[k]), k, float(pull[k] / size[k])))
    ratio = 2 * (best[0] - without) - _DATES_WORTH
    return Jump(int(dates[best[1]]), float(np.sqrt(max(ratio, 0.0))), None, best[2])


def _dates(day: Ints) -> Ints:
    every = np.unique(day)
    edge = max(int(_EDGE * len(every)), 3)
    return every[edge : len(every) - edge]


def _by_day(fit: DynamicFit, rows: Ints, days: Ints) -> tuple[Floats, Floats]:
    """Return means by day of what the prior does not say, and their covariance but for the days'.

    Args:
        fit: whose hyper-parameters hold.
        rows: readings that are looked at.
        days: theirs, in order.
    """
    layout, hyper, at = fit.layout, fit.hyper, fit.at[0]
    unit, when = layout.rows.unit[rows], np.searchsorted(days, layout.rows.day[rows])
    weight = np.zeros((len(days), len(rows)))
    weight[when, np.arange(len(rows))] = 1.0
    weight /= weight.sum(axis=1, keepdims=True)
    fixed = np.hstack([layout.still, at.columns.rows])[rows]
    variance = layout.spread**2
    for group, (first, end) in zip(layout.model.groups, layout.border.groups, strict=True):
        variance[first:end] = hyper[f"group:{group.name}"] ** 2
    mean = weight @ fixed
    own = weight @ (unit[:, None] == np.arange(layout.model.units))
    alone = noise_variance(layout, hyper)[rows] + hyper["own_sd"] ** 2
    cov = (mean * variance) @ mean.T + hyper["unit_sd"] ** 2 * own @ own.T
    cov[np.diag_indices(len(days))] += np.square(weight) @ alone
    return weight @ (layout.rows.value[rows] - fixed @ layout.centre), cov


def _beside_others(fit: DynamicFit) -> tuple[Ints, Ints, Floats, Floats]:
    """Return day, unit, value less the day's mean, and noise variance of sets read with others."""
    layout, at = fit.layout, fit.at[0]
    rows = layout.rows
    fixed = np.hstack([layout.still, at.columns.rows])
    left = rows.value - fixed @ at.mean[: layout.border.fixed]
    left = left - _levels(fit)[rows.unit]
    count = np.bincount(rows.day, minlength=layout.model.days)[rows.day]
    total = np.bincount(rows.day, left, minlength=layout.model.days)[rows.day]
    noise = noise_variance(layout, fit.hyper)
    others = (noise + fit.hyper["own_sd"] ** 2) / np.maximum(count - 1, 1)
    some = count > 1
    away = left - (total - left) / np.maximum(count - 1, 1)
    return rows.day[some], rows.unit[some], away[some], (noise + others)[some]


def _levels(fit: DynamicFit) -> Floats:
    """Return each unit's own level [unit of the outcome]."""
    border = fit.layout.border
    return fit.at[0].mean[border.own(np.arange(fit.layout.model.units))[:, 0]]
