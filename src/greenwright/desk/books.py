"""Keeping the record: what every face does with it, with clock, reading and store joined.

Reading files and inventing a course load only where they are done: asking must not wait for them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from greenwright import record
from greenwright.base.errors import BadInput, CannotAnswer, RefusedInput, StoreError
from greenwright.base.values import Course, LoadReport, Revision
from greenwright.desk import clock
from greenwright.desk.answering import Progress, silent
from greenwright.desk.cells import as_cells

if TYPE_CHECKING:
    from greenwright.record import BrowsedRow, Store

ACTS = ("readings", "work")
"""What can be done twice in the same way: two equal rolls in one minute are two rolls."""

DEMO_SEED = 7
"""Seed of the invented course unless another is asked for."""

UNNAMED = "unnamed"
"""Who is written beside a change when nobody says."""


def open_book(path: Path, *, create: bool = False) -> Store:
    """Return the open record of a file; close it after use.

    Raises:
        StoreError: there is none (and it is not to be created), or it is no record.
    """
    if Path(path).is_dir():
        raise StoreError(
            "this is a folder, not a record file", where=str(path), do="Name the file in it"
        )
    return record.open_store(Path(path), create=create)


def course_of(store: Store, course: str | None = None) -> Course:
    """Return a course of the record; None = the only one.

    Raises:
        CannotAnswer: no course yet, several and none named, or none of that key.
    """
    held = record.courses(store)
    if not held:
        raise CannotAnswer(
            "the record holds no course yet",
            expected="a course.csv with one row",
            do="Load a record folder first: greenwright load FOLDER",
        )
    found = [one for one in held if course in (None, one.course)]
    if len(found) == 1:
        return found[0]
    raise CannotAnswer(
        f"no course {course!r} in the record" if course else "the record holds several courses",
        expected=", ".join(one.course for one in held),
        do="Name one of these courses",
    )


def today(store: Store, course: str | None = None) -> date:
    """Return today's date where the course is (UTC while there is no course)."""
    held = record.courses(store)
    found = [one for one in held if course in (None, one.course)]
    return clock.today(found[0].timezone if found else "UTC")


def load_paths(
    store: Store,
    paths: Sequence[Path],
    *,
    course: str | None = None,
    on: date | None = None,
    who: str = "",
    why: str = "",
    dry_run: bool = False,
    all_or_nothing: bool = False,
    progress: Progress = silent,
) -> LoadReport:
    """Read record files into the record and report what was kept and refused.

    Args:
        store: the record.
        paths: folders, record files or workbooks.
        course: key; None = the one the files or the record speak of.
        on: the day taken as today; None = today.
        who, why: written beside what changes.
        dry_run: only say what would happen.
        all_or_nothing: keep nothing if any row is refused.
        progress: told what is being done and the share done.

    Raises:
        RefusedInput: a file that cannot be read at all. CannotAnswer: which course is unclear.
    """
    from greenwright import intake

    day = on or today(store, course)
    known = record.known(store, course)
    progress("Reading the files", 0.0)
    parsed, ignored = intake.read_paths([Path(p) for p in paths], today=day, known=known)
    progress("Writing the rows", 0.5)
    return record.load(
        store,
        parsed,
        today=day,
        now=clock.now(),
        who=who or UNNAMED,
        why=why,
        course=course,
        dry_run=dry_run,
        all_or_nothing=all_or_nothing,
        ignored=ignored,
    )


def enter(
    store: Store,
    file: str,
    cells: Mapping[str, str],
    *,
    course: str | None = None,
    on: date | None = None,
    who: str = "",
    dry_run: bool = False,
) -> LoadReport:
    """Keep one row typed into a form, or report why it was refused.

    Args:
        store: the record.
        file: record file name, as readings.
        cells: column -> text as typed; a reading or work without an id is a new one,
            however alike.
        course, on, who, dry_run: as in `load_paths`.
    """
    from greenwright import intake

    day = on or today(store, course)
    if file in ACTS and not cells.get("id"):
        cells = {**cells, "id": str(uuid4())}
    parsed = intake.read_form(file, cells, today=day, known=record.known(store, course))
    return record.load(
        store,
        (parsed,),
        today=day,
        now=clock.now(),
        who=who or UNNAMED,
        course=course,
        dry_run=dry_run,
    )


