"""Keeping the record through the desk: entering, correcting, withdrawing, making the demo."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from greenwright import desk
from greenwright.base.errors import BadInput, CannotAnswer, RefusedInput, StoreError, UnknownKey
from greenwright.desk import books
from greenwright.desk.cells import as_cells
from greenwright.record import Store
from tests.desk.records import DAY, SMALL, load_small

SPEED = {"date": "2026-06-05", "green": "2", "kind": "green_speed", "value": "9'0\"", "n": "6"}


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Store]:
    load_small(tmp_path / "book.db")
    with books.open_book(tmp_path / "book.db") as store:
        yield store


def speeds(book: Store) -> list:
    rows, _ = books.browse(book, "readings", kind="green_speed", green="2")
    return list(rows)


def browse_total(book: Store) -> int:
    return books.browse(book, "readings", kind="roll_distance", green="2")[1]


def test_a_typed_row_is_kept(book: Store) -> None:
    before = len(speeds(book))
    report = books.enter(book, "readings", {**SPEED, "time": "08:00"}, on=DAY, who="kim")
    assert (report.total.kept, report.total.new, report.total.refused) == (1, 1, 0)
    newest = speeds(book)[0]
    assert len(speeds(book)) == before + 1
    assert newest.fields["value"] == pytest.approx(2.7432)  # by hand: 9 x 0.3048
    assert newest.fields["given"] == "9'0\""
    history = books.revisions(book, "readings", newest.id)
    assert [state.who for state in history] == ["kim"]


def test_two_equal_rolls_in_one_minute_are_two_rolls(book: Store) -> None:
    roll = {"date": "2026-06-05", "time": "06:50", "green": "2", "kind": "roll_distance"}
    before = browse_total(book)
    for metres in ("2.44", "2.44", "2.47"):
        report = books.enter(book, "readings", {**roll, "value": metres}, on=DAY)
        assert report.total.new == 1
    assert browse_total(book) == before + 3
    once = {**roll, "value": "2.5", "id": "6f1c1b0e-3c58-4f5e-9a52-0d6f5f8f3c11"}
    reports = [books.enter(book, "readings", once, on=DAY).total for _ in range(2)]
    assert [r.new for r in reports] == [1, 0]  # the same form sent twice is one reading


def test_a_slip_in_a_form_is_reported_and_nothing_kept(book: Store) -> None:
    before = len(speeds(book))
    report = books.enter(book, "readings", {**SPEED, "value": "29"}, on=DAY)
    assert report.total.refused == 1 and report.refusals[0].column == "value"
    assert len(speeds(book)) == before


def test_tomorrow_s_reading_is_refused_today(book: Store) -> None:
    late = {**SPEED, "date": (DAY + timedelta(days=1)).isoformat()}
    assert books.enter(book, "readings", late, on=DAY).refusals[0].column == "date"
    assert books.enter(book, "readings", late, on=DAY + timedelta(days=1)).total.kept == 1


def test_a_correction_keeps_what_it_does_not_name(book: Store) -> None:
    row = speeds(book)[0]
    made = books.correct(
        book, "readings", row.id, {"value": "2.5"}, who="kim", why="misread", on=DAY
    )
    assert made.number == 2 and (made.who, made.why) == ("kim", "misread")
    now = speeds(book)[0].fields
    assert now["value"] == 2.5
    assert {k: now[k] for k in ("date", "green", "n", "observer")} == {
        k: row.fields[k] for k in ("date", "green", "n", "observer")
    }
    assert len(books.revisions(book, "readings", row.id)) == 2


def test_a_correction_can_empty_a_cell(book: Store) -> None:
    row = speeds(book)[0]
    assert row.fields["observer"] == "ana"
    books.correct(book, "readings", row.id, {"observer": ""}, who="kim", why="unknown", on=DAY)
    assert not speeds(book)[0].fields.get("observer")


def test_a_correction_in_feet_is_stored_in_metres(book: Store) -> None:
    row = speeds(book)[0]
    cells = {"value": "8'6\"", "unit": ""}
    books.correct(book, "readings", row.id, cells, who="kim", why="in feet", on=DAY)
    assert speeds(book)[0].fields["value"] == pytest.approx(2.5908)  # by hand: 8.5 x 0.3048
    state = books.revisions(book, "readings", row.id)[-1]
    assert as_cells("readings", state.fields)["value"] == "8'6\""


@pytest.mark.parametrize(
    ("cells", "why", "error"),
    [
        ({"value": "29"}, "typed", RefusedInput),
        ({"green": "9"}, "typed", RefusedInput),
        ({"value": ""}, "typed", RefusedInput),
        ({"value": "2.5"}, "", BadInput),
    ],
)
def test_a_correction_must_stand(
    book: Store, cells: dict[str, str], why: str, error: type[Exception]
) -> None:
    row = speeds(book)[0]
    with pytest.raises(error):
        books.correct(book, "readings", row.id, cells, who="kim", why=why, on=DAY)
    assert speeds(book)[0].fields == row.fields


def test_an_unknown_row_is_named(book: Store) -> None:
    with pytest.raises(UnknownKey, match="no row"):
        books.correct(book, "readings", "nothing", {}, why="x", on=DAY)
    with pytest.raises(UnknownKey, match="no row"):
        books.withdraw(book, "readings", "nothing", why="x", on=DAY)


def test_a_withdrawn_row_is_out_of_use_and_can_come_back(book: Store) -> None:
    row, before = speeds(book)[0], len(speeds(book))
    books.withdraw(book, "readings", row.id, who="kim", why="wrong green", on=DAY)
    assert len(speeds(book)) == before - 1
    assert len(books.revisions(book, "readings", row.id)) == 2
    books.correct(book, "readings", row.id, {}, who="kim", why="right after all", on=DAY)
    assert len(speeds(book)) == before


def test_the_answer_moves_with_a_correction_and_not_before_it(book: Store) -> None:
    row, later = speeds(book)[0], DAY + timedelta(days=1)
    old = desk.today(book, on=DAY).findings
    books.correct(book, "readings", row.id, {"value": "3.0"}, who="kim", why="misread", on=later)
    assert desk.today(book, on=DAY).findings == old
    assert desk.today(book, on=later).findings != old


def test_loads_are_remembered_with_what_they_refused(book: Store) -> None:
    (load,) = books.loads(book)
    assert load.who == "ana" and len(load.refusals) == 13  # counted in expected.json


def test_a_book_knows_its_course(book: Store, tmp_path: Path) -> None:
    assert books.course_of(book).name == "Heron Fen"
    assert books.course_of(book, "heron").setting == "member"
    with pytest.raises(CannotAnswer, match="heron"):
        books.course_of(book, "other")
    with (
        books.open_book(tmp_path / "empty.db", create=True) as empty,
        pytest.raises(CannotAnswer, match="no course"),
    ):
        books.course_of(empty)


def test_today_is_the_course_s_day(book: Store) -> None:
    assert abs((books.today(book) - date.today()).days) <= 1


def test_a_record_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(StoreError):
        books.open_book(tmp_path / "none.db")
    assert not list(tmp_path.iterdir())


def test_export_gives_the_rows_back(book: Store, tmp_path: Path) -> None:
    books.export(book, tmp_path / "out")
    with books.open_book(tmp_path / "again.db", create=True) as again:
        report = books.load_paths(again, [tmp_path / "out"], on=DAY)
        assert report.total.refused == 0
        assert desk.today(again, on=DAY).findings == desk.today(book, on=DAY).findings


def test_a_backup_is_sound_and_counts_its_rows(book: Store, tmp_path: Path) -> None:
    assert books.audit(book) == ()
    assert books.backup(book, tmp_path / "copy.db") > 96  # the rows kept, and the books' own
    assert books.restore(tmp_path / "copy.db", tmp_path / "back.db") is None
    with books.open_book(tmp_path / "back.db") as back:
        assert books.audit(back) == ()
        assert desk.today(back, on=DAY).findings == desk.today(book, on=DAY).findings


def test_a_demo_is_not_made_over_a_file(tmp_path: Path) -> None:
    (tmp_path / "there.db").write_text("mine")
    with pytest.raises(BadInput, match="exists already"):
        books.make_demo(tmp_path / "there.db", on=DAY)
    assert (tmp_path / "there.db").read_text() == "mine"


def test_an_unread_file_is_named(book: Store) -> None:
    report = books.load_paths(book, [SMALL], on=DAY, dry_run=True)
    assert {Path(name).name for name in report.ignored} == {"README.md", "expected.json"}
    assert report.load_id is None and report.total.new == 0
