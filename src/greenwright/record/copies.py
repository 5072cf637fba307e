"""Backs a record up while it is in use, and restores it only after checking the copy."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, delete, insert, inspect, select

from greenwright.base.errors import StoreError
from greenwright.record import sqlite
from greenwright.record.schema import tables
from greenwright.record.store import Store, plain_errors, plain_rows
from greenwright.record.versions import HEAD, RELEASED

ASIDE = ("-wal", "-shm", "-journal")


@dataclass(frozen=True, slots=True)
class Seal:
    """What a copy holds: schema version, rows, and the SHA-256 of them all."""

    schema_version: str
    rows: int
    digest: str


def backup(store: Store, path: Path) -> Seal:
    """Copy the record into a new file, as it stands now, and prove that the copy is whole.

    Others may go on writing meanwhile. The copy carries a seal by which `restore` knows
    whether it was damaged since.

    Raises:
        StoreError: the file exists already, the copy could not be written, or is not whole.
    """
    path = Path(path)
    if path.exists():
        raise StoreError("this file exists already", where=str(path), do="Name a new file")
    with plain_errors(path), _part_of(path) as part:
        with store.reading() as conn:
            sqlite.copy_live(conn, part)
        _set_seal(part)
        seal = verify(part)
        _to_disk(part)
        os.replace(part, path)
        _to_disk(path.parent)
    return seal


def verify(path: Path) -> Seal:
    """Return the seal of a backup after checking that the file is just what was sealed.

    Raises:
        StoreError: damaged, not a backup, or made by a newer version.
    """
    path = Path(path)
    if not path.is_file():
        raise StoreError("there is no such backup", where=str(path), do="Name another file")
    with plain_errors(path):
        version = sqlite.peek(path)
        if version not in RELEASED:
            raise StoreError(
                f"this backup was made by a newer version (schema {version})",
                where=str(path),
                expected=f"schema {HEAD} or earlier",
                do="Install the newer version",
            )
        problems, sealed, found = _examined(path)
    if sealed is None:
        raise StoreError("this is not a backup: it has no seal", where=str(path), do="Name another")
    if problems or sealed != found:
        what = problems[0] if problems else "its content is not what was backed up"
        raise StoreError(f"this backup is damaged: {what}", where=str(path), do="Use an older one")
    return sealed


def _examined(path: Path) -> tuple[list[str], Seal | None, Seal | None]:
    with _opened(path, writes=False) as conn:
        problems, sealed = sqlite.damage(conn), _sealed(conn)
        try:
            return problems, sealed, seal_of(conn)
        except (TypeError, ValueError) as error:
            # Bytes where text should be: the damage lies in a value.
            return [*problems, str(error)], sealed, None


def restore(backup_path: Path, path: Path) -> Path | None:
    """Put a backup in the place of a record; return where the replaced one is kept, if any.

    The backup is checked first; nothing is touched when it is not sound.

    Raises:
        StoreError: the backup is damaged, or the record is open elsewhere.
    """
    backup_path, path = Path(backup_path), Path(path)
    verify(backup_path)
    with plain_errors(path), _part_of(path) as part:
        shutil.copyfile(backup_path, part)
        verify(part)
        _to_disk(part)
        kept = _set_aside(path) if path.exists() else None
        os.replace(part, path)
        _to_disk(path.parent)
    return kept


def _set_aside(path: Path) -> Path:
    kept = _free_name(path)
    logs = {path.with_name(path.name + end): kept.with_name(kept.name + end) for end in ASIDE}
    copied = {log: copy for log, copy in logs.items() if log.exists()}
    for log, copy in copied.items():
        shutil.copyfile(log, copy)
    whole = True
    try:
        whole = sqlite.fold_journal(path)
    finally:
        # A damaged file keeps its log, which must never meet the restored file.
        for left in copied.values() if whole else copied:
            left.unlink(missing_ok=True)
    _keep(path, kept)
    return kept


def _keep(path: Path, kept: Path) -> None:
    try:
        os.link(path, kept)
    except OSError:
        shutil.copyfile(path, kept)
        _to_disk(kept)


def _free_name(path: Path) -> Path:
    n = 1
    while (made := path.with_name(f"{path.stem}.replaced-{n}{path.suffix}")).exists():
        n += 1
    return made


def _set_seal(path: Path) -> None:
    with _opened(path, writes=True) as conn:
        table = tables().seal
        conn.execute(delete(table))
        seal = seal_of(conn)
        row = {"schema_version": seal.schema_version, "row_count": seal.rows, "digest": seal.digest}
        conn.execute(insert(table), row)


def _sealed(conn: Connection) -> Seal | None:
    s = tables().seal.c
    row = conn.execute(select(s.schema_version, s.row_count, s.digest)).first()
    return None if row is None else Seal(*row)


def seal_of(conn: Connection) -> Seal:
    """Return the seal of what a database holds: every row of every table but the seal's own."""
    digest, rows = hashlib.sha256(), 0
    encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode
    for table in tables().metadata.sorted_tables:
        # A backup of an earlier version was sealed without the tables that came later.
        if table.name != "seal" and inspect(conn).has_table(table.name):
            found = plain_rows(conn, select(table).order_by(*table.primary_key.columns))
            rows += len(found)
            digest.update(encode([table.name, found]).encode("utf-8"))
    version = conn.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one()
    return Seal(version, rows, digest.hexdigest())


@contextmanager
def _opened(path: Path, *, writes: bool) -> Iterator[Connection]:
    engine = sqlite.make_copy_engine(path)
    try:
        with engine.connect() as conn:
            conn.execution_options(writes=writes)
            with conn.begin():
                yield conn
    finally:
        engine.dispose()


@contextmanager
def _part_of(path: Path) -> Iterator[Path]:
    if not path.parent.is_dir():
        raise StoreError("there is no such folder", where=str(path.parent), do="Make it first")
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
    os.close(handle)
    part = Path(name)
    try:
        yield part
    finally:
        for left in (part, *(part.with_name(part.name + end) for end in ASIDE)):
            left.unlink(missing_ok=True)


def _to_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
