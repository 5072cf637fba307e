"""The open store: one file, one transaction at a time, every error in plain words."""

from __future__ import annotations

import gc
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Select, func, select
from sqlalchemy.exc import DBAPIError

from greenwright.base.errors import StoreError
from greenwright.record import sqlite
from greenwright.record.schema import tables
from greenwright.record.versions import HEAD, RELEASED


class Store:
    """A handle on an open record; close it, or use it as a context manager."""

    def __init__(self, path: Path, engine: Engine) -> None:
        self.path, self._engine = path, engine
        self._counted: tuple[tuple[int, ...], tuple[int, ...]] = ((), ())

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    def stamp(self, *, kept: bool = False) -> tuple[int, ...]:
        """Return what changes whenever the record's content does.

        Args:
            kept: also when an answer or a forecast is kept, which changes no row of the record.
        """
        seen = [p.stat() for p in (self.path, Path(f"{self.path}-wal")) if p.exists()]
        file = tuple(n for s in seen for n in (s.st_ino, s.st_mtime_ns, s.st_size))
        if file != self._counted[0]:
            self._counted = (file, self._last_numbers())
        change, *given = self._counted[1]
        # A restored file is another one, whatever its numbers.
        return (file[0], change, *given) if kept else (file[0], change)

    def _last_numbers(self) -> tuple[int, ...]:
        t = tables()
        counted = (t.change, t.answer, t.forecast)
        with self.reading() as conn:
            return tuple(conn.execute(select(func.max(x.c.id))).scalar() or 0 for x in counted)

    def last_change(self) -> int:
        """Return the number of the last change of the record's rows; an answer kept is none."""
        with self.reading() as conn:
            return conn.execute(select(func.max(tables().change.c.id))).scalar() or 0

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one unchanging state of the record."""
        with plain_errors(self.path), self._engine.connect() as conn, conn.begin() as seen:
            yield conn
            seen.rollback()

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection that holds the writer's lock; all is saved at the end, or nothing."""
        with plain_errors(self.path), self._engine.connect() as conn:
            conn.execution_options(writes=True)
            with conn.begin():
                yield conn


@contextmanager
def plain_errors(where: Path) -> Iterator[None]:
    """Turn errors of the database and the system into StoreErrors.

    Raises:
        StoreError: what is wrong, where, and what to do.
    """
    try:
        yield
    except DBAPIError as error:
        raise sqlite.store_error(error.orig or error, where) from error
    except (sqlite3.Error, OSError, UnicodeError) as error:
        raise sqlite.store_error(error, where) from error


def open_store(path: Path, *, create: bool = False, wait_s: float = 30.0) -> Store:
    """Open a record, bringing one of an earlier version up to date.

    Args:
        path: the record's file, on a local disk.
        create: make it when there is none.
        wait_s: how long a writer waits for another one [s].

    Raises:
        StoreError: no such file, not a record, or made by a newer version.
    """
    path = Path(path)
    with plain_errors(path):
        version = _version(path, create=create)
    store = Store(path, sqlite.make_engine(path, wait_s=wait_s))
    try:
        if version != HEAD:
            # The steps bring a library of their own, which an up-to-date record need not load.
            steps = import_module("greenwright.record.migrate")
            with store.writing() as conn:
                steps.upgrade(conn)
    except BaseException:
        store.close()
        raise
    return store


def _version(path: Path, *, create: bool) -> str:
    if not path.exists():
        if not create:
            raise StoreError("there is no record here", where=str(path), do="Load one first")
        if not path.parent.is_dir():
            raise StoreError(
                "there is no such folder", where=str(path.parent), do="Make the folder first"
            )
        return ""
    version = sqlite.peek(path)
    if not version and not create:
        raise StoreError("the record is empty", where=str(path), do="Load one first")
    if version and version not in RELEASED:
        raise StoreError(
            f"this record was made by a newer version (schema {version})",
            where=str(path),
            expected=f"schema {HEAD} or earlier",
            do="Install the newer version",
        )
    return version


def plain_rows(conn: Connection, query: Select) -> list[tuple[Any, ...]]:
    """Return the rows of a query as the driver gives them: plain tuples, quick to sort."""
    return list(conn.execute(query).cursor.fetchall())  # type: ignore[union-attr]


@contextmanager
def collector_paused() -> Iterator[None]:
    """Keep the garbage collector from looking through many new objects that are no garbage.

    With a hundred thousand rows it takes a third of the time and finds nothing.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()
