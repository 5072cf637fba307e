"""Appends revisions and keeps the table of current rows in step, in one transaction."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, Select, bindparam, func, insert, literal, select

from greenwright.base.errors import BadInput
from greenwright.record import sqlite
from greenwright.record.identity import digest
from greenwright.record.layout import Content, Layout
from greenwright.record.schema import BOOK, tables


@dataclass(frozen=True, slots=True)
class Maker:
    """Who makes a change, when, why, and which day counts as today."""

    who: str
    why: str
    today: date
    now: datetime

    def __post_init__(self) -> None:
        if not self.who.strip():
            raise BadInput("nobody is named as the one who writes", do="Say who")


class Draft(NamedTuple):
    """One revision about to be written; print is the fingerprint of its content."""

    row_id: str
    ordinal: int
    own: int
    number: int
    known: str
    void: int
    content: Content
    print: str = ""


@dataclass(frozen=True, slots=True)
class State:
    """One stored revision of a row."""

    seq: int
    row_id: str
    ordinal: int
    own: int
    number: int
    known: str
    void: int
    change_id: int
    print: str
    content: Content


def begin_change(
    conn: Connection, kind: str, maker: Maker, *, course: str, ignored: str = "[]"
) -> int:
    """Write who changes what and why; return the number of the change."""
    row = {
        "course_key": course,
        "kind": kind,
        "who": maker.who,
        "why": maker.why,
        "today": maker.today.isoformat(),
        "recorded_at": maker.now.isoformat(timespec="seconds"),
        "ignored": ignored,
    }
    made = conn.execute(insert(tables().change), row)
    return made.inserted_primary_key[0]


def append(
    conn: Connection, shape: Layout, drafts: Iterable[Draft], *, course: str, change_id: int
) -> None:
    """Append revisions of one file and bring its table of current rows in step."""
    rows = list(_stored(drafts, course, change_id))
    if not rows:
        return
    revision = tables().revision[shape.name]
    before = conn.execute(select(func.coalesce(func.max(revision.c.seq), 0))).scalar_one()
    sqlite.append_rows(conn, revision, (*BOOK[1:], *shape.names), rows)
    _add_current(conn, shape, change_id, before)
    if any(row[4] > 1 for row in rows):
        _move_current(conn, shape, change_id, before)


def _stored(drafts: Iterable[Draft], course: str, change_id: int) -> Iterator[tuple[Any, ...]]:
    for d in drafts:
        book = (course, d.row_id, d.ordinal, d.own, d.number, d.known, d.void, change_id)
        yield (*book, d.print or digest(d.content), *d.content)


def first_states(shape: Layout) -> Select:
    """Return the query that makes the current rows of rows written once."""
    r = tables().revision[shape.name].c
    columns = (r.course_key, r.row_id, r.seq, r.number, r.known, r.known.label("last"), r.void)
    return select(*columns).where(r.number == literal(1))


def _add_current(conn: Connection, shape: Layout, change_id: int, before: int) -> None:
    r, current = tables().revision[shape.name].c, tables().current[shape.name]
    made = first_states(shape).where(r.seq > before, r.change_id == change_id)
    conn.execute(insert(current).from_select([c.name for c in current.c], made))


def _move_current(conn: Connection, shape: Layout, change_id: int, before: int) -> None:
    r, current = tables().revision[shape.name].c, tables().current[shape.name]
    later = (r.seq > before, r.change_id == change_id, r.number > 1)
    found = conn.execute(
        select(r.course_key, r.row_id, r.seq, r.number, r.known, r.void)
        .where(*later)
        .order_by(r.seq)
    )
    names = ("b_course", "b_row", "b_seq", "b_number", "b_known", "b_void")
    moves = [dict(zip(names, row, strict=True)) for row in found]
    conn.execute(
        current.update()
        .where(current.c.course_key == bindparam("b_course"))
        .where(current.c.row_id == bindparam("b_row"))
        .values(
            seq=bindparam("b_seq"),
            number=bindparam("b_number"),
            known_last=bindparam("b_known"),
            void=bindparam("b_void"),
        ),
        moves,
    )


def state_query(shape: Layout) -> Select:
    """Return the query of revisions of one file, in the order that `states` reads."""
    r = tables().revision[shape.name].c
    return select(*(r[name] for name in (*BOOK, *shape.names)))


def states(rows: Iterable[Sequence[Any]]) -> list[State]:
    """Return the revisions that a `state_query` found."""
    return [State(row[0], *row[2:10], tuple(row[10:])) for row in rows]  # type: ignore[misc]
