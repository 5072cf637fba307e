"""The record as it was known on a day, as frozen values."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, Table, func, select

from greenwright.base.errors import CannotAnswer
from greenwright.base.tables import record_files
from greenwright.base.values import Green, Snapshot, Station
from greenwright.record.courses import choose_course
from greenwright.record.layout import ABSENT, Layout, layout, make_values
from greenwright.record.schema import BY_DATE, tables
from greenwright.record.store import Store, collector_paused, plain_rows

BLANK: Mapping[str, str | int] = {"date": "", "time": "", "real": ABSENT, "yesno": ABSENT}
"""What stands for an empty cell while rows are sorted."""


def snapshot(store: Store, course: str | None, *, on: date, since: date | None = None) -> Snapshot:
    """Return the record of a course as it was known on a day.

    Args:
        course: its key; None means the only course.
        on: of each row the last state known by that day counts; later news is unseen.
        since: leave out readings, work, weather, rounds and feedback dated before it.

    Raises:
        CannotAnswer: no such course, several to choose from, or none known by that day.
    """
    with store.reading() as conn, collector_paused():
        key = choose_course(conn, course)
        view = View(key, on.isoformat(), since.isoformat() if since else "")
        seen = {name: _rows(conn, layout(name), view) for name in record_files()}
    found = seen.pop("course")
    if not found:
        raise CannotAnswer(
            f"nothing was known of {key!r} on {on.isoformat()}", do="Ask for a later day"
        )
    return Snapshot(course=found[0], as_of=on, **seen)


@dataclass(frozen=True, slots=True)
class View:
    """The course, the day by which rows must be known, and the first date of interest."""

    course: str
    day: str
    first: str = ""


def _rows(conn: Connection, shape: Layout, view: View) -> tuple[Any, ...]:
    rows = [row for query in states(conn, shape, view) for row in plain_rows(conn, query)]
    if not rows:
        return ()
    # The sort key comes first and ends with the id, so that plain tuples sort without a key.
    rows.sort()
    columns = list(zip(*rows, strict=True))
    at = {n: i for i, n in enumerate(_selected(shape))}
    made = make_values(shape, columns[at["row_id"]], [columns[at[n]] for n in shape.names])
    arrange = ARRANGE.get(shape.name)
    return arrange(made) if arrange else made


def states(conn: Connection, shape: Layout, view: View) -> tuple[Select, ...]:
    """Return the queries that together give each row of a file once, as known on a day."""
    settled = _settled(shape, view)
    return (settled, _earlier(shape, view)) if _revised_after(conn, view) else (settled,)


def _order(shape: Layout) -> tuple[str, ...]:
    """Return the fields by which rows are ordered: date and time, then what else identifies."""
    return tuple(c.field for n in shape.file.identity if (c := shape.file.column(n)))


def _selected(shape: Layout) -> list[str]:
    first = [*_order(shape), "ordinal", "row_id"]
    return [*first, *(n for n in shape.names if n not in first)]


def _columns(shape: Layout, r: Table) -> list[ColumnElement[Any]]:
    ordered = _order(shape)
    return [_sortable(shape, r, n) if n in ordered else r.c[n] for n in _selected(shape)]


def _sortable(shape: Layout, r: Table, name: str) -> ColumnElement[Any]:
    f = shape.field(name)
    if f is None or f.empty == "" or (f.column and f.column.required):
        return r.c[name]
    return func.coalesce(r.c[name], BLANK[f.form]).label(name)


def _settled(shape: Layout, view: View) -> Select:
    r, current = tables().revision[shape.name], tables().current[shape.name]
    query = select(*_columns(shape, r)).where(
        current.c.course_key == view.course,
        current.c.known_first <= view.day,
        current.c.known_last <= view.day,
        current.c.void == 0,
        r.c.seq == current.c.seq,
    )
    if not _windowed(shape, view):
        return query
    # The date picks the rows; the key of the current rows is found from them.
    return query.where(
        r.c.course_key == view.course, r.c.date >= view.first, r.c.row_id == current.c.row_id
    )


def _windowed(shape: Layout, view: View) -> bool:
    return bool(view.first) and shape.name in BY_DATE


def _revised_after(conn: Connection, view: View) -> bool:
    change = tables().change.c
    last = select(func.max(change.today)).where(change.course_key == view.course)
    return (conn.execute(last).scalar() or "") > view.day


def _earlier(shape: Layout, view: View) -> Select:
    """Return the query of the last state known by a day of rows revised after it."""
    r, current = tables().revision[shape.name], tables().current[shape.name]
    last = (
        select(r.c.row_id, func.max(r.c.number).label("number"))
        .where(
            current.c.course_key == view.course,
            current.c.known_first <= view.day,
            current.c.known_last > view.day,
            r.c.course_key == view.course,
            r.c.row_id == current.c.row_id,
            r.c.known <= view.day,
        )
        .group_by(r.c.row_id)
        .subquery()
    )
    query = select(*_columns(shape, r)).where(
        r.c.course_key == view.course,
        r.c.row_id == last.c.row_id,
        r.c.number == last.c.number,
        r.c.void == 0,
    )
    return query.where(r.c.date >= view.first) if _windowed(shape, view) else query


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key that sorts green 2 before green 10 and both before the practice green.

    >>> sorted(["10", "2", "PG"], key=natural)
    ['2', '10', 'PG']
    """
    parts = re.findall(r"\d+|\D+", text)
    return tuple((0, int(p), "") if p.isdecimal() else (1, 0, p) for p in parts)


def _playing_order(greens: Sequence[Green]) -> tuple[Green, ...]:
    last = 10**9
    place = lambda g: (last if g.order is None else g.order, natural(g.green), g.id)  # noqa: E731
    return tuple(sorted(greens, key=place))


def _by_station(stations: Sequence[Station]) -> tuple[Station, ...]:
    return tuple(sorted(stations, key=lambda s: (natural(s.green), natural(s.station), s.id)))


ARRANGE: Mapping[str, Callable[[Any], tuple[Any, ...]]] = {
    "greens": _playing_order,
    "stations": _by_station,
}


def export_rows(conn: Connection, shape: Layout, key: str) -> list[tuple[Any, ...]]:
    """Return (ordinal, own id, id, *content) of the current rows, in their order.

    Rows alike stand in the order of their ordinals, so that reading them again gives the same
    ids.
    """
    r, current = tables().revision[shape.name], tables().current[shape.name]
    keys = [_sortable(shape, r, n) for n in _order(shape)]
    book = (r.c.ordinal, r.c.own_id, r.c.row_id)
    rows = plain_rows(
        conn,
        select(*keys, *book, *(r.c[n].label(f"said_{n}") for n in shape.names)).where(
            current.c.course_key == key, current.c.void == 0, r.c.seq == current.c.seq
        ),
    )
    rows.sort(key=lambda row: row[: len(keys) + 3])
    return [row[len(keys) :] for row in rows]
