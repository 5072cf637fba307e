"""The work taken as coming: planned rows first, the weekday's habit where they are silent."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from greenwright.base.values import CalendarEntry, Course, Green, Snapshot, Work
from greenwright.desk.coming_work import coming_work

MONDAY = date(2026, 6, 1)
"""The record's day, a Monday."""


def work(practice: str, ahead: int, *, status: str = "done", green: str = "all", **more: object):
    when = MONDAY + timedelta(days=ahead)
    return Work(date=when, green=green, practice=practice, status=status, **more)  # type: ignore[arg-type]


def record(*rows: Work, **more: object) -> Snapshot:
    return Snapshot(
        course=Course(course="lark", name="Lark Mere"),
        as_of=MONDAY,
        greens=tuple(Green(green=g) for g in ("1", "2")),
        work=rows,
        **more,  # type: ignore[arg-type]
    )


HABIT = (
    *(work("mow", -k) for k in range(28)),
    *(work("roll", -k) for k in range(28) if (MONDAY - timedelta(days=k)).weekday() == 4),
    *(work("topdress", -k, amount=0.4, green="1") for k in (7, 14, 21)),
)
"""Four weeks: a cut a day, a roll on Fridays, sand on green 1 on three of four Mondays."""


def days(found: tuple[Work, ...], practice: str) -> list[int]:
    return [(w.date - MONDAY).days for w in found if w.practice == practice]


def test_habits_of_the_weekday_are_carried_on() -> None:
    found = coming_work(record(*HABIT), 14)
    assert found.plan == "usual" and found.planned == ()
    assert days(found.usual, "mow") == list(range(1, 15))
    assert days(found.usual, "roll") == [4, 11]  # Fridays, by hand
    assert days(found.usual, "topdress") == [7, 14]
    sand = next(w for w in found.usual if w.practice == "topdress")
    assert (sand.green, sand.amount, sand.unit, sand.status) == ("1", 0.4, "L/m2", "planned")


def test_planned_rows_hold_up_to_their_last_day() -> None:
    planned = work("roll", 6, status="planned")
    found = coming_work(record(*HABIT, planned), 14)
    assert found.plan == "both" and found.planned == (planned,)
    # the record says what is rolled up to day 6; the habit goes on after it
    assert days(found.usual, "roll") == [11]
    assert days(found.all, "roll") == [6, 11]


def test_a_planned_cut_speaks_for_its_own_day_and_greens() -> None:
    found = coming_work(record(*HABIT, work("mow", 3, status="planned", green="2", amount=3.2)), 4)
    usual = {(w.date - MONDAY).days: w.green for w in found.usual if w.practice == "mow"}
    assert usual == {1: "1;2", 2: "1;2", 3: "1", 4: "1;2"}


def test_a_record_without_work_is_cut_every_day() -> None:
    found = coming_work(record(), 3)
    assert found.plan == "usual"
    assert [(w.practice, w.passes) for w in found.usual] == [("mow", 1.0)] * 3


def test_declined_and_far_off_work_is_not_coming() -> None:
    rows = (work("roll", 2, status="declined"), work("roll", 20, status="planned"))
    assert coming_work(record(*HABIT, *rows), 14).planned == ()


def test_nothing_is_assumed_on_closed_days() -> None:
    shut = CalendarEntry(
        start=MONDAY + timedelta(days=2),
        end=MONDAY + timedelta(days=3),
        kind="closure",
        name="Shut",
    )
    found = coming_work(record(*HABIT, calendar=(shut,)), 5)
    assert days(found.usual, "mow") == [1, 4, 5]


def test_greens_out_of_play_are_left_alone() -> None:
    held = record(*HABIT)
    shut = replace(held, greens=(held.greens[0], replace(held.greens[1], in_play=False)))
    assert {w.green for w in coming_work(shut, 3).usual} == {"1"}


@pytest.mark.parametrize("n_days", [1, 14])
def test_no_more_days_than_asked(n_days: int) -> None:
    last = MONDAY + timedelta(days=n_days)
    assert all(MONDAY < w.date <= last for w in coming_work(record(*HABIT), n_days).all)
