"""How a set of readings scatters about the level it reads: its own noise, and who reads where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from greenwright.respond.beliefs import Floats
from greenwright.respond.learning import LearnedOutcome
from greenwright.stats.dynamic.evidence import Conditioned
from greenwright.stats.dynamic.model import Ints

LATEST = 30
"""Sets of a green, the latest, by which the next one is taken to be read."""


@dataclass(frozen=True, slots=True)
class Scatter:
    """What one set shows beside the level, on the engine's scale.

    Args:
        shift: (m, units) by how much the usual readers and spots read apart.
        own: (m, units) variance that is each set's own.
        joint: (m, units) variance that comes with who reads, alike on all greens of a day.
    """

    shift: Floats
    own: Floats
    joint: Floats

    def of(self, units: Sequence[int], n_days: int) -> tuple[Floats, Floats]:
        """Return shift and sd (m, (1 + units) x days) of one set a green; the course first.

        The course's reading is the mean of one set on each green, all by the same reader.
        """
        at = np.asarray(units, dtype=np.intp)
        shift, own, joint = self.shift[:, at], self.own[:, at], self.joint[:, at]
        whole = own.mean(axis=1) / len(at) + joint.mean(axis=1)
        means = np.column_stack([shift.mean(axis=1), shift])
        sds = np.sqrt(np.column_stack([whole, own + joint]))
        return np.repeat(means, n_days, axis=1), np.repeat(sds, n_days, axis=1)


def scatter(outcome: LearnedOutcome) -> Scatter:
    """Return how the next set on each green is expected to differ from the level.

    It is taken to be like the latest sets of that green: as many single readings, by one of the
    same readers, with one of the same instruments, on one of the same spots.
    """
    # Believed decisions stand among the rows of `fit`; these are the readings alone.
    rows = outcome.plain.layout.rows
    found = [_of_unit(outcome, _latest(rows.unit, unit)) for unit in range(len(outcome.greens))]
    shift, own, joint = (np.array(part).T for part in zip(*found, strict=True))
    return Scatter(shift, own, joint)


def _latest(unit: Ints, one: int) -> Ints:
    """Return the places of a unit's latest sets; of all sets where it has none."""
    mine = np.flatnonzero(unit == one)
    return (mine if len(mine) else np.arange(len(unit)))[-LATEST:]


def _of_unit(outcome: LearnedOutcome, mine: Ints) -> tuple[Floats, Floats, Floats]:
    fit, rows = outcome.fit, outcome.plain.layout.rows
    shift, own, joint = (np.zeros(len(fit.at)) for _ in range(3))
    count = float(np.median(rows.count[mine])) if len(mine) else 1.0
    known = float(np.median(rows.variance[mine])) if len(mine) else 0.0
    settled = float(np.median(rows.settled[mine])) if len(mine) else 1.0
    for i, at in enumerate(fit.at):
        noise = at.hyper["noise_sd"] ** 2 / count + at.hyper["set_sd"] ** 2
        own[i] = settled * noise + known
        for name, first in _groups(outcome).items():
            member = rows.members.get(name, np.full(len(rows), -1))[mine]
            mean, variance = _of_members(at, first, member[member >= 0])
            shift[i] += mean
            joint[i] += variance
    return shift, own, joint


def _groups(outcome: LearnedOutcome) -> dict[str, int]:
    """Return where each group's members begin in the border."""
    layout = outcome.fit.layout
    pairs = zip(layout.model.groups, layout.border.groups, strict=True)
    return {group.name: first for group, (first, _) in pairs}


def _of_members(at: Conditioned, first: int, member: Ints) -> tuple[float, float]:
    """Return mean and variance of the shift of one of some members, each as often as he read."""
    if not len(member):
        return 0.0, 0.0
    shifts, doubts = at.mean[first + member], np.diagonal(at.cov)[first + member]
    return float(shifts.mean()), float(doubts.mean() + shifts.var())
