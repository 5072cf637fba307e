"""The question today reads only the recent record, and answers as from the whole of it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from greenwright import desk
from greenwright.base.errors import CannotAnswer
from greenwright.desk import books
from greenwright.desk.questions import today
from greenwright.record import Store, snapshot
from tests.desk.records import DAY, write_csv


def written(folder: Path, *read: tuple[tuple[str, float], tuple[int, ...]]) -> Path:
    """Write a record of two greens, each kind read so many days ago on both."""
    write_csv(folder, "course", "course,name\nheron,Heron\n")
    write_csv(folder, "greens", "green\n1\n2\n")
    rows = [
        f"{DAY - timedelta(days=ago)},{green},{kind},{value}"
        for (kind, value), days in read
        for ago in days
        for green in ("1", "2")
    ]
    return write_csv(folder, "readings", "\n".join(["date,green,kind,value", *rows]) + "\n")


@pytest.fixture
def old(tmp_path: Path) -> Iterator[Store]:
    """Speeds lately and long ago, moisture two years ago, a pest count of last year only."""
    folder = written(
        tmp_path / "files",
        (("green_speed", 2.7), (0, 3, 9, 200, 700)),
        (("moisture", 22.0), (640, 660, 730)),
        (("root_depth", 90.0), (300,)),
    )
    with books.open_book(tmp_path / "old.db", create=True) as store:
        books.load_paths(store, [folder], on=DAY, who="ana")
        yield store


def whole(store: Store, on: date) -> dict:
    made = today.of_record(snapshot(store, None, on=on), started=0.0).as_dict()
    return {k: v for k, v in made.items() if k not in ("made_by", "made_at")}


@pytest.mark.parametrize("later", [0, 100, 115, 125, 400])
def test_the_recent_record_answers_like_the_whole(old: Store, later: int) -> None:
    on = DAY + timedelta(days=later)
    answer = desk.today(old, on=on).as_dict()
    # Kept forecasts stand beside what the rows say; here none was given.
    assert answer.pop("ahead") == [] and answer.pop("ahead_made_on") is None
    assert {k: v for k, v in answer.items() if k not in ("made_by", "made_at")} == whole(old, on)


def test_counts_are_of_the_whole_record(old: Store) -> None:
    held = desk.today(old, on=DAY).as_dict()["record"]
    assert held["readings"] == 18  # by hand: (5 + 3 + 1) days on two greens


def test_a_quantity_last_read_years_ago_is_still_told(old: Store) -> None:
    rows = [r for r in desk.today(old, on=DAY).findings if r["quantity"] == "moisture"]
    assert rows[0]["last_read"] == DAY - timedelta(days=640)


def test_a_record_of_old_readings_that_nothing_is_made_of_is_not_called_empty(
    tmp_path: Path,
) -> None:
    folder = written(tmp_path / "files", (("root_depth", 90.0), (300,)))
    with books.open_book(tmp_path / "r.db", create=True) as store:
        books.load_paths(store, [folder], on=DAY, who="ana")
        answer = desk.today(store, on=DAY)
        assert answer.findings == ()
        assert answer.as_dict()["record"]["readings"] == 2
        with pytest.raises(CannotAnswer, match="no reading"):
            desk.today(store, on=DAY - timedelta(days=301))
