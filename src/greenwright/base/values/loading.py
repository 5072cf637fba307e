"""What a file gave: rows that were kept, rows refused by name, and the counts of a load."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date as Date
from typing import Any


@dataclass(frozen=True, slots=True)
class Refusal:
    """One row that was not kept.

    Args:
        file: record file with its ending, as ``readings.csv``.
        row: row number; the header is row 1.
        column: the column at fault.
        value: the cell as it was written.
        why: reason in plain words.
        do: what to do about it.
    """

    file: str
    row: int
    column: str
    value: str
    why: str
    do: str = ""


@dataclass(frozen=True, slots=True)
class ParsedRow:
    """One row that was kept: row number and field -> value (empty cells are absent)."""

    row: int
    fields: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class ParsedFile:
    """All that one file (or sheet, or form) gave.

    Args:
        name: record file name without ending, as ``readings``.
        source: file name as the user knows it.
        read: rows read; always len(rows) + number of distinct refused rows.
        rows, refusals: what was kept and what was not.
        unknown_columns: header names kept as free detail.
        sha256: of the bytes read, hex; empty for a form.
    """

    name: str
    source: str
    read: int
    rows: tuple[ParsedRow, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    unknown_columns: tuple[str, ...] = ()
    sha256: str = ""


@dataclass(frozen=True, slots=True)
class Known:
    """What the store already knows of a course when a file is read.

    Args:
        course: course key, empty when there is none yet.
        greens: green keys.
        groups: group names.
        stations: (green, station) pairs.
    """

    course: str = ""
    greens: tuple[str, ...] = ()
    groups: tuple[str, ...] = ()
    stations: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class FileCount:
    """Rows of one file: read = kept + refused, kept = new + same + revised."""

    read: int = 0
    kept: int = 0
    refused: int = 0
    new: int = 0
    same: int = 0
    revised: int = 0


@dataclass(frozen=True, slots=True)
class Change:
    """One value that a load or a correction would change."""

    file: str
    id: str
    row: int
    field: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class LoadReport:
    """What a load did, or would do when dry."""

    course: str
    dry_run: bool
    files: Mapping[str, FileCount] = field(default_factory=dict)
    refusals: tuple[Refusal, ...] = ()
    changes: tuple[Change, ...] = ()
    unknown_columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    ignored: tuple[str, ...] = ()
    load_id: int | None = None

    @property
    def total(self) -> FileCount:
        """Return the counts over all files."""
        parts = list(self.files.values())
        names = ("read", "kept", "refused", "new", "same", "revised")
        return FileCount(*(sum(getattr(p, name) for p in parts) for name in names))


@dataclass(frozen=True, slots=True)
class Revision:
    """One state of one row: who wrote it, when it was known, and why."""

    file: str
    id: str
    number: int
    known: Date
    recorded_at: str
    who: str
    why: str
    fields: Mapping[str, Any]
