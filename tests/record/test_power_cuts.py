"""A reading shown as saved is not lost to a power cut either: a thousand cuts."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from greenwright import record
from tests.record.power import Disk, Event, cut, read_events, traced

CUTS = 1000
OPERATIONS = 40


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_when_the_power_fails(tmp_path: Path) -> None:
    trace = traced(tmp_path, OPERATIONS, "")
    kinds = {e.kind for e in trace.events}
    assert {"write", "sync", "ack", "unlink"} <= kinds, "the trace does not show the writer's work"
    place = tmp_path / "cuts"
    place.mkdir()
    seen = cut(trace, place, CUTS)
    # With no fault in n trials the 95 % upper bound of its chance is 3/n (rule of three).
    print(f"{seen}; at most {3 / seen.cuts:.2%} of power cuts do harm (95 %)")
    assert seen.cuts == CUTS and seen.acknowledged >= OPERATIONS // 2
    assert seen.sound, seen
    with record.open_store(place / trace.name) as store:
        assert record.audit(store) == ()


def test_what_was_flushed_stays_and_what_was_not_may_go() -> None:
    disk = Disk({"a": bytearray(b"x" * 1024)})
    for event in (
        Event("write", "a", 0, b"y" * 512),
        Event("sync", "a"),
        Event("write", "a", 512, b"z" * 1024),
    ):
        disk.apply(event)
    seen = {disk.after_a_cut(random.Random(i))["a"] for i in range(60)}
    assert all(data.startswith(b"y" * 512) for data in seen)
    # Two sectors that may be there or not: the second lies beyond the flushed end.
    kept, new, gap = b"x" * 512, b"z" * 512, bytes(0)
    assert {data[512:] for data in seen} == {kept + gap, new + gap, kept + new, new + new}


def test_truncating_and_removing_are_taken_as_done() -> None:
    disk = Disk({"a": bytearray(b"x" * 9), "b": bytearray(b"y")})
    disk.apply(Event("truncate", "a", 4))
    disk.apply(Event("unlink", "b"))
    assert disk.after_a_cut(random.Random(1)) == {"a": b"xxxx"}


def test_lines_of_the_tracer_are_read_as_they_are_written(tmp_path: Path) -> None:
    path = tmp_path / "a.db"

    def hexed(text: str) -> str:
        return "".join(f"\\x{b:02x}" for b in text.encode())

    lines = [
        f'7 openat(AT_FDCWD, "{hexed(str(path))}", O_RDWR|O_CREAT, 0644) = 5',
        f'7 openat(AT_FDCWD, "{hexed("/etc/hosts")}", O_RDONLY) = 6',
        '7 pwrite64(5, "\\x41\\x42", 2, 4096) = 2',
        '7 write(6, "\\x41", 1) = 1',
        "7 fdatasync(5)                     = 0",
        "7 fsync(5) = -1 EIO (Input/output error)",
        f'7 write(1, "{hexed("ACK 12" + chr(10))}", 7) = 7',
        "7 ftruncate(5, 0) = 0",
        "7 close(5) = 0",
        f'7 unlink("{hexed(str(path) + "-wal")}") = 0',
    ]
    assert list(read_events(lines, path)) == [
        Event("write", "a.db", 4096, b"AB"),
        Event("sync", "a.db"),
        Event("ack", offset=12),
        Event("truncate", "a.db", 0),
        Event("unlink", "a.db-wal"),
    ]
