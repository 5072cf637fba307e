"""Several programs write at once: none loses anything, none waits for ever."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from greenwright import record
from tests.record.made import load, parsed, readings, roll
from tests.record.writer import judge, make

EACH = 60


def start(path: Path, first: int, last: int) -> subprocess.Popen[str]:
    program = [sys.executable, "-m", "tests.record.writer", str(path), str(first), str(last), ""]
    return subprocess.Popen(program, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_two_processes_lose_nothing(path: Path) -> None:
    make(path)
    writers = [start(path, 1, 1 + EACH), start(path, 1001, 1001 + EACH)]
    try:
        said = [w.communicate(timeout=100) for w in writers]
    finally:
        for w in writers:
            w.kill()
    assert [w.returncode for w in writers] == [0, 0], said
    done = {int(line.split()[1]) for out, _ in said for line in out.splitlines()}
    assert len(done) == 2 * EACH
    assert judge(path, done, done).sound
    with record.open_store(path) as store:
        assert record.audit(store) == ()


def test_threads_that_write_the_same_reading_make_one_row(store: record.Store) -> None:
    own = "0b1e2c3d-0000-4000-8000-000000000001"
    with ThreadPoolExecutor(8) as pool:
        counts = list(
            pool.map(lambda _: load(store, parsed("readings", roll(id=own))).total, range(16))
        )
    assert sum(c.new for c in counts) == 1 and sum(c.same for c in counts) == 15
    assert len(readings(store)) == 1


def test_threads_that_differ_leave_every_state_in_the_history(store: record.Store) -> None:
    own = "0b1e2c3d-0000-4000-8000-000000000001"
    numbers = [2.0 + i / 10 for i in range(12)]
    with ThreadPoolExecutor(6) as pool:
        list(pool.map(lambda v: load(store, parsed("readings", roll(v, id=own))), numbers))
    states = record.revisions(store, "readings", own, course=None)
    assert [s.number for s in states] == [*range(1, 13)]
    assert sorted(s.fields["value"] for s in states) == numbers
    assert record.audit(store) == ()


def test_a_reader_sees_one_state_while_others_write(store: record.Store) -> None:
    load(store, parsed("readings", roll(observer="0")))
    with store.reading() as conn:
        count = "SELECT count(*) FROM readings_current"
        before = conn.exec_driver_sql(count).scalar()
        load(store, parsed("readings", roll(observer="1")))
        assert conn.exec_driver_sql(count).scalar() == before == 1
    assert len(readings(store)) == 2
