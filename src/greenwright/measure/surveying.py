"""A record and a day -> the surface: readings, soundings, one fit, and what it says."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date as Date
from datetime import timedelta

import numpy as np

from greenwright.base.estimate import Basis
from greenwright.base.evidence import value as number
from greenwright.base.tables import firmness_methods, quantities
from greenwright.base.values import Reading, Snapshot
from greenwright.measure.apart import odd_greens
from greenwright.measure.belief import Belief, Floats
from greenwright.measure.eyescale import eye_keys
from greenwright.measure.families import Family, family, pooling_prior, prior_keys
from greenwright.measure.observers import (
    DRIFT_KEYS,
    ObserverShift,
    drift_sd,
    late_observers,
    observer_shifts,
)
from greenwright.measure.sets import SET_KEYS, set_cautions
from greenwright.measure.sounding import Sounding
from greenwright.measure.soundings import (
    chosen_method,
    last_dates,
    observations,
    readings_of,
    sites_of,
    soundings,
)
from greenwright.measure.surface import CHANGE_D, WEEK_AGO, Contribution, Surface, less
from greenwright.measure.trueness import trueness_keys
from greenwright.stats import (
    Observations,
    PooledFit,
    PooledPosterior,
    PoolingPrior,
    credited,
    fit_pooled,
    fit_sited,
    posterior,
    surprises,
)

LATELY_D = 14
"""Days before today that "lately" is the mean of."""

_DAYS = np.arange(0.0, -LATELY_D - 1, -1.0)
_OVER = np.vstack(
    [np.eye(LATELY_D + 1)[[0, 1, CHANGE_D]], np.append(0.0, np.full(LATELY_D, 1 / LATELY_D))]
)
_FAR = 3.0
_FEW_FAR = 3
_RECENT_D = 14
_SEED = 0


@dataclass(frozen=True, slots=True)
class _Case:
    """What was asked and what the record holds on it."""

    of: Family
    method: str
    on: Date
    snapshot: Snapshot
    readings: tuple[Reading, ...]
    found: tuple[Sounding, ...]
    cautions: tuple[str, ...]

    @property
    def greens(self) -> tuple[str, ...]:
        return tuple(g.green for g in self.snapshot.greens)

    @property
    def in_play(self) -> tuple[bool, ...]:
        flags = tuple(g.in_play for g in self.snapshot.greens)
        return flags if any(flags) else (True,) * len(flags)


@dataclass(frozen=True, slots=True)
class _Fitted:
    """The model fitted, what it believes, and which soundings are of a late period."""

    fit: PooledFit
    seen: PooledPosterior
    late: Floats | None


def surface(
    snapshot: Snapshot, quantity: str, *, method: str = "", on: Date | None = None
) -> Surface | None:
    """Return what the record says of a quantity on a day; None where it was never read.

    Args:
        snapshot: the record.
        quantity: green_speed | smoothness | trueness_score | trueness | firmness | moisture |
            clippings | height_of_cut | quality.
        method: of firmness or height_of_cut; empty = the most read one.
        on: the day; readings after it are not seen. Default: the snapshot's.

    Raises:
        UnknownKey: another quantity.

    Stale readings give wide estimates, never none. Same record and day, same answer.
    """
    of, day = family(quantity), on or snapshot.as_of
    chosen = chosen_method(snapshot, of, method=method, on=day)
    readings = readings_of(snapshot, of, method=chosen, on=day)
    if not readings:
        return None
    found, sets = soundings(readings, snapshot, of, on=day)
    if not found:
        # End offsets one by one tell no spread: the readings are there and say nothing.
        return None
    recent = [s for s in sets if s.date > day - timedelta(days=_RECENT_D)]
    case = _Case(of, chosen, day, snapshot, readings, found, set_cautions(recent))
    prior = pooling_prior(of, typical=float(np.mean([s.value for s in found])))
    late_sd = drift_sd(prior.hyper["rater_sd"].median)
    rows, observers = observations(found, case.greens, on=day, late_sd=late_sd)
    return _assembled(case, _fitted(case, rows, prior), observers)


def _fitted(case: _Case, rows: Observations, prior: PoolingPrior) -> _Fitted:
    rng = np.random.default_rng(_SEED)
    if case.of.ordinal:
        scatter = number("measure.observer_scatter_log_sd")
        fit = fit_sited(rows, sites_of(case.found), prior, rng=rng, scatter_log_sd=scatter)
    else:
        fit = fit_pooled(rows, prior, rng=rng)
    return _Fitted(fit, posterior(fit, _DAYS, over=_OVER), rows.late)


def _assembled(case: _Case, fitted: _Fitted, observers: Sequence[str]) -> Surface:
    fit, seen, greens, k = fitted.fit, fitted.seen, case.greens, len(case.greens)
    many = len(_OVER) * k
    joint = _belief(case, seen.mean.ravel(), seen.cov.reshape(many, many))
    today = _belief(case, joint.mean[:k], joint.cov[:k, :k])
    counts = _counts(case)
    bases: list[Basis] = ["readings" if n else "model" for n in counts]
    weights = np.array(case.in_play, dtype=float) / sum(case.in_play)
    mean, cov = today.plain_moments()
    typical = float(weights @ mean) if case.of.scale == "log" else 1.0
    needed = number(case.of.odd_key)
    odd = odd_greens(today, greens, case.in_play, counts=counts, needed=needed)
    last = last_dates(case.readings, greens)
    total = sum(counts)
    return Surface(
        quantity=case.of.quantity,
        method=case.method,
        unit=today.unit,
        on=case.on,
        scale=case.of.scale,
        greens=greens,
        in_play=case.in_play,
        mean=mean,
        cov=cov,
        belief=today,
        joint=joint,
        per_green=tuple(today.estimate(i, n=counts[i], basis=bases[i]) for i in range(k)),
        course=today.average(weights).estimate(0, n=total, basis="readings"),
        between_greens_sd=today.spread(
            np.flatnonzero(case.in_play), n=total, rng=np.random.default_rng(_SEED)
        ),
        change_7d=tuple(
            less(joint, np.eye(k)[i], then=WEEK_AGO, n=counts[i], basis=bases[i]) for i in range(k)
        ),
        course_change_7d=less(joint, weights, then=WEEK_AGO, n=total, basis="readings"),
        last_read=last,
        course_last_read=max(d for d in last if d is not None),
        n_readings=total,
        n_per_green=counts,
        odd_greens=tuple(o.green for o in odd),
        odd=odd,
        observers=_observers(case, fitted, observers, typical),
        contributions=_contributions(case, fit, weights),
        day_sd=fit.hyper["day_sd"] * typical,
        green_day_sd=fit.hyper["unit_day_sd"] * typical,
        correlation_days=fit.hyper["day_correlation"],
        green_correlation_days=fit.hyper["unit_correlation"],
        slow_sd=fit.hyper["slow_sd"] * typical,
        slow_days=fit.hyper["slow_correlation"],
        cautions=case.cautions,
        misfit=_misfit(case, fit),
        evidence=_keys(case),
    )


def _belief(case: _Case, mean: Floats, cov: Floats) -> Belief:
    table = quantities()[case.of.quantity]
    window = (table.low, table.high)
    return Belief(mean, cov, case.of.scale, window, _unit(case), piled=case.of.ordinal)


def _unit(case: _Case) -> str:
    unit = quantities()[case.of.quantity].unit
    if unit != "own":
        return unit
    known = firmness_methods().get(case.method)
    return known.unit if known else case.readings[0].unit


def _counts(case: _Case) -> tuple[int, ...]:
    rows = dict.fromkeys(case.greens, 0)
    for one in case.found:
        rows[one.green] += one.rows
    return tuple(rows.values())


def _observers(
    case: _Case, fitted: _Fitted, observers: Sequence[str], typical: float
) -> tuple[ObserverShift, ...]:
    return observer_shifts(
        case.found,
        fitted.fit,
        fitted.seen,
        observers,
        late=late_observers(case.found, fitted.late),
        unit=_unit(case),
        typical=typical,
    )


def _contributions(case: _Case, fit: PooledFit, weights: Floats) -> tuple[Contribution, ...]:
    brought, rows = defaultdict[str, float](float), Counter[str]()
    for one, gain in zip(case.found, credited(fit, 0.0, weights), strict=True):
        brought[one.kind] += float(gain)
        rows[one.kind] += one.rows
    # A kind that only helps to read the others may bring less than nothing by itself.
    told = {kind: max(gain, 0.0) for kind, gain in brought.items()}
    whole = sum(told.values()) or 1.0
    made = [Contribution(kind, rows[kind], gain / whole) for kind, gain in told.items()]
    return tuple(sorted(made, key=lambda one: (-one.share, one.kind)))


def _misfit(case: _Case, fit: PooledFit) -> str:
    far, n = int((np.abs(surprises(fit)) > _FAR).sum()), len(case.found)
    if far <= max(_FEW_FAR, number("measure.misfit.far_share") * n):
        return ""
    label = quantities()[case.of.quantity].label.lower()
    return (
        f"{far} of {n} readings of {label} lie more than {_FAR:g} standard deviations from what "
        "the others say; the model does not fit them, and its intervals may be too narrow"
    )


def _keys(case: _Case) -> tuple[str, ...]:
    keys = {*prior_keys(case.of).values(), case.of.odd_key, *DRIFT_KEYS}
    keys.add("measure.misfit.far_share")
    kinds = {r.kind for r in case.readings}
    if case.of.quantity == "green_speed":
        keys |= set(SET_KEYS)
    elif case.of.quantity == "trueness":
        keys |= trueness_keys(kinds, {s.shift for s in case.found})
    else:
        keys.add("measure.score_rounding")
    if case.of.quantity != "green_speed":
        keys |= {f"measure.{k}.link_sd" for k in kinds if k != case.of.kinds[0]}
    if case.of.ordinal:
        keys |= eye_keys(kinds)
    if kinds - {case.of.kinds[0]} and case.of.quantity != "green_speed":
        keys.add("measure.link.lasting_share")
    return tuple(sorted(keys))
