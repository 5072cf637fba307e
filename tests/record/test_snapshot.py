"""The snapshot: order, windows, courses apart, and what a reader of files should know."""

from __future__ import annotations

import random
from datetime import date, time

import pytest

from greenwright import record
from greenwright.base.errors import CannotAnswer
from greenwright.base.values import Known
from tests.record.made import DAY, WHO, course, load, parsed, readings, roll


def test_greens_stand_in_playing_order(store: record.Store) -> None:
    greens = [
        {"green": "10"},
        {"green": "PG"},
        {"green": "3", "order": 2},
        {"green": "12", "order": 1},
        {"green": "9"},
    ]
    load(store, parsed("greens", *greens))
    seen = record.snapshot(store, None, on=DAY).greens
    assert [g.green for g in seen] == ["12", "3", "9", "10", "PG"]


def test_stations_stand_by_green_and_name(store: record.Store) -> None:
    pairs = [("10", "B"), ("2", "C"), ("2", "A"), ("10", "A")]
    load(store, parsed("stations", *({"green": g, "station": s} for g, s in pairs)))
    seen = record.snapshot(store, None, on=DAY).stations
    assert [(s.green, s.station) for s in seen] == [
        ("2", "A"),
        ("2", "C"),
        ("10", "A"),
        ("10", "B"),
    ]


def test_readings_stand_by_date_and_time_however_they_came(store: record.Store) -> None:
    days = [date(2026, 6, d) for d in (1, 2, 3)]
    rows = [
        roll(2.5 + n / 10, date=d, time=t, green=g)
        for d in days
        for t in (None, time(6), time(7, 30))
        for g in ("1", "2")
        for n in (0, 1)
    ]
    shuffled = random.Random(3).sample(rows, len(rows))
    for row in shuffled:
        load(store, parsed("readings", row, row))
    seen = [(r.date, r.time or time.min, r.green) for r in readings(store)]
    assert len(seen) == 36 and seen == sorted(seen)


def test_the_order_is_the_same_from_two_stores(store: record.Store, tmp_path) -> None:
    rows = [roll(2.4 + i / 100, observer=f"o{i % 3}") for i in range(12)]
    load(store, parsed("readings", *rows))
    with record.open_store(tmp_path / "other.db", create=True) as other:
        load(other, course())
        by_one = [o for i in range(3) for o in rows[i::3]]
        load(other, parsed("readings", *by_one))
        assert readings(other) == readings(store)


def test_since_leaves_out_what_is_older_of_dated_files_only(store: record.Store) -> None:
    days = [date(2026, 5, 1), date(2026, 6, 1), date(2026, 6, 2)]
    load(
        store,
        parsed("readings", *(roll(date=d) for d in days)),
        parsed("work", *({"date": d, "green": "1", "practice": "mow"} for d in days)),
        parsed("weather", *({"date": d, "t_max_c": 20.0} for d in days)),
        parsed("rounds", *({"date": d, "rounds": 60.0} for d in days)),
        parsed("feedback", *({"date": d, "topic": "slow", "count": 1} for d in days)),
        parsed("lab", *({"date": d, "medium": "soil", "analyte": "K", "value": 5.0} for d in days)),
        parsed("calendar", *({"start": d, "name": "Cup", "kind": "event"} for d in days)),
    )
    seen = record.snapshot(store, None, on=DAY, since=date(2026, 6, 1))
    counts = [len(getattr(seen, n)) for n in ("readings", "work", "weather", "rounds", "feedback")]
    assert counts == [2] * 5
    assert (len(seen.lab), len(seen.calendar)) == (3, 3)


def test_since_holds_for_rows_revised_later_too(store: record.Store) -> None:
    old, young = roll(2.4, date=date(2026, 5, 1)), roll(2.4)
    load(store, parsed("readings", old, young), today=date(2026, 6, 2))
    load(store, parsed("readings", old | {"value": 3.0}, young | {"value": 3.0}))
    seen = readings(store, date(2026, 6, 3), since=date(2026, 6, 1))
    assert [(r.date, r.value) for r in seen] == [(date(2026, 6, 1), 2.4)]
    assert [r.value for r in readings(store, since=date(2026, 6, 1))] == [3.0]


def test_two_courses_never_meet(store: record.Store) -> None:
    load(store, course("otter"), parsed("greens", {"green": "1"}))
    load(store, parsed("greens", {"green": "1"}, {"green": "2"}), course="heron")
    load(store, parsed("readings", roll(2.4)), course="heron")
    load(store, parsed("readings", roll(3.1)), course="otter")
    assert [c.course for c in record.courses(store)] == ["heron", "otter"]
    assert [r.value for r in readings(store, course="heron")] == [2.4]
    assert [r.value for r in readings(store, course="otter")] == [3.1]
    assert record.browse(store, "readings", course="otter")[1] == 1
    assert len(record.loads(store, course="otter")) == 2
    assert record.known(store, "otter").greens == ("1",)
    assert record.audit(store) == ()


def test_one_of_several_courses_must_be_named(store: record.Store) -> None:
    load(store, course("otter"))
    with pytest.raises(CannotAnswer, match=r"several courses.*heron, otter"):
        record.snapshot(store, None, on=DAY)
    with pytest.raises(CannotAnswer, match="no course 'crane'"):
        record.snapshot(store, "crane", on=DAY)
    with pytest.raises(CannotAnswer, match="several courses"):
        load(store, parsed("readings", roll()))


def test_an_empty_store_has_no_course(empty: record.Store) -> None:
    assert record.courses(empty) == ()
    assert record.known(empty, None) == Known()
    with pytest.raises(CannotAnswer, match="no course yet"):
        record.snapshot(empty, None, on=DAY)


def test_what_a_reader_of_files_should_know(small: record.Store) -> None:
    # greens.csv and stations.csv of the small record.
    expected = Known("heron", ("1", "2", "3"), ("A", "B"), (("1", "C"), ("2", "C"), ("3", "C")))
    assert record.known(small, None) == expected
    assert record.known(small, "crane") == Known("crane")


def test_a_withdrawn_green_is_no_longer_known(small: record.Store) -> None:
    green = record.snapshot(small, None, on=DAY).greens[0]
    record.withdraw(small, "greens", green.id, course=None, why="gone", **WHO)
    assert record.known(small, None).greens == ("2", "3")
