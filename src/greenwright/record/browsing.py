"""Leafs through the rows of a file, and through the loads of a course."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, Table, func, or_, select

from greenwright.base.errors import BadInput
from greenwright.base.values import FileCount, Refusal
from greenwright.record.courses import choose_course
from greenwright.record.layout import Layout, layout, row_fields
from greenwright.record.schema import tables
from greenwright.record.store import Store

KIND_COLUMNS = ("kind", "practice", "topic", "analyte", "quantity", "limit")
"""The column that says of what kind a row is, whichever the file has."""


@dataclass(frozen=True, slots=True)
class BrowsedRow:
    """One current row: its id, how many revisions it has, and its values."""

    id: str
    revision_count: int
    fields: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class LoadedFile:
    """One file of a load: its name in the record, as the user knew it, and its counts."""

    file: str
    source: str
    sha256: str
    count: FileCount
    unknown_columns: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PastLoad:
    """One load as it was noted: who, why, when, what was read and what was refused."""

    id: int
    who: str
    why: str
    today: str
    recorded_at: str
    files: tuple[LoadedFile, ...]
    refusals: tuple[Refusal, ...]
    ignored: tuple[str, ...] = ()


def browse(
    store: Store,
    file: str,
    *,
    course: str | None,
    limit: int = 50,
    offset: int = 0,
    green: str = "",
    kind: str = "",
    newest_first: bool = True,
) -> tuple[tuple[BrowsedRow, ...], int]:
    """Return a page of the current rows of a file, and how many rows there are in all.

    Args:
        file: record file, without ending.
        limit, offset: rows of a page, and rows before it.
        green: only rows of this green (work done on all greens or on its group included).
        kind: only rows of this kind of reading, practice, topic, analyte, quantity or limit.
        newest_first: by date, where the file has one; else as they came in.

    Raises:
        BadInput: a green or a kind where the file has none, or a negative limit or offset.
    """
    shape = layout(file)
    if limit < 0 or offset < 0:
        raise BadInput("limit and offset cannot be negative")
    with store.reading() as conn:
        query = _matching(shape, choose_course(conn, course), green, kind)
        total = conn.execute(select(func.count()).select_from(query.subquery())).scalar_one()
        ordered = _in_order(shape, query, newest_first).limit(limit).offset(offset)
        rows = conn.execute(ordered).all()
    page = (BrowsedRow(row[0], row[1], row_fields(shape, tuple(row[2:]))) for row in rows)
    return tuple(page), total


def _matching(shape: Layout, key: str, green: str, kind: str) -> Select:
    r, current = tables().revision[shape.name], tables().current[shape.name]
    query = select(r.c.row_id, current.c.number, *(r.c[n] for n in shape.names)).where(
        current.c.course_key == key, current.c.void == 0, r.c.seq == current.c.seq
    )
    if green:
        query = query.where(_on_green(_column(shape, r, ("green",)), key, green))
    if kind:
        query = query.where(_column(shape, r, KIND_COLUMNS) == kind)
    return query


def _column(shape: Layout, r: Table, names: tuple[str, ...]) -> ColumnElement[str]:
    found = next((n for n in names if shape.field(n)), None)
    if found is None:
        raise BadInput(f"{shape.name}.csv has no {names[0]} to choose by")
    return r.c[found]


def _on_green(cell: ColumnElement[str], key: str, green: str) -> ColumnElement[bool]:
    g, current = tables().revision["greens"].c, tables().current["greens"].c
    group = select(g.group).where(
        current.course_key == key, g.seq == current.seq, g.green == green, g.group != ""
    )
    listed = (";" + func.replace(cell, " ", "") + ";").contains(f";{green};", autoescape=True)
    return or_(cell == green, cell == "all", cell.in_(group), listed)


def _in_order(shape: Layout, query: Select, newest_first: bool) -> Select:
    r = tables().revision[shape.name].c
    by = [r[n] for n in ("date", "start", "from_", "time") if shape.field(n)] or [r.seq]
    way = [c.desc() if newest_first else c.asc() for c in by]
    return query.order_by(*way, r.ordinal, r.row_id)


def loads(store: Store, *, course: str | None, limit: int | None = None) -> tuple[PastLoad, ...]:
    """Return the loads of a course, newest first, each with what it refused.

    Args:
        limit: only so many of the newest; None = all.
    """
    with store.reading() as conn:
        c = tables().change.c
        key = choose_course(conn, course)
        made = conn.execute(
            select(c.id, c.who, c.why, c.today, c.recorded_at, c.ignored)
            .where(c.course_key == key, c.kind == "load")
            .order_by(c.id.desc())
            .limit(limit)
        ).all()
        first = min((row.id for row in made), default=0)
        files, refused = _loaded_files(conn, key, first), _refusals(conn, key, first)
    return tuple(
        PastLoad(
            *row[:5],
            files=tuple(files.get(row.id, ())),
            refusals=tuple(refused.get(row.id, ())),
            ignored=tuple(json.loads(row.ignored)),
        )
        for row in made
    )


def _refusals(conn: Connection, key: str, first: int) -> dict[int, list[Refusal]]:
    r, c = tables().refusal.c, tables().change.c
    rows = conn.execute(
        select(r.change_id, r.file, r.row_number, r.column_name, r.value, r.why, r.do_next)
        .where(r.change_id == c.id, c.course_key == key, r.change_id >= first)
        .order_by(r.change_id, r.position)
    )
    found: dict[int, list[Refusal]] = {}
    for change_id, *cells in rows:
        found.setdefault(change_id, []).append(Refusal(*cells))
    return found


def _loaded_files(conn: Connection, key: str, first: int) -> dict[int, list[LoadedFile]]:
    f, c = tables().load_file.c, tables().change.c
    rows = conn.execute(
        select(f.change_id, f.file, f.source, f.sha256, f.unknown_columns)
        .add_columns(f.read, f.kept, f.refused, f.new, f.same, f.revised)
        .where(f.change_id == c.id, c.course_key == key, f.change_id >= first)
        .order_by(f.change_id, f.position)
    )
    found: dict[int, list[LoadedFile]] = {}
    for change_id, file, source, sha, unknown, *counts in rows:
        made = LoadedFile(file, source, sha, FileCount(*counts), tuple(json.loads(unknown)))
        found.setdefault(change_id, []).append(made)
    return found
