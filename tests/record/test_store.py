"""Opening, and every error in plain words: what, where, what to do; nothing lost."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from greenwright import record
from greenwright.base.errors import StoreError
from greenwright.record import sqlite
from tests.record.made import load, parsed, readings, roll


def test_the_settings_are_those_that_keep_what_is_saved(empty: record.Store) -> None:
    with empty.reading() as conn:
        seen = {n: conn.exec_driver_sql(f"PRAGMA {n}").scalar() for n in sqlite.PRAGMAS}
    # 2 = FULL, by the SQLite manual on "PRAGMA synchronous".
    assert seen["journal_mode"] == "wal" and seen["synchronous"] == 2
    assert seen["foreign_keys"] == seen["recursive_triggers"] == 1


def test_there_is_no_record_where_none_was_made(path: Path) -> None:
    with pytest.raises(StoreError, match="no record here"):
        record.open_store(path)
    assert not path.exists()
    path.touch()
    with pytest.raises(StoreError, match="the record is empty"):
        record.open_store(path)
    with record.open_store(path, create=True) as store:
        assert record.courses(store) == ()
    with pytest.raises(StoreError, match="no such folder"):
        record.open_store(path.parent / "none" / "x.db", create=True)


def test_another_kind_of_file_is_left_alone(path: Path) -> None:
    path.write_bytes(b"date,green,value\n" * 400)
    before = path.read_bytes()
    with pytest.raises(StoreError, match="this file is not a record"):
        record.open_store(path, create=True)
    assert path.read_bytes() == before


def test_the_database_of_another_program_is_left_alone(path: Path) -> None:
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("CREATE TABLE members (name TEXT)")
    before = path.read_bytes()
    with pytest.raises(StoreError, match="belongs to another program"):
        record.open_store(path, create=True)
    assert path.read_bytes() == before


def test_a_record_of_a_newer_version_is_left_alone(empty: record.Store) -> None:
    empty.close()
    with closing(sqlite3.connect(empty.path)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
        raw.commit()
    before = empty.path.read_bytes()
    with pytest.raises(StoreError, match="newer version") as error:
        record.open_store(empty.path)
    assert "Install the newer version" in error.value.do
    assert empty.path.read_bytes() == before


def test_a_record_held_by_another_writer(store: record.Store) -> None:
    with closing(sqlite3.connect(store.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with record.open_store(store.path, wait_s=0.05) as second:
            with pytest.raises(StoreError, match="another program holds the record") as error:
                load(second, parsed("readings", roll()))
            assert readings(second) == ()
        assert "wait" in error.value.do
        other.execute("ROLLBACK")
    load(store, parsed("readings", roll()))
    assert len(readings(store)) == 1


@pytest.mark.skipif(os.getuid() == 0, reason="the administrator may write everything")
def test_a_record_that_may_not_be_written_by_its_owner(store: record.Store) -> None:
    store.close()
    store.path.chmod(0o400)
    with record.open_store(store.path) as locked, pytest.raises(StoreError, match="written"):
        load(locked, parsed("readings", roll()))


def test_a_record_that_cannot_be_written_can_be_read(store: record.Store) -> None:
    load(store, parsed("readings", roll()))
    store.close()
    sealed = sqlite3.connect(f"{store.path.as_uri()}?mode=ro", uri=True)
    with closing(sealed), pytest.raises(sqlite3.OperationalError) as raised:
        sealed.execute("CREATE TABLE x (y)")
    error = sqlite.store_error(raised.value, store.path)
    assert "cannot be written" in error.what and "Allow writing" in error.do


@pytest.mark.parametrize(
    ("name", "words"),
    # Names of result codes by the SQLite manual, "Result and Error Codes".
    [
        ("SQLITE_FULL", "disk is full"),
        ("SQLITE_READONLY_DBMOVED", "cannot be written"),
        ("SQLITE_BUSY_SNAPSHOT", "another program"),
        ("SQLITE_IOERR_FSYNC", "could not be read or written"),
        ("SQLITE_CORRUPT_INDEX", "damaged"),
        ("SQLITE_CANTOPEN", "cannot be opened"),
        ("SQLITE_CONSTRAINT_TRIGGER", "rules forbid"),
        ("SQLITE_INTERRUPT", "original words"),
        ("", "original words"),
    ],
)
def test_every_error_says_what_where_and_what_to_do(name: str, words: str) -> None:
    raised = sqlite3.OperationalError("original words")
    raised.sqlite_errorname = name
    error = sqlite.store_error(raised, Path("heron.db"))
    assert words in error.what and "intact" in error.what
    assert error.where == "heron.db" and error.do


def test_a_folder_is_no_record(tmp_path: Path) -> None:
    with pytest.raises(StoreError):
        record.open_store(tmp_path)
