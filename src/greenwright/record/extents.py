"""How far a record reaches: counts and last days, found without reading the rows themselves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, func, select

from greenwright.record.courses import choose_course
from greenwright.record.layout import layout
from greenwright.record.snapshots import View, states
from greenwright.record.store import Store

DONE = layout("work").field("status").default  # type: ignore[union-attr]
"""What work is where nothing else is said."""

LastReads = Mapping[tuple[str, str, bool], date]
"""(kind, method, of a stated number) -> day of the last such reading."""


@dataclass(frozen=True, slots=True)
class Extent:
    """What a course's record holds as it was known on a day.

    Args:
        readings, work_done: how many readings, how much work done.
        last_reading: day of the last reading of any kind, or None.
        last_read: day of the last reading of each kind and method on the course's own greens.
    """

    readings: int
    work_done: int
    last_reading: date | None
    last_read: LastReads


def extent(store: Store, course: str | None, *, on: date) -> Extent:
    """Return how far the record of a course reaches, as it was known on a day.

    Args:
        course: its key; None means the only course.
        on: of each row the last state known by that day counts.

    Raises:
        CannotAnswer: no such course, or several to choose from.
    """
    with store.reading() as conn:
        view = View(choose_course(conn, course), on.isoformat())
        greens = {row[0] for row in _grouped(conn, "greens", view, by=("green",))}
        seen = _grouped(conn, "readings", view, by=("green", "kind", "method"), n=True)
        work = _grouped(conn, "work", view, by=("status",))
    last = max((row[-1] for row in seen), default=None)
    return Extent(
        readings=sum(row[-2] for row in seen),
        work_done=sum(count for status, count, _ in work if (status or DONE) == DONE),
        last_reading=date.fromisoformat(last) if last else None,
        last_read=_last_reads(row for row in seen if row[0] in greens),
    )


def _last_reads(rows: Iterable[tuple[Any, ...]]) -> LastReads:
    found: dict[tuple[str, str, bool], date] = {}
    for _, kind, method, counted, _, last in rows:
        key, day = (kind, method, bool(counted)), date.fromisoformat(last)
        found[key] = max(day, found.get(key, day))
    return found


def _grouped(
    conn: Connection, name: str, view: View, *, by: tuple[str, ...], n: bool = False
) -> list[tuple[Any, ...]]:
    """Return (*by, [of a stated number], count, last date) of each group of a file's rows."""
    found: list[tuple[Any, ...]] = []
    for query in states(conn, layout(name), view):
        found += [tuple(row) for row in conn.execute(_by_group(query, by, n=n))]
    return found


def _by_group(query: Select, by: tuple[str, ...], *, n: bool) -> Select:
    rows = query.subquery().c
    keys: list[ColumnElement[Any]] = [rows[name] for name in by]
    if n:
        keys.append(func.coalesce(rows.n > 0, False))
    last = func.max(rows.date) if "date" in rows else func.max(None)
    return select(*keys, func.count(), last).group_by(*keys)
