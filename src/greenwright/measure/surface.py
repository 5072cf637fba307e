"""Today's surface: each green's level, the course's, their spread, change and observers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date as Date
from datetime import timedelta

import numpy as np

from greenwright.base.estimate import Basis, Estimate, normal_estimate
from greenwright.base.evidence import value as number
from greenwright.base.tables import firmness_methods, quantities
from greenwright.base.values import Reading, Snapshot
from greenwright.measure.belief import Belief, Floats
from greenwright.measure.families import Family, family, pooling_prior, prior_keys
from greenwright.measure.sets import SET_KEYS, set_cautions
from greenwright.measure.soundings import (
    Sounding,
    chosen_method,
    last_dates,
    observations,
    readings_of,
    soundings,
)
from greenwright.measure.trueness import trueness_keys
from greenwright.stats import PooledFit, PooledPosterior, chance_within, fit_pooled, posterior

CHANGE_D = 7
"""Days over which the change is told."""

_SURE = 0.95
_RECENT_D = 14
_SEED = 0


@dataclass(frozen=True, slots=True)
class ObserverShift:
    """How far an observer (or instrument) reads above the truth, pooled towards none."""

    observer: str
    shift: Estimate


@dataclass(frozen=True, slots=True)
class OddGreen:
    """A green that stands apart: its difference from the mean of the others, and how sure."""

    green: str
    difference: Estimate
    chance: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Surface:
    """What is believed of one quantity on one day.

    Args:
        quantity, method, unit, on: what, how read, canonical unit, the day.
        scale: plain | log, where belief and noise are near normal.
        greens, in_play: greens in playing order and whether each is in play.
        mean, cov: (G,), (G, G) belief about each green's true level [unit], not cut to the
            quantity's window.
        belief: the same on its own scale.
        per_green, course: estimates inside the window; course = mean of greens in play.
        between_greens_sd: sd of the true levels of greens in play; None for one green.
        change_7d, course_change_7d: since seven days before.
        last_read, course_last_read: date of the last reading used; None = none was.
        n_readings, n_per_green: readings used.
        odd_greens, odd: greens that stand apart (chance at least 0.95).
        observers: shifts of observers and instruments.
        day_sd, green_day_sd: sd of the day-to-day process of course and green [unit].
        correlation_days, green_correlation_days: e-folding times [days].
        slow_sd, slow_days: the course's slow drift with the season [unit], [days].
        cautions: sets to repeat or spots to move, last 14 days.
        evidence: keys of outside numbers used.
    """

    quantity: str
    method: str
    unit: str
    on: Date
    scale: str
    greens: tuple[str, ...]
    in_play: tuple[bool, ...]
    mean: Floats
    cov: Floats
    belief: Belief
    per_green: tuple[Estimate, ...]
    course: Estimate
    between_greens_sd: Estimate | None
    change_7d: tuple[Estimate, ...]
    course_change_7d: Estimate
    last_read: tuple[Date | None, ...]
    course_last_read: Date
    n_readings: int
    n_per_green: tuple[int, ...]
    odd_greens: tuple[str, ...]
    odd: tuple[OddGreen, ...]
    observers: tuple[ObserverShift, ...]
    day_sd: float
    green_day_sd: float
    correlation_days: float
    green_correlation_days: float
    slow_sd: float
    slow_days: float
    cautions: tuple[str, ...]
    evidence: tuple[str, ...]

    @property
    def playing(self) -> Floats:
        """Return the weights of the greens in play in the course's mean (sum 1)."""
        weights = np.array(self.in_play, dtype=float)
        return weights / weights.sum()


@dataclass(frozen=True, slots=True)
class BandShare:
    """Chance of lying in a band: each green's (G,), and of the course's mean."""

    per_green: Floats
    course: float


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
    rows, observers = observations(found, case.greens, on=day)
    prior = pooling_prior(of, typical=float(np.mean([s.value for s in found])))
    fit = fit_pooled(rows, prior, rng=np.random.default_rng(_SEED))
    return _assembled(case, fit, posterior(fit, [0.0, -float(CHANGE_D)]), observers)


def share_in_band(one: Surface, low: float | None, high: float | None) -> BandShare:
    """Return the chance that each green, and the course's mean, lies in a band.

    Args:
        one: a surface.
        low, high: ends of the band [its unit]; None = open.
    """
    course = one.belief.average(one.playing)
    return BandShare(one.belief.chance(low, high), float(course.chance(low, high)[0]))


