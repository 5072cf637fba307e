"""An .xlsx workbook -> one table for each sheet that bears the name of a record file."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

import python_calamine

from greenwright.base.errors import RefusedInput
from greenwright.base.tables import record_files
from greenwright.intake.faults import Fault, FileRefused
from greenwright.intake.second_look import Flaws, second_look
from greenwright.intake.tables import Table, tabulate
from greenwright.intake.zip_caps import MOST_ROWS, look


@dataclass(frozen=True, slots=True)
class Workbook:
    """The sheets of the record by file name, each a table or the reason why not; and the rest."""

    sheets: Mapping[str, Table | FileRefused]
    ignored: tuple[str, ...]


def read_workbook(data: bytes, source: str) -> Workbook:
    """Return the record's sheets of a workbook.

    Raises:
        RefusedInput: the workbook as a whole cannot be read, or is not safe to read.
    """
    looked = look(data, source)
    grids, ignored = _grids(data, source)
    flaws = (
        second_look(data, [sheet for sheet, _ in grids.values()], source)
        if (looked.second_look and grids)
        else {}
    )
    sheets = {name: _table(grid, flaws.get(sheet, {})) for name, (sheet, grid) in grids.items()}
    return Workbook(sheets, tuple(f"{source}: {name}" for name in ignored))


Grid = list[list[Any]]


def _grids(data: bytes, source: str) -> tuple[dict[str, tuple[str, Grid]], list[str]]:
    """Return record name -> (sheet name, cells), and the names of the other sheets."""
    known = record_files()
    grids: dict[str, tuple[str, Grid]] = {}
    ignored: list[str] = []
    try:
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        for sheet in book.sheet_names:
            name = sheet.strip().lower()
            if name in known and name not in grids:
                cells = book.get_sheet_by_name(sheet).to_python(skip_empty_area=False)
                grids[name] = (sheet, cells)
            else:
                ignored.append(sheet)
    except BaseException as error:
        _explain(error, source)
    return grids, ignored


def _explain(error: BaseException, source: str) -> None:
    """Turn what the reader raises on damaged files, its panics too, into a refusal."""
    damaged = isinstance(error, Exception) or type(error).__name__ == "PanicException"
    if not damaged or isinstance(error, MemoryError):
        raise error
    raise RefusedInput(
        "the workbook cannot be read", where=source, do="save it again as .xlsx"
    ) from None


def _table(grid: Grid, flaws: Flaws) -> Table | FileRefused:
    try:
        table = tabulate(_records(grid, flaws), most_rows=MOST_ROWS)
    except FileRefused as refused:
        return refused
    named = {
        (row, table.header[place]): replace(fault, column=table.header[place])
        for (row, place), fault in flaws.items()
        if place < len(table.header)
    }
    return replace(table, flaws=named)


def _records(grid: Grid, flaws: Flaws) -> Iterator[tuple[int, Sequence[str]]]:
    shown: dict[int, list[tuple[int, Fault]]] = {}
    for (row, place), fault in flaws.items():
        shown.setdefault(row, []).append((place, fault))
    for number, cells in enumerate(grid, 1):
        texts = [_text(cell) for cell in cells]
        for place, fault in shown.get(number, ()):
            if place < len(texts):
                texts[place] = fault.value
        yield number, texts


def _text(cell: Any) -> str:
    """Return a cell as it would stand in the record's CSV."""
    kind = cell.__class__
    if kind is str:
        return cell
    if kind is float:
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if kind is bool:
        return "TRUE" if cell else "FALSE"
    return _moment(cell)


def _moment(cell: Any) -> str:
    if isinstance(cell, datetime):
        midnight = cell.time() == time(0)
        return cell.date().isoformat() if midnight else cell.isoformat(timespec="seconds")
    if isinstance(cell, timedelta):
        return _moment((datetime(1900, 1, 1) + cell).time()) if cell.days == 0 else str(cell)
    if isinstance(cell, time):
        return cell.isoformat(timespec="seconds" if cell.second else "minutes")
    return cell.isoformat() if isinstance(cell, date) else str(cell)
