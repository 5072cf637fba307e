"""Paths that a person names -> every file of the record in them, read in the record's order."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from greenwright.base.errors import RefusedInput
from greenwright.base.tables import RecordFile, record_files
from greenwright.base.values import Known, ParsedFile
from greenwright.intake.cells import unescaped
from greenwright.intake.csv_text import MOST_BYTES, read_csv
from greenwright.intake.faults import FileRefused
from greenwright.intake.ghcn_daily import ENDING, looks_like, read_ghcn
from greenwright.intake.rows import context_of, parse, refused_file
from greenwright.intake.tables import Table, need_columns
from greenwright.intake.workbook import read_workbook
from greenwright.intake.zip_caps import MOST_BYTES as MOST_WORKBOOK_BYTES

PACKAGE = "datapackage.json"
LATER = (".geojson", ".asc")
"""Files of the record that a later version will read."""

Opened = tuple[Table | FileRefused, str]
"""A table, or why there is none; and the SHA-256 of the bytes."""


@dataclass(frozen=True, slots=True)
class Source:
    """One file or sheet of the record that is to be read."""

    file: RecordFile
    label: str
    open: Callable[[], Opened]
    escaped: bool = False


def read_paths(
    paths: Sequence[Path], *, today: date, known: Known | None = None
) -> tuple[tuple[ParsedFile, ...], tuple[str, ...]]:
    """Return what the paths hold, and the names in them that are not of the record.

    Args:
        paths: folders of CSV files, CSV files named like the record's, or .xlsx workbooks.
        today: readings and done work after it are refused as in the future.
        known: the course and greens there are already; those read here are added.

    Raises:
        RefusedInput: a path does not exist, is not of the record, or is a workbook that cannot
            be opened. Anything wrong inside a file is a Refusal instead.
    """
    sources: list[Source] = []
    ignored: list[str] = []
    for path in paths:
        _gather(path, sources, ignored)
    order = {name: place for place, name in enumerate(record_files())}
    known = known or Known()
    parsed = []
    for source in sorted(sources, key=lambda s: order[s.file.name]):
        parsed.append(_read(source, today, known))
        known = learnt(known, parsed[-1])
    return tuple(parsed), tuple(ignored)


def _read(source: Source, today: date, known: Known) -> ParsedFile:
    table, sha256 = source.open()
    context = context_of(source.file, today=today, known=known, escaped=source.escaped)
    try:
        if isinstance(table, FileRefused):
            raise table
        table = _plain_header(table) if source.escaped else table
        need_columns(table.header, source.file)
    except FileRefused as refused:
        return refused_file(source.file, source.label, refused, sha256=sha256)
    return parse(table, context, source=source.label, sha256=sha256)


def _plain_header(table: Table) -> Table:
    """Return a table of our own export with its column names as they were before escaping."""
    columns = {unescaped(name): cells for name, cells in table.columns.items()}
    return replace(table, header=tuple(map(unescaped, table.header)), columns=columns)


def learnt(known: Known, parsed: ParsedFile) -> Known:
    """Return what is known once a course, greens or stations file has been read."""
    rows = [row.fields for row in parsed.rows]
    if parsed.name == "course" and rows:
        course = rows[0]["course"]
        return known if known.course in ("", course) and known.course else _moved(known, course)
    if parsed.name == "greens":
        greens = dict.fromkeys((*known.greens, *(r["green"] for r in rows)))
        groups = dict.fromkeys((*known.groups, *(r["group"] for r in rows if "group" in r)))
        return Known(known.course, tuple(greens), tuple(groups), known.stations)
    if parsed.name == "stations":
        pairs = dict.fromkeys((*known.stations, *((r["green"], r["station"]) for r in rows)))
        return Known(known.course, known.greens, known.groups, tuple(pairs))
    return known


def _moved(known: Known, course: str) -> Known:
    """Return what is known of the course just read: nothing of another one's greens."""
    if known.course:
        return Known(course)
    return Known(course, known.greens, known.groups, known.stations)


