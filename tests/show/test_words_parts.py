"""The parts that words are made of: lists of greens, days, rows, tables, lines of text."""

from __future__ import annotations

import csv
import io
import re
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.answer import Answer
from greenwright.base.estimate import normal_estimate
from greenwright.base.tables import practices, quantities
from greenwright.show import Table, dates, rows, table_text, terms, words
from greenwright.show.page import guarded, sentence
from tests.show import handmade
from tests.show.handmade import FEET

DAYS = st.dates(date(1900, 1, 1), date(2999, 12, 31))
KEYS = st.lists(st.integers(1, 36).map(str), min_size=1, max_size=20, unique=True)


def read_greens(text: str) -> set[str]:
    """Read "greens 1–4, 7 and 9" back, by rules of its own."""
    found: set[str] = set()
    for part in re.split(r", | and ", text.split(" ", 1)[1]):
        first, _, last = part.partition("–")
        found |= {str(n) for n in range(int(first), int(last or first) + 1)}
    return found


@given(KEYS)
def test_greens_in_words_read_back(keys: list[str]) -> None:
    assert read_greens(terms.greens(keys)) == set(keys)


@given(KEYS, KEYS)
def test_all_greens_means_all(keys: list[str], every: list[str]) -> None:
    assert (terms.greens(keys, every) == "all greens") == (set(every) <= set(keys))


@given(st.lists(st.text(min_size=1, max_size=6), max_size=6, unique=True))
def test_any_names_are_put_in_some_order_without_breaking(names: list[str]) -> None:
    assert len(sorted(names, key=terms.played)) == len(names)


@given(st.lists(st.sampled_from("abcdef"), min_size=1, max_size=6))
def test_lists_hold_one_and_at_most(parts: list[str]) -> None:
    told = terms.listed(parts)
    assert told.count(" and ") == (len(parts) > 1) and told.count(", ") == max(len(parts) - 2, 0)


@given(DAYS)
def test_days_agree_with_the_calendar(day: date) -> None:
    # Python's own calendar, in its C locale
    assert dates.long_date(day) == f"{day:%A} {day.day} {day:%B} {day.year}"
    assert dates.short_date(day) == f"{day.day} {day:%b}"
    assert dates.brief_day(day) == f"{day:%a} {day.day}"
    assert dates.week_date(day) == f"{day:%A} {day.day} {day:%B}"


@given(st.integers(-3, 400))
def test_how_long_ago_is_counted_in_days(days: int) -> None:
    on = date(2026, 6, 5)
    told = dates.ago(on - timedelta(days=days), on)
    if days <= 0:
        assert told == "today"
    elif days == 1:
        assert told == "yesterday"
    elif days < 60:
        assert told == f"{days} days ago"
    else:
        assert told.startswith("on ") and str((on - timedelta(days=days)).year) in told


# -- rows


@pytest.mark.parametrize(
    ("low", "high", "value", "side"),
    [
        (2.7, 3.0, 2.6, -1),
        (2.7, 3.0, 2.7, 0),
        (2.7, 3.0, 3.0, 0),
        (2.7, 3.0, 3.1, 1),
        (None, 3.0, -9.0, 0),
        (2.7, None, 99.0, 0),
        (2.7, None, 2.0, -1),
    ],
)
def test_sides_of_a_band(low: float | None, high: float | None, value: float, side: int) -> None:
    assert rows.Band(low, high).side(value) == side


@pytest.mark.parametrize("target", [None, {}, {"low": None, "high": None}])
def test_no_ends_are_no_band(target: dict | None) -> None:
    assert rows.band({"target": target}) is None


def test_an_estimate_from_json_is_the_estimate() -> None:
    held = normal_estimate(2.8, 0.1, "m", n=4)
    assert rows.estimate(held.as_dict()) == rows.estimate(held) == held
    assert rows.estimate(None) is None


def test_an_answer_from_json_prints_the_same() -> None:
    for answer in (handmade.today(), handmade.week(), handmade.effects()):
        shape = answer.as_dict()
        more = {k: shape[k] for k in ("plans", "leave_outs", "greens", "targets") if k in shape}
        again = Answer(
            shape["question"],
            answer.as_of,
            shape["record"],
            tuple(shape["findings"]),
            tuple(shape["choices"]),
            tuple(shape["gaps"]),
            tuple(shape["cautions"]),
            tuple(shape["sources"]),
            shape["made_by"],
            more,
        )
        for full in (False, True):
            assert words(again, course=FEET, full=full) == words(answer, course=FEET, full=full)


