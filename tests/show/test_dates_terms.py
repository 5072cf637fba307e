"""Dates, labels and lists of greens in words."""

from __future__ import annotations

from datetime import date

import pytest

from greenwright.base.answer import QUESTIONS
from greenwright.base.evidence import GRADES
from greenwright.base.tables import kinds, practices, record_files
from greenwright.show import dates, terms


def test_dates() -> None:
    # 5 June 2026 is a Friday (calendar)
    assert dates.long_date(date(2026, 6, 5)) == "Friday 5 June 2026"
    assert dates.week_date(date(2026, 6, 5)) == "Friday 5 June"
    assert dates.brief_day(date(2026, 6, 5)) == "Fri 5"
    assert dates.short_date(date(2026, 12, 31)) == "31 Dec"


def test_how_long_ago() -> None:
    on = date(2026, 6, 5)
    assert dates.ago(on, on) == "today"
    assert dates.ago(date(2026, 6, 4), on) == "yesterday"
    assert dates.ago(date(2026, 5, 1), on) == "35 days ago"  # by hand: 30 + 5
    assert dates.ago(date(2025, 6, 5), on) == "on Thursday 5 June 2025"


def test_horizons() -> None:
    assert [dates.after(d) for d in (0, 1, 7)] == ["the same day", "next day", "after 7 days"]


@pytest.mark.parametrize(
    ("keys", "text"),
    [
        (["4"], "green 4"),
        (["1", "2"], "greens 1 and 2"),
        (["1", "2", "3"], "greens 1–3"),
        (["10", "2", "9", "11"], "greens 2 and 9–11"),
        # a run in the order given is no run on the course
        (["1", "17"], "greens 1 and 17"),
        (["1", "3", "5", "17"], "greens 1, 3, 5 and 17"),
        (["practice", "1"], "greens 1 and practice"),
    ],
)
def test_greens_in_words(keys: list[str], text: str) -> None:
    assert terms.greens(keys) == text


def test_all_greens_only_when_all_are_named() -> None:
    assert terms.greens(["2", "1"], ["1", "2"]) == "all greens"
    assert terms.greens(["1"], ["1", "2"]) == "green 1"


def test_every_question_practice_kind_grade_and_file_has_words() -> None:
    assert set(terms.HEADINGS) == set(terms.NAMES) == set(QUESTIONS)
    assert set(terms.GRADES) == set(GRADES)
    assert set(terms.FILES) == set(record_files())
    for key in (*practices(), *kinds()):
        assert "_" not in terms.practice(key) + terms.kind(key)


def test_every_column_of_the_record_has_a_label() -> None:
    for spec in record_files().values():
        for column in spec.columns:
            assert "_" not in terms.column(column.name)


def test_a_lower_cut_is_told_from_an_extra_one() -> None:
    assert terms.act("mow", {"value": -0.25, "unit": "mm"}) == "Mow lower"
    assert terms.act("mow", {"value": 1.0, "unit": "extra cut"}) == "Extra cut"
    assert terms.act("roll", {"value": 1.0, "unit": "pass"}) == "Roll"
