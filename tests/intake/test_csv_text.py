"""CSV as it comes: encodings, dialects, headers, half-written and ragged rows, blank lines."""

from __future__ import annotations

import pytest

from greenwright.intake import csv_text, tables
from greenwright.intake.csv_text import read_csv
from greenwright.intake.faults import FileRefused
from greenwright.intake.tables import tabulate

HEADER = "date,green,kind,value,unit,note\n"
ROW = "2026-06-01,1,moisture,20,%,\n"


def refused(read, content):
    """Return the one refusal of a readings file that is refused whole."""
    file = read(readings=content)["readings"]
    assert file.rows == ()
    (refusal,) = file.refusals
    assert refusal.row == 1
    return refusal


def rows_of(read, content):
    file = read(readings=content)["readings"]
    return [r.row for r in file.rows], [(r.row, r.column) for r in file.refusals]


def test_a_byte_order_mark_is_no_letter(read):
    assert rows_of(read, b"\xef\xbb\xbf" + (HEADER + ROW).encode()) == ([2], [])


def test_windows_1252_is_refused_with_the_byte_and_its_line(read):
    refusal = refused(
        read, (HEADER + ROW + "2026-06-01,1,moisture,20,%,caf\xe9\n").encode("cp1252")
    )
    assert "0xE9 in line 3" in refusal.why and "'é'" in refusal.why
    assert "UTF-8" in refusal.do


def test_the_line_is_right_behind_a_byte_order_mark(read):
    refusal = refused(read, b"\xef\xbb\xbf" + HEADER.encode() + b"\xff\n")
    assert "0xFF in line 2" in refusal.why


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-32"])
def test_wide_encodings_are_refused(read, encoding):
    refusal = refused(read, (HEADER + ROW).encode(encoding))
    assert "UTF-16" in refusal.why or "UTF-32" in refusal.why or "NUL" in refusal.why


@pytest.mark.parametrize(("mark", "name"), [(";", "semicolons"), ("\t", "tabs"), ("|", "bars")])
def test_other_separators_are_named(read, mark, name):
    assert name in refused(read, (HEADER + ROW).replace(",", mark)).why


def test_a_decimal_comma_inside_quotes_is_named(read):
    file = read(readings=f'{HEADER}2026-06-01,1,moisture,"20,5",%,\n')["readings"]
    assert "decimal point" in file.refusals[0].do


@pytest.mark.parametrize(
    ("header", "column", "why"),
    [
        ("date,green,kind,value,value", "value", "twice"),
        ("date,green,kind,unit", "value", "lacks value"),
        ("Date,green,kind,value", "date", "'Date'"),
        ("date,,kind,value", "", "column 2 has no name"),
        ("", "", "empty"),
        (",".join(f"c{i}" for i in range(201)), "", "201 columns"),
        ('"date,green', "", "header cannot be read"),
    ],
)
def test_headers_that_cannot_be_used(read, header, column, why):
    refusal = refused(read, f"{header}\n" if header else "")
    assert refusal.column == column
    assert why in refusal.why


def test_the_other_files_still_load(read):
    files = read(readings="junk\n", rounds="date,rounds\n2026-06-01,60\n")
    assert files["readings"].refusals and len(files["rounds"].rows) == 1


def test_a_header_alone_is_an_empty_file(read):
    assert rows_of(read, HEADER) == ([], [])


def test_blank_lines_count_but_are_no_rows(read):
    assert rows_of(read, f"{HEADER}\n{ROW}\n,,,,,\n \n{ROW}") == ([3, 7], [])


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends(read, end):
    assert rows_of(read, (HEADER + ROW + ROW).replace("\n", end)) == ([2, 3], [])


def test_a_note_may_hold_a_line_break_and_a_comma(read):
    file = read(readings=f'{HEADER}2026-06-01,1,moisture,20,%,"wet, cold\nwindy"\n{ROW}')[
        "readings"
    ]
    assert file.rows[0].fields["note"] == "wet, cold\nwindy"
    assert [r.row for r in file.rows] == [2, 3]


@pytest.mark.parametrize(
    ("last", "column", "why"),
    [
        ("2026-06-01,1,moi", "kind", "3 cells where the header has 6"),
        ('2026-06-01,1,moisture,20,%,"half a no', "", "never closed"),
        ("2026-06-01,1,moisture,20,%,,surplus", "note", "7 cells"),
        ('2026-06-01,1,moisture,20,%,"a" b', "", "quotes"),
    ],
)
def test_half_written_and_ragged_rows_are_named(read, last, column, why):
    file = read(readings=f"{HEADER}{ROW}{last}")["readings"]
    assert [r.row for r in file.rows] == [2]
    (refusal,) = file.refusals
    assert (refusal.row, refusal.column) == (3, column)
    assert why in refusal.why


def test_an_open_quote_says_which_lines_it_swallowed(read):
    file = read(readings=f'{HEADER}2026-06-01,1,moisture,20,%,"oh\n{ROW}{ROW}')["readings"]
    assert "lines 2 to 4" in file.refusals[0].why
    swallowed = (
        f'{HEADER}2026-06-01,1,roll_distance,"8\'0"",,\n{ROW}2026-06-01,1,moisture,20,%,"x"\n'
    )
    file = read(readings=swallowed)["readings"]
    assert file.refusals


def test_empty_surplus_cells_are_nothing(read):
    assert rows_of(read, f"{HEADER.strip()},,\n{ROW.strip()},,\n") == ([2], [])


def test_a_cell_too_long_for_a_row_is_refused_by_name(read):
    note = "x" * 40_000
    assert rows_of(read, f"{HEADER}2026-06-01,1,moisture,20,%,{note}\n{ROW}") == (
        [3],
        [(2, "note")],
    )


def test_a_cell_too_long_to_tell_rows_apart_refuses_the_file(read):
    assert "131,072" in refused(read, f"{HEADER}2026-06-01,1,moisture,20,%,{'x' * 140_000}\n").why


def test_caps_of_rows_and_bytes(monkeypatch):
    records = [(n, ["a"]) for n in range(1, 12)]
    with pytest.raises(FileRefused, match="more than 5 rows"):
        tabulate(iter(records), most_rows=5)
    monkeypatch.setattr(csv_text, "MOST_BYTES", 10)
    with pytest.raises(FileRefused, match="larger than"):
        read_csv(b"date,rounds\n2026-06-01,60\n")
    assert tables.MOST_ROWS == 2_000_000  # the cap that the format promises
