"""A writer to be killed, cut off or raced: enters readings and acknowledges each by number.

An operation is one load: most of one reading, each fifth of seven. Every reading carries its
operation in its note and a value that follows from it, so that a check needs nothing else.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from uuid import UUID, uuid4

from greenwright import record
from greenwright.record import sorting_out, sqlite
from greenwright.record.identity import Identities
from tests.record.made import course, load, parsed, roll

MUTANTS = ("", "synchronous NORMAL", "no unique key", "acknowledged before saved")
BATCH = 7


def size(op: int) -> int:
    return BATCH if op % 5 == 0 else 1


def value(op: int, i: int) -> float:
    return 1.0 + (op * 31 + i * 7) % 4000 / 1000


def rows(op: int) -> list[dict]:
    ids = (str(UUID(int=op * 100 + i)) for i in range(size(op)))
    return [roll(value(op, i), note=f"{op}.{i}", id=own) for i, own in enumerate(ids)]


def spoil(mutant: str) -> None:
    """Break the program in this process, on purpose."""
    if mutant == "synchronous NORMAL":
        sqlite.PRAGMAS["synchronous"] = "NORMAL"
    if mutant == "no unique key":
        sorting_out.identify = _anew


def _anew(_shape: object, given: list, _columns: object) -> Identities:
    n = len(given)
    return Identities([str(uuid4()) for _ in range(n)], [0] * n, [1] * n)


def write(path: Path, ops: Iterable[int], acknowledge: Callable[[int], None], mutant: str) -> None:
    """Enter operations one after the other, acknowledging each when it is saved."""
    with record.open_store(path) as store:
        for op in ops:
            if mutant == "acknowledged before saved":
                acknowledge(op)
            load(store, parsed("readings", *rows(op)))
            if mutant != "acknowledged before saved":
                acknowledge(op)


@dataclass(slots=True)
class Verdict:
    """What a store holds against what was acknowledged and what was tried."""

    lost: set[int] = field(default_factory=set)
    duplicate: set[int] = field(default_factory=set)
    phantom: set[str] = field(default_factory=set)
    altered: set[int] = field(default_factory=set)

    @property
    def sound(self) -> bool:
        return not (self.lost or self.duplicate or self.phantom or self.altered)


QUERY = (
    "SELECT r.note, r.value FROM readings_current c JOIN readings_revision r ON r.seq = c.seq "
    "WHERE c.void = 0"
)


def judge(path: Path, acknowledged: set[int], tried: set[int]) -> Verdict:
    """Compare a store with what its writer was told; half an operation counts as lost."""
    with closing(sqlite3.connect(path)) as raw:
        found = raw.execute(QUERY).fetchall()
    verdict, seen = Verdict(), {}
    for note, number in found:
        op, i = (int(part) for part in note.split("."))
        if op not in tried or i >= size(op):
            verdict.phantom.add(note)
        elif note in seen:
            verdict.duplicate.add(op)
        elif number != value(op, i):
            verdict.altered.add(op)
        seen[note] = number
    there = {op: sum(f"{op}.{i}" in seen for i in range(size(op))) for op in tried}
    verdict.lost = {op for op, n in there.items() if n < size(op) and (op in acknowledged or n)}
    return verdict


def make(path: Path) -> None:
    """Make a store with a course, closed again."""
    with record.open_store(path, create=True) as store:
        load(store, course())


def _say(op: int) -> None:
    os.write(1, f"ACK {op}\n".encode())


if __name__ == "__main__":
    where, first, last, how = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), sys.argv[4]
    spoil(how)
    if not where.exists() or first < 0:
        make(where)
    half = (first + last) // 2
    # Two sittings: the first ends by folding the log into the file.
    write(where, range(first, half), _say, how)
    write(where, range(half, last), _say, how)
