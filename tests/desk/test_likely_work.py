"""Work that may come where nobody planned: the fortnights before, on the same weekdays."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from greenwright.base.values import CalendarEntry, Snapshot, Work
from greenwright.desk.coming_work import coming_work
from greenwright.desk.likely_work import LOWEST_MM, likely_work
from tests.desk.test_coming_work import HABIT, MONDAY, record, work


def runs_of(held: Snapshot) -> tuple[tuple[Work, ...], ...]:
    return likely_work(held, coming_work(held, 14), 14)


def ahead(run: tuple[Work, ...], practice: str) -> list[int]:
    return [(w.date - MONDAY).days for w in run if w.practice == practice]


def test_each_run_repeats_a_fortnight_on_its_own_weekdays() -> None:
    # by hand: the record reaches 27 days back, so that it holds the fortnights that lie two,
    # three and four weeks before, the last from its own first day on
    runs = runs_of(record(*HABIT))
    assert len(runs) == 3
    for run in runs:
        assert ahead(run, "roll") == [4, 11]  # Fridays
        assert {w.date.weekday() for w in run if w.practice == "topdress"} == {0}
        assert all(w.status == "planned" and w.date > MONDAY for w in run)
    # by hand: sand of days -7, -14 and -21, moved two, three and four weeks on
    assert [ahead(run, "topdress") for run in runs] == [[7], [7, 14], [7, 14]]


def test_rare_work_comes_as_often_as_it_was_done() -> None:
    cores = work("core", -20, amount=5.0)
    runs = runs_of(record(*HABIT, cores))
    # by hand: day -20 lies in the fortnights three and four weeks before, at days 1 and 8
    assert [ahead(run, "core") for run in runs] == [[], [1], [8]]


def test_planned_rows_hold_and_the_rest_is_open() -> None:
    planned = (work("roll", 6, status="planned", green="1"),)
    for run in runs_of(record(*HABIT, *planned)):
        mine = [w for w in run if w.practice == "roll"]
        # by hand: up to day 6 the plan speaks for green 1, so that on day 4 green 2 alone is open
        assert [((w.date - MONDAY).days, w.green) for w in mine] == [
            (4, "2"),
            (6, "1"),
            (11, "1;2"),
        ]


def test_heights_move_from_today_s_as_they_moved_then() -> None:
    # by hand: down by 0.1 mm a week, four weeks long; today 3.6. Each fortnight went down by 0.1
    # on its first day, and once more.
    cuts = tuple(work("mow", -k, amount=3.6 + 0.1 * (k // 7), unit="mm") for k in range(30))
    runs = runs_of(record(*cuts))
    for run in runs:
        assert run[0].amount == pytest.approx(3.5) and run[-1].amount == pytest.approx(3.4)
    flat = tuple(work("mow", -k, amount=3.6, unit="mm") for k in range(30))
    assert {w.amount for run in runs_of(record(*flat)) for w in run} == {3.6}


def test_a_fortnight_without_cuts_leaves_no_grass_uncut() -> None:
    # Frost kept everybody off until ten days ago; since then a cut a day.
    thawed = tuple(work("mow", -k, amount=3.6, unit="mm") for k in range(10))
    other = tuple(work("roll", -k) for k in range(10, 40, 3))
    held = record(*thawed, *other)
    cuts = {(w.date - MONDAY).days for w in coming_work(held, 14).usual if w.practice == "mow"}
    runs = runs_of(held)
    assert cuts == set(range(1, 15)) and len(runs) > 2
    assert all(set(ahead(run, "mow")) == cuts for run in runs)


def test_heights_that_nobody_wrote_stay_as_they_are() -> None:
    cuts = tuple(work("mow", -k) for k in range(30))
    assert {w.amount for run in runs_of(record(*cuts)) for w in run} == {None}


def test_no_height_is_supposed_under_the_lowest() -> None:
    cuts = tuple(work("mow", -k, amount=2.1 + 0.2 * (k // 7), unit="mm") for k in range(30))
    assert min(w.amount for run in runs_of(record(*cuts)) for w in run) == LOWEST_MM


def test_nothing_is_done_on_closed_days() -> None:
    day = MONDAY + timedelta(days=4)
    shut = CalendarEntry(start=day, end=day, name="Closed", kind="closure")
    for run in runs_of(record(*HABIT, calendar=(shut,))):
        assert day not in {w.date for w in run}


def test_planned_work_of_the_past_is_no_habit() -> None:
    dreamt = tuple(replace(w, status="planned") for w in HABIT if w.practice == "roll")
    rest = tuple(w for w in HABIT if w.practice != "roll")
    assert all(ahead(run, "roll") == [] for run in runs_of(record(*rest, *dreamt)))


def test_a_young_record_offers_no_choice() -> None:
    young = tuple(w for w in HABIT if w.date > MONDAY - timedelta(days=10))
    assert runs_of(record(*young)) == () == runs_of(record())
