"""Cells as tired hands write them: each kept with the value worked out by hand, or refused."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.base.tables import record_files
from greenwright.base.values import Known, Refusal
from greenwright.intake import learnt, read_form
from greenwright.intake.csv_text import decoded, read_csv, records
from greenwright.intake.dates import read_date, read_datetime, read_time
from greenwright.intake.faults import FileRefused, nearest
from greenwright.intake.tables import need_columns, tabulate
from tests.intake.conftest import COURSE, TODAY

FOOT_M, INCH_MM, POUND_G = 0.3048, 25.4, 453.59237
"""International foot, inch and avoirdupois pound, exact by the agreement of 1959."""


def form(file: str, **cells: str) -> tuple[Mapping[str, Any] | None, Refusal | None]:
    """Return the fields of a form that is kept, or its refusal."""
    made = read_form(file, cells, today=TODAY, known=COURSE)
    return (made.rows[0].fields if made.rows else None), next(iter(made.refusals), None)


def reading(kind: str, value: str, unit: str = "", **more: str):
    day = {"date": "2026-06-01", "green": "1"}
    return form("readings", **day, kind=kind, value=value, unit=unit, **more)


def work(practice: str, amount: str, unit: str):
    cells = {"date": "2026-06-01", "green": "all", "material": "stuff"}
    return form("work", **cells, practice=practice, amount=amount, unit=unit)


# -- numbers


@pytest.mark.parametrize(
    "text", ["24", " 24 ", "+24", "24.", "24.0", "2.4e1", "240E-1", "024", "24\u00a0"]
)
def test_ways_to_write_one_number(text: str) -> None:
    assert reading("moisture", text, "%")[0]["value"] == 24.0


@pytest.mark.parametrize(
    ("text", "advice"),
    [
        ("20,5", "decimal point"),
        ("1,000", "decimal point"),  # may be one or a thousand: nothing is guessed
        ("-", "leave the cell empty"),
        ("n/a", "leave the cell empty"),
        ("NaN", "leave the cell empty"),
        ("２４", "correct the cell"),  # full-width digits
        ("٢٤", "correct the cell"),
        ("\u221224", "correct the cell"),  # a typographic minus
        ("20 5", "correct the cell"),
        ("1/8", "correct the cell"),
        ("~24", "correct the cell"),
        ("24?", "correct the cell"),
        ("1e400", "correct the cell"),  # larger than a number can be held
        ("0x18", "not a unit"),
    ],
)
def test_what_is_no_number_says_what_to_do(text: str, advice: str) -> None:
    fields, refusal = reading("moisture", text, "")
    assert fields is None
    assert (refusal.file, refusal.row, refusal.column) == ("readings.csv", 1, "value")
    assert refusal.value == text and advice in f"{refusal.why} {refusal.do}"


# -- lengths, temperatures, volumes


@pytest.mark.parametrize(
    "text",
    ["9'6\"", "9′6″", "9’6”", "9 feet 6 inches", "9ft 6in", "9 ft. 6 in.", "9.5'", "9.5 ft",
     "9-6", "9 - 6", "114 in", '114"', "289.56 cm", "2895.6 mm", "2.8956 m", "2.8956"],
)  # fmt: skip
def test_one_length_in_sixteen_writings(text: str) -> None:
    # by hand: 9.5 x 0.3048 = 114 x 0.0254 = 2.8956 m
    assert reading("roll_distance", text)[0]["value"] == pytest.approx(2.8956, abs=1e-12)


@pytest.mark.parametrize(
    ("kind", "text", "unit", "value"),
    [
        ("roll_distance", "3", "yd", 2.7432),  # 9 x 0.3048
        ("soil_temperature", "68 °F", "", 20.0),  # (68 - 32) / 1.8
        ("soil_temperature", "-22", "degF", -30.0),  # the coldest that is taken
        ("soil_temperature", "14", "F", -10.0),
        ("end_offset", "-3 in", "", -76.2),
        ("end_offset", "-0.05", "m", -50.0),
        ("height_of_cut", "0.125 in", "", 3.175),
        ("height_of_cut", "0.32", "cm", 3.2),
        ("root_depth", "4 in", "", 101.6),
        ("clippings", "1", "gal/1000ft2", 40.7458),  # 3785.412 mL on 92.90304 m2
        ("clippings", "1", "L/1000 sq ft", 10.7639),  # 1000 / 92.90304
        ("soil_ec", "150", "mS/m", 1.5),  # 1 dS/m = 100 mS/m
        ("path_wander", "0.5", "%", 5.0),  # half a hundredth of a metre in a metre
    ],
)
def test_units_of_readings_by_hand(kind: str, text: str, unit: str, value: float) -> None:
    fields, refusal = reading(kind, text, unit)
    assert refusal is None
    assert fields["value"] == pytest.approx(value, rel=1e-5)
    assert fields["given"] == text


@pytest.mark.parametrize(
    ("kind", "text", "asked"),
    [
        ("soil_temperature", "80", "80 degF = 26.7 degC"),  # by hand: 48 / 1.8
        ("green_speed", "10", "10 ft = 3.05 m"),  # by hand: 3.048
        ("green_speed", "114", "114 in = 2.9 m"),  # by hand: 2.8956
        ("green_speed", "290", "290 cm = 2.9 m"),
        ("height_of_cut", "0.35", "0.35 cm = 3.5 mm"),
    ],
)
def test_a_bare_number_is_asked_for_the_unit_that_would_fit(kind, text, asked) -> None:
    fields, refusal = reading(kind, text)
    assert fields is None and asked in refusal.do


@pytest.mark.parametrize(
    ("practice", "amount", "unit", "value", "kept"),
    [
        # a foot deep over 1000 square feet is 1000 ft3: 1 ft3/1000 ft2 is 0.3048 mm
        ("topdress", "3", "ft3/1000ft2", 3 * FOOT_M, "L/m2"),
        # 100 lb on 92.90304 m2 at 1,500 kg/m3 (the evidence table's bulk density)
        ("topdress", "100", "lb/1000ft2", 100 * POUND_G / 92.90304 / 1500, "L/m2"),
        ("feed", "40", "lb/acre", 4.48340, "g/m2"),  # 18,143.69 g on 4,046.856 m2
        ("feed", "1", "lb/1000ft2", POUND_G / 92.90304, "g/m2"),
        ("irrigate", "6", "L/m2", 6.0, "mm"),  # a litre on a square metre is a millimetre
        ("irrigate", "0.25", "in", 6.35, "mm"),
        ("verticut", "0.1", "in", 2.54, "mm"),
        ("mow", "0.15", "in", 3.81, "mm"),
    ],
)
def test_units_of_work_by_hand(practice, amount, unit, value, kept) -> None:
    fields, refusal = work(practice, amount, unit)
    assert refusal is None
    assert (fields["amount"], fields["unit"]) == (pytest.approx(value, rel=1e-5), kept)


@pytest.mark.parametrize(
    ("limit", "value", "unit", "kept"),
    [
        ("labour_h_day", "450", "min", (7.5, "h")),  # 450 / 60
        ("min_height_mm", "0.1", "in", (2.54, "mm")),
        ("n_year_g_m2", "2", "lb/1000ft2", (9.76486, "g/m2")),  # 2 x 453.59237 / 92.90304
        ("n_application_g_m2", "30", "kg/ha", (3.0, "g/m2")),
        ("buffer_m", "10", "yd", (9.144, "m")),
        ("water_mm_day", "0.25", "in", (6.35, "mm")),
        ("min_step_interval_d", "1", "week", (7.0, "d")),
        ("rolls_week", "4", "passes", (4.0, "count")),
    ],
)
def test_units_of_limits_by_hand(limit, value, unit, kept) -> None:
    fields, refusal = form("limits", limit=limit, green="all", value=value, unit=unit)
    assert refusal is None
    assert (pytest.approx(fields["value"], rel=1e-5), fields["unit"]) == kept


@pytest.mark.parametrize(
    ("limit", "value", "unit", "column"),
    [
        ("labour_h_day", "8", "mm", "unit"),
        ("rolls_week", "", "", "value"),
        ("p_allowed", "0.5", "", "value"),
        ("buffer_m", "3", "parrots", "unit"),
        ("no_feed", "", "", "from"),  # it needs its days
    ],
)
def test_limits_that_cannot_be(limit, value, unit, column) -> None:
    fields, refusal = form("limits", limit=limit, green="all", value=value, unit=unit)
    assert fields is None and refusal.column == column and refusal.do


LAB = {"date": "2026-03-10", "green": "all", "medium": "soil", "depth_cm": "10"}


@pytest.mark.parametrize(
    ("analyte", "value", "unit", "kept"),
    [
        ("K", "0.012", "%", (120.0, "mg/kg")),  # a hundredth is 10,000 mg/kg
        ("P", "35", "ppm", (35.0, "mg/kg")),
        ("P", "0.035", "g/kg", (35.0, "mg/kg")),
        ("pH", "6.4", "", (6.4, None)),
        ("OM", "3.1", "%", (3.1, "%")),  # organic matter stays a share
    ],
)
def test_soil_figures_by_hand(analyte, value, unit, kept) -> None:
    cells = LAB | {"extractant": "mehlich-3", "analyte": analyte, "value": value, "unit": unit}
    fields, refusal = form("lab", **cells)
    assert refusal is None
    assert (pytest.approx(fields["value"]), fields.get("unit")) == kept


@pytest.mark.parametrize(
    ("analyte", "value", "unit", "column"),
    [
        ("pH", "14.1", "", "value"),
        ("K", "120", "", "unit"),
        ("K", "240", "lb/acre", "unit"),  # a mass on an area says nothing without a depth
    ],
)
def test_soil_figures_that_cannot_be(analyte, value, unit, column) -> None:
    cells = LAB | {"extractant": "mehlich-3", "analyte": analyte, "value": value, "unit": unit}
    assert form("lab", **cells)[1].column == column


@pytest.mark.parametrize(
    # three label figures rounded to 0.1 % may miss their sum by 0.2 %
    ("urea", "ammonium", "kept"),
    [("46", "", True), ("36", "10.2", True), ("36", "10.3", False)],
)
def test_forms_of_nitrogen_may_miss_their_sum_by_rounding(urea, ammonium, kept) -> None:
    cells = {"material": "m", "form": "soluble", "n_pct": "46"}
    fields, refusal = form("materials", **cells, n_urea_pct=urea, n_ammonium_pct=ammonium)
    assert (fields is not None) is kept
    assert kept or (refusal.column == "n_pct" and "46.3 %" in refusal.why)


# -- days and hours


@pytest.mark.parametrize("day", ["2024-02-29", "2000-02-29", "1900-01-01", "2026-12-31"])
def test_days_there_are(day: str) -> None:
    assert read_date(day).isoformat() == day


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("2025-02-29", "there is no date"),  # no leap year
        ("1900-02-29", "there is no date"),  # a century that is none, though spreadsheets think so
        ("2026-00-10", "there is no date"),
        ("1899-12-31", "before 1900"),
        ("2026\u201306\u201301", "not a date"),  # dashes of a word processor
        ("01-06-2026", "day first or month first"),
        ("1/6/26", "day first or month first"),
        ("1/6-26", "not a date"),
        ("2026/06/01", "not a date"),
        # 1 January 2000 is day 36526 of the 1900 system and 1,462 days later in the 1904 one
        ("36526", "2000-01-01 (1900 system) or 2004-01-02 (1904 system)"),
        ("2026-06-01T06:00Z", "holds a time too"),
    ],
)
def test_days_there_are_not(text: str, why: str) -> None:
    with pytest.raises(BadInput) as raised:
        read_date(text)
    assert why in raised.value.what and raised.value.do


@given(st.dates(date(1900, 1, 1), date(2999, 12, 31)))
def test_any_day_comes_back_and_is_refused_the_other_way_round(day: date) -> None:
    assert read_date(day.isoformat()) == day
    for other in (f"{day:%d/%m/%Y}", f"{day:%m-%d-%Y}", f"{day:%d.%m.%y}"):
        with pytest.raises(BadInput, match="day first or month first"):
            read_date(other)


@pytest.mark.parametrize(
    "text", ["24:00", "23:59:60", "7:15", "07.15", "0715", "07:15 AM", "-1:00"]
)
def test_hours_there_are_not(text: str) -> None:
    with pytest.raises(BadInput) as raised:
        read_time(text)
    assert repr(text) in raised.value.what or text in raised.value.what


def test_a_moment_keeps_its_offset() -> None:
    there = read_datetime("2026-06-03T07:15+01:00")
    assert there.utcoffset() == timedelta(hours=1)
    assert there.astimezone(UTC) == datetime(2026, 6, 3, 6, 15, tzinfo=UTC)  # by hand
    assert read_datetime("2026-06-03 07:15:30.5Z").microsecond == 500_000
    assert read_datetime("2026-06-03T07:15").tzinfo is None
    for text in ("2026-06-03T7:15", "2026-06-03T07:15+1:00", "2026-06-03", "2026-06-31T07:15"):
        with pytest.raises(BadInput):
            read_datetime(text)


# -- files as text


def test_umlauts_and_other_letters_stay_as_they_were() -> None:
    note = "Grün 7, naß — 芝 ½"
    assert (
        read_form(
            "readings",
            {"date": "2026-06-01", "green": "1", "kind": "moisture", "value": "24", "note": note},
            today=TODAY,
            known=COURSE,
        )
        .rows[0]
        .fields["note"]
        == note
    )
    assert decoded(note.encode("utf-8-sig")) == note


@pytest.mark.parametrize(
    ("data", "why"),
    [
        ("a,b\nGrün,1\n".encode("latin-1"), "byte 0xFC in line 2 is not UTF-8"),
        ("a\nb\nx\u00b0C\n".encode("cp1252"), "byte 0xB0 in line 3"),
        ("a,b\n".encode("utf-16-le"), "a NUL byte in line 1"),
        ("a,b\n".encode("utf-16"), "the file is UTF-16"),
        (b"a,b\n\xc3", "byte 0xC3 in line 2"),  # cut within a letter
    ],
)
def test_another_encoding_is_named_with_its_place(data: bytes, why: str) -> None:
    with pytest.raises(FileRefused) as raised:
        read_csv(data)
    assert why in raised.value.what and "CSV UTF-8" in raised.value.do


CELLS = st.text(
    st.characters(exclude_categories=("Cs",), exclude_characters="\0\ufeff"), max_size=12
)


@given(st.lists(st.tuples(CELLS, CELLS), max_size=8))
def test_what_the_standard_library_writes_comes_back(rows: list[tuple[str, str]]) -> None:
    out = io.StringIO(newline="")
    csv.writer(out).writerows([("k", "a", "b"), *(("k", *row) for row in rows)])
    table = read_csv(out.getvalue().encode())
    assert list(zip(table.columns["a"], table.columns["b"], strict=True)) == rows
    assert table.numbers == tuple(range(2, len(rows) + 2)) and not table.broken


def test_rows_bear_the_numbers_a_spreadsheet_shows() -> None:
    text = 'a,b\n1,"two\nlines"\n\n3\n4,5,6\n7,8,,\n'
    table = tabulate(records(text))
    # by hand: row 2 runs over two lines, row 3 is blank, row 4 ends in a, row 5 goes on past b
    assert table.numbers == (2, 6) and table.columns["a"] == ["1", "7"]
    assert {n: f.column for n, f in table.broken.items()} == {4: "a", 5: "b"}
    assert "1 cells where the header has 2" in table.broken[4].why
    assert table.broken[5].value == "6" and "comma in double quotes" in table.broken[5].do


def test_a_missing_column_is_named_with_what_stands_there_instead() -> None:
    with pytest.raises(FileRefused) as raised:
        need_columns(("date", "Runden"), record_files()["rounds"])
    assert "lacks rounds" in raised.value.what and "'Runden'" in raised.value.what
    assert raised.value.fault.column == "rounds" and raised.value.fault.value == "date,Runden"


def test_advice_names_near_words_of_long_lists_and_all_of_short_ones() -> None:
    assert nearest("grean", ("green", "tee")) == "write one of: green, tee"
    many = tuple(f"word{i}" for i in range(20))
    assert nearest("Word7", many).startswith("did you mean word7")
    assert nearest("zzz", many).startswith("The words are: word0, word1")
    assert nearest("x", ()) == ""


# -- what is known after a file


def parsed(file: str, *rows: Mapping[str, str], known: Known = COURSE):
    forms = [read_form(file, row, today=TODAY, known=known) for row in rows]
    assert not any(f.refusals for f in forms)
    return replace(forms[0], rows=tuple(r for f in forms for r in f.rows))


def test_greens_and_stations_are_learnt_once_each() -> None:
    greens = parsed("greens", {"green": "3", "group": "B"}, {"green": "4", "group": "D"})
    after = learnt(COURSE, greens)
    assert after.greens == ("1", "2", "3", "4") and after.groups == ("A", "B", "D")
    places = parsed("stations", {"green": "1", "station": "C"}, {"green": "2", "station": "C"})
    assert learnt(after, places).stations == (("1", "C"), ("2", "C"))
    assert learnt(COURSE, parsed("rounds", {"date": "2026-06-01", "rounds": "9"})) == COURSE


@pytest.mark.parametrize(("course", "greens"), [("heron", ("1", "2", "3")), ("other", ())])
def test_another_course_starts_without_greens(course: str, greens: tuple[str, ...]) -> None:
    row = {"course": course, "name": "Fen", "timezone": "Europe/London"}
    after = learnt(COURSE, parsed("course", row))
    assert (after.course, after.greens) == (course, greens)
