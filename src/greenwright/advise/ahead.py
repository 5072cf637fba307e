"""The days ahead: what they weigh, how many play, and whether anybody may work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean

from greenwright.base.evidence import value
from greenwright.base.values import CalendarEntry, Snapshot

PLAN_DAYS = 7
HORIZON_DAYS = 14

ROUNDS_KEY = "rounds.default_day"
_CLOSED = ("closure", "renovation")


@dataclass(frozen=True, slots=True)
class DayAhead:
    """One day of the horizon.

    Args:
        date: the day.
        weight: how much its surface counts; 1 is an ordinary day, 0 one without play.
        rounds: rounds expected.
        closed: nobody plays and no work is planned.
        name: of the event, or empty.
    """

    date: date
    weight: float
    rounds: float
    closed: bool = False
    name: str = ""


def days_ahead(snapshot: Snapshot, n_days: int = HORIZON_DAYS) -> tuple[DayAhead, ...]:
    """Return the days after the record's day, with weight and rounds from its calendar.

    Rounds are the calendar's, else the mean of that weekday in the record, else of all its days,
    else the evidence table's. A closure or renovation weighs nothing unless the calendar says so.
    """
    dates = [snapshot.as_of + timedelta(days=i + 1) for i in range(n_days)]
    return tuple(_day(snapshot, when) for when in dates)


def rounds_assumed(snapshot: Snapshot) -> bool:
    """Return whether no rounds are counted in the record, so that a default stands in."""
    return not snapshot.rounds


def events_of(snapshot: Snapshot) -> tuple[CalendarEntry, ...]:
    """Return the calendar's events from the record's day on, soonest first."""
    coming = [e for e in snapshot.calendar if e.kind == "event" and _end(e) >= snapshot.as_of]
    return tuple(sorted(coming, key=lambda e: e.start))


def _day(snapshot: Snapshot, when: date) -> DayAhead:
    entries = [e for e in snapshot.calendar if e.start <= when <= _end(e)]
    closed = any(e.kind in _CLOSED for e in entries)
    weights = [e.weight for e in entries if e.weight is not None]
    counts = [e.rounds for e in entries if e.rounds is not None]
    weight = max(weights) if weights else 0.0 if closed else 1.0
    rounds = max(counts) if counts else 0.0 if closed else _usual_rounds(snapshot, when)
    name = next((e.name for e in entries if e.kind == "event"), "")
    return DayAhead(when, weight, rounds, closed, name)


def _usual_rounds(snapshot: Snapshot, when: date) -> float:
    same = [r.rounds for r in snapshot.rounds if r.date.weekday() == when.weekday()]
    played: Sequence[float] = same or [r.rounds for r in snapshot.rounds]
    return fmean(played) if played else value(ROUNDS_KEY)


def _end(entry: CalendarEntry) -> date:
    return entry.end or entry.start
