"""The record asked from a notebook: the same answers, as frames and as HTML."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, datetime
from html.parser import HTMLParser
from pathlib import Path

import jsonschema
import pandas as pd
import pytest

import greenwright.notebook as gw
from greenwright.base.answer import answer_schema
from greenwright.base.errors import BadInput, CannotAnswer, StoreError, UnknownKey
from greenwright.desk import books

SMALL = Path(__file__).resolve().parents[1] / "data" / "record-small"
DAY = date(2026, 6, 5)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("notebook") / "small.db"
    with books.open_book(made, create=True) as store:
        books.load_paths(store, [SMALL], on=DAY)
    return made


@pytest.fixture
def book(path: Path) -> Iterator[gw.Book]:
    with gw.open(path) as opened:
        yield opened


class Tags(HTMLParser):
    """Counts what is open and what was seen."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.seen.append(tag)
        self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_a_day_may_be_text_or_a_date(book: gw.Book) -> None:
    assert book.today(on="2026-06-05").answer.findings == book.today(on=DAY).answer.findings
    with pytest.raises(BadInput, match="2026-06-05"):
        book.today(on="5 June")


@pytest.mark.parametrize("question", ["today", "golfers", "effects", "week"])
def test_json_is_that_of_every_other_face(book: gw.Book, question: str) -> None:
    result = book.ask(question, on=DAY)
    shape = json.loads(result.json())
    jsonschema.validate(shape, answer_schema())
    assert shape["question"] == question


def test_each_question_has_its_method(book: gw.Book) -> None:
    for question in ("today", "effects", "week"):
        assert getattr(book, question)(on=DAY).answer.question == question


def test_the_table_holds_a_row_for_each_finding(book: gw.Book) -> None:
    result = book.today(on=DAY)
    table = result.table
    assert isinstance(table, pd.DataFrame) and len(table) == len(result.answer.findings)
    speed = table.query("quantity == 'green_speed' and green == '1'").iloc[0]
    finding = next(f for f in result.answer.findings if f["green"] == "1")
    assert speed["estimate"] == finding["estimate"].value
    assert speed["estimate_low"] < speed["estimate"] < speed["estimate_high"]
    assert speed["estimate_unit"] == "m" and speed["change_7d_sd"] > 0


def test_the_table_of_a_plan_holds_its_choices(book: gw.Book) -> None:
    result = book.week(on=DAY)
    assert list(result.table["practice"]) == [c["practice"] for c in result.answer.choices]


@pytest.mark.parametrize("question", ["today", "golfers", "effects", "week"])
def test_html_is_whole_and_says_what_the_words_say(book: gw.Book, question: str) -> None:
    result = book.ask(question, on=DAY)
    html, tags = result._repr_html_(), Tags()
    tags.feed(html)
    assert tags.open == [] and {"h3", "p"} <= set(tags.seen)
    heading = str(result).splitlines()[0]
    assert heading in html and str(result) == repr(result)


def test_html_escapes_what_people_wrote(tmp_path: Path) -> None:
    folder = tmp_path / "r"
    folder.mkdir()
    (folder / "course.csv").write_text("course,name\nx,<b>Fen</b>\n", encoding="utf-8")
    (folder / "greens.csv").write_text("green\n<i>1</i>\n2\n", encoding="utf-8")
    rows = "date,green,kind,value,unit\n2026-06-05,<i>1</i>,green_speed,9.5,ft\n"
    (folder / "readings.csv").write_text(rows, encoding="utf-8")
    with books.open_book(tmp_path / "x.db", create=True) as store:
        books.load_paths(store, [folder], on=DAY)
    with gw.open(tmp_path / "x.db") as opened:
        html = opened.today(on=DAY)._repr_html_()
    assert "<i>1</i>" not in html and "<b>Fen" not in html


def test_reckoning_speaks_the_course_s_units(book: gw.Book) -> None:
    got = book.reckon("two-way-speed", up="8ft", down="12ft")
    assert got.result["level_speed"].number == pytest.approx(2.92608)  # by hand: 2·8·12/20 ft
    assert got.display["level_speed"] == "9'7\""  # by hand: 9.6 ft is 115.2 in


