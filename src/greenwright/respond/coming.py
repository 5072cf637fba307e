"""The days ahead: work as planned, weather as given, and what it may be where nothing is given."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import lcm

import numpy as np
from numpy.typing import NDArray

from greenwright.base.values import Snapshot, WeatherDay, Work
from greenwright.respond.learning import LearnedOutcome
from greenwright.respond.learning.drivers import covariates
from greenwright.respond.learning.modelling import acts_told
from greenwright.respond.learning.terms import terms_of
from greenwright.respond.learning.worked import Worked, worked
from greenwright.respond.path import growth_of
from greenwright.stats.dynamic import Covariate, DynamicModel
from greenwright.weather import days as weather_days
from greenwright.weather import mean_temperature

SEASON_D = 30
"""Days either side in the year from which unknown weather is drawn."""
FEWEST = 5
"""Fewer runs of observed days than this say nothing of the season."""
MOST = 12
"""Runs that are played through."""

ELSE = "else"
KINDS = {"clippings": "clippings", ELSE: "green_speed"}
"""Leaf acts on clippings in its own way, on all else alike: a quantity that stands for each."""

RECENT_D = 120
"""Days back from which other work that may come is laid out: usual amounts, the last heights."""

Ahead = Mapping[str, NDArray[np.float64]]
"""Covariate -> its values on the days ahead."""

_YEAR = 365


@dataclass(frozen=True, slots=True)
class Given:
    """How the days ahead are known.

    Args:
        forecast: days with a forecast (or already observed).
        typical: days that go by the season.
        unknown: days of which nothing is known.
        open: how many days ahead each of the days without a forecast lies.
    """

    forecast: int
    typical: int
    unknown: int
    open: tuple[int, ...]

    @property
    def counts(self) -> Mapping[str, int]:
        """Return the days of each kind."""
        return {"forecast": self.forecast, "typical": self.typical, "unknown": self.unknown}


def given(snapshot: Snapshot, n_days: int) -> Given:
    """Return how the weather of the days after the record's is known."""
    rows = _ahead(snapshot, n_days)
    kinds = Counter(_kind(row) for row in rows)
    open_days = tuple(k + 1 for k, row in enumerate(rows) if _kind(row) != "forecast")
    return Given(kinds["forecast"], kinds["typical"], kinds["unknown"], open_days)


