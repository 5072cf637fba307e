"""Workbooks: equal to their CSV, caps before opening, errors and formulas never read as blanks."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime, time

import openpyxl
import pytest

from greenwright.base.errors import RefusedInput
from greenwright.base.tables import record_files
from greenwright.intake import read_paths, zip_caps
from greenwright.intake.workbook import read_workbook
from tests.intake.conftest import COURSE, TODAY
from tests.intake.test_record_small import FOLDER

HEADER = ["date", "time", "green", "kind", "value", "unit", "note"]
ROW = [date(2026, 6, 1), time(7, 15), 1, "moisture", 20.5, "%", "fine"]


def saved(book: openpyxl.Workbook) -> bytes:
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def book_of(*rows, sheet="readings") -> openpyxl.Workbook:
    book = openpyxl.Workbook()
    book.active.title = sheet
    for row in (HEADER, *rows):
        book.active.append(row)
    return book


def read_book(folder, data: bytes):
    path = folder / "book.xlsx"
    path.write_bytes(data)
    parsed, ignored = read_paths([path], today=TODAY, known=COURSE)
    return {file.name: file for file in parsed}, ignored


def repacked(data: bytes, changes: dict[str, bytes]) -> bytes:
    """Return the workbook with members replaced or added."""
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as old,
        zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            new.writestr(name, changes.get(name, old.read(name)))
        for name in set(changes) - set(old.namelist()):
            new.writestr(name, changes[name])
    return stream.getvalue()


def test_date_time_and_number_cells(tmp_path):
    files, _ = read_book(tmp_path, saved(book_of(ROW)))
    (row,) = files["readings"].rows
    assert (row.row, row.fields["date"], row.fields["time"]) == (2, date(2026, 6, 1), time(7, 15))
    assert (row.fields["green"], row.fields["value"]) == ("1", 20.5)
    assert files["readings"].source == "book.xlsx: readings"


def test_a_workbook_equals_its_csv(tmp_path):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name in record_files():
        path = FOLDER / f"{name}.csv"
        if path.exists():
            sheet = book.create_sheet(name)
            for row in csv.reader(io.StringIO(path.read_text("utf-8"))):
                sheet.append([_typed(cell) for cell in row])
    from_book, _ = read_book(tmp_path, saved(book))
    from_csv, _ = read_paths([FOLDER], today=TODAY)
    assert set(from_book) == {file.name for file in from_csv}
    for file in from_csv:
        twin = from_book[file.name]
        assert [(r.row, _plain(r.fields)) for r in twin.rows] == [
            (r.row, _plain(r.fields)) for r in file.rows
        ]
        assert [(r.row, r.column) for r in twin.refusals] == [
            (r.row, r.column) for r in file.refusals
        ]


def _typed(cell: str):
    """Return a cell as a spreadsheet would hold it."""
    try:
        return float(cell) if cell not in ("nan", "inf") else cell
    except ValueError:
        pass
    try:
        return datetime.fromisoformat(cell) if len(cell) == 10 else cell
    except ValueError:
        return cell


def _plain(fields):
    """Leave out how a number was spelled (4.0 in the CSV is the number 4 in a spreadsheet)."""
    return {name: value for name, value in fields.items() if name != "given"}


@pytest.mark.parametrize(
    ("place", "value", "column", "why"),
    [
        ("E2", "=10+10", "value", "formula"),
        ("G2", "=A1", "note", "formula"),
        ("C2", "=1/0", "green", "formula"),
    ],
)
def test_a_formula_without_its_value_is_refused(tmp_path, place, value, column, why):
    book = book_of(ROW)
    book.active[place] = value
    files, _ = read_book(tmp_path, saved(book))
    (refusal,) = files["readings"].refusals
    assert (refusal.row, refusal.column, refusal.value) == (2, column, value)
    assert why in refusal.why


def test_a_formula_with_its_value_is_read(tmp_path):
    data = saved(book_of(ROW))
    name = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        xml = archive.read(name)
    changed = xml.replace(b"<v>20.5</v>", b"<f>10+11.5</f><v>21.5</v>")
    assert changed != xml
    files, _ = read_book(tmp_path, repacked(data, {name: changed}))
    assert files["readings"].rows[0].fields["value"] == 21.5  # by hand: the saved value


@pytest.mark.parametrize("error", ["#REF!", "#DIV/0!", "#N/A"])
def test_an_error_is_never_a_blank(tmp_path, error):
    book = book_of(ROW, ROW)
    book.active["G3"] = error
    book.active["G3"].data_type = "e"
    files, _ = read_book(tmp_path, saved(book))
    (refusal,) = files["readings"].refusals
    assert (refusal.row, refusal.column, refusal.value) == (3, "note", error)
    assert len(files["readings"].rows) == 1


def test_a_percent_cell_asks_which_figure_is_meant(tmp_path):
    book = book_of([*ROW[:4], 0.24, "%", ""])
    book.active["E2"].number_format = "0%"
    files, _ = read_book(tmp_path, saved(book))
    (refusal,) = files["readings"].refusals
    assert refusal.column == "value"
    assert "24 %" in refusal.why


def test_a_day_number_and_a_clock_in_a_date_cell(tmp_path):
    files, _ = read_book(
        tmp_path,
        saved(book_of([46174, *ROW[1:]], [datetime(2026, 6, 1, 9, 30), *ROW[1:]])),
    )
    assert [(r.row, r.column) for r in files["readings"].refusals] == [(2, "date"), (3, "date")]


def test_blank_rows_keep_the_spreadsheets_numbers(tmp_path):
    files, _ = read_book(tmp_path, saved(book_of([], ROW, [], [*ROW[:4], "fast", "%", ""])))
    readings = files["readings"]
    assert ([r.row for r in readings.rows], [r.row for r in readings.refusals]) == ([3], [5])


def test_other_sheets_are_listed(tmp_path):
    book = book_of(ROW)
    book.create_sheet("Notes")
    _, ignored = read_book(tmp_path, saved(book))
    assert ignored == ("book.xlsx: Notes",)


def test_a_sheet_without_its_columns_is_refused_alone(tmp_path):
    book = book_of(ROW)
    book.create_sheet("rounds").append(["day", "rounds"])
    files, _ = read_book(tmp_path, saved(book))
    assert len(files["readings"].rows) == 1
    assert [(r.row, r.column) for r in files["rounds"].refusals] == [(1, "date")]


def refused(data: bytes) -> str:
    with pytest.raises(RefusedInput) as caught:
        read_workbook(data, "book.xlsx")
    return str(caught.value)


def test_a_zip_bomb_is_refused_before_it_is_opened():
    bomb = repacked(saved(book_of(ROW)), {"xl/bomb.bin": b"\0" * 20_000_000})
    assert len(bomb) < 100_000
    assert "200 times its size" in refused(bomb)


def test_the_unpacked_size_is_capped(monkeypatch):
    monkeypatch.setattr(zip_caps, "MOST_UNPACKED", 2000)
    assert "unpacked" in refused(saved(book_of(ROW)))


def test_a_size_that_lies_is_not_believed():
    data = saved(book_of(ROW))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        size = archive.getinfo("xl/worksheets/sheet1.xml").file_size
    lying = data.replace(size.to_bytes(4, "little"), (10).to_bytes(4, "little"))
    assert lying != data
    assert refused(lying)


def test_too_many_members():
    assert "members" in refused(repacked(saved(book_of(ROW)), {f"x/{n}": b"" for n in range(200)}))


def test_too_large_a_file():
    assert "10 MB" in refused(b"PK" + b"\0" * 10_000_000)


@pytest.mark.parametrize("reference", ["XFD1048576", "A200001", "ZZ2", "GR30001"])
def test_a_far_cell_is_refused_before_its_rows_are_made(reference):
    book = book_of(ROW)
    book.active[reference] = 1
    assert "column" in refused(saved(book))


def test_a_claimed_size_makes_no_rows(tmp_path):
    data = saved(book_of(ROW, [*ROW[:4], "=1", "%", ""]))
    name = "xl/worksheets/sheet1.xml"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        xml = archive.read(name)
    claimed = xml.replace(b'ref="A1:G3"', b'ref="A1:XFD1048576"')
    assert claimed != xml
    files, _ = read_book(tmp_path, repacked(data, {name: claimed}))
    assert files["readings"].read == 2


def test_entities_are_refused():
    data = saved(book_of(ROW))
    evil = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa">]><x>&a;</x>'
    assert "entities" in refused(repacked(data, {"xl/styles.xml": evil}))


@pytest.mark.parametrize("cut", [0.2, 0.5, 0.9, 0.99])
def test_a_half_written_workbook_is_refused(cut):
    data = saved(book_of(ROW))
    assert refused(data[: int(len(data) * cut)])


def test_a_workbook_of_something_else_is_refused():
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("letter.txt", "hello")
    assert "cannot be read" in refused(stream.getvalue())
