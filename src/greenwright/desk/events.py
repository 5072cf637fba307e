"""An event of the calendar that lies ahead, by its name."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from greenwright.base.errors import BadInput
from greenwright.base.values import CalendarEntry, Snapshot


@dataclass(frozen=True, slots=True)
class Coming:
    """An event and those of its days that lie within reach, at least one."""

    name: str
    days: tuple[date, ...]


def coming_event(record: Snapshot, name: str, *, reach: int) -> Coming:
    """Return the next event of a name.

    Args:
        record: its calendar.
        name: of the event; case does not matter.
        reach: days ahead that can be looked at.

    Raises:
        BadInput: no such event is coming, or it begins beyond the reach.
    """
    coming = sorted(
        (e for e in record.calendar if e.kind == "event" and _end(e) > record.as_of),
        key=lambda e: e.start,
    )
    entry = next((e for e in coming if e.name.casefold() == name.strip().casefold()), None)
    if entry is None:
        raise BadInput(
            f"no event named {name!r} is coming",
            where="event",
            expected=", ".join(dict.fromkeys(e.name for e in coming)) or "an event in the calendar",
            do="Name one of these, or enter it in the calendar",
        )
    days = tuple(
        day for k in range(1, reach + 1) if entry.start <= (day := _after(record, k)) <= _end(entry)
    )
    if not days:
        ahead = (entry.start - record.as_of).days
        raise BadInput(
            f"{entry.name} is {ahead} days ahead",
            where="event",
            expected=f"an event within {reach} days",
            do=f"Ask again from {entry.start - timedelta(days=reach)} on",
        )
    return Coming(entry.name, days)


def _after(record: Snapshot, days: int) -> date:
    return record.as_of + timedelta(days=days)


def _end(entry: CalendarEntry) -> date:
    return entry.end or entry.start
