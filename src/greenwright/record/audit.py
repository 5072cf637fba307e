"""Checks that the store is sound, and makes the current rows anew from the revisions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sqlalchemy import Connection, Select, case, func, insert, select

from greenwright.base.tables import record_files
from greenwright.record import sqlite
from greenwright.record.appending import state_query, states
from greenwright.record.forecasts import altered_forecasts
from greenwright.record.identity import digest
from greenwright.record.layout import Layout, layout
from greenwright.record.schema import tables
from greenwright.record.store import Store

CURRENT = ("course_key", "row_id", "seq", "number", "known_first", "known_last", "void")


def audit(store: Store) -> tuple[str, ...]:
    """Return every problem found, in plain words; none means the store is sound.

    Checked are the file's pages and references, the triggers that forbid overwriting, the
    fingerprint of every revision and kept forecast, revision numbers without gaps, the current
    rows against a replay of the revisions, and the counts of every load.
    """
    with store.reading() as conn:
        problems = sqlite.damage(conn)
        problems += _missing_triggers(conn)
        for name in record_files():
            shape = layout(name)
            problems += _altered(conn, shape)
            problems += _gaps(conn, shape)
            problems += _out_of_step(conn, shape)
        problems += _counts(conn)
        problems += _written(conn)
        problems += altered_forecasts(conn)
    return tuple(problems)


def rebuild(store: Store) -> None:
    """Make the current rows anew from the revisions, in one transaction."""
    with store.writing() as conn:
        for name in record_files():
            current = tables().current[name]
            conn.execute(current.delete())
            made = insert(current).from_select(CURRENT, replay(layout(name)))
            conn.execute(made)


def replay(shape: Layout) -> Select:
    """Return the query that makes the current rows of a file from its revisions."""
    r = tables().revision[shape.name].c
    ends = (
        select(
            r.course_key,
            r.row_id,
            func.max(r.number).label("number"),
            func.max(case((r.number == 1, r.known))).label("known_first"),
        )
        .group_by(r.course_key, r.row_id)
        .subquery()
    )
    columns = (r.course_key, r.row_id, r.seq, r.number, ends.c.known_first, r.known, r.void)
    return select(*columns).where(
        r.course_key == ends.c.course_key,
        r.row_id == ends.c.row_id,
        r.number == ends.c.number,
    )


def _missing_triggers(conn: Connection) -> Iterator[str]:
    there = sqlite.triggers(conn)
    for table in tables().append_only:
        for statement in sqlite.append_only_ddl(table.name):
            if (name := statement.split()[2]) not in there:
                yield f"{table.name}: the guard {name} against overwriting is gone"


def _altered(conn: Connection, shape: Layout) -> Iterator[str]:
    for s in states(conn.execute(state_query(shape))):
        if digest(s.content) != s.print:
            yield f"{shape.name}.csv: revision {s.number} of row {s.row_id} was altered"


def _gaps(conn: Connection, shape: Layout) -> Iterator[str]:
    r = tables().revision[shape.name].c
    first, last, count = func.min(r.number), func.max(r.number), func.count()
    rows = conn.execute(
        select(r.row_id)
        .group_by(r.course_key, r.row_id)
        .having((first != 1) | (last != count))
        .order_by(r.row_id)
    )
    yield from (f"{shape.name}.csv: row {row_id} misses a revision" for row_id in rows.scalars())


def _out_of_step(conn: Connection, shape: Layout) -> Iterator[str]:
    current = tables().current[shape.name].c
    kept, made = select(*(current[n] for n in CURRENT)), replay(shape)
    wrong = [*conn.execute(kept.except_(made)), *conn.execute(made.except_(kept))]
    for row_id in sorted({row.row_id for row in wrong}):
        yield f"{shape.name}.csv: the current row {row_id} is not what its revisions say"


def _counts(conn: Connection) -> Iterator[str]:
    f = tables().load_file.c
    rows = conn.execute(
        select(f.change_id, f.file).where(
            (f.read != f.kept + f.refused) | (f.kept != f.new + f.same + f.revised)
        )
    )
    yield from (f"load {row.change_id}: the counts of {row.file}.csv do not add up" for row in rows)
    refused = select(f.change_id, func.sum(f.refused).label("n")).group_by(f.change_id).subquery()
    named = tables().refusal.c
    there = select(func.count()).where(named.change_id == refused.c.change_id).scalar_subquery()
    found = conn.execute(select(refused.c.change_id).where(refused.c.n != there))
    yield from (f"load {i}: not every refused row is named" for i in found.scalars())


def _written(conn: Connection) -> Iterator[str]:
    f = tables().load_file.c
    said = conn.execute(
        select(f.change_id, f.file, func.sum(f.new), func.sum(f.revised)).group_by(
            f.change_id, f.file
        )
    )
    noted = {(change, file): (new, revised) for change, file, new, revised in said}
    found = dict(_revision_counts(conn))
    for change, file in sorted(noted.keys() | found.keys()):
        if noted.get((change, file), (0, 0)) != found.get((change, file), (0, 0)):
            yield f"load {change}: the rows of {file}.csv are not those that were noted"


def _revision_counts(conn: Connection) -> Iterable[tuple[tuple[int, str], tuple[int, int]]]:
    change = tables().change.c
    for name in record_files():
        r = tables().revision[name].c
        new = func.sum(case((r.number == 1, 1), else_=0))
        later = func.sum(case((r.number > 1, 1), else_=0))
        rows = conn.execute(
            select(r.change_id, new, later)
            .where(r.change_id == change.id, change.kind == "load")
            .group_by(r.change_id)
        )
        yield from (((i, name), (first, more)) for i, first, more in rows)
