"""How a bench is timed and written down."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from time import perf_counter

COMMAND = Path(sys.executable).with_name("greenwright")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the bench: what was measured, the figure, and the bound it is held to."""

    what: str
    figure: float
    unit: str
    bound: float
    at_most: bool = True
    beside: str = ""

    @property
    def met(self) -> bool:
        """Whether the figure keeps its bound."""
        return self.figure <= self.bound if self.at_most else self.figure >= self.bound

    def line(self) -> str:
        """Return the row as one line of plain text."""
        sign = "at most" if self.at_most else "at least"
        verdict = "met" if self.met else "MISSED"
        head = f"{self.what:<58} {self.figure:8.3f} {self.unit:<8}"
        return f"{head} {sign} {self.bound:g} {verdict}  {self.beside}".rstrip()


def seconds(work: Callable[[], object]) -> float:
    """Return the wall time of one call [s]."""
    start = perf_counter()
    work()
    return perf_counter() - start


def median_seconds(work: Callable[[], object], runs: int) -> float:
    """Return the median wall time of several calls [s]."""
    return median(seconds(work) for _ in range(runs))


def greenwright(*words: str) -> str:
    """Run the command as a user would and return what it printed."""
    done = subprocess.run([COMMAND, *words], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 3):
        raise RuntimeError(
            f"greenwright {' '.join(words)} left with {done.returncode}: {done.stderr}"
        )
    return done.stdout
