"""Where each green and the course will be, under the work planned and the weather given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import sqrt

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate
from greenwright.base.tables import quantities
from greenwright.base.values import Snapshot, Work
from greenwright.respond.beliefs import Beliefs, Floats, average
from greenwright.respond.coming import (
    Given,
    Other,
    Outlook,
    given,
    others_of,
    outlook,
    plan_of,
)
from greenwright.respond.learning import LearnedOutcome
from greenwright.respond.scatter import Scatter, borne_out, scatter
from greenwright.respond.varied import varied
from greenwright.stats.dynamic import DynamicModel, Levels, levels

COURSE = "course"
LONGEST = 14
"""Days ahead that anything is said of."""
BACK = 21
"""Days before the record's day whose levels stand beside the forecast."""


@dataclass(frozen=True, slots=True)
class Step:
    """One green, or the course, on one day.

    Args:
        green: its key, or course.
        date: the day.
        level: of the surface, what a perfect reading after the day's work would give.
        reading: what one set of readings would show; None for days gone by.
    """

    green: str
    date: date
    level: Estimate
    reading: Estimate | None = None


@dataclass(frozen=True, slots=True)
class Forecast:
    """One quantity over the days ahead.

    Args:
        quantity, method, unit: of what.
        on: the record's day.
        greens: in play.
        ahead: the course, then each green in playing order, days ascending.
        past: the same for the days up to the record's.
        beliefs, seen: behind the levels and the readings of `ahead`, in its order.
        weather: how the weather ahead is known.
        left: green -> share of tomorrow's sd that one more set there would leave.
    """

    quantity: str
    method: str
    unit: str
    on: date
    greens: tuple[str, ...]
    ahead: tuple[Step, ...]
    past: tuple[Step, ...]
    beliefs: Beliefs
    seen: Beliefs
    weather: Given
    left: Mapping[str, float]

    def in_target(self, green: str, day: date, *, low: float | None, high: float | None) -> float:
        """Return the chance that a green or the course lies in a band on a day ahead."""
        place = next(k for k, s in enumerate(self.ahead) if (s.green, s.date) == (green, day))
        return float(self.beliefs.picked([place]).chance(low, high)[0])


def forecast(
    outcome: LearnedOutcome,
    snapshot: Snapshot,
    *,
    days: int,
    planned: Sequence[Work] = (),
    coming: Outlook | None = None,
    back: int = BACK,
) -> Forecast:
    """Return the levels of the days after the record's.

    Unknown weather is played through with runs of days observed at the same season, unknown work
    with what is likely instead; weather and work that are given are taken at their word.

    Args:
        outcome: what was learned of one quantity, on the record's day.
        snapshot: the record.
        days: how many days ahead, 1 to 14.
        planned: the work of those days.
        coming: the same work and days, already laid out for several quantities.
        back: days before, told beside.

    Raises:
        BadInput: days outside 1 to 14.
    """
    if not 1 <= days <= LONGEST:
        raise BadInput(f"a forecast looks 1 to {LONGEST} days ahead, not {days}")
    coming = coming or outlook(snapshot, first=outcome.first, n_days=days, planned=planned)
    plan = plan_of(outcome, coming)
    later = others_of(outcome, coming)
    playing = tuple(g.green for g in snapshot.greens if g.in_play)
    ahead = Window(outcome, plan, playing, first=1, last=days, others=later)
    past = Window(outcome, plan, playing, first=-_reach(outcome, back), last=0)
    beliefs = believed(ahead)
    read = scatter(outcome)
    seen = believed(ahead, read)
    seen = replace(seen, sds=seen.sds * sqrt(borne_out(outcome)))
    return Forecast(
        quantity=outcome.quantity,
        method=outcome.method,
        unit=outcome.unit,
        on=snapshot.as_of,
        greens=past.names,
        ahead=steps(ahead, beliefs, seen),
        past=steps(past, believed(past)),
        beliefs=beliefs,
        seen=seen,
        weather=given(snapshot, days),
        left=left_by_a_set(ahead, read),
    )


def _reach(outcome: LearnedOutcome, back: int) -> int:
    return min(back, (outcome.until - outcome.first).days)


