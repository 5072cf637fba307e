"""What a surface is: each green's level, the course's, their spread, change and observers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date as Date

import numpy as np

from greenwright.base.estimate import Basis, Estimate
from greenwright.measure.belief import Belief, Floats
from greenwright.measure.observers import ObserverShift

CHANGE_D = 7
"""Days over which the change is told."""

TODAY, YESTERDAY, WEEK_AGO, LATELY = range(4)
"""Rows of ``Surface.joint``; lately = the mean of the 14 days before today."""


@dataclass(frozen=True, slots=True)
class OddGreen:
    """A green that stands apart: its difference from the mean of the others, and how sure."""

    green: str
    difference: Estimate
    chance: float


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one kind of reading brought to the course's estimate of today.

    Args:
        kind: of the readings.
        n: how many.
        share: of all that the readings tell beyond the prior (its variance lowered), 0..1.
    """

    kind: str
    n: int
    share: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Surface:
    """What is believed of one quantity on one day.

    Args:
        quantity, method, unit, on: what, how read, canonical unit, the day.
        scale: plain | log, where belief and noise are near normal.
        greens, in_play: greens in playing order and whether each is in play.
        mean, cov: (G,), (G, G) belief about each green's true level [unit], not cut to the
            quantity's window.
        belief: the same on its own scale.
        joint: (4 G,) the same today, yesterday, a week ago and lately, greens within days.
        per_green, course: estimates inside the window; course = mean of greens in play.
        between_greens_sd: sd of the true levels of greens in play; None for one green.
        change_7d, course_change_7d: since seven days before.
        last_read, course_last_read: date of the last reading used; None = none was.
        n_readings, n_per_green: readings used.
        odd_greens, odd: greens that stand apart (chance at least 0.95).
        observers: shifts of observers and instruments, their spread and drift.
        contributions: what each kind brought, the most telling first; shares add up to 1.
        day_sd, green_day_sd: sd of the day-to-day process of course and green [unit].
        correlation_days, green_correlation_days: e-folding times [days].
        slow_sd, slow_days: the course's slow drift with the season [unit], [days].
        cautions: sets to repeat or spots to move, last 14 days.
        misfit: in words how the model does not fit this record; empty = it does.
        evidence: keys of outside numbers used.
    """

    quantity: str
    method: str
    unit: str
    on: Date
    scale: str
    greens: tuple[str, ...]
    in_play: tuple[bool, ...]
    mean: Floats
    cov: Floats
    belief: Belief
    joint: Belief
    per_green: tuple[Estimate, ...]
    course: Estimate
    between_greens_sd: Estimate | None
    change_7d: tuple[Estimate, ...]
    course_change_7d: Estimate
    last_read: tuple[Date | None, ...]
    course_last_read: Date
    n_readings: int
    n_per_green: tuple[int, ...]
    odd_greens: tuple[str, ...]
    odd: tuple[OddGreen, ...]
    observers: tuple[ObserverShift, ...]
    contributions: tuple[Contribution, ...]
    day_sd: float
    green_day_sd: float
    correlation_days: float
    green_correlation_days: float
    slow_sd: float
    slow_days: float
    cautions: tuple[str, ...]
    misfit: str
    evidence: tuple[str, ...]

    @property
    def playing(self) -> Floats:
        """Return the weights of the greens in play in the course's mean (sum 1)."""
        weights = np.array(self.in_play, dtype=float)
        return weights / weights.sum()

    def less(
        self, weights: Floats, *, then: int, n: int | None = None, basis: Basis = "readings"
    ) -> Estimate:
        """Return the estimate of a mean of greens today less the same then.

        Args:
            weights: (G,) of the greens, sum 1.
            then: YESTERDAY, WEEK_AGO or LATELY.
            n, basis: readings behind it (None = all) and what it rests on.
        """
        count = self.n_readings if n is None else n
        return less(self.joint, weights, then=then, n=count, basis=basis)


@dataclass(frozen=True, slots=True)
class BandShare:
    """Chance of lying in a band: each green's (G,), and of the course's mean."""

    per_green: Floats
    course: float


def share_in_band(one: Surface, low: float | None, high: float | None) -> BandShare:
    """Return the chance that each green, and the course's mean, lies in a band.

    Args:
        one: a surface.
        low, high: ends of the band [its unit]; None = open.
    """
    course = one.belief.average(one.playing)
    return BandShare(one.belief.chance(low, high), float(course.chance(low, high)[0]))


def less(joint: Belief, weights: Floats, *, then: int, n: int, basis: Basis) -> Estimate:
    """Return the estimate of a mean of greens today less the same then, of a joint belief."""
    k = len(weights)
    now, past = np.zeros(len(joint.mean)), np.zeros(len(joint.mean))
    now[TODAY * k : (TODAY + 1) * k] = weights
    past[then * k : (then + 1) * k] = weights
    return joint.difference(now, past, n=n, basis=basis)
