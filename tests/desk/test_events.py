"""Events of the calendar, found by name."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from greenwright.base.errors import BadInput
from greenwright.base.values import CalendarEntry, Course, Snapshot
from greenwright.desk.events import coming_event

DAY = date(2026, 6, 5)


def entry(name: str, ahead: int, *, lasts: int = 1, kind: str = "event") -> CalendarEntry:
    start = DAY + timedelta(days=ahead)
    end = start + timedelta(days=lasts - 1) if lasts > 1 else None
    return CalendarEntry(start=start, end=end, kind=kind, name=name)


def record(*entries: CalendarEntry) -> Snapshot:
    return Snapshot(course=Course(course="lark", name="Lark Mere"), as_of=DAY, calendar=entries)


def test_the_next_event_of_that_name_is_meant() -> None:
    held = record(entry("Spring Cup", 40), entry("Spring Cup", 3), entry("Spring Cup", -9))
    found = coming_event(held, " spring CUP ", reach=14)
    assert (found.name, found.days) == ("Spring Cup", (DAY + timedelta(days=3),))


def test_only_its_days_ahead_and_within_reach_count() -> None:
    begun = coming_event(record(entry("Week of Golf", -2, lasts=5)), "week of golf", reach=14)
    # from two days ago, five days long: tomorrow and the day after are left
    assert begun.days == tuple(DAY + timedelta(days=k) for k in (1, 2))
    late = coming_event(record(entry("Week of Golf", 13, lasts=5)), "week of golf", reach=14)
    assert late.days == tuple(DAY + timedelta(days=k) for k in (13, 14))


@pytest.mark.parametrize("ahead", [0, -1])
def test_what_is_over_by_tomorrow_is_not_coming(ahead: int) -> None:
    with pytest.raises(BadInput, match="no event named"):
        coming_event(record(entry("Cup", ahead)), "Cup", reach=14)


def test_an_unknown_name_is_answered_with_those_that_are_coming() -> None:
    held = record(entry("Cup", 3), entry("Shield", 9), entry("Coring", 2, kind="renovation"))
    with pytest.raises(BadInput) as caught:
        coming_event(held, "Coring", reach=14)
    assert caught.value.expected == "Cup, Shield" and caught.value.where == "event"


def test_an_event_out_of_reach_says_when_to_ask() -> None:
    with pytest.raises(BadInput, match="20 days ahead") as caught:
        coming_event(record(entry("Cup", 20)), "Cup", reach=14)
    assert str(DAY + timedelta(days=6)) in str(caught.value)
