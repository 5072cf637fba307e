"""The invented calendar: past and coming events of the demo course, by a plain rule."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

SATURDAY = 5


@dataclass(frozen=True, slots=True)
class Event:
    """One line of the calendar; ``weight`` 1 is an ordinary day, 3 the day of the year."""

    start: date
    end: date
    name: str
    kind: str
    weight: int
    rounds: int


# month, which Saturday of it, name, weight, rounds
YEARLY = (
    (5, 2, "Spring Cup", 2, 110),
    (7, 3, "Foursomes Shield", 2, 120),
    (9, 2, "Autumn Plate", 2, 110),
)
TROPHY = ("Hollow Trophy", 3, 140)


def _saturday(year: int, month: int, which: int) -> date:
    first = date(year, month, 1)
    return first + timedelta(days=(SATURDAY - first.weekday()) % 7 + 7 * (which - 1))


def coming_trophy(today: date) -> date:
    """Give the first Saturday at least eight days after today, so 8 to 14 days ahead."""
    earliest = today + timedelta(days=8)
    return earliest + timedelta(days=(SATURDAY - earliest.weekday()) % 7)


def draw_calendar(first: date, today: date) -> tuple[Event, ...]:
    """Give all events from the first day to two months after today, in order of date.

    The trophy falls 8 to 14 days after today and 52 weeks earlier each year before;
    lesser events within two weeks of it are left out.
    """
    last = today + timedelta(days=60)
    trophies = [coming_trophy(today) - timedelta(weeks=52 * k) for k in range(4)]
    found = [_one_day(day, "event", TROPHY) for day in trophies]
    for year in range(first.year, last.year + 1):
        for month, which, *what in YEARLY:
            day = _saturday(year, month, which)
            if all(abs((day - t).days) > 14 for t in trophies):
                found.append(_one_day(day, "event", tuple(what)))
        found.append(_one_day(date(year, 12, 25), "closure", ("Winter closing", 1, 0)))
    return tuple(sorted((e for e in found if first <= e.start <= last), key=lambda e: e.start))


def _one_day(day: date, kind: str, what: tuple[str, int, int]) -> Event:
    return Event(day, day, what[0], kind, what[1], what[2])


def days_to_event(events: tuple[Event, ...], day: date) -> int | None:
    """Give the days to the next event on or after a day; None when none is known."""
    ahead = [(e.start - day).days for e in events if e.kind == "event" and e.start >= day]
    return min(ahead, default=None)
