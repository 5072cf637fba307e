"""The audit finds every kind of planted damage, and a sound store gives it nothing to say."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from greenwright import record
from greenwright.base.errors import StoreError
from tests.record.made import DAY, SMALL, load, load_folder, parsed, roll

UNGUARDED = (
    "DROP TRIGGER readings_revision_no_update;"
    "DROP TRIGGER readings_revision_no_delete;"
    "DROP TRIGGER load_file_no_update;"
    "DROP TRIGGER refusal_no_delete;"
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    made = tmp_path / "greenwright.db"
    with record.open_store(made, create=True) as store:
        load_folder(store, SMALL)
        load(store, parsed("rounds", {"date": DAY, "rounds": 61.0}))
        load(store, parsed("rounds", {"date": DAY, "rounds": 62.0}))
    return made


def plant(path: Path, statements: str) -> None:
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(UNGUARDED + statements)


def found(path: Path) -> tuple[str, ...]:
    with record.open_store(path) as store:
        return record.audit(store)


GUARDS = 4
LAST = "(SELECT max(seq) FROM readings_revision)"


def test_a_sound_store_has_no_problems(path: Path) -> None:
    assert found(path) == ()


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        ("UPDATE readings_revision SET value = 9.9 WHERE seq = 3", "was altered"),
        ("UPDATE readings_revision SET digest = 'x' WHERE seq = 3", "was altered"),
        (f"DELETE FROM readings_revision WHERE seq = {LAST}", "is not what its revisions say"),
        (f"DELETE FROM readings_revision WHERE seq = {LAST}", "are not those that were noted"),
        ("UPDATE readings_revision SET number = 3 WHERE seq = 3", "misses a revision"),
        ("UPDATE readings_revision SET known = '2030-01-01' WHERE seq = 3", "is not what"),
        ("DELETE FROM weather_current WHERE seq = 2", "is not what"),
        ("UPDATE rounds_current SET seq = seq - 1 WHERE number = 2", "is not what"),
        ("UPDATE rounds_current SET void = 1", "is not what its revisions say"),
        ("INSERT INTO lab_current VALUES ('x','y',1,1,'a','a',0)", "is not what"),
        ("UPDATE load_file SET kept = kept - 1 WHERE file = 'readings'", "do not add up"),
        ("UPDATE load_file SET new = 1, same = 29 WHERE file = 'readings'", "not those"),
        ("DELETE FROM refusal WHERE position = 0", "not every refused row is named"),
        (
            "PRAGMA foreign_keys=OFF; UPDATE readings_revision SET change_id = 99 WHERE seq = 3",
            "refers to a row of change that is not there",
        ),
    ],
)
def test_planted_damage_is_named(path: Path, damage: str, words: str) -> None:
    plant(path, damage)
    problems = found(path)
    assert sum("guard" in p for p in problems) == GUARDS
    assert any(words in p for p in problems), problems


def test_a_minus_nought_is_no_damage(path: Path) -> None:
    with record.open_store(path) as store:
        load(store, parsed("readings", roll(2.5, roll_length_m=-0.0)))
    assert found(path) == ()


def test_a_missing_guard_alone_is_named(path: Path) -> None:
    plant(path, "")
    problems = found(path)
    assert len(problems) == GUARDS
    assert all("against overwriting is gone" in p for p in problems)


def test_a_broken_index_is_found_by_the_database_itself(path: Path) -> None:
    size = path.stat().st_size
    with path.open("r+b") as raw:
        raw.seek(size - 4096 * 3)
        raw.write(b"\0" * 4096 * 2)
    try:
        problems = found(path)
    except StoreError as error:
        problems = (error.what,)
    assert any("damaged" in p for p in problems), problems


def test_rebuilding_makes_the_current_rows_anew(path: Path) -> None:
    with record.open_store(path) as store:
        before = record.snapshot(store, None, on=DAY)
    names = ("readings", "rounds", "greens")
    plant(path, "".join(f"DELETE FROM {name}_current;" for name in names))
    with record.open_store(path) as store:
        assert record.snapshot(store, None, on=DAY) != before
        record.rebuild(store)
        assert record.snapshot(store, None, on=DAY) == before
        assert len(record.audit(store)) == GUARDS


def test_rebuilding_a_sound_store_changes_nothing(path: Path) -> None:
    with record.open_store(path) as store:
        row = record.snapshot(store, None, on=DAY).readings[0]
        load(store, parsed("readings", roll(3.0, id=row.id)))
        before = record.snapshot(store, None, on=DAY)
        record.rebuild(store)
        assert record.snapshot(store, None, on=DAY) == before
        assert record.audit(store) == ()
