"""A table of text -> kept rows and refusals: the one place where every file goes through."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from greenwright.base.tables import RecordFile
from greenwright.base.values import Known, ParsedFile, ParsedRow, Refusal
from greenwright.intake.amounts import Columns, settle_readings, settle_work
from greenwright.intake.bands import settle_lab, settle_limits, settle_targets
from greenwright.intake.cells import Context, read_column, read_free
from greenwright.intake.faults import Fault, FileRefused
from greenwright.intake.rules import UNIQUE, first_fault
from greenwright.intake.tables import Table

SHOWN = 200
"""So many characters of a refused cell are shown."""

_SETTLE: Mapping[str, Callable[[Columns], None]] = {
    "readings": settle_readings,
    "work": settle_work,
    "targets": settle_targets,
    "limits": settle_limits,
    "lab": settle_lab,
}


def context_of(file: RecordFile, *, today: date, known: Known, escaped: bool = False) -> Context:
    """Return what the cells of a file are judged against."""
    greens, groups = frozenset(known.greens), frozenset(known.groups)
    return Context(file, today, greens, groups, escaped)


def refused_file(file: RecordFile, source: str, refused: FileRefused, *, sha256: str) -> ParsedFile:
    """Return a file that was refused whole, as one refusal at its header."""
    fault = refused.fault
    refusal = Refusal(f"{file.name}.csv", 1, fault.column, fault.value, fault.why, fault.do)
    return ParsedFile(file.name, source, 1, (), (refusal,), (), sha256)


def parse(table: Table, context: Context, *, source: str, sha256: str = "") -> ParsedFile:
    """Return the rows of a table that are good, and each other row with its first fault.

    Faults of cells count before faults between cells, in the order of the record's columns.
    """
    file = context.file
    unknown = tuple(name for name in table.header if file.column(name) is None)
    columns = _columns(table, context)
    free = {name: read_free(table.columns[name], name, context) for name in unknown}
    faults = _cell_faults(table, columns | free, file)
    kept = _kept(table, columns, free, faults)
    faults |= {row.row: fault for row, fault in _rule_faults(kept, context)}
    rows = tuple(row for row in kept if row.row not in faults)
    faults = _as_written(table, faults) | table.broken
    refusals = tuple(_refusal(file, number, faults[number]) for number in sorted(faults))
    return ParsedFile(file.name, source, len(rows) + len(refusals), rows, refusals, unknown, sha256)


def _as_written(table: Table, faults: Mapping[int, Fault]) -> dict[int, Fault]:
    """Return the faults with the cell as the file has it, not as it was understood."""
    places = {number: place for place, number in enumerate(table.numbers) if number in faults}
    return {
        number: replace(fault, value=table.columns[fault.column][places[number]][:SHOWN])
        if fault.column in table.columns
        else fault
        for number, fault in faults.items()
    }


def _refusal(file: RecordFile, number: int, fault: Fault) -> Refusal:
    return Refusal(f"{file.name}.csv", number, fault.column, fault.value, fault.why, fault.do)


def _columns(table: Table, context: Context) -> Columns:
    """Return the values of the record's columns by field name; a missing column is all None."""
    columns: Columns = {}
    gone = ("",) * len(table.numbers)
    for column in context.file.columns:
        cells = table.columns.get(column.name, gone)
        columns[column.field] = read_column(cells, column, context)
    settle = _SETTLE.get(context.file.name)
    if settle and table.numbers:
        settle(columns)
    return columns


def _cell_faults(table: Table, columns: Columns, file: RecordFile) -> dict[int, Fault]:
    """Return row number -> the fault that comes first in the order of columns."""
    order = {column.name: place for place, column in enumerate(file.columns)}
    whole = set(table.numbers)
    flaws = [(row, fault) for (row, _), fault in table.flaws.items() if row in whole]
    found: dict[int, Fault] = {}
    for number, fault in [*flaws, *_seen_faults(table, columns)]:
        before = found.setdefault(number, fault)
        if order.get(fault.column, len(order)) < order.get(before.column, len(order)):
            found[number] = fault
    return found


def _seen_faults(table: Table, columns: Columns) -> Iterator[tuple[int, Fault]]:
    for values in columns.values():
        if any(isinstance(value, Fault) for value in set(values)):
            pairs = zip(table.numbers, values, strict=True)
            yield from ((number, value) for number, value in pairs if isinstance(value, Fault))


def _kept(
    table: Table, columns: Columns, free: Columns, faults: Mapping[int, Fault]
) -> list[ParsedRow]:
    """Return the rows without a fault, an empty cell being absent.

    Columns that have no gap are joined at once and the others laid over them, which takes half
    the time of asking each cell of each row.
    """
    gapless = {name: values for name, values in columns.items() if None not in set(values)}
    joined = zip(*gapless.values(), strict=True) if gapless else [()] * len(table.numbers)
    fields: list[dict[str, Any]] = [dict(zip(gapless, row, strict=True)) for row in joined]
    for name, values in columns.items():
        if name not in gapless:
            _lay_over(fields, name, values)
    for name, values in free.items():
        for row, value in zip(fields, values, strict=True):
            if value is not None:
                row.setdefault("other", {})[name] = value
    numbered = zip(table.numbers, fields, strict=True)
    return [ParsedRow(number, row) for number, row in numbered if number not in faults]


def _lay_over(fields: list[dict[str, Any]], name: str, values: Sequence[Any]) -> None:
    if any(value is not None for value in values):
        for row, value in zip(fields, values, strict=True):
            if value is not None:
                row[name] = value


def _rule_faults(rows: Iterable[ParsedRow], context: Context) -> Iterable[tuple[ParsedRow, Fault]]:
    unique = context.file.name in UNIQUE
    identity = tuple(context.file.column(name) for name in context.file.identity)
    seen: dict[tuple[Any, ...], int] = {}
    for row in rows:
        fault = first_fault(row.fields, context)
        if fault is None and unique:
            key = tuple(row.fields.get(column.field) for column in identity)
            before = seen.setdefault(key, row.row)
            if before != row.row:
                fault = _doubled(key, before, context)
        if fault is not None:
            yield row, fault


def _doubled(key: tuple[Any, ...], before: int, context: Context) -> Fault:
    what = " ".join(str(part) for part in key if part is not None)
    return Fault(
        context.file.identity[0], str(key[0]), f"{what} already stands in row {before}", "keep one"
    )
