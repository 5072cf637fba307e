"""The record asked from a notebook: the same answers, as frames and as HTML."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
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


@pytest.mark.parametrize("question", ["today", "effects", "week"])
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


@pytest.mark.parametrize("question", ["today", "effects", "week"])
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
        book.ask("why", on=DAY)


def test_a_book_says_whose_it_is(book: gw.Book) -> None:
    assert repr(book) == "Book of Heron Fen"