def correct(
    store: Store,
    file: str,
    row_id: str,
    cells: Mapping[str, str],
    *,
    course: str | None = None,
    who: str = "",
    why: str = "",
    on: date | None = None,
) -> Revision:
    """Store a new state of a row; the old one stays in its history.

    Args:
        store: the record.
        file, row_id: which row.
        cells: column -> text; a column left out keeps its value, an empty one is emptied.
        who, why: written beside the change; a reason is needed.

    Raises:
        RefusedInput: the row would not be kept so. BadInput: no reason. UnknownKey: no such row.
    """
    from greenwright import intake

    day = on or today(store, course)
    was = _latest(store, file, row_id, course)
    whole = {**as_cells(file, was), **cells}
    parsed = intake.read_form(file, whole, today=day, known=record.known(store, course))
    for refusal in parsed.refusals:
        raise RefusedInput(
            refusal.why, where=f"{file}, {refusal.column} {refusal.value!r}", do=refusal.do
        )
    new = parsed.rows[0].fields
    emptied = {name: None for name in was if name not in new and name not in _KEPT}
    return record.correct(
        store,
        file,
        row_id,
        {**emptied, **new},
        course=course,
        who=who or UNNAMED,
        why=why,
        today=day,
        now=clock.now(),
    )


_KEPT = frozenset(["id", "other", "entered_at"])
"""Fields that a form does not show, and so cannot empty."""


def _latest(store: Store, file: str, row_id: str, course: str | None) -> Mapping[str, Any]:
    # A withdrawn row has a last state without values: the one before it is what was meant.
    states = [state for state in revisions(store, file, row_id, course=course) if state.fields]
    return max(states, key=lambda state: state.number).fields


def withdraw(
    store: Store,
    file: str,
    row_id: str,
    *,
    course: str | None = None,
    who: str = "",
    why: str = "",
    on: date | None = None,
) -> Revision:
    """Take a row out of use; it stays in the history."""
    day = on or today(store, course)
    return record.withdraw(
        store, file, row_id, course=course, who=who or UNNAMED, why=why, today=day, now=clock.now()
    )


def browse(
    store: Store, file: str, *, course: str | None = None, **choice: Any
) -> tuple[tuple[BrowsedRow, ...], int]:
    """Return a page of a file's rows and how many there are.

    Args:
        store, file, course: which rows.
        choice: limit, offset, green, kind, newest_first.
    """
    return record.browse(store, file, course=course, **choice)


def revisions(
    store: Store, file: str, row_id: str, *, course: str | None = None
) -> tuple[Revision, ...]:
    """Return every state a row has had."""
    return record.revisions(store, file, row_id, course=course)


def loads(store: Store, *, course: str | None = None) -> tuple[Any, ...]:
    """Return the history of loads, each with its refusals."""
    return tuple(record.loads(store, course=course))


def kept_answers(store: Store, question: str, *, course: str | None = None) -> tuple[Any, ...]:
    """Return the answers of a question that were kept when they were given."""
    return tuple(record.kept_answers(store, course=course, question=question))


def courses(store: Store) -> tuple[Course, ...]:
    """Return the courses of the record."""
    return record.courses(store)


def export(store: Store, folder: Path, *, course: str | None = None) -> None:
    """Write the record as CSV files with a datapackage.json."""
    record.export_record(store, Path(folder), course=course)


def backup(store: Store, path: Path) -> int:
    """Write a copy of the record while it is in use; return the number of rows it holds."""
    return record.backup(store, Path(path)).rows


def restore(backup_path: Path, path: Path) -> Path | None:
    """Put a backup in the place of a record; return where the replaced one is kept, if any."""
    return record.restore(Path(backup_path), Path(path))


def audit(store: Store) -> tuple[str, ...]:
    """Return what is wrong with the store, a sentence each; empty = sound."""
    return tuple(record.audit(store))


def make_demo(
    path: Path, *, seed: int = DEMO_SEED, on: date | None = None, progress: Progress = silent
) -> LoadReport:
    """Make a record of an invented course, its two seasons and its people.

    Args:
        path: the record file to make.
        seed: another seed, another course.
        on: the day it ends; None = today.

    Raises:
        BadInput: the file exists already.
    """
    from greenwright import simulate

    if Path(path).exists():
        raise BadInput(
            "a file of this name exists already",
            where=str(path),
            expected="a new file for the invented course",
            do="Name another file with --record, or move the old one away",
        )
    day = on or clock.today()
    progress("Inventing two seasons", 0.0)
    with TemporaryDirectory() as folder, open_book(path, create=True) as store:
        simulate.write_record(simulate.course(seed, today=day), Path(folder))
        return load_paths(
            store,
            [Path(folder)],
            on=day,
            who="demo",
            why="invented course",
            progress=lambda text, share: progress(text, 0.5 + share / 2),
        )
