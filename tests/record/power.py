"""Cuts the power of a traced writer: rebuilds its files as they may lie on the disk.

What was flushed is there; of what was written since, each sector of 512 bytes is there or not,
by chance. The order of truncating and removing files is taken as kept, and sectors as whole:
real disks may do worse.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.record.writer import judge, make

SECTOR = 512
CALLS = "openat,close,pwrite64,write,fsync,fdatasync,ftruncate,unlink"
LINE = re.compile(r"^\d+\s+(?P<call>\w+)\((?P<args>.*)\)\s+=\s+(?P<result>-?\d+)")
TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened to a file, or an acknowledgement (kind ack)."""

    kind: str
    name: str = ""
    offset: int = 0
    data: bytes = b""


@dataclass(slots=True)
class Disk:
    """Files as flushed, and the writes since."""

    files: dict[str, bytearray]
    pending: dict[str, list[tuple[int, bytes]]] = field(default_factory=dict)

    def apply(self, event: Event) -> None:
        if event.kind == "write":
            self.files.setdefault(event.name, bytearray())
            self.pending.setdefault(event.name, []).append((event.offset, event.data))
        elif event.kind == "sync":
            for offset, data in self.pending.pop(event.name, []):
                put(self.files[event.name], offset, data)
        elif event.kind == "truncate":
            self.apply(Event("sync", event.name))
            del self.files.setdefault(event.name, bytearray())[event.offset :]
        elif event.kind == "unlink":
            self.files.pop(event.name, None)
            self.pending.pop(event.name, None)

    def after_a_cut(self, chance: random.Random) -> dict[str, bytes]:
        """Return the files with a random half of the sectors written since the last flush."""
        left = {name: bytearray(data) for name, data in self.files.items()}
        for name, writes in self.pending.items():
            for offset, data in writes:
                for start in range(0, len(data), SECTOR):
                    if chance.random() < 0.5:
                        put(left[name], offset + start, data[start : start + SECTOR])
        return {name: bytes(data) for name, data in left.items()}


def put(file: bytearray, offset: int, data: bytes) -> None:
    """Write data into a file at an offset, filling a gap with zeros."""
    file.extend(bytes(max(0, offset + len(data) - len(file))))
    file[offset : offset + len(data)] = data


@dataclass(frozen=True, slots=True)
class Trace:
    """A writer's files before it began, and all that happened to them."""

    before: dict[str, bytes]
    events: tuple[Event, ...]
    name: str


def traced(folder: Path, operations: int, mutant: str) -> Trace:
    """Run a writer under strace and return what it did; skip where that cannot be done."""
    path = folder / "traced.db"
    make(path)
    before = {path.name: path.read_bytes()}
    log = folder / "trace.txt"
    program = [sys.executable, "-m", "tests.record.writer", str(path), "1", str(operations), mutant]
    tracer = ["strace", "-f", "-xx", "-s", "70000", "-e", f"trace={CALLS}", "-o", str(log)]
    if shutil.which("strace") is None:
        not_here("strace is not installed, so the power cannot be cut")
    done = subprocess.run([*tracer, *program], capture_output=True, text=True, check=False)
    if done.returncode:
        not_here(f"strace could not run the writer: {done.stderr[-300:]}")
    return Trace(before, tuple(read_events(log.read_text().splitlines(), path)), path.name)


def not_here(reason: str) -> None:
    """Skip on a desk, fail where everything must run."""
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)


def read_events(lines: Sequence[str], path: Path) -> Iterator[Event]:
    """Yield what happened to the database and its log, from the lines of strace."""
    names: dict[int, str] = {}
    for line in lines:
        match = LINE.match(line)
        if match is None or int(match["result"]) < 0:
            continue
        call, args, texts = match["call"], match["args"], TEXT.findall(match["args"])
        text = bytes.fromhex(texts[0].replace("\\x", "")) if texts else b""
        if call == "openat":
            if (opened := Path(os.fsdecode(text))).parent == path.parent:
                names[int(match["result"])] = opened.name
            continue
        if call == "unlink":
            yield Event("unlink", Path(os.fsdecode(text)).name)
            continue
        yield from _on_handle(call, args, text, names)


def _on_handle(call: str, args: str, text: bytes, names: dict[int, str]) -> Iterator[Event]:
    handle = int(args.split(",")[0])
    numbers = [int(n) for n in re.findall(r", (\d+)(?=,|$)", args)]
    if call == "write" and handle == 1 and text.startswith(b"ACK "):
        yield Event("ack", offset=int(text.split()[1]))
    elif call == "close":
        names.pop(handle, None)
    elif handle in names and not names[handle].endswith("-shm"):
        name = names[handle]
        if call == "pwrite64":
            yield Event("write", name, numbers[-1], text)
        elif call in ("fsync", "fdatasync"):
            yield Event("sync", name)
        elif call == "ftruncate":
            yield Event("truncate", name, numbers[-1])


@dataclass(slots=True)
class Outcome:
    """What cutting the power did."""

    cuts: int = 0
    acknowledged: int = 0
    lost: int = 0
    other: int = 0
    unreadable: int = 0

    @property
    def sound(self) -> bool:
        return self.cuts > 0 and not (self.lost or self.other or self.unreadable)


def cut(trace: Trace, folder: Path, cuts: int, *, seed: int = 7) -> Outcome:
    """Cut the power at random points of a trace and judge each time what is left."""
    chance, outcome = random.Random(seed), Outcome()
    points = sorted(chance.randrange(1, len(trace.events)) for _ in range(cuts))
    disk = Disk({name: bytearray(data) for name, data in trace.before.items()})
    acknowledged: set[int] = set()
    at = 0
    for point in points:
        for event in trace.events[at:point]:
            disk.apply(event)
            if event.kind == "ack":
                acknowledged.add(event.offset)
        at = point
        left = disk.after_a_cut(chance)
        _judge(folder / trace.name, left, acknowledged=acknowledged, outcome=outcome)
    outcome.acknowledged = len(acknowledged)
    return outcome


def _judge(
    path: Path, files: dict[str, bytes], *, acknowledged: set[int], outcome: Outcome
) -> None:
    for left in path.parent.iterdir():
        left.unlink()
    for file, data in files.items():
        (path.parent / file).write_bytes(data)
    outcome.cuts += 1
    tried = {*range(1, max(acknowledged, default=0) + 2)}
    try:
        with closing(sqlite3.connect(path)) as raw:
            sound = raw.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
            loose = raw.execute("PRAGMA foreign_key_check").fetchall()
        verdict = judge(path, acknowledged, tried)
    except sqlite3.DatabaseError:
        outcome.unreadable += 1
        return
    outcome.lost += len(verdict.lost)
    faults = (verdict.duplicate, verdict.phantom, verdict.altered, loose)
    outcome.other += sum(map(len, faults)) + (not sound)
