"""The courses of a store, and what is known of one when a file is read."""

from __future__ import annotations

from sqlalchemy import Connection, select

from greenwright.base.errors import CannotAnswer
from greenwright.base.values import Course, Known
from greenwright.record.layout import Layout, layout, make_values
from greenwright.record.schema import tables
from greenwright.record.store import Store


def courses(store: Store) -> tuple[Course, ...]:
    """Return every course of the store as it is now, by key."""
    with store.reading() as conn:
        found = [_current(conn, layout("course"), key) for key in course_keys(conn)]
    return tuple(course for rows in found for course in rows)


def course_keys(conn: Connection) -> list[str]:
    """Return the keys of the courses, in order."""
    c = tables().current["course"].c
    return list(
        conn.execute(select(c.course_key).where(c.void == 0).order_by(c.course_key)).scalars()
    )


def choose_course(conn: Connection, asked: str | None) -> str:
    """Return the key of the course asked for, or of the only one.

    Raises:
        CannotAnswer: no such course, none at all, or several to choose from.
    """
    known = course_keys(conn)
    if asked in known or (asked is None and len(known) == 1):
        return asked or known[0]
    if not known:
        raise CannotAnswer("the record has no course yet", do="Load course.csv with the files")
    what = f"there is no course {asked!r}" if asked else "the record holds several courses"
    raise CannotAnswer(what, expected=", ".join(known), do="Name the course")


def known(store: Store, course: str | None) -> Known:
    """Return what a reader of files should know of a course.

    Args:
        course: its key; None means the only course. Of a course that is not there yet, or
            where None leaves a choice, nothing is known.
    """
    with store.reading() as conn:
        keys = course_keys(conn)
        key = course or (keys[0] if len(keys) == 1 else "")
        if key not in keys:
            return Known(course=course or "")
        greens = _current(conn, layout("greens"), key)
        stations = _current(conn, layout("stations"), key)
    return Known(
        course=key,
        greens=tuple(g.green for g in greens),
        groups=tuple(dict.fromkeys(g.group for g in greens if g.group)),
        stations=tuple((s.green, s.station) for s in stations),
    )


def _current(conn: Connection, shape: Layout, key: str) -> tuple:
    r, c = tables().revision[shape.name].c, tables().current[shape.name].c
    rows = conn.execute(
        select(r.row_id, *(r[name] for name in shape.names))
        .where(c.course_key == key, c.void == 0, r.seq == c.seq)
        .order_by(r.seq)
    ).all()
    columns = list(zip(*rows, strict=True))
    return make_values(shape, columns[0], columns[1:]) if rows else ()
