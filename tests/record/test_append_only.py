"""Nothing is overwritten: the database itself refuses, whatever a program tries."""

from __future__ import annotations

import pytest
from sqlalchemy.exc import DBAPIError

from greenwright import record
from greenwright.base.errors import StoreError
from greenwright.base.tables import record_files
from greenwright.record import sqlite
from greenwright.record.schema import tables
from tests.record.made import DAY, NOW, parsed, refusal, roll
from tests.record.made import load as load_rows
from tests.record.test_answers import made_answer
from tests.record.test_forecasts import keep as keep_forecast

TABLES = sorted(t.name for t in tables().append_only)


@pytest.fixture
def filled(small: record.Store) -> record.Store:
    load_rows(small, parsed("readings", refusals=(refusal(),)), parsed("putts", PUTTS))
    record.keep_answer(small, made_answer(), course=None, now=NOW)
    keep_forecast(small)
    return small


ROUNDS = [column.name for column in tables().revision["rounds"].columns]
PUTTS = {"date": DAY, "distance_m": 2.0, "tried": 10, "made": 4}


def run(store: record.Store, statement: str) -> None:
    with store.writing() as conn:
        conn.exec_driver_sql(statement)


def count(store: record.Store, table: str) -> int:
    with store.reading() as conn:
        return conn.exec_driver_sql(f'SELECT count(*) FROM "{table}"').scalar_one()


@pytest.mark.parametrize("table", TABLES)
def test_rows_are_never_changed_removed_or_replaced(filled: record.Store, table: str) -> None:
    held = count(filled, table)
    assert held > 0, "the test needs a row to attack"
    with filled.reading() as conn:
        first = next(c["name"] for c in columns(conn, table))
    for attack in (
        f"UPDATE {table} SET {first} = {first}",
        f"DELETE FROM {table}",
        f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
        f"REPLACE INTO {table} SELECT * FROM {table} LIMIT 1",
    ):
        with pytest.raises(StoreError, match="append-only"):
            run(filled, attack)
    assert count(filled, table) == held
    assert record.audit(filled) == ()


def columns(conn, table: str) -> list[dict]:
    rows = conn.exec_driver_sql(f"PRAGMA table_info({table})").mappings()
    return [dict(row) for row in rows]


def test_without_recursive_triggers_replacing_would_slip_through(
    filled: record.Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The negative control: the setting is what refuses INSERT OR REPLACE.
    monkeypatch.setitem(sqlite.PRAGMAS, "recursive_triggers", "OFF")
    with record.open_store(filled.path) as spoilt:
        run(spoilt, "REPLACE INTO rounds_revision SELECT * FROM rounds_revision LIMIT 1")


def test_a_second_row_of_the_same_number_is_refused(filled: record.Store) -> None:
    names = ", ".join(f'"{n}"' for n in ROUNDS if n != "seq")
    with pytest.raises(StoreError, match="rules forbid"):
        run(filled, f"INSERT INTO rounds_revision ({names}) SELECT {names} FROM rounds_revision")


def test_the_tables_are_strict(store: record.Store) -> None:
    with pytest.raises(StoreError, match="cannot store TEXT value in REAL column"):
        row = parsed("rounds", {"date": DAY, "rounds": 60.0})
        load_rows(store, row)
        names = ", ".join(n for n in ROUNDS if n != "seq")
        values = names.replace("number", "2").replace("rounds", "'many'")
        run(store, f"INSERT INTO rounds_revision ({names}) SELECT {values} FROM rounds_revision")


def test_every_record_file_has_its_revisions_guarded() -> None:
    assert {f"{name}_revision" for name in record_files()} < set(TABLES)


def test_a_revision_needs_the_change_that_made_it(filled: record.Store) -> None:
    names = [n for n in ROUNDS if n not in ("seq", "change_id")]
    values = ", ".join("'new'" if n == "row_id" else n for n in names)
    into = f"INSERT INTO rounds_revision ({', '.join(names)}, change_id)"
    with pytest.raises(StoreError, match="FOREIGN KEY"):
        run(filled, f"{into} SELECT {values}, 999 FROM rounds_revision LIMIT 1")


def test_a_failed_write_leaves_no_half(store: record.Store) -> None:
    before = len(record.loads(store, course=None))
    with pytest.raises((StoreError, DBAPIError, ZeroDivisionError)), store.writing() as conn:
        conn.exec_driver_sql("INSERT INTO seal (schema_version, row_count, digest) VALUES (1,1,1)")
        raise ZeroDivisionError
    load_rows(store, parsed("readings", roll()))
    assert count(store, "seal") == 0
    assert len(record.loads(store, course=None)) == before + 1
