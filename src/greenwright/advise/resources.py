"""What a day has room for: crew hours by scope and minutes of each machine."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.advise.labour import Crew, Job
from greenwright.advise.limits import Rules
from greenwright.base.evidence import value

WINDOW_KEY = "limits.machine_window_min"

SLACK = 1e-6
"""Hours or minutes by which sums of rounded numbers may pass a limit."""


@dataclass(frozen=True, slots=True)
class Resources:
    """Limited things of a day.

    Args:
        scopes: greens that each limit of hours speaks of; the first columns of `room`.
        machines: classes of machine; the last columns of `room`.
        room: (days, scopes + machines) hours [h] and minutes [min], inf where there is no limit.
    """

    scopes: tuple[frozenset[str], ...]
    machines: tuple[str, ...]
    room: NDArray[np.float64]

    def use(self, job: Job, greens: Sequence[str]) -> NDArray[np.float64]:
        """Return what a job on some greens takes of each column; hours shared by greens."""
        shares = [len(scope & set(greens)) / max(len(greens), 1) for scope in self.scopes]
        minutes = [job.minutes if job.machine == m else 0.0 for m in self.machines]
        return np.array([*(job.hours * s for s in shares), *minutes])

    def label(self, column: int) -> str:
        """Return what a column limits, in words."""
        if column < len(self.scopes):
            return "crew hours"
        return f"minutes of the {self.machines[column - len(self.scopes)]}"


def resources(rules: Rules, crew: Crew, n_days: int) -> Resources:
    """Return the limited hours and machines of each day ahead."""
    machines = tuple(sorted(crew.machines))
    room = np.full((n_days, len(rules.hours) + len(machines)), np.inf)
    for column, (_, hours) in enumerate(rules.hours):
        room[:, column] = hours
    for column, machine in enumerate(machines, start=len(rules.hours)):
        room[:, column] = crew.machines[machine] * value(WINDOW_KEY)
    return Resources(tuple(scope for scope, _ in rules.hours), machines, room)


def fits(use: NDArray[np.float64], room: NDArray[np.float64]) -> bool:
    """Return whether a use stays within its room, everywhere."""
    return bool(np.all(use <= room + SLACK))


def summed(uses: Iterable[NDArray[np.float64]], like: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the sum of uses, zeros of the shape of `like` when there are none."""
    return sum(uses, np.zeros_like(like))
