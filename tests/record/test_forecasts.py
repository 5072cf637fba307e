"""Forecasts are kept as they were given, once, and the last one before its day stands."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from greenwright import record
from greenwright.record import ForecastRow, StoredForecast
from tests.record.made import DAY, NOW, course, load

MORNING = datetime(DAY.year, DAY.month, DAY.day, 6)


def row(ahead: int = 1, green: str = "1", **more: object) -> ForecastRow:
    held = ForecastRow(
        date=DAY + timedelta(days=ahead),
        green=green,
        quantity="green_speed",
        mean=2.9,
        sd=0.1,
        quantiles={"0.05": 2.7355, "0.5": 2.9, "0.95": 3.0645},
        unit="m",
        reading_sd=0.12,
        n=40,
        seen=2.91,
        seen_sd=0.16,
    )
    return replace(held, **more)


def keep(store: record.Store, *rows: ForecastRow, now: datetime = MORNING, **more: object) -> int:
    told = {"course": None, "made_on": DAY, "model": "forecast 1"} | more
    return record.keep_forecast(store, rows or (row(),), now=now, **told)


def held(store: record.Store, on: date = DAY, **more: object) -> tuple[StoredForecast, ...]:
    return record.forecasts(store, course=None, on=on, **more)


def test_a_forecast_comes_back_as_it_was_given(store: record.Store) -> None:
    rows = (
        row(1),
        row(2, mean=2.88),
        row(1, "course"),
        row(3, quantity="firmness", method="clegg"),
    )
    assert keep(store, *rows) == 4
    found = held(store)
    assert {one.row.date: one.row for one in found if one.row.quantity == "firmness"} == {
        DAY + timedelta(days=3): rows[3]
    }
    assert sorted(map(repr, (one.row for one in found))) == sorted(map(repr, rows))
    assert {(o.made_on, o.made_at, o.model) for o in found} == {
        (DAY, MORNING.isoformat(), "forecast 1")
    }
    assert [one.ahead for one in found if one.row.green == "1"] == [1, 2, 3]


def test_what_is_not_said_comes_back_as_not_said(store: record.Store) -> None:
    bare = row(seen=None, seen_sd=None, reading_sd=0.0, n=0, log=True)
    keep(store, bare)
    assert held(store)[0].row == bare


def test_the_same_forecast_is_kept_once(store: record.Store) -> None:
    assert keep(store, row(1), row(2)) == 2
    assert keep(store, row(1), row(2), now=NOW) == 0
    assert keep(store, row(2), row(3), now=NOW) == 1
    assert len(held(store)) == 3 and record.audit(store) == ()


def test_only_what_is_larger_than_noise_of_the_last_digits_is_another_forecast(
    store: record.Store,
) -> None:
    keep(store, row(mean=2.9))
    assert keep(store, row(mean=2.9 + 1e-9)) == 0
    assert keep(store, row(mean=2.9001)) == 1


def test_a_differing_one_is_a_later_revision_and_stands(store: record.Store) -> None:
    keep(store, row(1), row(2))
    assert keep(store, row(1), row(2, mean=3.1), now=NOW) == 1
    found = {one.row.date: one for one in held(store)}
    assert [found[DAY + timedelta(days=k)].row.mean for k in (1, 2)] == [2.9, 3.1]
    # Back to what was said first is said again, not silently dropped.
    assert keep(store, row(2), now=NOW) == 1
    assert {one.row.mean for one in held(store)} == {2.9}
    assert record.audit(store) == ()


def test_what_is_given_after_its_day_does_not_displace_what_was_given_before(
    store: record.Store,
) -> None:
    keep(store, row(1), row(5))
    keep(store, row(1, mean=9.9), row(5, mean=3.3), now=MORNING + timedelta(days=3))
    found = {one.ahead: one for one in held(store)}
    assert found[1].row.mean == 2.9 and found[1].in_time
    assert found[5].row.mean == 3.3 and found[5].in_time


def test_of_those_all_given_afterwards_the_last_stands_and_says_so(store: record.Store) -> None:
    for days, mean in ((40, 2.5), (41, 2.6)):
        keep(store, row(1, mean=mean), now=MORNING + timedelta(days=days))
    (one,) = held(store)
    assert one.row.mean == 2.6 and not one.in_time


def test_another_model_is_kept_beside_and_the_later_stands(store: record.Store) -> None:
    keep(store, row(1))
    assert keep(store, row(1), model="forecast 2", now=NOW) == 1
    (one,) = held(store)
    assert one.model == "forecast 2"


def test_each_day_has_its_own_and_later_days_are_not_seen_before(store: record.Store) -> None:
    later = DAY + timedelta(days=2)
    keep(store, row(3))
    keep(store, row(3, mean=3.0), made_on=later, now=MORNING + timedelta(days=2))
    assert [one.made_on for one in held(store)] == [DAY]
    assert [one.made_on for one in held(store, later)] == [DAY, later]
    assert [one.made_on for one in held(store, later, since=later)] == [later]


def test_only_what_is_asked_for_is_read(store: record.Store) -> None:
    keep(store, row(1), row(1, "course"), row(1, quantity="smoothness", unit="score"))
    assert len(held(store, quantity="smoothness")) == 1
    assert [one.row.green for one in held(store, green="course")] == ["course"]


def test_forecasts_of_courses_are_apart(store: record.Store) -> None:
    load(store, course("otter"))
    keep(store, course="heron")
    assert record.forecasts(store, course="otter", on=DAY) == ()
    assert len(record.forecasts(store, course="heron", on=DAY)) == 1


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        ("UPDATE forecast SET content = replace(content, '2.9', '2.8')", "was altered"),
        ("UPDATE forecast SET unit = 'ft'", "was altered"),
        ("UPDATE forecast SET number = 5 WHERE number = 2", "was altered"),
        ("DELETE FROM forecast WHERE number = 1", "a revision before 2 is missing"),
    ],
)
def test_the_audit_names_a_forecast_that_was_tampered_with(
    store: record.Store, damage: str, words: str
) -> None:
    keep(store, row(1))
    keep(store, row(1, mean=3.0))
    assert record.audit(store) == ()
    with closing(sqlite3.connect(store.path)) as raw:
        raw.executescript(
            f"DROP TRIGGER forecast_no_update; DROP TRIGGER forecast_no_delete;{damage}"
        )
    problems = record.audit(store)
    assert sum("guard forecast_no" in p for p in problems) == 2
    assert any(words in p for p in problems), problems


def test_a_season_of_forecasts_stays_small(store: record.Store) -> None:
    rows = [row(k, str(g)) for g in range(19) for k in range(1, 15)]
    keep(store, *rows)
    size = sum(len(one) for one in contents(store))
    # 266 rows of ten numbers of at most eight signs each
    assert size < 266 * 10 * 8


def contents(store: record.Store) -> list[str]:
    with store.reading() as conn:
        return list(conn.exec_driver_sql("SELECT content FROM forecast").scalars())
