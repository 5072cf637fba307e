"""What was known on a day: first states by rule, revisions from their load on."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from greenwright import record
from greenwright.base.errors import CannotAnswer
from greenwright.record.knowing import ALWAYS, known_dates
from greenwright.record.layout import layout, stored_columns
from tests.record.made import DAY, WHO, course, load, parsed, readings, roll

FIRST = date(2026, 6, 1)


def known(name: str, **row: object) -> str:
    return known_dates(layout(name), stored_columns(layout(name), [row]))[0]


@pytest.mark.parametrize(
    ("name", "row", "expected"),
    # The record format, "When it was known".
    [
        ("readings", {"date": FIRST}, "2026-06-01"),
        ("readings", {"date": FIRST, "entered_at": datetime(2026, 6, 3, 9)}, "2026-06-03"),
        ("work", {"date": FIRST}, "2026-06-01"),
        ("work", {"date": FIRST, "status": "done"}, "2026-06-01"),
        ("work", {"date": FIRST, "status": "planned"}, ALWAYS),
        ("work", {"date": FIRST, "status": "declined"}, ALWAYS),
        ("weather", {"date": FIRST}, "2026-06-01"),
        ("weather", {"date": FIRST, "kind": "observed", "issued": DAY}, "2026-06-01"),
        (
            "weather",
            {"date": FIRST, "kind": "forecast", "issued": date(2026, 5, 30)},
            "2026-05-30",
        ),
        ("weather", {"date": FIRST, "kind": "forecast"}, "2026-06-01"),
        ("weather", {"date": FIRST, "kind": "typical"}, ALWAYS),
        ("lab", {"date": FIRST}, "2026-06-01"),
        ("rounds", {"date": FIRST}, "2026-06-01"),
        ("feedback", {"date": FIRST}, "2026-06-01"),
        ("calendar", {"start": FIRST}, ALWAYS),
        ("targets", {"from_": FIRST}, ALWAYS),
        ("crew", {}, ALWAYS),
        ("limits", {"entered_at": datetime(2026, 6, 3, 9)}, "2026-06-03"),
        ("greens", {}, ALWAYS),
    ],
)
def test_since_when_a_first_state_is_known(name: str, row: dict, expected: str) -> None:
    assert known(name, **row) == expected


def test_the_day_before_does_not_see_the_day(small: record.Store) -> None:
    # expected.json of the small record: "--on 2026-06-04 must not see rows dated 2026-06-05".
    seen = record.snapshot(small, None, on=date(2026, 6, 4))
    dated = [*seen.readings, *seen.rounds, *seen.feedback]
    assert dated and max(row.date for row in dated) <= date(2026, 6, 4)
    done = [w.date for w in seen.work if w.status == "done"]
    assert done and max(done) <= date(2026, 6, 4)
    observed = [w.date for w in seen.weather if w.kind == "observed"]
    assert observed and max(observed) <= date(2026, 6, 4)
    assert len(readings(small, DAY)) > len(seen.readings)


def test_forecasts_are_seen_from_their_issue_on(store: record.Store) -> None:
    coming = {"date": date(2026, 6, 9), "kind": "forecast", "t_max_c": 21.0}
    load(store, parsed("weather", coming | {"issued": FIRST}, coming | {"issued": DAY}))
    assert len(record.snapshot(store, None, on=date(2026, 5, 31)).weather) == 0
    assert len(record.snapshot(store, None, on=FIRST).weather) == 1
    assert len(record.snapshot(store, None, on=DAY).weather) == 2


def test_a_revision_is_known_from_its_load(store: record.Store) -> None:
    load(store, parsed("readings", roll(2.4)), today=FIRST)
    load(store, parsed("readings", roll(2.6)), today=date(2026, 6, 3))
    load(store, parsed("readings", roll(2.8)), today=DAY)
    seen = {d: readings(store, date(2026, 6, d))[0].value for d in (1, 2, 3, 4, 5, 9)}
    assert seen == {1: 2.4, 2: 2.4, 3: 2.6, 4: 2.6, 5: 2.8, 9: 2.8}
    assert readings(store, date(2026, 5, 31)) == ()


def test_of_revisions_known_by_a_day_the_last_one_counts(store: record.Store) -> None:
    # A load "on" an earlier day than the load before it: number 3 is known before number 2.
    load(store, parsed("readings", roll(2.4)), today=FIRST)
    load(store, parsed("readings", roll(2.6)), today=DAY)
    load(store, parsed("readings", roll(2.8)), today=date(2026, 6, 3))
    assert readings(store, date(2026, 6, 2))[0].value == 2.4
    assert readings(store, date(2026, 6, 3))[0].value == 2.8
    assert readings(store, DAY)[0].value == 2.8


def test_a_row_first_known_later_is_unseen_even_when_revised_before(store: record.Store) -> None:
    late = {"entered_at": datetime(2026, 6, 9, 7)}
    load(store, parsed("readings", roll(2.4, **late)), today=date(2026, 6, 9))
    load(store, parsed("readings", roll(2.6, **late)), today=date(2026, 6, 3))
    assert readings(store, DAY) == ()
    assert readings(store, date(2026, 6, 9))[0].value == 2.6


def test_a_withdrawn_row_was_there_before(store: record.Store) -> None:
    load(store, parsed("readings", roll(2.4)), today=FIRST)
    row_id = readings(store)[0].id
    record.withdraw(store, "readings", row_id, course=None, why="wrong green", **WHO)
    assert [r.value for r in readings(store, date(2026, 6, 4))] == [2.4]
    assert readings(store, DAY) == ()


def test_planned_work_that_was_done_is_planned_until_it_was_written(store: record.Store) -> None:
    mow = {"date": date(2026, 6, 4), "green": "all", "practice": "mow", "amount": 3.5}
    load(store, parsed("work", mow | {"status": "planned"}), today=FIRST)
    load(store, parsed("work", mow | {"status": "done"}), today=DAY)
    states = [record.snapshot(store, None, on=FIRST + timedelta(d)).work[0].status for d in (0, 4)]
    assert states == ["planned", "done"]


def test_a_course_that_was_not_known_yet_cannot_be_asked(empty: record.Store) -> None:
    load(empty, course(entered_at=datetime(2026, 6, 3, 9)))
    with pytest.raises(CannotAnswer, match="nothing was known of 'heron' on 2026-06-02"):
        record.snapshot(empty, None, on=date(2026, 6, 2))
    assert record.snapshot(empty, None, on=DAY).course.course == "heron"
