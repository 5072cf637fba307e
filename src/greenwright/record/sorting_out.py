"""Compares loaded rows with the record: which are new, which the same, which revisions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from greenwright.base.errors import RefusedInput
from greenwright.base.values import Change, FileCount, ParsedFile
from greenwright.record.appending import Draft, State, state_query, states
from greenwright.record.identity import digest, identify
from greenwright.record.knowing import known_dates
from greenwright.record.layout import Layout, layout, same_content, stored_columns
from greenwright.record.schema import tables
from greenwright.record.store import plain_rows

CHUNK = 500
"""Ids asked for at once; databases limit the parameters of a query."""

SCAN = 5_000
"""From so many rows on it is quicker to read the ids of the whole file."""


@dataclass(frozen=True, slots=True)
class Sorted:
    """One parsed file, sorted out: what to write, the counts, and what would change."""

    parsed: ParsedFile
    shape: Layout
    drafts: list[Draft]
    count: FileCount
    changes: list[Change]


@dataclass(frozen=True, slots=True)
class _Past:
    """What is known of the rows of one file: latest number and fingerprint, and full states."""

    shape: Layout
    course: str
    latest: dict[str, tuple[int, str]] = field(default_factory=dict)
    written: dict[str, Draft] = field(default_factory=dict)
    loaded: dict[str, State] = field(default_factory=dict)
    current: dict[str, State] = field(default_factory=dict)

    def last(self, row_id: str) -> Draft | State:
        """Return the state of a row that stands so far."""
        return self.written.get(row_id) or self.current[row_id]


def sort_out(
    conn: Connection, parsed: Sequence[ParsedFile], *, course: str, today: date
) -> list[Sorted]:
    """Return each parsed file sorted out, in order; later files see what earlier ones write."""
    pasts: dict[str, _Past] = {}
    found = []
    for file in parsed:
        _check_count(file)
        past = pasts.setdefault(file.name, _Past(layout(file.name), course))
        drafts = list(_drafts(file, past.shape))
        _recall(conn, past, drafts)
        found.append(_compare(file, past, drafts, today.isoformat()))
    return found


def _check_count(file: ParsedFile) -> None:
    refused = len({(r.file, r.row) for r in file.refusals})
    if file.read != len(file.rows) + refused:
        raise RefusedInput(
            f"{file.read} rows were read but {len(file.rows)} kept and {refused} refused",
            where=file.source or file.name,
            do="Report this: a row went missing on the way",
        )


def _drafts(file: ParsedFile, shape: Layout) -> Iterator[Draft]:
    rows = [row.fields for row in file.rows]
    columns = stored_columns(shape, rows)
    who = identify(shape, rows, columns)
    known = known_dates(shape, columns)
    parts = zip(who.ids, who.ordinals, who.own, known, zip(*columns, strict=True), strict=True)
    for row_id, ordinal, own, day, content in parts:
        yield Draft(row_id, ordinal, own, 1, day, 0, content, digest(content))


def _recall(conn: Connection, past: _Past, drafts: Sequence[Draft]) -> None:
    wanted = {d.row_id for d in drafts} - past.latest.keys()
    r, c = tables().revision[past.shape.name].c, tables().current[past.shape.name].c
    query = select(c.row_id, c.number, r.digest).where(c.course_key == past.course, r.seq == c.seq)
    few = len(wanted) <= SCAN
    for part in [query.where(c.row_id.in_(ids)) for ids in _parts(wanted)] if few else [query]:
        past.latest.update((row_id, (n, seen)) for row_id, n, seen in plain_rows(conn, part))
    doubt = {d.row_id for d in drafts if past.latest.get(d.row_id, (0, d.print))[1] != d.print}
    for ids in _parts(doubt - past.current.keys()):
        _recall_fully(conn, past, ids)


def _parts(ids: Iterable[str]) -> Iterator[list[str]]:
    ordered = sorted(ids)
    for start in range(0, len(ordered), CHUNK):
        yield ordered[start : start + CHUNK]


def _recall_fully(conn: Connection, past: _Past, ids: Sequence[str]) -> None:
    r, change = tables().revision[past.shape.name].c, tables().change.c
    mine = (r.course_key == past.course, r.row_id.in_(ids))
    every = states(conn.execute(state_query(past.shape).where(*mine).order_by(r.number)))
    kinds = select(change.id).where(change.id.in_({s.change_id for s in every}))
    loads = set(conn.execute(kinds.where(change.kind == "load")).scalars())
    past.current.update((s.row_id, s) for s in every)
    past.loaded.update((s.row_id, s) for s in every if s.change_id in loads)


def _compare(file: ParsedFile, past: _Past, drafts: Sequence[Draft], today: str) -> Sorted:
    written: list[Draft] = []
    changes: list[Change] = []
    new = same = 0
    latest = past.latest
    for row, draft in zip(file.rows, drafts, strict=True):
        have = latest.get(draft.row_id)
        if have is None:
            new += 1
            _write(past, draft, written)
        elif have[1] == draft.print or _says_nothing_new(past, draft):
            same += 1
        else:
            changes.extend(_changes(past, draft, row.row))
            _write(past, _revision(past, draft, have[0] + 1, today), written)
    kept, read = len(drafts), file.read
    count = FileCount(read, kept, read - kept, new, same, kept - new - same)
    return Sorted(file, past.shape, written, count, changes)


def _write(past: _Past, draft: Draft, written: list[Draft]) -> None:
    past.latest[draft.row_id] = (draft.number, draft.print)
    past.written[draft.row_id] = draft
    written.append(draft)


def _says_nothing_new(past: _Past, draft: Draft) -> bool:
    # A file that still says what it said at its last load does not undo a correction made since.
    before = [past.last(draft.row_id).content]
    if draft.row_id not in past.written and draft.row_id in past.loaded:
        before.append(past.loaded[draft.row_id].content)
    return any(same_content(past.shape, old, draft.content) for old in before)


def _revision(past: _Past, draft: Draft, number: int, today: str) -> Draft:
    was = past.last(draft.row_id)
    return draft._replace(ordinal=was.ordinal, own=was.own, number=number, known=today)


def _changes(past: _Past, draft: Draft, row: int) -> Iterator[Change]:
    names, was = past.shape.names, past.last(draft.row_id).content
    for name, old, new in zip(names, was, draft.content, strict=True):
        if old != new:
            texts = (_text(old), _text(new))
            yield Change(f"{past.shape.name}.csv", draft.row_id, row, name, *texts)


def _text(cell: Any) -> str:
    return "" if cell is None else repr(cell) if isinstance(cell, float) else str(cell)
