"""How a row of a record file is stored, and how the stored row becomes a value again.

Every stored value has one written form, the same on every database: text as it is, numbers as
double or integer, yes/no as 1 and 0, dates and times in ISO 8601, free columns as sorted JSON.
"""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields
from datetime import date, datetime, time
from functools import lru_cache
from itertools import repeat
from typing import Any

from greenwright.base import values
from greenwright.base.errors import BadInput
from greenwright.base.tables import Column, RecordFile, record_files

FORMS: Mapping[str, str] = {
    "key": "text",
    "text": "text",
    "choice": "text",
    "greens": "text",
    "green": "text",
    "scope": "text",
    "number": "real",
    "quantity": "real",
    "integer": "integer",
    "yesno": "yesno",
    "date": "date",
    "time": "time",
    "datetime": "datetime",
}
"""Column type -> written form."""

PYTHON: Mapping[str, tuple[type, ...]] = {
    "text": (str,),
    "real": (float, int),
    "integer": (int,),
    "yesno": (bool,),
    "date": (date,),
    "time": (time,),
    "datetime": (datetime,),
}
"""Written form -> types of the value."""

WRITING = ("given", "given_unit")
"""How a quantity was written: kept, and exported, but no part of what a row says."""

ABSENT = -1e300
"""What stands for a missing number where rows must be sorted: far under any real one."""

Stored = str | float | int | None
Content = tuple[Stored, ...]


@dataclass(frozen=True, slots=True)
class Field:
    """One stored column: attribute name, written form, and the value of an empty cell."""

    name: str
    form: str
    default: Any
    column: Column | None = None

    @property
    def empty(self) -> Stored:
        """Stored form of an empty cell."""
        return "" if self.form == "text" else None


@dataclass(frozen=True, slots=True)
class Layout:
    """The stored columns of one record file; free columns (``other``) come after them."""

    file: RecordFile
    value: type
    fields: tuple[Field, ...]

    @property
    def name(self) -> str:
        """Name of the record file, without its ending."""
        return self.file.name

    @property
    def names(self) -> tuple[str, ...]:
        """Stored column names in their order, ``other`` last."""
        return (*(f.name for f in self.fields), "other")

    def field(self, name: str) -> Field | None:
        """Return the field of that name, or None."""
        return next((f for f in self.fields if f.name == name), None)


@lru_cache(maxsize=32)
def layout(name: str) -> Layout:
    """Return the layout of a record file.

    Raises:
        BadInput: no record file of that name.

    >>> layout("rounds").names
    ('date', 'rounds', 'entered_at', 'note', 'other')
    """
    file = record_files().get(name)
    if file is None:
        raise BadInput(f"no record file named {name!r}", expected=", ".join(record_files()))
    kind = getattr(values, file.value)
    defaults = {f.name: f.default for f in fields(kind)}
    stored = [_field(c, defaults[c.field]) for c in file.columns if c.name != "id"]
    stored += [Field(name, "text", "") for name in WRITING if name in defaults]
    return Layout(file, kind, tuple(stored))


def _field(column: Column, default: Any) -> Field:
    form = FORMS[column.type]
    if default is MISSING:
        default = "" if form == "text" else None
    return Field(column.field, form, default, column)


@lru_cache(maxsize=65536)
def _iso(moment: date | time) -> str:
    return moment.isoformat()


_read_date = lru_cache(maxsize=65536)(date.fromisoformat)
_read_time = lru_cache(maxsize=65536)(time.fromisoformat)


def _real(number: float) -> float:
    """Return a number as it will be read back: the database knows no minus nought."""
    return float(number) + 0.0


_STORE: Mapping[str, Callable[[Any], Stored]] = {
    "text": str,
    "real": _real,
    "integer": int,
    "yesno": int,
    "date": _iso,
    "time": _iso,
    "datetime": datetime.isoformat,
}

_READ: Mapping[str, Callable[[Any], Any] | None] = {
    "text": None,
    "real": None,
    "integer": None,
    "yesno": bool,
    "date": _read_date,
    "time": _read_time,
    "datetime": datetime.fromisoformat,
}