def _assembled(
    case: _Case, fit: PooledFit, seen: PooledPosterior, observers: Sequence[str]
) -> Surface:
    greens, k = case.greens, len(case.greens)
    joint = _belief(case, seen.mean.ravel(), seen.cov.reshape(2 * k, 2 * k))
    today = _belief(case, joint.mean[:k], joint.cov[:k, :k])
    counts = _counts(case)
    bases: list[Basis] = ["readings" if n else "model" for n in counts]
    weights = np.array(case.in_play, dtype=float) / sum(case.in_play)
    mean, cov = today.plain_moments()
    typical = float(weights @ mean) if case.of.scale == "log" else 1.0
    odd = _odd(case, today, counts)
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
        per_green=tuple(today.estimate(i, n=counts[i], basis=bases[i]) for i in range(k)),
        course=today.average(weights).estimate(0, n=total, basis="readings"),
        between_greens_sd=today.spread(
            np.flatnonzero(case.in_play), n=total, rng=np.random.default_rng(_SEED)
        ),
        change_7d=tuple(_change(joint, np.eye(k)[i], counts[i], bases[i]) for i in range(k)),
        course_change_7d=_change(joint, weights, total, "readings"),
        last_read=last,
        course_last_read=max(d for d in last if d is not None),
        n_readings=total,
        n_per_green=counts,
        odd_greens=tuple(o.green for o in odd),
        odd=odd,
        observers=_shifts(case, seen, observers, typical),
        day_sd=fit.hyper["day_sd"] * typical,
        green_day_sd=fit.hyper["unit_day_sd"] * typical,
        correlation_days=fit.hyper["day_correlation"],
        green_correlation_days=fit.hyper["unit_correlation"],
        slow_sd=fit.hyper["slow_sd"] * typical,
        slow_days=fit.hyper["slow_correlation"],
        cautions=case.cautions,
        evidence=_keys(case),
    )


def _belief(case: _Case, mean: Floats, cov: Floats) -> Belief:
    table = quantities()[case.of.quantity]
    return Belief(mean, cov, case.of.scale, (table.low, table.high), _unit(case))


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


def _change(joint: Belief, weights: Floats, n: int, basis: Basis) -> Estimate:
    none = np.zeros(len(weights))
    now, then = np.concatenate([weights, none]), np.concatenate([none, weights])
    return joint.difference(now, then, n=n, basis=basis)


def _odd(case: _Case, today: Belief, counts: Sequence[int]) -> tuple[OddGreen, ...]:
    """Return the greens in play that surely differ noticeably from the mean of the others."""
    playing = np.flatnonzero(case.in_play)
    if len(playing) < 3:
        return ()
    needed, found = number(case.of.odd_key), []
    for i in playing:
        own, others = np.zeros(len(today.mean)), np.zeros(len(today.mean))
        own[i], others[playing] = 1.0, 1.0 / (len(playing) - 1)
        others[i] = 0.0
        apart = _chance_apart(today, own - others, needed)
        if apart >= _SURE:
            difference = today.difference(own, others, n=counts[i], basis="readings")
            found.append(OddGreen(case.greens[i], difference, apart))
    return tuple(found)


def _chance_apart(today: Belief, contrast: Floats, needed: float) -> float:
    """Return the larger chance of lying above +needed or below -needed, on the own scale."""
    middle = np.array([float(contrast @ today.mean)])
    sd = np.sqrt(np.clip([float(contrast @ today.cov @ contrast)], 1e-18, None))
    everywhere = (-1e6, 1e6)
    above = chance_within(middle, sd, band=(needed, 1e6), window=everywhere)
    below = chance_within(middle, sd, band=(-1e6, -needed), window=everywhere)
    return float(max(above[0], below[0]))


def _shifts(
    case: _Case, seen: PooledPosterior, observers: Sequence[str], typical: float
) -> tuple[ObserverShift, ...]:
    unit, made = _unit(case), []
    for i, who in enumerate(observers):
        n = sum(s.rows for s in case.found if s.observer == who)
        shift, sd = seen.rater_mean[i] * typical, seen.rater_sd[i] * typical
        made.append(ObserverShift(who, normal_estimate(float(shift), float(sd), unit, n=n)))
    return tuple(made)


def _keys(case: _Case) -> tuple[str, ...]:
    keys = {*prior_keys(case.of).values(), case.of.odd_key}
    kinds = {r.kind for r in case.readings}
    if case.of.quantity == "green_speed":
        keys |= set(SET_KEYS)
    elif case.of.quantity == "trueness":
        keys |= trueness_keys(kinds, {s.shift for s in case.found})
    else:
        keys.add("measure.score_rounding")
    if case.of.quantity != "green_speed":
        keys |= {f"measure.{k}.link_sd" for k in kinds if k != case.of.kinds[0]}
    if kinds & {"hops", "drifts", "clean_rolls"}:
        keys |= {"measure.clean_rolls.score_at_half", "measure.clean_rolls.score_per_logit"}
    if kinds - {case.of.kinds[0]} and case.of.quantity != "green_speed":
        keys.add("measure.link.lasting_share")
    return tuple(sorted(keys))
