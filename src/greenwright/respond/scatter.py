"""How a set of readings differs from the level it reads: its own noise, and who reads where."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from greenwright.respond.beliefs import Floats
from greenwright.respond.learning import LearnedOutcome
from greenwright.stats.dynamic import surprises
from greenwright.stats.dynamic.evidence import Conditioned
from greenwright.stats.dynamic.model import Ints

LATEST = 30
"""Sets of a green, the latest, by which the next one is taken to be read."""
LAST, SURE = 400, 50
"""Last sets whose scatter is held against what was expected, and how many of the expected kind
they are weighed with."""
MOST = 2.0
"""The scatter is never taken for more than so many times what was expected, nor for less than its
inverse."""


@dataclass(frozen=True, slots=True)
class Scatter:
    """What one set shows beside the level, on the engine's scale.

    Args:
        seen_by: (units, fixed columns of the border) share of each reader, instrument and spot.
        own: (m, units) variance that is each set's own.
        between: (m, units) variance between those who read, alike on all greens of a day.
    """

    seen_by: Floats
    own: Floats
    between: Floats

    def variances(self, units: Ints) -> Floats:
        """Return (m, 1 + units) what comes on top of level and mean shift; the course first.

        The course's reading is the mean of one set on each green, all by the same reader.
        """
        own, between = self.own[:, units], self.between[:, units]
        whole = own.mean(axis=1) / len(units) + between.mean(axis=1)
        return np.column_stack([whole, own + between])


def scatter(outcome: LearnedOutcome) -> Scatter:
    """Return how the next set on each green is expected to differ from the level.

    It is taken to be like the latest sets of that green: as many single readings, by one of the
    same readers, with one of the same instruments, on one of the same spots.
    """
    # Believed decisions stand among the rows of `fit`; these are the readings alone.
    unit = outcome.plain.layout.rows.unit
    latest = [_latest(unit, one) for one in range(len(outcome.greens))]
    return Scatter(
        np.array([_shares(outcome, mine) for mine in latest]),
        np.array([_own(outcome, mine) for mine in latest]).T,
        np.array([_between(outcome, mine) for mine in latest]).T,
    )


def borne_out(outcome: LearnedOutcome) -> float:
    """Return how much the last sets scattered, 1 = as much as was expected (of variances).

    Each set is held against what all before it foretold. The noise of reading rests partly on
    what is reported elsewhere; where sets here scatter less or more, the next ones will.
    """
    found = surprises(outcome.plain, most=LAST).value
    told = (float(found @ found) + SURE) / (len(found) + SURE)
    return min(max(told, 1 / MOST), MOST)


def _latest(unit: Ints, one: int) -> Ints:
    """Return the places of a unit's latest sets; of all sets where it has none."""
    mine = np.flatnonzero(unit == one)
    return (mine if len(mine) else np.arange(len(unit)))[-LATEST:]


def _own(outcome: LearnedOutcome, mine: Ints) -> Floats:
    rows = outcome.plain.layout.rows
    count, known, settled = (
        float(np.median(part[mine])) if len(mine) else otherwise
        for part, otherwise in ((rows.count, 1.0), (rows.variance, 0.0), (rows.settled, 1.0))
    )
    hypers = [at.hyper for at in outcome.fit.at]
    noise = np.array([h["noise_sd"] ** 2 / count + h["set_sd"] ** 2 for h in hypers])
    return settled * noise + known


def _places(outcome: LearnedOutcome, mine: Ints) -> list[Ints]:
    """Return, for each group, the places in the border of those who read some sets."""
    layout = outcome.plain.layout
    found = []
    for group, (first, _) in zip(layout.model.groups, layout.border.groups, strict=True):
        member = layout.rows.members.get(group.name, np.full(len(layout.rows), -1))[mine]
        found.append(first + member[member >= 0])
    return [places for places in found if len(places)]


def _shares(outcome: LearnedOutcome, mine: Ints) -> Floats:
    shares = np.zeros(outcome.fit.layout.border.fixed)
    for places in _places(outcome, mine):
        np.add.at(shares, places, 1 / len(places))
    return shares


def _between(outcome: LearnedOutcome, mine: Ints) -> Floats:
    groups = _places(outcome, mine)
    return np.array([sum(_apart(at, places) for places in groups) for at in outcome.fit.at])


def _apart(at: Conditioned, places: Ints) -> float:
    """Return the variance about their mean of one of some members, each as often as he read."""
    shifts, cov = at.mean[places], at.cov[np.ix_(places, places)]
    # Of each one's own doubt, the mean's is already told with the level.
    return float(shifts.var() + max(np.diagonal(cov).mean() - cov.mean(), 0.0))