@pytest.mark.parametrize("held", [date(2026, 6, 5), "2026-06-05", "2026-06-05T07:00:00"])
def test_days_of_rows(held: object) -> None:
    assert rows.day(held) == date(2026, 6, 5)


def test_rows_by_day_keep_their_order_within_a_day() -> None:
    held = [{"date": f"2026-06-0{d}", "n": n} for n, d in enumerate((3, 1, 3, 2, 1))]
    grouped = rows.by_day(held)
    assert [d.day for d in grouped] == [1, 2, 3]
    assert [[r["n"] for r in got] for got in grouped.values()] == [[1, 4], [3], [0, 2]]


def test_greens_are_those_told_else_those_met_in_playing_order() -> None:
    met = Answer("week", handmade.ON, {}, choices=({"greens": ["10", "practice", "9"]},))
    assert rows.greens_of(met) == ("9", "10", "practice")
    told = Answer("week", handmade.ON, {}, more={"greens": [{"green": "2"}, "1"]})
    assert rows.greens_of(told) == ("2", "1")


def test_speed_and_smoothness_come_first() -> None:
    held = [
        handmade.today_row("course", key, normal_estimate(1.0, 0.1, ""))
        for key in ("moisture", "smoothness", "quality", "green_speed")
    ]
    answer = Answer("today", handmade.ON, {}, findings=tuple(held))
    told = [row["quantity"] for row in rows.course_rows(answer)]
    assert told == ["green_speed", "smoothness", "moisture", "quality"]


# -- tables and lines

CELLS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=12)


@given(st.lists(st.tuples(CELLS, CELLS, CELLS), max_size=5))
def test_csv_holds_every_cell_and_no_formula(body: list[tuple[str, str, str]]) -> None:
    text = Table("t", ("a", "b", "c"), tuple(body)).as_csv()
    read = list(csv.reader(io.StringIO(text)))
    assert read[0] == ["a", "b", "c"] and len(read) == 1 + len(body)
    for got, cells in zip(read[1:], body, strict=True):
        assert [g.removeprefix("'") if g != c else g for g, c in zip(got, cells, strict=True)] == (
            list(cells)
        )
        assert not any(g[:1] in ("=", "@") for g in got)


@pytest.mark.parametrize(
    ("cell", "safe"),
    [
        ("=SUM(A1)", False),
        ("@x", False),
        ("+cmd", False),
        ("-cmd", False),
        ("\t=x", False),
        ("+6 in", True),
        ("-6 in", True),
        ("−6 in", True),
        ("", True),
        ("9'5\"", True),
    ],
)
def test_cells_that_a_spreadsheet_would_run(cell: str, safe: bool) -> None:
    assert guarded(cell) == (cell if safe else f"'{cell}")


def test_numbers_are_set_right_and_words_left() -> None:
    table = Table("t", ("Green", "Now"), (("1", "8'0\""), ("practice", "10'11\"")), frozenset({1}))
    assert table_text(table).splitlines() == [
        "Green        Now",
        "1           8'0\"",
        "practice  10'11\"",
    ]


def test_a_table_too_wide_is_told_row_by_row() -> None:
    table = Table("t", ("Green", "Now", "Then"), (("1", "x" * 30, ""), ("2", "y" * 29, "z")))
    told = table_text(table, width=40)
    assert told.splitlines() == [
        f"  1. now: {'x' * 30}",
        f"  2. now: {'y' * 29};",
        "    then: z",
    ]


@pytest.mark.parametrize(
    ("parts", "text"),
    [
        (["speed is low"], "Speed is low."),
        (["who?", " "], "Who?"),
        (["a", " b. "], "A b."),
        (["greens:"], "Greens:"),
    ],
)
def test_sentences_begin_and_end(parts: list[str], text: str) -> None:
    assert sentence(parts) == text


def test_every_practice_and_quantity_has_a_label_without_keys() -> None:
    for label in (*map(terms.practice, practices()), *map(terms.quantity, quantities())):
        assert label[:1].isupper() and "_" not in label


@pytest.mark.parametrize(
    ("key", "label"),
    [
        ("unheard_of", "Unheard of"),
        ("t_max_c", "T max [°C]"),
        ("from_", "From"),
        ("area_m2", "Area [m²]"),
    ],
)
def test_columns_of_any_name_have_a_label(key: str, label: str) -> None:
    assert terms.column(key) == label


def test_a_change_says_what_it_is_measured_against() -> None:
    assert "A change is against leaving that job out." in words(handmade.week(), course=FEET)
    assert "A change is against" not in words(handmade.today(), course=FEET)