def stored_columns(shape: Layout, rows: Sequence[Mapping[str, Any]]) -> list[list[Stored]]:
    """Return the stored columns of rows of values, ``other`` last (empty cells are absent)."""
    present = set().union(*rows) if rows else set()
    columns = [_stored_column(f, rows, present) for f in shape.fields]
    if "other" in present:
        columns.append([free_text(row.get("other")) for row in rows])
    else:
        columns.append([None] * len(rows))
    return columns


def _stored_column(f: Field, rows: Sequence[Mapping[str, Any]], present: set[str]) -> list[Stored]:
    if f.name not in present:
        return [f.empty] * len(rows)
    store, empty, name = _STORE[f.form], f.empty, f.name
    cells = [row.get(name) for row in rows]
    return [empty if cell is None else store(cell) for cell in cells]


def free_text(other: Mapping[str, str] | None) -> str | None:
    """Return free columns as sorted JSON, or None when there are none."""
    if not other:
        return None
    return json.dumps(dict(other), ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def read_columns(
    shape: Layout, columns: Sequence[Sequence[Stored]]
) -> Iterable[tuple[str, list[Any]]]:
    """Yield name and values of each stored column that holds anything but defaults."""
    for f, column in zip(shape.fields, columns, strict=False):
        if column.count(f.empty) < len(column):
            yield f.name, _read_column(f, column)
    other = columns[len(shape.fields)]
    if any(other):
        yield "other", [json.loads(cell) if cell else {} for cell in other]


def _read_column(f: Field, column: Sequence[Stored]) -> list[Any]:
    read, empty, default = _READ[f.form], f.empty, f.default
    if f.form == "text":
        return list(column) if empty == default else [cell or default for cell in column]
    if read is None:
        return [default if cell in (None, ABSENT) else cell for cell in column]
    return [default if cell in (None, "", ABSENT) else read(cell) for cell in column]


def make_values(
    shape: Layout, ids: Sequence[str], columns: Sequence[Sequence[Stored]]
) -> tuple[Any, ...]:
    """Return the frozen values of stored columns, in their order.

    The slots are filled column by column: ten times as fast as calling the class for each row,
    and the same, since the values have no checks of their own.
    """
    kind, n = shape.value, len(ids)
    made = [kind.__new__(kind) for _ in range(n)]
    filled: dict[str, Iterable[Any]] = {f.name: repeat(f.default, n) for f in shape.fields}
    filled["other"] = ({} for _ in range(n))
    filled |= {"id": ids, **dict(read_columns(shape, columns))}
    for name, cells in filled.items():
        deque(map(getattr(kind, name).__set__, made, cells), maxlen=0)
    return tuple(made)


def row_fields(shape: Layout, content: Content) -> dict[str, Any]:
    """Return the values of one stored row by field name; empty cells are absent."""
    found: dict[str, Any] = {}
    for f, cell in zip(shape.fields, content, strict=False):
        if cell != f.empty:
            read = _READ[f.form]
            found[f.name] = cell if read is None else read(cell)
    if content[len(shape.fields)]:
        found["other"] = json.loads(str(content[len(shape.fields)]))
    return found


def same_content(shape: Layout, one: Content, two: Content) -> bool:
    """Return whether two stored rows say the same, however their quantities were written."""
    said = [i for i, name in enumerate(shape.names) if name not in WRITING]
    return all(one[i] == two[i] for i in said)


def check_types(shape: Layout, given: Mapping[str, Any]) -> None:
    """Refuse fields that the file does not have, or values of another type.

    Raises:
        BadInput: an unknown field, or a value of the wrong type.
    """
    for name, value in given.items():
        f = shape.field(name)
        if f is None and name != "other":
            where = f"{shape.name}.csv, {name}"
            raise BadInput("no such column", where=where, expected=", ".join(shape.names))
        if f is not None and value is not None and not _fits(f.form, value):
            wanted = PYTHON[f.form][0].__name__
            raise BadInput(f"{value!r} is no {wanted}", where=f"{shape.name}.csv, {name}")


def _fits(form: str, value: Any) -> bool:
    if isinstance(value, bool) and form != "yesno":
        return False
    return isinstance(value, PYTHON[form]) and value == value