def weathers(snapshot: Snapshot, n_days: int) -> tuple[Snapshot, ...]:
    """Return the record with each of several weathers that may come, equally likely.

    Days without a forecast take over runs of days that were observed here at the same season, in
    this year and others; days with a forecast keep it. Empty where every day is given, or where
    fewer than five such runs were observed.

    Args:
        snapshot: the record.
        n_days: days ahead.
    """
    offsets = given(snapshot, n_days).open
    seen = _observed(snapshot)
    starts = [s for s in _starts(seen, snapshot.as_of) if _run(seen, s, offsets)]
    if not offsets or len(starts) < FEWEST:
        return ()
    step = max(1.0, len(starts) / MOST)
    chosen = [starts[int(k * step)] for k in range(min(MOST, len(starts)))]
    return tuple(_with(snapshot, _run(seen, start, offsets), offsets) for start in chosen)


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is coming, laid out once for all quantities.

    Args:
        snapshot: the record.
        n_days: days ahead.
        work: done and planned, up to the last of them.
        acting: of clippings and of all else, the covariates of the days ahead (units or 1,
            days): first as given, then as else it may come.
        works: the work of each of the other ways in which it may come, None = as given.
        usual: the work as given, laid out as those are.
    """

    snapshot: Snapshot
    n_days: int
    work: Worked
    acting: Mapping[str, tuple[Ahead, ...]]
    works: tuple[Worked | None, ...] = ()
    usual: Worked | None = None

    def on(self, quantity: str) -> tuple[Ahead, ...]:
        """Return what acts on a quantity: as given, then as else it may come."""
        return self.acting[quantity if quantity in self.acting else ELSE]


@dataclass(frozen=True, slots=True)
class Other:
    """One way in which the days ahead may come, beside the plan.

    Args:
        acting: covariates of the days ahead.
        more: term -> its doses on the days ahead less those planned (units, days); a term that is
            not named has those planned.
        once: how many ways of its kind there are, with none counted twice.
    """

    acting: Ahead
    more: Mapping[str, NDArray[np.float64]]
    once: int


def outlook(
    snapshot: Snapshot,
    *,
    first: date,
    n_days: int,
    planned: Sequence[Work] = (),
    likely: Sequence[Sequence[Work]] = (),
) -> Outlook:
    """Return what is coming.

    Args:
        snapshot: the record.
        first: day 0 of the calendar that was learned on.
        n_days: days ahead.
        planned: the work of those days.
        likely: the work of those days as it may come instead, each as likely.
    """
    last = snapshot.as_of + timedelta(days=n_days)
    work = worked(snapshot, first=first, until=last, planned=planned)
    skies = weathers(snapshot, n_days)
    laid = [
        replace(_laid_out(snapshot, n_days, one), days_done=work.days_done)
        for one in ((planned, *likely) if likely else ())
    ]
    others = laid[1:]
    ways = [
        (skies[k % len(skies)] if skies else snapshot, others[k % len(others)] if others else None)
        for k in range(_count(len(skies), len(others)))
    ]
    lived = [(sky, _regrown(_otherwise(work, other, n_days), sky, n_days)) for sky, other in ways]
    acting = {
        kind: tuple(_acting(sky, done, quantity, last) for sky, done in [(snapshot, work), *lived])
        for kind, quantity in KINDS.items()
    }
    works = tuple(other for _, other in ways)
    return Outlook(snapshot, n_days, work, acting, works, laid[0] if laid else None)


def _count(skies: int, others: int) -> int:
    """Return how many ways it takes for each weather to meet each work about as often."""
    return lcm(skies, others) if skies and others else max(skies, others)


def _regrown(work: Worked, snapshot: Snapshot, n_days: int) -> Worked:
    """Return the same work with the growth of another weather ahead."""
    names = [g.green for g in snapshot.greens]
    keep = [names.index(g) for g in work.greens]
    later = growth_of(snapshot, snapshot.as_of + timedelta(days=1), n_days)[keep]
    return replace(work, growth=np.concatenate([work.growth[:, :-n_days], later], axis=1))


def _laid_out(snapshot: Snapshot, n_days: int, planned: Sequence[Work]) -> Worked:
    """Return other work of the days ahead, with the days before that it leans on."""
    first = snapshot.as_of - timedelta(days=RECENT_D)
    recent = tuple(w for w in snapshot.work if w.date >= first)
    small = replace(snapshot, work=recent, readings=())
    until = snapshot.as_of + timedelta(days=n_days)
    return worked(small, first=first, until=until, planned=planned)


def _otherwise(work: Worked, other: Worked | None, n_days: int) -> Worked:
    """Return the same work with other cuts on the days ahead."""
    if other is None:
        return work
    mown = np.concatenate([work.mown[:, :-n_days], other.mown[:, -n_days:]], axis=1)
    return replace(work, mown=mown)


def others_of(outcome: LearnedOutcome, coming: Outlook) -> tuple[Other, ...]:
    """Return the ways in which the days ahead of one outcome may come, beside the plan."""
    later = coming.on(outcome.quantity)[1:]
    works = {id(work): work for work in coming.works if work is not None}
    usual = _doses(outcome, coming, coming.usual) if coming.usual else {}
    # What a dose leaves behind is linear in it: of two plans of the same past, that cancels out.
    more = {
        key: {name: dose - usual[name] for name, dose in _doses(outcome, coming, work).items()}
        for key, work in works.items()
    }
    distinct = min((n for n in (len(works), _skies(coming)) if n), default=1)
    return tuple(
        Other(acting, more.get(id(work), {}), distinct)
        for acting, work in zip(later, coming.works, strict=True)
    )


def _doses(
    outcome: LearnedOutcome, coming: Outlook, work: Worked
) -> dict[str, NDArray[np.float64]]:
    acts = acts_told(coming.snapshot)
    found = terms_of(work, outcome.quantity, method=outcome.method, acts=acts).terms
    return {t.name: t.dose[:, -coming.n_days :] for t in found}


def _skies(coming: Outlook) -> int:
    works = len({id(work) for work in coming.works if work is not None})
    count = len(coming.works)
    return count if not works else 0


def plan_of(outcome: LearnedOutcome, coming: Outlook) -> DynamicModel:
    """Return the fitted model with the days ahead added: their work, their weather."""
    model, n_days = outcome.fit.layout.model, coming.n_days
    acts = acts_told(coming.snapshot)
    found = terms_of(coming.work, outcome.quantity, method=outcome.method, acts=acts).terms
    doses = {t.name: t.dose[:, -n_days:] for t in found}
    nothing = np.zeros((model.units, n_days))
    terms = tuple(
        replace(t, dose=np.hstack([t.dose, doses.get(t.name, nothing)])) for t in model.terms
    )
    later = coming.on(outcome.quantity)[0]
    return replace(
        model,
        days=model.days + n_days,
        terms=terms,
        covariates=tuple(_longer(c, later[c.name]) for c in model.covariates),
    )


def _acting(snapshot: Snapshot, work: Worked, quantity: str, last: date) -> Ahead:
    """Return the covariates of the days ahead under one weather; the last day's is `last`."""
    n_days = (last - snapshot.as_of).days
    found = covariates(snapshot, work, quantity=quantity, until=last, day_sd=1.0)
    return {c.name: c.values[:, -n_days:] for c in found}


