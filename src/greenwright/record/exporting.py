"""Writes a course's record back as the open format, so that loading it again gives the same."""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from greenwright.base.errors import StoreError
from greenwright.base.tables import Column, record_files
from greenwright.record.courses import choose_course
from greenwright.record.identity import SEPARATOR, identity_texts, name_uuid
from greenwright.record.layout import Layout, Stored, layout
from greenwright.record.package import FORMAT, Sheet, describe
from greenwright.record.schema import tables
from greenwright.record.snapshots import export_rows
from greenwright.record.store import Store, plain_errors

PACKAGE = "datapackage.json"
DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "'")
"""Beginnings that a spreadsheet may take for a formula, and the sign that disarms them."""

Row = tuple[Stored, ...]


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export wrote: folder, and rows by file."""

    folder: Path
    rows: Mapping[str, int]


def export_record(store: Store, folder: Path, *, course: str | None) -> Exported:
    """Write the current rows of a course as CSV, with their history and a datapackage.json.

    The same content gives the same bytes. An earlier export in the folder is replaced.

    Args:
        folder: a new or empty folder, or one that an export was written to before.

    Raises:
        StoreError: the folder holds something else, or cannot be written.
    """
    folder = Path(folder)
    with plain_errors(folder):
        stale = _earlier_files(folder)
        with store.reading() as conn:
            key = choose_course(conn, course)
            sheets = list(_sheets(conn, key))
            files = {f"{s.name}.csv": s.text.encode() for s in sheets}
            files |= {f"history/{n}.csv": t.encode() for n, t in _histories(conn, key)}
            files["advice.csv"] = _advice(conn, key).encode()
        files[PACKAGE] = _json(describe(key, sheets)).encode()
        _write(folder, files, stale)
    return Exported(folder, {s.name: len(s.rows) for s in sheets})


def _earlier_files(folder: Path) -> list[Path]:
    if not folder.exists() or not any(folder.iterdir()):
        return []
    try:
        said = json.loads((folder / PACKAGE).read_text("utf-8"))
        ours = said["greenwright"]["format"] <= FORMAT
    except (OSError, ValueError, KeyError, TypeError):
        ours = False
    if not ours:
        raise StoreError(
            "this folder holds other files than an earlier export",
            where=str(folder),
            expected="a new or empty folder",
            do="Name another folder",
        )
    names = [f"{name}.csv" for name in record_files()]
    paths = [folder / n for n in names] + [folder / "history" / n for n in names]
    return [p for p in paths if p.exists()]


def _write(folder: Path, files: Mapping[str, bytes], stale: Sequence[Path]) -> None:
    (folder / "history").mkdir(parents=True, exist_ok=True)
    for name, data in files.items():
        path = folder / name
        part = path.with_name(f".{path.name}.part")
        part.write_bytes(data)
        os.replace(part, path)
    for path in stale:
        if path.relative_to(folder).as_posix() not in files:
            path.unlink()


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"


def _sheets(conn: Connection, key: str) -> Iterator[Sheet]:
    for name in record_files():
        shape = layout(name)
        rows = export_rows(conn, shape, key)
        if rows:
            yield _sheet(shape, rows)


def _sheet(shape: Layout, rows: Sequence[Row]) -> Sheet:
    """Return the sheet of rows of (ordinal, own id, id, *content)."""
    columns = list(zip(*rows, strict=True))
    at = {n: columns[3 + i] for i, n in enumerate(shape.names)}
    others = [json.loads(str(cell)) if cell else {} for cell in at["other"]]
    cells = dict(_named_cells(shape, at))
    cells |= {n: [escaped(o.get(n, "")) for o in others] for n in sorted(set().union(*others))}
    cells["id"] = _needed_ids(shape, columns)
    first = [c.name for c in shape.file.columns if c.required or any(cells[c.name])]
    last = ("id", "entered_at", "note")
    free = [n for n in cells if shape.file.column(n) is None]
    header = [*(n for n in first if n not in last), *free, *(n for n in last if n in first)]
    body = list(zip(*(cells[n] for n in header), strict=True))
    return Sheet(shape, tuple(header), tuple(body), to_csv([escaped(n) for n in header], body))


def _named_cells(
    shape: Layout, at: Mapping[str, Sequence[Stored]]
) -> Iterator[tuple[str, list[str]]]:
    for column in shape.file.columns:
        if column.name != "id":
            yield column.name, _written(shape, column, at)


def _written(shape: Layout, column: Column, at: Mapping[str, Sequence[Stored]]) -> list[str]:
    write = WRITERS.get(column.type, escaped)
    cells = at[column.field]
    if "given" in at and column.type == "quantity":
        pairs = zip(at["given"], cells, strict=True)
        return [escaped(given) if given else write(cell) for given, cell in pairs]
    if "given" in at and column.name == "unit":
        parts = zip(at["given"], at["given_unit"], cells, strict=True)
        return [escaped(unit if given else unit or cell) for given, unit, cell in parts]
    return [write(cell) for cell in cells]


def _needed_ids(shape: Layout, columns: Sequence[Sequence[Stored]]) -> list[str]:
    """Return the ids that must be written: own ones, and those their row no longer gives."""
    seen: dict[str, int] = {}
    needed = []
    texts = identity_texts(shape, columns[3:])
    for own, row_id, text in zip(columns[1], columns[2], texts, strict=True):
        ordinal = seen.get(text, 0)
        derived = not own and name_uuid(f"{text}{SEPARATOR}{ordinal}") == row_id
        seen[text] = ordinal + derived
        needed.append("" if derived else str(row_id))
    return needed


def escaped(cell: Stored) -> str:
    """Return a text cell that no spreadsheet takes for a formula.

    >>> escaped("=1+1"), escaped("plain")
    ("'=1+1", 'plain')
    """
    text = "" if cell is None else str(cell)
    return f"'{text}" if text.startswith(DANGEROUS) else text


def _number(cell: Stored) -> str:
    return "" if cell is None else repr(cell)


def _yesno(cell: Stored) -> str:
    return "" if cell is None else ("yes" if cell else "no")


def _clock(cell: Stored) -> str:
    text = str(cell or "")
    return text[:5] if text.endswith(":00") and len(text) == 8 else text


def _plain(cell: Stored) -> str:
    return "" if cell is None else str(cell)


WRITERS: Mapping[str, Callable[[Stored], str]] = {
    "number": _number,
    "quantity": _number,
    "integer": _number,
    "yesno": _yesno,
    "time": _clock,
    "date": _plain,
    "datetime": _plain,
}
"""Column type -> how a stored cell is written; the others are text."""


def to_csv(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a table as CSV (RFC 4180: commas, double quotes, CR LF)."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows(rows)
    return out.getvalue()


HISTORY = ("id", "number", "known", "void", "recorded_at", "who", "why")


def _histories(conn: Connection, key: str) -> Iterator[tuple[str, str]]:
    change = tables().change.c
    for name in record_files():
        shape, r = layout(name), tables().revision[name].c
        rows = conn.execute(
            select(r.row_id, r.number, r.known, r.void, change.recorded_at, change.who, change.why)
            .add_columns(*(r[n] for n in shape.names))
            .where(r.course_key == key, r.change_id == change.id)
            .order_by(r.row_id, r.number)
        ).all()
        if rows:
            yield name, _history(shape, rows)


def _history(shape: Layout, rows: Sequence[Sequence[Any]]) -> str:
    write = [WRITERS.get(f.column.type, escaped) if f.column else escaped for f in shape.fields]
    body = [
        [
            *(escaped(cell) for cell in row[: len(HISTORY)]),
            *(w(cell) for w, cell in zip(write, row[len(HISTORY) :], strict=False)),
            row[-1] or "",
        ]
        for row in rows
    ]
    names = [f.column.name if f.column else f.name for f in shape.fields]
    return to_csv([*HISTORY, *names, "other"], body)


def _advice(conn: Connection, key: str) -> str:
    a = tables().answer.c
    columns = (a.question, a.as_of, a.made_at, a.version, a.content)
    rows = conn.execute(select(*columns).where(a.course_key == key).order_by(a.id))
    names = ("question", "as_of", "made_at", "version", "answer")
    return to_csv(names, [[escaped(cell) for cell in row] for row in rows])
