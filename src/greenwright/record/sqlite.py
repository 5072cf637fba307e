"""Everything that is SQLite's own: settings, triggers, live copies, errors in plain words.

Another database gets a module with the same functions; no other module knows the difference.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, Table, create_engine, event

from greenwright.base.errors import StoreError

APPLICATION_ID = 0x4757_5231
"""Mark in the file's header that says whose file it is."""

PRAGMAS = {
    "journal_mode": "WAL",
    "synchronous": "FULL",
    "foreign_keys": "ON",
    "recursive_triggers": "ON",
    "trusted_schema": "OFF",
    "cache_size": "-65536",
}
"""FULL: with NORMAL a row shown as saved is lost at a power cut. recursive_triggers: without
it INSERT OR REPLACE slips past the triggers that forbid deleting."""

UNKNOWN = "unknown"
"""Schema version of a file that does not say it."""

SAFE = "what was saved before is intact"

REASONS: tuple[tuple[str, str, str], ...] = (
    ("SQLITE_FULL", "the disk is full", "Free some space and do it again"),
    ("SQLITE_READONLY", "the record cannot be written", "Allow writing to the file and its folder"),
    ("SQLITE_BUSY", "another program holds the record", "Close it, or wait, and do it again"),
    ("SQLITE_LOCKED", "another program holds the record", "Close it, or wait, and do it again"),
    ("SQLITE_NOTADB", "this file is not a record", "Name another file"),
    ("SQLITE_CORRUPT", "the record's file is damaged", "Restore the last backup"),
    ("SQLITE_IOERR", "the disk could not be read or written", "Check the disk and do it again"),
    ("SQLITE_CANTOPEN", "the record cannot be opened", "Check the path and who may read it"),
    ("SQLITE_CONSTRAINT", "the record's own rules forbid this", "Report it with the words above"),
    ("SQLITE_ERROR", "the record's tables are not as expected", "Run the audit"),
)


def make_engine(path: Path, *, wait_s: float) -> Engine:
    """Return an engine on a file; a writer waits wait_s [s] for another to finish."""
    url = URL.create("sqlite+pysqlite", database=str(path))
    options = {"isolation_level": None, "timeout": wait_s}
    engine = create_engine(url, connect_args=options)
    event.listen(engine, "connect", _settle)
    event.listen(engine, "begin", _begin)
    return engine


def _settle(connection: sqlite3.Connection, _record: object) -> None:
    for name, value in PRAGMAS.items():
        connection.execute(f"PRAGMA {name}={value}")


def _begin(conn: Connection) -> None:
    # A writer that reads first must hold the lock from the start, or two of them collide.
    writes = conn.get_execution_options().get("writes", False)
    conn.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def peek(path: Path) -> str:
    """Return the schema version of a file without changing it; empty for an empty file.

    Raises:
        StoreError: not a database, or another program's.
    """
    if path.stat().st_size == 0:
        return ""
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as raw:
            mark = raw.execute("PRAGMA application_id").fetchone()[0]
            tables = {r[0] for r in raw.execute("SELECT name FROM sqlite_schema")}
            if not tables and mark == 0:
                return ""
            if mark != APPLICATION_ID or "alembic_version" not in tables:
                raise StoreError(
                    "this database belongs to another program", where=str(path), do="Name another"
                )
            versions = raw.execute("SELECT version_num FROM alembic_version").fetchall()
            return str(versions[0][0]) if versions else UNKNOWN
    except (sqlite3.Error, UnicodeError) as error:
        raise store_error(error, path) from error


def store_error(error: BaseException, where: Path) -> StoreError:
    """Return the error of the driver or the system in plain words."""
    name = getattr(error, "sqlite_errorname", "") or ""
    if isinstance(error, UnicodeError):
        name = "SQLITE_CORRUPT"
    for start, what, do in REASONS:
        if name.startswith(start):
            return StoreError(f"{what} ({error}); {SAFE}", where=str(where), do=do)
    return StoreError(f"{error}; {SAFE}", where=str(where), do="Check the disk and do it again")


def mark_as_record(conn: Connection) -> None:
    """Write into the file's header that it is a record."""
    conn.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")


def append_only_ddl(table: str) -> tuple[str, ...]:
    """Return the statements that make a table append-only.

    Released migrations use them: a new form of the triggers gets a new function.
    """
    return tuple(
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        for verb in ("UPDATE", "DELETE")
    )


def triggers(conn: Connection) -> set[str]:
    """Return the names of the triggers there are."""
    found = conn.exec_driver_sql("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
    return set(found.scalars())


def append_rows(
    conn: Connection, table: Table, names: Sequence[str], rows: Sequence[tuple[Any, ...]]
) -> None:
    """Insert many rows of stored values, as fast as the driver can.

    Args:
        names: columns of the table, in the order of the values of a row.
    """
    if not rows:
        return
    quote = conn.dialect.identifier_preparer.quote
    columns = ", ".join(quote(name) for name in names)
    marks = ", ".join("?" * len(names))
    conn.exec_driver_sql(
        f"INSERT INTO {quote(table.name)} ({columns}) VALUES ({marks})", list(rows)
    )


def damage(conn: Connection) -> list[str]:
    """Return what the database itself finds wrong: pages, indexes, references."""
    pages = [str(r[0]) for r in conn.exec_driver_sql("PRAGMA integrity_check")]
    loose = [
        f"row {r[1]} of {r[0]} refers to a row of {r[2]} that is not there"
        for r in conn.exec_driver_sql("PRAGMA foreign_key_check")
    ]
    return [f"damaged file: {p}" for p in pages if p != "ok"] + loose


def copy_live(conn: Connection, target: Path) -> None:
    """Copy a database in use into a new single file, as it stood when the copy began."""
    source = conn.connection.driver_connection
    with closing(sqlite3.connect(target, isolation_level=None)) as copy:
        source.backup(copy)  # type: ignore[union-attr]
        copy.execute("PRAGMA journal_mode=DELETE")


def fold_journal(path: Path) -> bool:
    """Bring the write-ahead log into the file; return False where the file cannot be read.

    Raises:
        StoreError: another program has it open.
    """
    try:
        with closing(sqlite3.connect(path, isolation_level=None, timeout=2)) as raw:
            raw.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.OperationalError as error:
        raise store_error(error, path) from error
    except sqlite3.DatabaseError:
        return False
    return True


def make_copy_engine(path: Path) -> Engine:
    """Return an engine on a copy that stays one file: no write-ahead log beside it."""
    url = URL.create("sqlite+pysqlite", database=str(path))
    engine = create_engine(url, connect_args={"isolation_level": None})
    event.listen(engine, "begin", _begin)
    return engine
