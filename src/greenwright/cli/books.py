"""The record's commands: load, export, audit, backup, restore, demo."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Annotated, Any

import typer

from greenwright.base.errors import RefusedInput
from greenwright.cli.options import RECORD, Course, Json, On, Record, day
from greenwright.cli.out import done, faults, progress, say, say_json, tell
from greenwright.cli.report import report_json, report_words

Who = Annotated[str, typer.Option(help="Who loads it.", metavar="NAME")]
Why = Annotated[str, typer.Option(help="Why values change.", metavar="TEXT")]


def load(
    paths: Annotated[
        list[Path],
        typer.Argument(
            help="Record folders, .csv or GHCN-Daily files, or an .xlsx.", metavar="PATH…"
        ),
    ],
    *,
    record: Record = RECORD,
    course: Course = None,
    on: On = None,
    all_or_nothing: Annotated[
        bool, typer.Option("--all-or-nothing", help="Keep nothing if a row is refused.")
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what would happen, change nothing.")
    ] = False,
    as_json: Json = False,
    who: Who = "",
    why: Why = "",
) -> None:
    """Read record files into the record; every row is kept or refused by name."""
    with faults(as_json=as_json):
        wanted = {
            "course": course,
            "on": day(on) if on else None,
            "all_or_nothing": all_or_nothing,
            "dry_run": dry_run,
            "who": who,
            "why": why,
        }
        with progress() as show:
            report, created = _load(record, paths, {**wanted, "progress": show})
        if created:
            tell(f"Made a new record: {record}")
        say_json(report_json(report)) if as_json else say(report_words(report))
        if report.total.refused:
            raise typer.Exit(RefusedInput.exit_code)


def _load(record: Path, paths: list[Path], wanted: dict[str, Any]) -> tuple[Any, bool]:
    """Return the report, and whether a record file was made for it."""
    from tempfile import TemporaryDirectory

    from greenwright.desk import books

    if record.exists():
        with books.open_book(record) as store:
            return books.load_paths(store, paths, **wanted), False
    if wanted["dry_run"]:
        with (
            TemporaryDirectory() as folder,
            books.open_book(Path(folder) / "preview.db", create=True) as store,
        ):
            return books.load_paths(store, paths, **wanted), False
    return _load_new(record, paths, wanted)


def _load_new(record: Path, paths: list[Path], wanted: dict[str, Any]) -> tuple[Any, bool]:
    from greenwright.desk import books

    empty = True
    try:
        with books.open_book(record, create=True) as store:
            report = books.load_paths(store, paths, **wanted)
            empty = not books.courses(store)
    finally:
        if empty:
            # Nothing came in: an empty record left behind would look like one that was lost.
            _remove(record)
    return report, not empty


def _remove(record: Path) -> None:
    for name in (record, *(record.with_name(record.name + end) for end in ("-wal", "-shm"))):
        with suppress(FileNotFoundError):
            name.unlink()


def export(
    folder: Annotated[Path, typer.Argument(help="Folder to write into.")],
    record: Record = RECORD,
    course: Course = None,
    as_json: Json = False,
) -> None:
    """Write the record back as CSV files with a datapackage.json."""
    with faults(as_json=as_json):
        from greenwright.desk import books

        with books.open_book(record) as store:
            books.export(store, folder, course=course)
        done(f"Written to {folder}", as_json=as_json, folder=folder)


def audit(record: Record = RECORD, as_json: Json = False) -> None:
    """Check that the record is sound."""
    with faults(as_json=as_json):
        from greenwright.desk import books

        with books.open_book(record) as store:
            problems = books.audit(store)
        if as_json:
            say_json({"sound": not problems, "problems": list(problems)})
        else:
            say("\n".join(problems) or "The record is sound.")
        if problems:
            raise typer.Exit(1)


def backup(
    file: Annotated[Path, typer.Argument(help="File to write.", metavar="FILE")],
    record: Record = RECORD,
    as_json: Json = False,
) -> None:
    """Copy the record while it is in use."""
    with faults(as_json=as_json):
        from greenwright.desk import books

        with books.open_book(record) as store:
            rows = books.backup(store, file)
        done(f"Copied to {file}: {rows} rows.", as_json=as_json, file=file, rows=rows)


def restore(
    file: Annotated[Path, typer.Argument(help="A copy made by backup.", metavar="FILE")],
    record: Record = RECORD,
    as_json: Json = False,
) -> None:
    """Make a record file of a backup."""
    with faults(as_json=as_json):
        from greenwright.desk import books

        aside = books.restore(file, record)
        kept = f"\nThe record that stood there is kept as {aside}." if aside else ""
        done(f"Restored to {record}.{kept}", as_json=as_json, record=record, aside=aside)


def demo(
    record: Record = RECORD,
    seed: Annotated[int, typer.Option(help="Another seed, another course.", min=0)] = 7,
    on: On = None,
    as_json: Json = False,
) -> None:
    """Make a record of an invented course, to try everything on."""
    with faults(as_json=as_json):
        from greenwright.desk import books

        with progress() as show:
            report = books.make_demo(record, seed=seed, on=day(on) if on else None, progress=show)
        rows = report.total.kept
        told = f"Made {record}: an invented course, {rows} rows."
        done(told, as_json=as_json, record=record, rows=rows)


def join(app: typer.Typer) -> None:
    """Add the commands."""
    for command in (load, export, audit, backup, restore, demo):
        app.command()(command)