def _longer(one: Covariate, later: NDArray[np.float64]) -> Covariate:
    rows = max(len(one.values), len(later))
    before = np.broadcast_to(one.values, (rows, one.values.shape[1]))
    after = np.broadcast_to(later, (rows, later.shape[1]))
    return replace(one, values=np.hstack([before, after]))


def _ahead(snapshot: Snapshot, n_days: int) -> Sequence[WeatherDay]:
    first = snapshot.as_of + timedelta(days=1)
    return weather_days(snapshot, first, first + timedelta(days=n_days - 1))


def _kind(row: WeatherDay) -> str:
    if row.kind != "typical":
        return "forecast"
    return "unknown" if mean_temperature(row) is None else "typical"


def _observed(snapshot: Snapshot) -> dict[date, WeatherDay]:
    rows = [w for w in snapshot.weather if w.kind == "observed" and w.date <= snapshot.as_of]
    return {w.date: w for w in rows if mean_temperature(w) is not None}


def _starts(seen: Mapping[date, WeatherDay], day: date) -> list[date]:
    """Return the observed days near a day of the year, in order."""
    place = day.timetuple().tm_yday
    gaps = ((d, abs(d.timetuple().tm_yday - place)) for d in seen)
    return sorted(d for d, gap in gaps if min(gap, _YEAR - gap) <= SEASON_D)


def _run(
    seen: Mapping[date, WeatherDay], start: date, offsets: Sequence[int]
) -> tuple[WeatherDay, ...]:
    """Return the days that lie as far after a start as the open days lie ahead, or nothing."""
    found = [seen.get(start + timedelta(days=k)) for k in offsets]
    known = tuple(row for row in found if row is not None)
    return known if len(known) == len(offsets) else ()


def _with(snapshot: Snapshot, run: Sequence[WeatherDay], offsets: Sequence[int]) -> Snapshot:
    made = [
        replace(row, date=snapshot.as_of + timedelta(days=k), kind="forecast", id="",
                issued=snapshot.as_of)
        for row, k in zip(run, offsets, strict=True)
    ]  # fmt: skip
    return replace(snapshot, weather=(*snapshot.weather, *made))
