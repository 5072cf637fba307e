"""An answer of a day rests on what was known that day, whatever came in later."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from greenwright import desk
from greenwright.base.answer import Answer
from greenwright.desk import books
from greenwright.record import Store
from tests.desk.records import DAY, SMALL, write_csv

LATER = DAY + timedelta(days=3)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Store]:
    with books.open_book(tmp_path / "book.db", create=True) as store:
        books.load_paths(store, [SMALL], on=DAY)
        yield store


def timeless(answer: Answer) -> Answer:
    """Return an answer without the seconds it took."""
    return replace(answer, made_by={**answer.made_by, "seconds": 0.0})


NEWS = {
    "readings": "date,green,kind,value,unit\n2026-06-07,1,green_speed,2.9,m\n",
    "work": "date,green,practice,passes,status\n2026-06-07,all,roll,1,done\n",
    "weather": "date,kind,issued,t_min_c,t_max_c,rain_mm\n"
    "2026-06-07,observed,,8,15,12\n2026-06-09,forecast,2026-06-08,9,16,3\n",
    "rounds": "date,rounds\n2026-06-07,90\n",
    "feedback": "date,topic,count,asked\n2026-06-07,slow,4,no\n",
    "lab": "date,green,medium,depth_cm,extractant,analyte,value,unit\n"
    "2026-06-07,3,soil,10,mehlich-3,K,44,mg/kg\n",
}


@pytest.mark.parametrize("file", NEWS)
@pytest.mark.parametrize("question", ["today", "effects"])
def test_later_news_changes_nothing_earlier(
    book: Store, tmp_path: Path, file: str, question: str
) -> None:
    before = timeless(desk.ask(question, book, on=DAY))
    report = books.load_paths(book, [write_csv(tmp_path / "n", file, NEWS[file])], on=LATER)
    assert report.total.new == report.total.read > 0
    assert timeless(desk.ask(question, book, on=DAY)) == before


def test_later_news_changes_no_advice_of_the_day(book: Store, tmp_path: Path) -> None:
    before = timeless(desk.week(book, on=DAY))
    for file, text in NEWS.items():
        write_csv(tmp_path / "n", file, text)
    books.load_paths(book, [tmp_path / "n"], on=LATER)
    assert timeless(desk.week(book, on=DAY)) == before
    assert len(books.kept_answers(book, "week")) == 1
    assert desk.week(book, on=LATER).choices != before.choices


def test_a_later_reading_is_seen_from_its_day_on(book: Store, tmp_path: Path) -> None:
    books.load_paths(book, [write_csv(tmp_path / "n", "readings", NEWS["readings"])], on=LATER)
    seen = {
        day: desk.today(book, on=day).record["last_reading"]
        for day in (DAY, date(2026, 6, 6), date(2026, 6, 7), LATER)
    }
    assert list(seen.values()) == [DAY, DAY, date(2026, 6, 7), date(2026, 6, 7)]


def test_a_revised_value_holds_from_its_load_on(book: Store, tmp_path: Path) -> None:
    text = (SMALL / "targets.csv").read_text(encoding="utf-8").replace("2.75", "2.60")
    report = books.load_paths(book, [write_csv(tmp_path / "n", "targets", text)], on=LATER)
    assert report.total.revised == 1
    for day, low in ((DAY, 2.75), (LATER, 2.60)):
        row = next(r for r in desk.today(book, on=day).findings if r["green"] == "1")
        assert row["target"]["low"] == low


def test_a_row_may_say_itself_when_it_was_known(book: Store, tmp_path: Path) -> None:
    text = "date,green,kind,value,unit,entered_at\n2026-06-04,1,moisture,30,%,2026-06-07T08:00:00\n"
    books.load_paths(book, [write_csv(tmp_path / "n", "readings", text)], on=LATER)

    def last_read(day: date) -> date | None:
        rows = desk.today(book, on=day).findings
        return next(
            r["last_read"] for r in rows if (r["green"], r["quantity"]) == ("1", "moisture")
        )

    assert last_read(date(2026, 6, 6)) is None
    assert last_read(date(2026, 6, 7)) == date(2026, 6, 4)
