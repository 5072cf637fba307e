"""Leafing through a file: pages, greens, kinds, newest first."""

from __future__ import annotations

from datetime import date, time

import pytest

from greenwright import record
from greenwright.base.errors import BadInput
from tests.record.made import load, parsed, roll


def values(store: record.Store, **choice: object) -> list[float]:
    rows, _ = record.browse(store, "readings", course=None, **choice)
    return [row.fields["value"] for row in rows]


@pytest.fixture
def shelf(store: record.Store) -> record.Store:
    days = [roll(2.0 + d / 10, date=date(2026, 6, d), time=time(7)) for d in (1, 2, 3, 4)]
    later = roll(3.0, date=date(2026, 6, 2), time=time(9), green="2", kind="green_speed")
    load(store, parsed("readings", *days, later))
    greens = [{"green": g, "group": "A" if g != "3" else "B"} for g in ("1", "2", "3")]
    named = ["1", "2;3", "all", "A", "B", "12"]
    work = [{"date": date(2026, 6, 1), "green": g, "practice": "mow"} for g in named]
    load(store, parsed("greens", *greens), parsed("work", *work))
    return store


def test_newest_come_first_and_pages_follow_each_other(shelf: record.Store) -> None:
    assert values(shelf) == [2.4, 2.3, 3.0, 2.2, 2.1]
    assert values(shelf, newest_first=False) == [2.1, 2.2, 3.0, 2.3, 2.4]
    assert values(shelf, limit=2) + values(shelf, limit=3, offset=2) == values(shelf)
    assert record.browse(shelf, "readings", course=None, limit=1)[1] == 5


def test_a_green_or_a_kind_is_picked(shelf: record.Store) -> None:
    assert values(shelf, green="2") == [3.0]
    assert values(shelf, kind="roll_distance", limit=1) == [2.4]
    assert record.browse(shelf, "readings", course=None, green="2", kind="moisture") == ((), 0)


@pytest.mark.parametrize(
    ("green", "expected"),
    [("1", {"1", "all", "A"}), ("2", {"2;3", "all", "A"}), ("3", {"2;3", "all", "B"})],
)
def test_work_on_a_green_counts_groups_and_lists(
    shelf: record.Store, green: str, expected: set[str]
) -> None:
    rows, total = record.browse(shelf, "work", course=None, green=green, kind="mow")
    assert {row.fields["green"] for row in rows} == expected and total == 3


def test_each_row_says_how_often_it_was_revised(shelf: record.Store) -> None:
    load(shelf, parsed("readings", roll(2.9, date=date(2026, 6, 4), time=time(7))))
    rows, _ = record.browse(shelf, "readings", course=None, limit=2)
    assert [(r.revision_count, r.fields["value"]) for r in rows] == [(2, 2.9), (1, 2.3)]


def test_files_without_a_date_are_leafed_through_too(shelf: record.Store) -> None:
    rows, total = record.browse(shelf, "greens", course=None, newest_first=False)
    assert [row.fields["green"] for row in rows] == ["1", "2", "3"] and total == 3


@pytest.mark.parametrize(
    ("file", "choice"),
    [("rounds", {"green": "1"}), ("rounds", {"kind": "x"}), ("lab", {"limit": -1})],
)
def test_what_a_file_cannot_be_chosen_by_is_said(
    shelf: record.Store, file: str, choice: dict
) -> None:
    with pytest.raises(BadInput):
        record.browse(shelf, file, course=None, **choice)
