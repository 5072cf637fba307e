"""What was known on each day, through entries, corrections, withdrawals and returns."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from greenwright import desk
from greenwright.base.errors import BadInput
from greenwright.desk import books
from greenwright.record import Store
from tests.desk.records import DAY, SMALL, write_csv


def after(days: int) -> date:
    return DAY + timedelta(days=days)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Store]:
    with books.open_book(tmp_path / "book.db", create=True) as store:
        books.load_paths(store, [SMALL], on=DAY)
        yield store


def speed(book: Store, on: date, green: str = "1") -> float:
    rows = desk.today(book, on=on).findings
    found = (r for r in rows if (r["green"], r["quantity"]) == (green, "green_speed"))
    return next(found)["estimate"].value


def readings(book: Store, on: date) -> int:
    return desk.today(book, on=on).record["readings"]


def entered(book: Store, feet: float, on: date) -> str:
    cells = {"date": on.isoformat(), "green": "1", "kind": "green_speed", "value": f"{feet} ft"}
    report = books.enter(book, "readings", cells, on=on)
    assert report.total.new == 1
    rows, _ = books.browse(book, "readings", kind="green_speed", limit=1)
    return rows[0].id


def test_every_step_is_seen_from_its_own_day_on(book: Store) -> None:
    counted, first = readings(book, DAY), speed(book, DAY)
    row = entered(book, 10.0, after(1))
    books.correct(book, "readings", row, {"value": "7 ft", "unit": ""}, why="slip", on=after(2))
    books.withdraw(book, "readings", row, why="wrong green", on=after(3))
    books.correct(book, "readings", row, {}, why="right after all", on=after(4))
    # one reading more while it stands, none while it is withdrawn
    assert [readings(book, after(d)) - counted for d in range(5)] == [0, 1, 1, 0, 1]
    assert speed(book, DAY) == first
    # a reading of ten feet pulls the green up, one of seven pulls it down from there
    assert speed(book, after(1)) > first > 0
    assert speed(book, after(2)) < speed(book, after(1))
    history = books.revisions(book, "readings", row)
    assert [state.number for state in history] == [1, 2, 3, 4]


def test_corrections_of_corrections_keep_the_unit_that_was_typed(book: Store) -> None:
    row = entered(book, 9.5, after(1))
    for day, text, metres in ((2, "9'0\"", 2.7432), (3, "2.8 m", 2.8), (4, "110 in", 2.794)):
        typed = {"value": text, "unit": ""}
        books.correct(book, "readings", row, typed, why="again", on=after(day))
        (now,) = [r for r in books.browse(book, "readings", limit=99)[0] if r.id == row]
        # by hand: 9 x 0.3048; 110 x 0.0254
        assert now.fields["value"] == pytest.approx(metres) and now.fields["given"]


def test_work_taken_back_is_no_work(book: Store) -> None:
    cells = {"date": after(1).isoformat(), "green": "1", "practice": "roll", "passes": "1"}
    books.enter(book, "work", cells, on=after(1))
    rows, _ = books.browse(book, "work", kind="roll", limit=1)
    books.withdraw(book, "work", rows[0].id, why="rain", on=after(2))
    done = [desk.effects(book, on=after(d)).record["work"] for d in range(3)]
    assert done[1] - done[0] == 1 and done[2] == done[0]


@pytest.mark.parametrize("why", ["", "  "])
def test_nothing_is_taken_back_without_a_reason(book: Store, why: str) -> None:
    row = entered(book, 9.5, after(1))
    with pytest.raises(BadInput):
        books.withdraw(book, "readings", row, why=why, on=after(2))
    assert len(books.revisions(book, "readings", row)) == 1


@pytest.mark.parametrize("day", [date(1899, 12, 31), date(3000, 1, 1), date.min, date.max])
@pytest.mark.parametrize("question", desk.QUESTIONS_READY)
def test_days_that_no_record_speaks_of(book: Store, question: str, day: date) -> None:
    with pytest.raises(BadInput, match="1900 to 2999"):
        desk.ask(question, book, on=day)


# -- advice is kept once


def kept(book: Store, course: str | None = None) -> int:
    return len(books.kept_answers(book, "week", course=course))


def test_advice_is_kept_once_for_each_day_and_state_of_the_record(book: Store) -> None:
    for on, count in ((DAY, 1), (DAY, 1), (after(1), 2), (DAY, 2)):
        desk.week(book, on=on)
        assert kept(book) == count
    entered(book, 10.0, after(1))
    desk.week(book, on=DAY)  # knows nothing of the day after
    assert kept(book) == 2
    desk.week(book, on=after(1))
    assert kept(book) == 3


def test_other_questions_are_not_kept(book: Store) -> None:
    desk.today(book, on=DAY)
    desk.effects(book, on=DAY)
    assert kept(book) == 0 and books.kept_answers(book, "today") == ()


def test_what_was_kept_is_what_was_said(book: Store) -> None:
    said = desk.week(book, on=DAY)
    (held,) = books.kept_answers(book, "week")
    again = held.answer if hasattr(held, "answer") else held
    shape = again.as_dict() if hasattr(again, "as_dict") else dict(again)
    assert shape["choices"] == said.as_dict()["choices"]
    assert shape["plans"] == said.as_dict()["plans"]


# -- several courses in one record


@pytest.fixture
def two(book: Store, tmp_path: Path) -> Store:
    folder = write_csv(tmp_path / "marsh", "course", "course,name\nmarsh,Marsh End\n")
    write_csv(folder, "greens", "green\n1\n2\n")
    text = "date,green,kind,value,unit\n2026-06-05,1,green_speed,11,ft\n"
    write_csv(folder, "readings", text + "2026-06-05,2,green_speed,11,ft\n")
    report = books.load_paths(book, [folder], on=DAY, course="marsh")
    assert report.total.refused == 0
    return book


def test_courses_do_not_mix(two: Store) -> None:
    heron, marsh = (desk.today(two, on=DAY, course=key) for key in ("heron", "marsh"))
    assert {f["green"] for f in marsh.findings} == {"course", "1", "2"}
    assert (marsh.record["readings"], heron.record["readings"]) == (2, 30)  # expected.json: 30
    fast = next(f for f in marsh.findings if f["green"] == "1")["estimate"].value
    slow = next(f for f in heron.findings if f["green"] == "1")["estimate"].value
    assert fast > slow


@pytest.mark.parametrize("question", desk.QUESTIONS_READY)
def test_which_course_must_be_said(two: Store, question: str) -> None:
    with pytest.raises(Exception, match="several courses") as caught:
        desk.ask(question, two, on=DAY)
    assert "heron, marsh" in str(caught.value) and caught.value.exit_code == 1


def test_advice_is_kept_with_its_course(two: Store) -> None:
    desk.week(two, on=DAY, course="marsh")
    assert (kept(two, "marsh"), kept(two, "heron")) == (1, 0)


def test_one_course_s_news_leave_the_other_s_answer(two: Store) -> None:
    before = desk.today(two, on=after(1), course="heron").findings
    cells = {"date": "2026-06-06", "green": "1", "kind": "green_speed", "value": "7 ft"}
    books.enter(two, "readings", cells, on=after(1), course="marsh")
    assert desk.today(two, on=after(1), course="heron").findings == before


def test_each_course_has_its_own_books(two: Store) -> None:
    assert [c.course for c in books.courses(two)] == ["heron", "marsh"]
    assert books.course_of(two, "marsh").name == "Marsh End"
    assert books.browse(two, "readings", course="marsh")[1] == 2
    assert len(books.loads(two, course="marsh")) == 1
    assert books.audit(two) == ()
