"""One cell -> one value: a reader for each type of column in the table of files."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from greenwright.base.errors import BadInput
from greenwright.base.tables import Column, RecordFile, vocabulary
from greenwright.base.units import number
from greenwright.intake.dates import read_date, read_datetime, read_time
from greenwright.intake.faults import Fault, bad, fault_of, nearest
from greenwright.intake.remembered import Remembered

LONGEST_CELL = 32_768
LONGEST_KEY = 120

Reader = Callable[[str], Any]

_WHOLE = re.compile(r"[+-]?\d{1,15}(?:\.0*)?", re.ASCII)
_UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_YES_NO = {"yes": True, "no": False, "true": True, "false": False}
_ESCAPED = re.compile(r"'[=+\-@\t\r']")


@dataclass(frozen=True, slots=True)
class Context:
    """What a cell is judged against.

    Args:
        file: the record file being read.
        today: readings and done work after it are in the future.
        greens, groups: what the course has.
        escaped: one leading apostrophe before ``= + - @ ' tab CR`` is our own export's.
    """

    file: RecordFile
    today: date
    greens: frozenset[str]
    groups: frozenset[str]
    escaped: bool = False


def read_column(cells: Sequence[str], column: Column, context: Context) -> list[Any]:
    """Return the value of each cell: None for an empty one, a Fault for one that is refused."""
    reader = _READERS[column.type](column, context)
    value = partial(_value, reader=reader, column=column, escaped=context.escaped)
    return Remembered(value).each(cells)


def read_free(cells: Sequence[str], name: str, context: Context) -> list[Any]:
    """Return the cells of a column that the record does not know, as text."""
    return read_column(cells, Column(name, "text"), context)


def unescaped(cell: str) -> str:
    """Return a cell of our own export without the apostrophe that kept it from being a formula.

    >>> unescaped("'=1+1"), unescaped("'tis")
    ('=1+1', "'tis")
    """
    return cell[1:] if _ESCAPED.match(cell) else cell


def _value(text: str, *, reader: Reader, column: Column, escaped: bool) -> Any:
    cell = unescaped(text.strip()) if escaped else text.strip()
    if not cell:
        return Fault(column.name, "", "the cell is empty", "fill it") if column.required else None
    if len(cell) > LONGEST_CELL:
        return Fault(column.name, cell[:80], f"longer than {LONGEST_CELL:,} characters", "cut it")
    try:
        return reader(cell)
    except BadInput as error:
        return fault_of(error, column.name, cell)


def _text(_: Column, __: Context) -> Reader:
    return str


def _key(column: Column, _: Context) -> Reader:
    reserved = column.name in ("green", "group")

    def _read(cell: str) -> str:
        if len(cell) > LONGEST_KEY or not cell.isprintable():
            bad("a key is short and on one line", f"use at most {LONGEST_KEY} characters")
        if reserved and (cell == "all" or ";" in cell):
            bad(f"{cell!r} cannot be a key: 'all' and ';' have a meaning", "rename it")
        return cell

    return _read


def _date(column: Column, context: Context) -> Reader:
    observed = context.file.known == "date" and column.name == "date"
    latest = context.today if observed or column.name == "issued" else date.max

    def _read(cell: str) -> date:
        day = read_date(cell)
        if day > latest:
            bad(f"{cell} is in the future (today is {latest})", "correct the date")
        return day

    return _read


def _number(column: Column, _: Context) -> Reader:
    def _read(cell: str) -> float:
        value = number(cell)
        in_window(value, column.low, column.high, unit=column.unit)
        return value

    return _read


def in_window(value: float, low: float | None, high: float | None, *, unit: str) -> None:
    """Refuse a number outside its window [unit]; None is an open end.

    Raises:
        BadInput: it is outside.
    """
    if (low is None or value >= low) and (high is None or value <= high):
        return
    ends = f"{'-' if low is None else f'{low:g}'} to {'-' if high is None else f'{high:g}'}"
    negative = "negative: " if low == 0 and value < 0 else ""
    bad(f"{negative}{value:g} is outside {ends} {unit}".rstrip(), "correct the value or its unit")


def _integer(column: Column, _: Context) -> Reader:
    def _read(cell: str) -> int:
        if not _WHOLE.fullmatch(cell):
            number(cell)
            bad(f"{cell!r} is not a whole number", "write a whole number")
        value = int(float(cell))
        in_window(value, column.low, column.high, unit=column.unit)
        return value

    return _read


def _choice(column: Column, _: Context) -> Reader:
    words = vocabulary(column.of)

    def _read(cell: str) -> str:
        if cell not in words:
            bad(f"{cell!r} is not a {column.name} we know", nearest(cell, words))
        return cell

    return _read


def _yesno(_: Column, __: Context) -> Reader:
    def _read(cell: str) -> bool:
        if cell.lower() not in _YES_NO:
            bad(f"{cell!r} is neither yes nor no", "write yes or no")
        return _YES_NO[cell.lower()]

    return _read


def _uuid(_: Column, __: Context) -> Reader:
    def _read(cell: str) -> str:
        if not _UUID.fullmatch(cell.lower()):
            bad(f"{cell!r} is not a UUID", "leave the cell empty; the program makes its own")
        return cell.lower()

    return _read


def _names(context: Context, *, groups: bool) -> frozenset[str]:
    return context.greens | context.groups | {"all"} if groups else context.greens


def _check_green(name: str, names: frozenset[str], context: Context) -> str:
    if name not in names:
        known = sorted(context.greens)
        none = "load greens.csv first" if not known else nearest(name, known)
        bad(f"{name!r} is not a green{' or group' if names != context.greens else ''} here", none)
    return name


def _green(_: Column, context: Context, *, groups: bool = False) -> Reader:
    return partial(_check_green, names=_names(context, groups=groups), context=context)


def _greens(_: Column, context: Context) -> Reader:
    names = _names(context, groups=True)

    def _read(cell: str) -> str:
        parts = [part for part in map(str.strip, cell.split(";")) if part]
        if not parts:
            bad(f"{cell!r} names no green", "write a green, several joined with ;, or all")
        return ";".join(_check_green(part, names, context) for part in parts)

    return _read


_READERS: Mapping[str, Callable[[Column, Context], Reader]] = {
    "key": _key,
    "text": _text,
    "quantity": _text,
    "date": _date,
    "time": lambda _, __: read_time,
    "datetime": lambda _, __: read_datetime,
    "number": _number,
    "integer": _integer,
    "choice": _choice,
    "yesno": _yesno,
    "green": _green,
    "greens": _greens,
    "scope": partial(_green, groups=True),
    "uuid": _uuid,
}
