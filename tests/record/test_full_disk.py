"""A full disk: a plain message, nothing acknowledged lost, and on it goes when space is freed."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from greenwright import record
from greenwright.base.errors import StoreError
from tests.record.made import load, parsed, readings, roll
from tests.record.power import not_here
from tests.record.writer import make


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    place = tmp_path / "disk"
    place.mkdir()
    if os.getuid() != 0:
        not_here("only the administrator can make a disk of one mebibyte")
    order = ["mount", "-t", "tmpfs", "-o", "size=1m", "small", str(place)]
    made = subprocess.run(order, capture_output=True, text=True, check=False)
    if made.returncode:
        not_here(f"no disk of one mebibyte can be made: {made.stderr.strip()}")
    try:
        yield place
    finally:
        subprocess.run(["umount", str(place)], check=True)


def enter(store: record.Store, n: int) -> str:
    note = f"{n} " + "x" * 2000
    load(store, parsed("readings", roll(observer=str(n), note=note)))
    return note


def test_a_full_disk_loses_nothing(small_disk: Path) -> None:
    path, filler = small_disk / "greenwright.db", small_disk / "filler"
    make(path)
    filler.write_bytes(bytes(150_000))
    saved: list[str] = []
    with record.open_store(path) as store:
        with pytest.raises(StoreError, match="disk is full") as error:
            for n in range(1000):
                saved.append(enter(store, n))
        assert "intact" in error.value.what and "Free some space" in error.value.do
        for n in range(5):
            with pytest.raises(StoreError, match="disk is full"):
                enter(store, 2000 + n)
        assert len(saved) > 5
        assert sorted(r.note for r in readings(store)) == sorted(saved)
        filler.unlink()
        saved += [enter(store, 3000 + n) for n in range(3)]
        assert sorted(r.note for r in readings(store)) == sorted(saved)
        assert record.audit(store) == ()


def test_a_backup_to_a_full_disk_leaves_nothing_behind(
    small: record.Store, small_disk: Path
) -> None:
    (small_disk / "filler").write_bytes(bytes(900_000))
    with pytest.raises(StoreError, match=r"full|No space"):
        record.backup(small, small_disk / "copy.db")
    assert [p.name for p in small_disk.iterdir()] == ["filler"]
