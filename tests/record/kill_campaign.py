"""Kills a writer at random times and judges what is left. Run as a program of one thread.

python -m tests.record.kill_campaign FOLDER KILLS MUTANT
"""

from __future__ import annotations

import itertools
import json
import os
import random
import select
import signal
import struct
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from greenwright import record
from tests.record.writer import MUTANTS, Verdict, judge, make, spoil, write

STORE_KILLS = 50
"""Kills after which a new store is begun, so that judging stays quick."""

LONGEST_S = 0.015
BEGUN = 0.8
"""Share of the writers that are killed after their first acknowledgement only."""

NUMBER = struct.Struct("<q")


@dataclass(slots=True)
class Campaign:
    """One store under attack: what was acknowledged and tried so far."""

    path: Path
    acknowledged: set[int] = field(default_factory=set)
    tried: set[int] = field(default_factory=set)
    next: int = 1

    def kill_once(self, delay_s: float, mutant: str, *, begun: bool) -> None:
        """Let a child write from the first operation that was not acknowledged, and kill it.

        begun: wait for its first acknowledgement; else it may be killed while it opens.
        """
        reader, writer = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reader)
            _be_the_writer(self.path, self.next, writer, mutant)
        os.close(writer)
        if begun:
            select.select([reader], [], [], 10)
        time.sleep(delay_s)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        done = _acknowledged(reader)
        self.acknowledged |= done
        last = max(done, default=self.next - 1)
        self.tried |= {*range(self.next, last + 2)}
        self.next = last + 1


def _be_the_writer(path: Path, first: int, pipe: int, mutant: str) -> None:
    try:
        spoil(mutant)
        write(path, itertools.count(first), lambda op: _tell(pipe, op), mutant)
    finally:
        os._exit(1)


def _tell(pipe: int, op: int) -> None:
    os.write(pipe, NUMBER.pack(op))


def _acknowledged(reader: int) -> set[int]:
    with os.fdopen(reader, "rb") as pipe:
        data = pipe.read()
    return {n for (n,) in NUMBER.iter_unpack(data[: len(data) // 8 * 8])}


def attack(folder: Path, kills: int, mutant: str, *, seed: int = 5) -> dict[str, int]:
    """Kill a writer so many times; return what was acknowledged and every fault found."""
    chance, total = random.Random(seed), dict.fromkeys(FAULTS, 0)
    total |= {"kills": 0, "acknowledged": 0, "audit": 0}
    while total["kills"] < kills:
        campaign = Campaign(folder / f"{total['kills']}.db")
        make(campaign.path)
        for _ in range(min(STORE_KILLS, kills - total["kills"])):
            delay_s, begun = chance.uniform(0.0, LONGEST_S), chance.random() < BEGUN
            campaign.kill_once(delay_s, mutant, begun=begun)
            total["kills"] += 1
        _count(total, campaign)
        if mutant and any(total[fault] for fault in FAULTS):
            break
    return total


FAULTS = ("lost", "duplicate", "phantom", "altered")


def _count(total: dict[str, int], campaign: Campaign) -> None:
    verdict: Verdict = judge(campaign.path, campaign.acknowledged, campaign.tried)
    for fault in FAULTS:
        total[fault] += len(getattr(verdict, fault))
    total["acknowledged"] += len(campaign.acknowledged)
    with record.open_store(campaign.path) as store:
        total["audit"] += len(record.audit(store))


if __name__ == "__main__":
    where, times, how = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    assert how in MUTANTS
    print(json.dumps(attack(where, times, how)))
