"""Corrects and withdraws single rows: always a new revision, the old ones stay."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, select

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.values import Revision
from greenwright.record.appending import (
    Draft,
    Maker,
    State,
    append,
    begin_change,
    state_query,
    states,
)
from greenwright.record.courses import choose_course
from greenwright.record.layout import (
    WRITING,
    Content,
    Layout,
    check_types,
    layout,
    row_fields,
    stored_columns,
)
from greenwright.record.schema import tables
from greenwright.record.store import Store


def correct(
    store: Store,
    file: str,
    row_id: str,
    fields: Mapping[str, Any],
    *,
    course: str | None,
    who: str,
    why: str,
    today: date,
    now: datetime,
) -> Revision:
    """Write new values of a row as a revision known from today on; return it.

    Args:
        file: record file, without ending.
        fields: the values that change, by field name; None empties a cell; what is not named
            stays. They are expected to have passed intake.
        why: the reason, in the words of who corrects.

    Returns:
        the new revision, or the latest one when nothing would change.

    Raises:
        BadInput: no reason, no such column, or a value of the wrong type.
        UnknownKey: no such row.
        StoreError: it could not be saved.
    """
    shape = layout(file)
    check_types(shape, {k: v for k, v in fields.items() if k != "id"})
    maker = _maker(who, why, today, now)

    def write(last: State) -> Draft | None:
        content = _merged(shape, last, fields)
        unchanged = content == last.content and not last.void
        return None if unchanged else _next(last, content, 0, today)

    return _revise(store, shape, row_id, write, course=course, kind="correct", maker=maker)


def withdraw(
    store: Store,
    file: str,
    row_id: str,
    *,
    course: str | None,
    who: str,
    why: str,
    today: date,
    now: datetime,
) -> Revision:
    """Mark a row as void from today on; its history stays, and so does what was known before.

    Returns:
        the revision that withdraws it; its fields are empty.

    Raises:
        BadInput: no reason, or the row is the course itself.
        UnknownKey: no such row.
        StoreError: it could not be saved.
    """
    shape = layout(file)
    if shape.name == "course":
        raise BadInput("a course cannot be withdrawn from its own record")
    maker = _maker(who, why, today, now)

    def write(last: State) -> Draft | None:
        return None if last.void else _next(last, last.content, 1, today)

    return _revise(store, shape, row_id, write, course=course, kind="withdraw", maker=maker)


def revisions(store: Store, file: str, row_id: str, *, course: str | None) -> tuple[Revision, ...]:
    """Return every revision of a row, oldest first; one without fields withdrew it.

    Raises:
        UnknownKey: no such row.
    """
    shape = layout(file)
    with store.reading() as conn:
        every = _states(conn, shape, choose_course(conn, course), row_id)
        return tuple(_revision(conn, shape, state) for state in every)


def _maker(who: str, why: str, today: date, now: datetime) -> Maker:
    if not why.strip():
        raise BadInput("a correction needs a reason", do="Say why in a few words")
    return Maker(who, why, today, now)


def _revise(
    store: Store,
    shape: Layout,
    row_id: str,
    write: Callable[[State], Draft | None],
    *,
    course: str | None,
    kind: str,
    maker: Maker,
) -> Revision:
    with store.writing() as conn:
        key = choose_course(conn, course)
        last = _states(conn, shape, key, row_id)[-1]
        draft = write(last)
        if draft is not None:
            change_id = begin_change(conn, kind, maker, course=key)
            append(conn, shape, [draft], course=key, change_id=change_id)
        return _revision(conn, shape, _states(conn, shape, key, row_id)[-1])


def _states(conn: Connection, shape: Layout, course: str, row_id: str) -> list[State]:
    r = tables().revision[shape.name].c
    query = state_query(shape).where(r.course_key == course, r.row_id == row_id)
    found = states(conn.execute(query.order_by(r.number)))
    if not found:
        raise UnknownKey(
            f"no row {row_id!r}", where=f"{shape.name}.csv of {course}", do="Look it up again"
        )
    return found


def _merged(shape: Layout, last: State, fields: Mapping[str, Any]) -> Content:
    merged = {**row_fields(shape, last.content), **fields}
    if _quantity_named(shape, fields) and not fields.get("given"):
        # The old writing no longer says what the row says.
        merged |= dict.fromkeys(WRITING)
    if shape.name == "course" and merged.get("course") != row_fields(shape, last.content)["course"]:
        raise BadInput("the key of a course never changes", where="course.csv, course")
    return tuple(column[0] for column in stored_columns(shape, [merged]))


def _quantity_named(shape: Layout, fields: Mapping[str, Any]) -> bool:
    named = (shape.field(name) for name in fields)
    return any(f and f.column and (f.column.type == "quantity" or f.name == "unit") for f in named)


def _next(last: State, content: Content, void: int, today: date) -> Draft:
    day, number = today.isoformat(), last.number + 1
    return Draft(last.row_id, last.ordinal, last.own, number, day, void, content)


def _revision(conn: Connection, shape: Layout, state: State) -> Revision:
    c = tables().change.c
    made = conn.execute(select(c.who, c.why, c.recorded_at).where(c.id == state.change_id)).one()
    return Revision(
        file=shape.name,
        id=state.row_id,
        number=state.number,
        known=date.fromisoformat(state.known),
        recorded_at=made.recorded_at,
        who=made.who,
        why=made.why,
        fields={} if state.void else row_fields(shape, state.content),
    )
