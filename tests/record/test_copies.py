"""Backups are whole, restores are checked first, and the replaced record is kept."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from greenwright import record
from greenwright.base.errors import StoreError
from tests.record.made import DAY, load, parsed, readings, roll


@pytest.fixture
def copy(small: record.Store, tmp_path: Path) -> Path:
    made = tmp_path / "copies" / "june.db"
    made.parent.mkdir()
    record.backup(small, made)
    return made


def test_a_backup_is_one_file_that_holds_the_same(small: record.Store, copy: Path) -> None:
    assert [p.name for p in copy.parent.iterdir()] == ["june.db"]
    with record.open_store(copy) as store:
        assert record.snapshot(store, None, on=DAY) == record.snapshot(small, None, on=DAY)
        assert record.audit(store) == ()


def test_a_backup_is_taken_while_the_record_is_written(small: record.Store, tmp_path: Path) -> None:
    with record.open_store(small.path) as other:
        load(other, parsed("readings", roll(observer="ben")))
        record.backup(small, tmp_path / "now.db")
        load(other, parsed("readings", roll(observer="eve")))
    with record.open_store(tmp_path / "now.db") as copy:
        observers = {r.observer for r in readings(copy)}
    assert "ben" in observers and "eve" not in observers


def test_a_backup_never_replaces_a_file(small: record.Store, copy: Path) -> None:
    before = copy.read_bytes()
    with pytest.raises(StoreError, match="exists already"):
        record.backup(small, copy)
    assert copy.read_bytes() == before
    with pytest.raises(StoreError, match="no such folder"):
        record.backup(small, copy.parent / "none" / "x.db")


def test_restoring_puts_the_backup_in_place_and_keeps_the_old(
    path: Path, small: record.Store, copy: Path
) -> None:
    then = record.snapshot(small, None, on=DAY)
    load(small, parsed("readings", roll(observer="ben")))
    now = record.snapshot(small, None, on=DAY)
    small.close()
    kept = record.restore(copy, path)
    assert kept == path.with_name("greenwright.replaced-1.db")
    with record.open_store(path) as store:
        assert record.snapshot(store, None, on=DAY) == then
    with record.open_store(kept) as old:
        assert record.snapshot(old, None, on=DAY) == now
    assert record.restore(copy, path).name == "greenwright.replaced-2.db"


def test_restoring_to_an_empty_place(copy: Path, tmp_path: Path) -> None:
    assert record.restore(copy, tmp_path / "new.db") is None
    with record.open_store(tmp_path / "new.db") as store:
        assert len(readings(store)) == 30  # kept readings by expected.json of the small record


def test_a_restored_record_can_be_written_and_backed_up_again(copy: Path, tmp_path: Path) -> None:
    record.restore(copy, tmp_path / "new.db")
    with record.open_store(tmp_path / "new.db") as store:
        load(store, parsed("readings", roll(observer="ben")))
        assert record.audit(store) == ()
        record.backup(store, tmp_path / "again.db")
    assert record.verify(tmp_path / "again.db") != record.verify(copy)


def test_an_open_record_is_not_replaced(path: Path, small: record.Store, copy: Path) -> None:
    readings(small)
    with pytest.raises(StoreError, match="another program holds the record"):
        record.restore(copy, path)
    assert len(readings(small)) == 30
    assert not list(path.parent.glob("*replaced*"))


def test_a_damaged_record_is_kept_with_its_log(path: Path, small: record.Store, copy: Path) -> None:
    small.close()
    path.write_bytes(b"not a database at all" * 100)
    path.with_name(path.name + "-wal").write_bytes(b"left over")
    kept = record.restore(copy, path)
    assert kept.read_bytes().startswith(b"not a database")
    assert kept.with_name(kept.name + "-wal").read_bytes() == b"left over"
    assert not path.with_name(path.name + "-wal").exists()
    with record.open_store(path) as store:
        assert len(readings(store)) == 30


def test_what_is_no_backup_is_refused(small: record.Store, path: Path, tmp_path: Path) -> None:
    target = tmp_path / "target.db"
    with pytest.raises(StoreError, match="no such backup"):
        record.restore(tmp_path / "none.db", target)
    small.close()
    with pytest.raises(StoreError, match="no seal"):
        record.restore(path, target)
    assert not target.exists()


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE readings_current SET void = 1 WHERE seq = 4",
        "DELETE FROM lab_current",
        "DROP TABLE lab_current",
        "UPDATE seal SET digest = 'x'",
        "UPDATE seal SET row_count = row_count + 1",
        "DELETE FROM seal",
        "UPDATE alembic_version SET version_num = '9999'",
    ],
)
def test_a_backup_that_was_changed_is_refused(copy: Path, tmp_path: Path, damage: str) -> None:
    with closing(sqlite3.connect(copy)) as raw:
        raw.execute(damage)
        raw.commit()
    with pytest.raises(StoreError):
        record.restore(copy, tmp_path / "target.db")
    assert not (tmp_path / "target.db").exists()


def test_flipped_bytes_are_noticed_or_harmless(copy: Path, tmp_path: Path) -> None:
    whole, chance = copy.read_bytes(), random.Random(11)
    seal, refused = record.verify(copy), 0
    for _ in range(150):
        spoilt = bytearray(whole)
        for _ in range(chance.randint(1, 64)):
            spoilt[chance.randrange(len(spoilt))] ^= 1 << chance.randrange(8)
        target = tmp_path / "spoilt.db"
        target.write_bytes(spoilt[: chance.choice([len(spoilt), chance.randrange(len(spoilt))])])
        try:
            assert record.verify(target) == seal, "a damaged backup passed for another content"
        except StoreError:
            refused += 1
    assert refused > 100