@dataclass(frozen=True, slots=True)
class Window:
    """The days looked at, from the outcome's last one, and the model that speaks of them.

    Args:
        outcome: what was learned.
        plan: the fitted model with the work and weather of the days to come.
        playing: greens in play.
        first, last: days after the outcome's last one, both included.
        others: ways in which the days ahead may come beside the plan.
    """

    outcome: LearnedOutcome
    plan: DynamicModel
    playing: tuple[str, ...]
    first: int
    last: int
    others: tuple[Other, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Return the greens looked at: those in play that the model knows."""
        return tuple(g for g in self.outcome.greens if g in self.playing) or self.outcome.greens

    @property
    def places(self) -> Mapping[str, int]:
        """Return the model's unit of each green looked at."""
        return {g: self.outcome.greens.index(g) for g in self.names}

    @property
    def offsets(self) -> range:
        """Return the days, counted from the outcome's last one."""
        return range(self.first, self.last + 1)

    def place(self, offset: int) -> int:
        """Return the day of the model's calendar."""
        return (self.outcome.until - self.outcome.first).days + offset


def believed(window: Window, read: Scatter | None = None) -> Beliefs:
    """Return the beliefs about the course, then each green, by day.

    Args:
        window: what is looked at.
        read: how a set differs from the level; None = the levels themselves.
    """
    fit, log = window.outcome.fit, window.outcome.log
    units = np.array(list(window.places.values()), dtype=np.intp)
    count, often = len(units), len(window.offsets)
    day = np.repeat([window.place(k) for k in window.offsets], count)
    seen_by = None if read is None else np.tile(read.seen_by[units], (often, 1))
    found = levels(fit, np.tile(units, often), day, model=window.plan, seen_by=seen_by)
    extra = np.zeros((len(fit.at), 1 + count)) if read is None else read.variances(units)
    more = varied(fit, window.plan, window.others, units=units, days=often)
    means, sds = [], []
    for k in range(often):
        mean, cov = _of_day(found, slice(k * count, (k + 1) * count))
        mean, cov = mean + more[0][:, k], cov + more[1][:, k]
        whole = average(mean, cov, log=log)
        variance = np.column_stack([whole[1] ** 2, np.diagonal(cov, axis1=1, axis2=2)]) + extra
        means.append(np.column_stack([whole[0], mean]))
        sds.append(np.sqrt(np.clip(variance, 0, None)))
    return Beliefs(_by_green(means), _by_green(sds), fit.weights, log)


def left_by_a_set(window: Window, read: Scatter) -> Mapping[str, float]:
    """Return the share of the first day's sd of each green that one set there would leave.

    A set cannot tell its reader's shift from the level: what both share stays.
    """
    fit, units = window.outcome.fit, np.array(list(window.places.values()), dtype=np.intp)
    count = len(units)
    seen_by = np.vstack([np.zeros_like(read.seen_by[units]), read.seen_by[units]])
    day = np.full(2 * count, window.place(window.first))
    cov = levels(fit, np.tile(units, 2), day, model=window.plan, seen_by=seen_by).cov
    level, both = np.diagonal(cov)[:count], np.diagonal(cov, offset=count)[:count]
    shown = np.diagonal(cov)[count:] + (fit.weights @ read.variances(units))[1:]
    shares = np.sqrt(np.clip(1 - both**2 / (level * shown), 0.0, 1.0))
    return dict(zip(window.names, map(float, shares), strict=True))


def _of_day(found: Levels, mine: slice) -> tuple[Floats, Floats]:
    return found.means[:, mine], found.covs[:, mine, mine]


def _by_green(rows: Sequence[Floats]) -> Floats:
    """Return (m, things x days) of a list by day of (m, things)."""
    stacked = np.stack(rows, axis=2)
    return stacked.reshape(len(stacked), -1)


def steps(window: Window, beliefs: Beliefs, seen: Beliefs | None = None) -> tuple[Step, ...]:
    """Return the rows of a window: the course first, then each green, days ascending.

    Args:
        window, beliefs: what was looked at and what is believed of it.
        seen: what one set would show; None = readings are not told.
    """
    outcome = window.outcome
    held = quantities()[outcome.quantity]
    ends = (held.low, held.high)
    whole = beliefs.estimates(outcome.unit, n=outcome.n_sets, ends=ends)
    shown: Sequence[Estimate | None] = [None] * len(whole)
    if seen is not None:
        shown = seen.estimates(outcome.unit, n=outcome.n_sets, ends=ends)
    names = [(g, k) for g in (COURSE, *window.names) for k in window.offsets]
    return tuple(
        Step(green, outcome.until + timedelta(days=k), level, reading)
        for (green, k), level, reading in zip(names, whole, shown, strict=True)
    )
