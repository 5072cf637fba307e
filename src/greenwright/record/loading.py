"""Loads parsed files: one transaction, every row new, same, revised, or refused by name."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import date, datetime

from sqlalchemy import Connection, insert

from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.base.values import FileCount, LoadReport, ParsedFile, Refusal
from greenwright.record.appending import Maker, append, begin_change
from greenwright.record.courses import choose_course
from greenwright.record.schema import tables
from greenwright.record.sorting_out import Sorted, sort_out
from greenwright.record.store import Store, collector_paused


def load(
    store: Store,
    parsed: Sequence[ParsedFile],
    *,
    today: date,
    now: datetime,
    who: str,
    why: str = "",
    course: str | None = None,
    dry_run: bool = False,
    all_or_nothing: bool = False,
    ignored: Sequence[str] = (),
) -> LoadReport:
    """Write what files or forms gave; return what was new, the same, revised and refused.

    Args:
        parsed: files as intake read them.
        today: the day from which revisions are known.
        now: when it is written.
        course: key of the course, where the files do not hold course.csv.
        dry_run: work everything out and write nothing.
        all_or_nothing: write nothing when any row was refused.
        ignored: names that were not of the record, noted in the report.

    Returns:
        the report, with files by name (``readings.csv``); load_id is None when nothing was
        written.

    Raises:
        CannotAnswer: no course is known to load into, or several.
        BadInput: the files and the argument name different courses.
        StoreError: the store could not be written; nothing of the load was saved.
    """
    maker = Maker(who, why, today, now)
    refused = tuple(r for p in parsed for r in p.refusals)
    dry = dry_run or (all_or_nothing and bool(refused))
    with collector_paused(), store.reading() if dry else store.writing() as conn:
        key = _course(conn, parsed, course)
        found = sort_out(conn, parsed, course=key, today=today)
        load_id = None
        if not dry:
            load_id = begin_change(
                conn, "load", maker, course=key, ignored=json.dumps(list(ignored))
            )
            _write(conn, found, course=key, load_id=load_id)
            _note(conn, found, refused, load_id=load_id)
    return LoadReport(
        course=key,
        dry_run=dry_run,
        files=_totals(found),
        refusals=refused,
        changes=tuple(c for f in found for c in f.changes),
        unknown_columns={f"{p.name}.csv": p.unknown_columns for p in parsed if p.unknown_columns},
        ignored=tuple(ignored),
        load_id=load_id,
    )


def _course(conn: Connection, parsed: Sequence[ParsedFile], asked: str | None) -> str:
    named = {str(row.fields["course"]) for p in parsed if p.name == "course" for row in p.rows}
    if len(named) > 1:
        raise BadInput(
            "course.csv names several courses", expected="one", do="Load one course at a time"
        )
    if named:
        key = named.pop()
        if asked and asked != key:
            raise BadInput(f"course.csv is of {key!r}, not of {asked!r}", do="Name the same course")
        return key
    _explain_refused_course(parsed)
    return choose_course(conn, asked)


def _explain_refused_course(parsed: Sequence[ParsedFile]) -> None:
    refused = [r for p in parsed if p.name == "course" for r in p.refusals]
    if refused:
        r = refused[0]
        raise CannotAnswer(
            f"{r.why} ({r.value!r}), so there is no course to load into",
            where=f"{r.file}, row {r.row}, {r.column}",
            do=r.do or "Correct course.csv and load again",
        )


def _write(conn: Connection, found: Iterable[Sorted], *, course: str, load_id: int) -> None:
    for part in found:
        append(conn, part.shape, part.drafts, course=course, change_id=load_id)


def _note(
    conn: Connection, found: Sequence[Sorted], refused: Sequence[Refusal], *, load_id: int
) -> None:
    files = [
        {
            "change_id": load_id,
            "position": i,
            "file": f.shape.name,
            "source": f.parsed.source,
            "sha256": f.parsed.sha256,
            "unknown_columns": json.dumps(list(f.parsed.unknown_columns)),
            **asdict(f.count),
        }
        for i, f in enumerate(found)
    ]
    if files:
        conn.execute(insert(tables().load_file), files)
    rows = [_refusal_row(load_id, i, r) for i, r in enumerate(refused)]
    if rows:
        conn.execute(insert(tables().refusal), rows)


def _refusal_row(load_id: int, position: int, r: Refusal) -> Mapping[str, object]:
    return {
        "change_id": load_id,
        "position": position,
        "file": r.file,
        "row_number": r.row,
        "column_name": r.column,
        "value": r.value,
        "why": r.why,
        "do_next": r.do,
    }


def _totals(found: Iterable[Sorted]) -> dict[str, FileCount]:
    totals: dict[str, FileCount] = {}
    for part in found:
        name = f"{part.shape.name}.csv"
        was, add = asdict(totals.get(name, FileCount())), asdict(part.count)
        totals[name] = FileCount(**{key: was[key] + add[key] for key in add})
    return totals