def test_what_cannot_be_opened_is_named(tmp_path: Path, path: Path) -> None:
    with pytest.raises(StoreError, match=r"none\.db"):
        gw.open(tmp_path / "none.db")
    with pytest.raises(CannotAnswer, match="heron"):
        gw.open(path, course="elsewhere")


def test_a_later_question_is_named(book: gw.Book) -> None:
    with pytest.raises(UnknownKey, match="not in this version"):
        book.ask("check", on=DAY)


def test_a_book_says_whose_it_is(book: gw.Book) -> None:
    assert repr(book) == "Book of Heron Fen"


def test_a_closed_book_answers_no_more(path: Path) -> None:
    book = gw.open(path)
    book.close()
    book.close()
    for ask in (book.today, book.effects, book.week):
        with pytest.raises(StoreError, match="closed"):
            ask(on=DAY)
    with gw.open(path) as again:
        assert again.today(on=DAY).answer.findings
    with pytest.raises(StoreError, match="Heron Fen"):
        again.today(on=DAY)


@pytest.mark.parametrize("on", ["", "5 June", "2026-06-31", "2026-06-05T09:00", 5, "0001-01-01"])
def test_what_is_no_day_is_refused(book: gw.Book, on: object) -> None:
    with pytest.raises(BadInput):
        book.today(on=on)


def test_a_moment_is_taken_as_its_day(book: gw.Book) -> None:
    assert book.today(on=datetime(2026, 6, 5, 23, 59)).answer.as_of == DAY


COLUMNS = {
    "today": {"green", "quantity", "estimate", "in_target", "last_read", "change_7d_low"},
    "effects": {"practice", "outcome", "horizon_days", "prior_sd", "here", "here_unit"},
    "week": {"date", "greens", "practice", "amount", "unit", "labour_h", "reason", "confidence"},
}


@pytest.mark.parametrize("question", COLUMNS)
def test_tables_have_the_columns_that_answers_promise(book: gw.Book, question: str) -> None:
    table = book.ask(question, on=DAY).table
    assert COLUMNS[question] <= set(table.columns)
    named = [name for name in table.columns if name.endswith(("_low", "_high", "_sd", "_unit"))]
    assert {name.rsplit("_", 1)[0] for name in named} <= set(table.columns) | {"between_greens"}


@pytest.mark.parametrize("question", ["today", "effects"])
def test_a_table_holds_the_very_numbers_of_the_answer(book: gw.Book, question: str) -> None:
    result = book.ask(question, on=DAY)
    name = "estimate" if question == "today" else "here"
    for (_, row), finding in zip(result.table.iterrows(), result.answer.findings, strict=True):
        held = finding[name]
        ends = (held.value, held.sd, held.low, held.high)
        assert tuple(row[f"{name}{end}"] for end in ("", "_sd", "_low", "_high")) == ends
        assert row[f"{name}_unit"] == held.unit


def test_the_plan_stands_in_the_html_day_by_day(book: gw.Book) -> None:
    result = book.week(on=DAY)
    html = result._repr_html_()
    days = [part.split("</h4>")[0] for part in html.split("<h4>")]
    assert "Saturday 6 June" in " ".join(days) and "Friday 12 June" in " ".join(days)
    for choice in result.answer.choices:
        label = {"mow": "Mow", "roll": "Roll", "topdress": "Topdress"}[choice["practice"]]
        assert f"<li>{label}" in html
    assert "Leave the work if" in html and "Thunder" in html


def test_results_print_the_short_words(book: gw.Book) -> None:
    result = book.week(on=DAY)
    assert len(str(result).splitlines()) < 90 < len(result._repr_html_().split("<"))


@pytest.mark.parametrize(
    ("name", "inputs", "error", "says"),
    [
        ("two-way", {}, UnknownKey, "two-way-speed"),
        ("two-way-speed", {"up": "8ft"}, BadInput, "down is missing"),
        ("two-way-speed", {"up": "8 kg", "down": "9ft"}, BadInput, "turns into m"),
    ],
)
def test_slips_in_the_reckoner_are_told(
    book: gw.Book, name: str, inputs: dict[str, str], error: type[Exception], says: str
) -> None:
    with pytest.raises(error, match=says):
        book.reckon(name, **inputs)


def test_a_folder_is_no_record(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="folder"):
        gw.open(tmp_path)
