"""Each rule of a single cell: one that is kept, one that is refused at its column."""

from __future__ import annotations

from datetime import date, datetime, time

import pytest

from greenwright.base.values import Known

READING = "date,time,green,kind,value,unit,n,note\n"


def one(read, text, name="readings", **more):
    """Read a one-row file and return (fields or None, refusal or None)."""
    file = read(**{name: text}, **more)[name]
    assert file.read == 1
    return (file.rows[0].fields if file.rows else None, *(file.refusals or (None,)))


@pytest.mark.parametrize(
    ("day", "why"),
    [
        ("03/04/2026", "day first or month first"),
        ("3.4.26", "day first or month first"),
        ("46174", "2026-06-01"),  # by hand: day 46174 of the 1900 system
        ("46174.5", "day number"),
        ("2026-06-31", "no date"),
        ("2026-6-1", "not a date"),
        ("20260601", "not a date"),
        ("June 1", "not a date"),
        ("2026-06-01T07:15", "holds a time"),
        ("1826-06-01", "before 1900"),
        ("2026-06-06", "in the future"),
        ("٢٠٢٦-٠٦-٠١", "not a date"),
        ("", "empty"),
    ],
)
def test_dates_are_iso_or_refused_with_advice(read, day, why):
    fields, refusal = one(read, f"{READING}{day},,1,moisture,20,%,,\n")
    assert fields is None
    assert refusal.column == "date"
    assert why in refusal.why
    assert refusal.do


def test_day_number_of_both_spreadsheet_systems(read):
    _, refusal = one(read, f"{READING}46174,,1,moisture,20,%,,\n")
    # 1904 system: 1 January 1904 + 46174 days = 2 June 2030, by hand (1462 days later)
    assert "2030-06-02" in refusal.why


@pytest.mark.parametrize("clock", ["7:15", "07:15Z", "25:00", "07:15+02:00", "0.302", "7am"])
def test_times_are_iso_or_refused(read, clock):
    _, refusal = one(read, f"{READING}2026-06-01,{clock},1,moisture,20,%,,\n")
    assert refusal.column == "time"


def test_values_are_typed(read):
    fields, _ = one(read, f"{READING}2026-06-01,07:15,1,moisture,20,%,6, hello \n")
    assert fields["date"] == date(2026, 6, 1)
    assert fields["time"] == time(7, 15)
    assert fields["value"] == 20.0 and isinstance(fields["value"], float)
    assert fields["n"] == 6 and isinstance(fields["n"], int)
    assert fields["note"] == "hello"
    assert fields["given_unit"] == "%"


def test_empty_cells_are_absent(read):
    fields, _ = one(read, f"{READING}2026-06-01,,1,moisture,20,,,\n")
    assert set(fields) == {"date", "green", "kind", "value", "unit", "given"}


@pytest.mark.parametrize("word", ["None", "NA", "nan", "inf", "-inf", "null", "True", "1_0"])
def test_words_are_text_never_missing(read, word):
    _, refusal = one(read, f"{READING}2026-06-01,,1,moisture,{word},%,,\n")
    assert (refusal.column, refusal.value) == ("value", word)
    fields, _ = one(read, f"{READING}2026-06-01,,1,moisture,20,%,,{word}\n")
    assert fields["note"] == word
    _, refusal = one(read, f"{READING}2026-06-01,,1,moisture,20,%,{word},\n")
    assert refusal.column == "n"


@pytest.mark.parametrize("count", ["1.5", "0", "-1", "2e0"])
def test_whole_numbers(read, count):
    _, refusal = one(read, f"{READING}2026-06-01,,1,moisture,20,%,{count},\n")
    assert refusal.column == "n"


def test_choices_name_the_nearest_words(read):
    _, refusal = one(read, f"{READING}2026-06-01,,1,moistre,20,%,,\n")
    assert refusal.column == "kind"
    assert "moisture" in refusal.do
    _, refusal = one(read, "date,topic,count\n2026-06-01,lumpy,2\n", "feedback")
    assert "bumpy" in refusal.do


