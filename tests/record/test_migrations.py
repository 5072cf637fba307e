"""The released steps make exactly the tables that the code expects, all of them or none."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from importlib.resources import files
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine

from greenwright import record
from greenwright.base.errors import StoreError
from greenwright.record import sqlite
from greenwright.record.copies import seal_of
from greenwright.record.schema import tables
from greenwright.record.versions import HEAD, RELEASED


def shape(raw: sqlite3.Connection) -> dict[str, object]:
    names = [
        r[0]
        for r in raw.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")
        if r[0] != "alembic_version"
    ]
    found: dict[str, object] = {}
    for name in names:
        found[name] = (
            raw.execute(f"PRAGMA table_info({name})").fetchall(),
            sorted(r[2:] for r in raw.execute(f"PRAGMA foreign_key_list({name})")),
            sorted(
                (r[2:4], tuple(c[2] for c in raw.execute(f"PRAGMA index_info({r[1]})")))
                for r in raw.execute(f"PRAGMA index_list({name})")
            ),
            raw.execute("SELECT wr, strict FROM pragma_table_list(?)", (name,)).fetchall(),
        )
    return found


def test_the_steps_make_the_tables_that_the_code_expects(
    empty: record.Store, tmp_path: Path
) -> None:
    engine = create_engine(f"sqlite:///{tmp_path / 'expected.db'}")
    tables().metadata.create_all(engine)
    engine.dispose()
    made, wanted = sqlite3.connect(empty.path), sqlite3.connect(tmp_path / "expected.db")
    with closing(made), closing(wanted):
        assert shape(made) == shape(wanted)


def test_every_table_is_strict(empty: record.Store) -> None:
    with closing(sqlite3.connect(empty.path)) as raw:
        strict = dict(raw.execute("SELECT name, strict FROM pragma_table_list"))
    loose = {n for n, s in strict.items() if not s}
    assert loose == {"alembic_version", "sqlite_schema", "sqlite_temp_schema"}


def test_the_list_of_released_versions_is_that_of_the_steps() -> None:
    config = Config()
    config.set_main_option("script_location", "greenwright.record:migrations")
    config.set_main_option("path_separator", "os")
    script = ScriptDirectory.from_config(config)
    assert script.get_heads() == [HEAD]
    assert [s.revision for s in script.walk_revisions()][::-1] == list(RELEASED)


def test_released_steps_do_not_read_the_living_specification() -> None:
    for step in files("greenwright.record").joinpath("migrations", "versions").iterdir():
        if step.name.endswith(".py"):
            text = step.read_text("utf-8")
            assert "base.tables" not in text and "record.schema" not in text
            assert "batch_alter_table" not in text


def test_a_step_that_fails_leaves_nothing_behind(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(_: object) -> None:
        raise StoreError("stopped on purpose")

    monkeypatch.setattr("greenwright.record.sqlite.mark_as_record", stop)
    with pytest.raises(StoreError, match="on purpose"):
        record.open_store(path, create=True)
    monkeypatch.undo()
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("SELECT count(*) FROM sqlite_schema").fetchone() == (0,)
    with record.open_store(path, create=True) as store:
        assert record.audit(store) == ()


def test_opening_twice_changes_nothing(empty: record.Store) -> None:
    before = empty.path.read_bytes()
    record.open_store(empty.path).close()
    record.open_store(empty.path, create=True).close()
    assert empty.path.read_bytes() == before


def at_version(path: Path, version: str) -> None:
    """Make an empty record of an earlier version, by the released steps alone."""
    config = Config()
    config.set_main_option("script_location", "greenwright.record:migrations")
    config.set_main_option("path_separator", "os")
    engine = sqlite.make_engine(path, wait_s=1)
    with engine.connect() as conn, conn.begin():
        config.attributes["connection"] = conn
        command.upgrade(config, version)
    engine.dispose()


def test_a_record_of_the_first_version_is_brought_up_to_date_as_it_is(path: Path) -> None:
    at_version(path, "0001")
    with closing(sqlite3.connect(path)) as raw:
        names = {r[0] for r in raw.execute("SELECT name FROM sqlite_schema")}
        raw.execute("INSERT INTO answer VALUES (7,'heron','today','2026-06-05','t','0.1','d','{}')")
        raw.commit()
    assert "answer" in names and "forecast" not in names
    with record.open_store(path) as store:
        assert record.audit(store) == ()
        with store.reading() as conn:
            assert conn.exec_driver_sql("SELECT id, content FROM answer").all() == [(7, "{}")]
            assert conn.exec_driver_sql("SELECT count(*) FROM forecast").scalar() == 0


def test_a_backup_of_the_first_version_can_still_be_restored(path: Path, tmp_path: Path) -> None:
    old = tmp_path / "old.db"
    at_version(old, "0001")
    engine = sqlite.make_copy_engine(old)
    with engine.connect() as conn, conn.begin():
        seal = seal_of(conn)
        conn.exec_driver_sql(
            "INSERT INTO seal VALUES (1, ?, ?, ?)", (seal.schema_version, seal.rows, seal.digest)
        )
    engine.dispose()
    assert seal.schema_version == "0001"
    assert record.verify(old) == seal
    record.restore(old, path)
    with record.open_store(path) as store:
        assert record.audit(store) == ()
