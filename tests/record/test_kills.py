"""A reading shown as saved is never lost to a crash: the writer is killed a thousand times."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

KILLS = 1000
FAULTS = ("lost", "duplicate", "phantom", "altered", "audit")


def attack(folder: Path, kills: int, mutant: str = "") -> dict[str, int]:
    program = [sys.executable, "-m", "tests.record.kill_campaign", str(folder), str(kills), mutant]
    done = subprocess.run(program, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_doubled_invented_or_altered(tmp_path: Path) -> None:
    seen = attack(tmp_path, KILLS)
    # With no fault in n trials the 95 % upper bound of its chance is 3/n (rule of three).
    print(f"{seen}; at most {3 / seen['kills']:.2%} of kills do harm (95 %)")
    assert seen["kills"] == KILLS
    assert seen["acknowledged"] > KILLS / 2, "the writer was killed before it wrote anything"
    assert {fault: seen[fault] for fault in FAULTS} == dict.fromkeys(FAULTS, 0)