def _gather(path: Path, sources: list[Source], ignored: list[str]) -> None:
    if path.is_dir():
        for entry in sorted(path.iterdir()):
            if _is_record_csv(entry):
                sources.append(_csv_source(entry))
            elif _is_ghcn(entry):
                sources.append(_ghcn_source(entry))
            elif entry.name != PACKAGE:
                ignored.append(_ignored_name(entry))
    elif not path.is_file():
        raise RefusedInput("there is no such file or folder", where=str(path), do="check the name")
    elif path.suffix.lower() == ".xlsx":
        _gather_workbook(path, sources, ignored)
    elif _is_record_csv(path):
        sources.append(_csv_source(path))
    elif _is_ghcn(path):
        sources.append(_ghcn_source(path))
    else:
        raise RefusedInput(
            "not a file of the record",
            where=path.name,
            expected=", ".join(f"{name}.csv" for name in record_files())
            + ", an .xlsx workbook or a GHCN-Daily file",
            do="rename it to what it holds",
        )


def _is_record_csv(path: Path) -> bool:
    return path.is_file() and path.suffix.lower() == ".csv" and path.stem.lower() in record_files()


def _is_ghcn(path: Path) -> bool:
    """Return whether a file is daily weather of the open standard, whatever it is called."""
    if not path.is_file() or path.suffix.lower() not in (ENDING, ".csv"):
        return False
    if path.suffix.lower() == ENDING:
        return True
    try:
        with path.open("rb") as held:
            return looks_like(held.read(4096))
    except OSError:
        return False


def _ignored_name(path: Path) -> str:
    if path.suffix.lower() in LATER:
        return f"{path.name} (kept for a later version)"
    return f"{path.name}/" if path.is_dir() else path.name


def _csv_source(path: Path) -> Source:
    file = record_files()[path.stem.lower()]
    return Source(file, path.name, lambda: _open_csv(path), _is_escaped(path.parent))


def _ghcn_source(path: Path) -> Source:
    return Source(record_files()["weather"], path.name, lambda: _open_csv(path))


def _open_csv(path: Path) -> Opened:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise FileRefused(f"larger than {MOST_BYTES // 1_000_000} MB", do="cut it into several")
        data = path.read_bytes()
    except FileRefused as refused:
        return refused, ""
    except OSError as error:
        return FileRefused(f"cannot be read: {error.strerror}", do="check its permissions"), ""
    sha256 = hashlib.sha256(data).hexdigest()
    try:
        return _tabled(path, data), sha256
    except FileRefused as refused:
        return refused, sha256


def _tabled(path: Path, data: bytes) -> Table:
    fixed = path.suffix.lower() == ENDING
    other = path.stem.lower() in record_files() and path.stem.lower() != "weather"
    if fixed or (not other and looks_like(data)):
        return read_ghcn(data, fixed=fixed)
    return read_csv(data)


def _gather_workbook(path: Path, sources: list[Source], ignored: list[str]) -> None:
    if path.stat().st_size > MOST_WORKBOOK_BYTES:
        limit = MOST_WORKBOOK_BYTES // 1_000_000
        raise RefusedInput(f"larger than {limit} MB", where=path.name, do="save its sheets as CSV")
    data = path.read_bytes()
    sha256 = hashlib.sha256(data).hexdigest()
    book = read_workbook(data, path.name)
    ignored.extend(book.ignored)
    sources.extend(_sheet_sources(book.sheets, path.name, sha256))


def _sheet_sources(sheets, label: str, sha256: str) -> Iterator[Source]:
    for name, table in sheets.items():
        yield Source(record_files()[name], f"{label}: {name}", lambda t=table: (t, sha256))


def _is_escaped(folder: Path) -> bool:
    """Return whether our own export wrote this folder, text cells escaped against formulas."""
    try:
        package = json.loads((folder / PACKAGE).read_text(encoding="utf-8"))
        return package["greenwright"]["escaped"] is True
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return False
