"""The crash tests can fail: a program broken on purpose is caught by the same judges."""

from __future__ import annotations

from pathlib import Path

import pytest

from greenwright.record import open_store
from tests.record.made import load, parsed, roll
from tests.record.power import cut, traced
from tests.record.test_kills import attack
from tests.record.writer import judge, make, rows

BUDGET = 600


@pytest.mark.slow
def test_saving_without_a_flush_is_caught_by_a_power_cut(tmp_path: Path) -> None:
    trace = traced(tmp_path, 20, "synchronous NORMAL")
    place = tmp_path / "cuts"
    place.mkdir()
    seen = cut(trace, place, 200)
    assert seen.lost > 0, seen


@pytest.mark.slow
def test_acknowledging_before_saving_is_caught_by_a_kill(tmp_path: Path) -> None:
    assert attack(tmp_path, BUDGET, "acknowledged before saved")["lost"] > 0


@pytest.mark.slow
def test_readings_without_a_key_are_caught_when_they_are_sent_again(tmp_path: Path) -> None:
    assert attack(tmp_path, BUDGET, "no unique key")["duplicate"] > 0


def test_the_judge_names_every_fault(tmp_path: Path) -> None:
    path = tmp_path / "judged.db"
    make(path)
    with open_store(path) as store:
        load(store, parsed("readings", *rows(1), *rows(2), *rows(5)[:3]))
        load(store, parsed("readings", roll(9.0, note="3.0"), roll(2.0, note="77.0")))
        load(store, parsed("readings", *(row | {"id": None, "observer": "ben"} for row in rows(2))))
    verdict = judge(path, {1, 2, 3, 4}, {1, 2, 3, 4, 5})
    assert verdict.lost == {4, 5}
    assert verdict.duplicate == {2}
    assert verdict.altered == {3}
    assert verdict.phantom == {"77.0"}


def test_the_judge_accepts_what_is_right(tmp_path: Path) -> None:
    path = tmp_path / "judged.db"
    make(path)
    with open_store(path) as store:
        load(store, parsed("readings", *rows(1)))
        load(store, parsed("readings", *rows(5)))
    assert judge(path, {1}, {1, 5, 6}).sound
