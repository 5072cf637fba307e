"""What is believed of levels on days to come, together with the effects that may move them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic.ahead import pieces
from greenwright.stats.dynamic.evidence import Conditioned
from greenwright.stats.dynamic.fitting import DynamicFit
from greenwright.stats.dynamic.kernels import Held, responded
from greenwright.stats.dynamic.latents import latents, spread_of
from greenwright.stats.dynamic.model import DynamicModel, Floats, Ints
from greenwright.stats.pooling import one_blas_thread


@dataclass(frozen=True, slots=True)
class Point:
    """The belief at one point of the hyper-parameters.

    Args:
        weight: of the point.
        levels: (q, q) covariance of the cells' levels, nothing more done.
        shared: (q, effects) covariance of levels and effects.
        effects: covariance of the effects, terms in turn: on each unit, then in common.
        noise: variance of one more set of readings.
        apart: (terms,) variance of the units' departures from each effect.
        fading: (terms, days) what one dose is worth some days later.
    """

    weight: float
    levels: Floats
    shared: Floats
    effects: Floats
    noise: float
    apart: Floats
    fading: Floats


@dataclass(frozen=True, slots=True)
class Outlook:
    """Levels of some units on some days to come, with the effects of some terms.

    Args:
        terms: names.
        units, days: what was looked at; cells are units x days, day by day within a unit.
        points: the best point first.
        prior: (terms,) prior sd of each effect; mean: (terms,) prior mean.
    """

    terms: tuple[str, ...]
    units: tuple[int, ...]
    days: tuple[int, ...]
    points: tuple[Point, ...]
    prior: Floats
    mean: Floats


def lengthened(model: DynamicModel, days: int, *, keep: Collection[str] = ()) -> DynamicModel:
    """Return a model on a calendar so many days longer, nothing done on them.

    Args:
        model: as fitted.
        days: to add.
        keep: terms whose last dose stays, as a height does; covariates stay as they were last.
    """

    def more(values: Floats, *, stays: bool) -> Floats:
        tail = values[:, -1:] if stays else np.zeros((len(values), 1))
        return np.hstack([values, np.repeat(tail, days, axis=1)])

    return replace(
        model,
        days=model.days + days,
        terms=tuple(replace(t, dose=more(t.dose, stays=t.name in keep)) for t in model.terms),
        covariates=tuple(
            replace(c, values=more(np.atleast_2d(c.values), stays=True)) for c in model.covariates
        ),
    )


def outlook(
    fit: DynamicFit,
    model: DynamicModel,
    terms: Sequence[str],
    *,
    units: Sequence[int],
    days: Sequence[int],
    points: int = 1,
    reach: int = 61,
) -> Outlook:
    """Return the joint belief about levels to come and the effects of terms.

    Args:
        fit: of the record.
        model: the fitted model on the longer calendar, as in ``levels``.
        terms: names of those whose effects are asked after.
        units, days: cells looked at: every unit on every day.
        points: of the mixture, at most; the best is the first.
        reach: days over which a dose is followed.

    Errors: BadInput for days outside the calendar or unknown terms.
    """
    names = [t.name for t in model.terms]
    unknown = [t for t in terms if t not in names]
    if unknown or min(days, default=0) < 0 or max(days, default=0) >= model.days:
        raise BadInput(f"days outside the calendar of {model.days}, or no term {unknown}")
    used, places = fit.at[:points], [names.index(t) for t in terms]
    weights = fit.weights[: len(used)] / fit.weights[: len(used)].sum()
    unit, day = np.repeat(units, len(days)), np.tile(days, len(units))
    with one_blas_thread():
        found = tuple(
            _point(fit, at, (model, unit, day), places, weight=float(w), reach=reach)
            for at, w in zip(used, weights, strict=True)
        )
    return Outlook(
        terms=tuple(terms),
        units=tuple(units),
        days=tuple(days),
        points=found,
        prior=np.array([model.terms[k].sd for k in places]),
        mean=np.array([model.terms[k].mean for k in places]),
    )


def _point(
    fit: DynamicFit,
    at: Conditioned,
    wanted: tuple[DynamicModel, Ints, Ints],
    places: Sequence[int],
    *,
    weight: float,
    reach: int,
) -> Point:
    model, unit, day = wanted
    found, cells = latents(fit.layout, at, unit, day), len(unit)
    effects = _effects(fit, places, list(dict.fromkeys(unit.tolist())), len(found.mean))
    loads = np.vstack([np.zeros((cells, len(found.mean))), effects])
    for _, columns, values in pieces(fit, at, wanted, found):
        np.add.at(loads, (np.arange(cells)[:, None], columns), values)
    cov = spread_of(found, loads)
    apart = [at.hyper.get(f"apart:{model.terms[k].name}", 0.0) ** 2 for k in places]
    return Point(
        weight=weight,
        levels=cov[:cells, :cells],
        shared=cov[:cells, cells:],
        effects=cov[cells:, cells:],
        noise=_noise(fit, at),
        apart=np.array(apart),
        fading=np.array([_fading(model, k, at, reach) for k in places]),
    )


def _effects(fit: DynamicFit, places: Sequence[int], units: Sequence[int], width: int) -> Floats:
    """Return loads of each term's effect on every unit, then of the common one."""
    border, apart = fit.layout.border, fit.layout.model.apart
    rows = []
    for k in places:
        for unit in [*units, None]:
            row = np.zeros(width)
            row[border.terms + k] = 1.0
            if unit is not None and k in apart:
                row[border.own(unit)[1 + apart.index(k)]] = 1.0
            rows.append(row)
    return np.array(rows)


def _noise(fit: DynamicFit, at: Conditioned) -> float:
    """Return the variance of one more set like those of the record."""
    rows = fit.layout.rows
    real = rows.settled > 0
    if not real.any():
        return at.hyper["noise_sd"] ** 2 + at.hyper["set_sd"] ** 2
    count, known = float(np.median(rows.count[real])), float(np.median(rows.variance[real]))
    return at.hyper["noise_sd"] ** 2 / count + at.hyper["set_sd"] ** 2 + known


def _fading(model: DynamicModel, place: int, at: Conditioned, reach: int) -> Floats:
    """Return what one dose is worth on its day and each day after; held: on its day alone."""
    dose = np.zeros((1, reach))
    dose[0, 0] = 1.0
    term = model.terms[place]
    if isinstance(term.kernel, Held):
        return dose[0]
    return responded(term.kernel, dose, at.hyper)[0][0]


def only(look: Outlook, terms: Sequence[str]) -> Outlook:
    """Return the outlook with some of its terms alone."""
    size, places = len(look.units) + 1, [look.terms.index(t) for t in terms]
    kept = np.concatenate([np.arange(k * size, (k + 1) * size) for k in places])
    points = tuple(
        replace(
            point,
            shared=point.shared[:, kept],
            effects=point.effects[np.ix_(kept, kept)],
            apart=point.apart[places],
            fading=point.fading[places],
        )
        for point in look.points
    )
    return replace(
        look, terms=tuple(terms), points=points, prior=look.prior[places], mean=look.mean[places]
    )