def test_yes_and_no(read):
    header = "green,in_play\n"
    fields, _ = one(read, f"{header}9,No\n", "greens")
    assert fields["in_play"] is False
    _, refusal = one(read, f"{header}9,maybe\n", "greens")
    assert refusal.column == "in_play"


def test_ids_and_moments(read):
    header = "date,green,kind,value,unit,id,entered_at\n2026-06-01,1,moisture,20,%,"
    uuid = "0f9C2c9e-5b1e-4f7e-9a44-0a6f3f1f0c11"
    fields, _ = one(read, f"{header}{uuid},2026-06-01T18:30\n")
    assert fields["id"] == uuid.lower()
    assert fields["entered_at"] == datetime(2026, 6, 1, 18, 30)
    assert one(read, f"{header}17,\n")[1].column == "id"
    assert one(read, f"{header},yesterday\n")[1].column == "entered_at"


@pytest.mark.parametrize(
    ("green", "kept"), [("1", True), ("9", False), ("A", False), ("1;2", False)]
)
def test_a_reading_is_of_one_green(read, green, kept):
    fields, refusal = one(read, f"{READING}2026-06-01,,{green},moisture,20,%,,\n")
    assert (fields is not None) is kept
    assert kept or refusal.column == "green"


@pytest.mark.parametrize(
    ("green", "kept"), [("1; 2", "1;2"), ("A", "A"), ("all", "all"), ("1;9", None), (";", None)]
)
def test_work_is_on_keys_a_group_or_all(read, green, kept):
    fields, refusal = one(read, f"date,green,practice\n2026-06-01,{green},roll\n", "work")
    assert (fields or {}).get("green") == kept
    assert kept or refusal.column == "green"


@pytest.mark.parametrize(("green", "kept"), [("A", True), ("all", True), ("2", True), ("C", False)])
def test_targets_are_for_a_key_a_group_or_all(read, green, kept):
    fields, _ = one(read, f"quantity,low,green\nmoisture,15,{green}\n", "targets")
    assert (fields is not None) is kept


def test_without_greens_the_advice_is_to_load_them(read):
    _, refusal = one(read, f"{READING}2026-06-01,,1,moisture,20,%,,\n", known=Known())
    assert "greens.csv first" in refusal.do


def test_greens_of_the_same_load_are_known(read):
    greens = "green,group\n17,back\n"
    work = "date,green,practice\n2026-06-01,back,roll\n2026-06-01,17,roll\n"
    files = read(known=Known(), greens=greens, work=work)
    assert len(files["work"].rows) == 2


@pytest.mark.parametrize("key", ["all", "1;2", "x" * 121, '"a\nb"'])
def test_keys_of_greens(read, key):
    assert one(read, f"green,group\n{key},A\n", "greens")[1].column == "green"


@pytest.mark.parametrize("key", ["3-4", "MAR1", "1E5", "01"])
def test_keys_are_never_turned_into_numbers_or_dates(read, key):
    assert one(read, f"green,group\n{key},A\n", "greens")[0]["green"] == key


def test_unknown_columns_are_kept_as_detail(read):
    text = "date,green,kind,value,unit,shoes\n2026-06-01,1,moisture,20,%,wet\n"
    file = read(readings=text)["readings"]
    assert file.unknown_columns == ("shoes",)
    assert file.rows[0].fields["other"] == {"shoes": "wet"}


def test_reserved_names_of_python(read):
    text = "date,green,kind,value,unit,pass\n2026-06-01,1,moisture,20,%,along\n"
    assert read(readings=text)["readings"].rows[0].fields["pass_"] == "along"


def test_a_row_has_one_refusal_the_first_by_column(read):
    _, refusal = one(read, f"{READING}2026-06-01,,9,hover,fast,%,0,\n")
    assert refusal.column == "green"
