"""The work of the days ahead: planned in the record, else what this course usually does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from greenwright.advise.ahead import days_ahead
from greenwright.advise.units import PRACTICE
from greenwright.advise.usual import WEEKS, usual_dose
from greenwright.base.tables import practices
from greenwright.base.values import Snapshot, Work

DAILY = "mow"
"""A routine of every day: a planned row of it settles its own day, not the days before."""

RECORD, USUAL, BOTH, NONE = "record", "usual", "both", "none"


@dataclass(frozen=True, slots=True)
class ComingWork:
    """What is taken to be done in the days ahead.

    Args:
        planned: rows of the record.
        usual: rows that nobody wrote: the habit of each weekday.
        plan: record | usual | both | none.
    """

    planned: tuple[Work, ...]
    usual: tuple[Work, ...]
    plan: str

    @property
    def all(self) -> tuple[Work, ...]:
        """Return both, by date."""
        return tuple(sorted((*self.planned, *self.usual), key=lambda w: w.date))


def coming_work(record: Snapshot, n_days: int) -> ComingWork:
    """Return the work of the days after the record's.

    Planned rows of the record hold. Where a practice has none (or after its last one; for
    mowing, on each day without one) the usual work stands in, by the planner's own rule: what was
    done on at least half of those weekdays lately. Without any work in the record: a cut a day.
    On days closed by the calendar nothing is assumed.

    Args:
        record: the record.
        n_days: days ahead.
    """
    last = record.as_of + timedelta(days=n_days)
    planned = tuple(
        w for w in record.work if w.status == "planned" and record.as_of < w.date <= last
    )
    usual = tuple(_usual(record, planned, n_days))
    plan = {(True, True): BOTH, (True, False): RECORD, (False, True): USUAL}.get(
        (bool(planned), bool(usual)), NONE
    )
    return ComingWork(planned, usual, plan)


def _usual(record: Snapshot, planned: Sequence[Work], n_days: int) -> Iterator[Work]:
    lately = _lately(record)
    open_days = [d.date for d in days_ahead(record, n_days) if not d.closed]
    greens = [g.green for g in record.greens if g.in_play]
    for practice in PRACTICE.values():
        doses = _doses(lately, practice, greens)
        for day in open_days:
            spoken = spoken_for(record, planned, practice, day)
            by_dose: dict[float, list[str]] = {}
            for green in greens:
                if green not in spoken and doses[green, day.weekday()] > 0:
                    by_dose.setdefault(doses[green, day.weekday()], []).append(green)
            yield from (_row(practice, day, dose, on) for dose, on in by_dose.items())


def _lately(record: Snapshot) -> Snapshot:
    since = record.as_of - timedelta(days=7 * WEEKS)
    return replace(record, work=tuple(w for w in record.work if w.date >= since))


def _doses(record: Snapshot, practice: str, greens: Sequence[str]) -> dict[tuple[str, int], float]:
    """Return the usual dose by green and weekday."""
    known = any(w.status == "done" for w in record.work)
    week = [record.as_of + timedelta(days=k) for k in range(7)]
    if not known:
        daily = 1.0 if practice == DAILY else 0.0
        return {(g, d.weekday()): daily for g in greens for d in week}
    own = replace(record, work=tuple(w for w in record.work if w.practice == practice))
    return {(g, d.weekday()): usual_dose(own, g, practice, d) for g in greens for d in week}


def spoken_for(record: Snapshot, planned: Sequence[Work], practice: str, day: date) -> set[str]:
    """Return the greens whose planned rows of a practice already say what happens on a day."""
    said: set[str] = set()
    for work in planned:
        speaks = work.date == day if practice == DAILY else day <= work.date
        if work.practice == practice and speaks:
            said.update(record.greens_of(work.green))
    return said


def _row(practice: str, day: date, dose: float, greens: Sequence[str]) -> Work:
    held = practices()[practice]
    where = ";".join(greens)
    if practice == "topdress":
        return Work(date=day, green=where, practice=practice, status="planned", amount=dose,
                    unit=held.unit)  # fmt: skip
    return Work(date=day, green=where, practice=practice, status="planned", passes=dose)
