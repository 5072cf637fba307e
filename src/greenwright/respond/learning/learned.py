"""What was learned from a record: one fitted model for each outcome, and how far to trust it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from greenwright.stats.dynamic import DecidedFit, Decisions, DynamicFit, Separation


@dataclass(frozen=True, slots=True)
class Misfit:
    """A pattern in the readings that the model ought not to leave.

    Args:
        name: as the engine calls it.
        score: about standard normal where there is none.
        words: what it means, in plain words.
    """

    name: str
    score: float
    words: str


@dataclass(frozen=True, slots=True)
class Chosen:
    """The decisions on one practice, and readings and decisions believed together."""

    act: str
    decisions: Decisions
    decided: DecidedFit


@dataclass(frozen=True, slots=True)
class LearnedOutcome:
    """One outcome's model fitted to this record.

    Args:
        quantity, method, unit: what was read.
        log: values in the engine are natural logs of the quantity.
        first: date of day 0 of the engine's calendar.
        until: last day of the calendar it was fitted on.
        greens: the engine's units, in playing order.
        fit: what is believed: readings and, where modelled, the decisions behind the work.
        plain: readings alone.
        separations: term -> whether the record separates its effect.
        misfits: signs that the model does not fit.
        n_sets: sets of readings.
        chosen: the decisions on the foremost act that were modelled, None where none were.
        also: those on further acts, believed before it.
        n_days: act -> days on which it was done.
        felt: act -> reference doses by green and day, as the readings first felt them.
        tossed: act -> what that part of its work tells that fell by toss, whatever came before.
    """

    quantity: str
    method: str
    unit: str
    log: bool
    first: date
    until: date
    greens: tuple[str, ...]
    fit: DynamicFit
    plain: DynamicFit
    separations: Mapping[str, Separation]
    misfits: tuple[Misfit, ...]
    n_sets: int
    chosen: Chosen | None = None
    n_days: Mapping[str, int] = field(default_factory=dict)
    felt: Mapping[str, NDArray[np.float64]] = field(default_factory=dict)
    tossed: Mapping[str, Separation] = field(default_factory=dict)
    also: tuple[Chosen, ...] = ()

    def day(self, when: date) -> int:
        """Return the place of a date in the engine's calendar."""
        return (when - self.first).days

    def choice_of(self, act: str) -> Chosen | None:
        """Return the modelled decisions on an act, None where they were not modelled."""
        held = (*self.also, *([self.chosen] if self.chosen else []))
        return next((one for one in held if one.act == act), None)

    @property
    def key(self) -> str:
        """Return quantity and method as one word."""
        return f"{self.quantity}:{self.method}".rstrip(":")


@dataclass(frozen=True, slots=True)
class Learned:
    """What was learned of each outcome read often enough, by quantity and method."""

    outcomes: Mapping[tuple[str, str], LearnedOutcome]

    def best(self, quantity: str) -> LearnedOutcome | None:
        """Return the outcome of a quantity with most readings, None where none was learned."""
        found = [one for (q, _), one in self.outcomes.items() if q == quantity]
        return max(found, key=lambda one: one.n_sets, default=None)

    @property
    def state(self) -> dict[str, Any]:
        """Return where the next fit may start: plain lists, fit to be kept as JSON."""
        return {one.key: _state(one) for one in self.outcomes.values()}


def _state(one: LearnedOutcome) -> dict[str, Any]:
    plain = one.plain
    return {
        "names": list(plain.layout.model.hypers),
        "top": plain.top.tolist(),
        "decided": one.fit.top.tolist(),
        "root": plain.root.tolist(),
        "steps": plain.steps.tolist(),
        "sets": one.n_sets,
    }
