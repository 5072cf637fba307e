"""The day's levels that golfers meet: what is believed, and what is asked in its place."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from greenwright.base.estimate import Z90, Estimate, normal_estimate
from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.desk.answering import SEED, Row
from greenwright.desk.golfing.asked import LEVELS, Asked
from greenwright.measure import Surface
from greenwright.measure.belief import lognormal_estimate
from greenwright.measure.trueness_sideways import sideways_estimate
from greenwright.roll import index_of_sideways

Floats = NDArray[np.float64]

DRAWS = 250
"""Draws of the surface behind chances to hole."""

RECENT_ROUNDS_D = 28
"""Days whose rounds stand for an ordinary day."""

_FARTHEST = 1000.0
_ROUNDS_KEY = "rounds.default_day"
_SPEED_PRIOR = ("measure.green_speed.level", "measure.green_speed.level_sd")
_TRUENESS_PRIOR = ("measure.trueness_log.level", "measure.trueness_log.level_sd")


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """What golfers meet on the day, with anything asked in its place.

    Args:
        speed, trueness: green speed [m] and trueness index T [m] of the course; a prior where
            never read.
        smoothness: the eye's score; None where never read.
        rounds: of the day.
        given: options that stand in place of estimates.
        used: evidence keys behind priors and defaults.
        rounds_default: nobody counted rounds lately.
    """

    speed: Estimate
    smoothness: Estimate | None
    trueness: Estimate
    rounds: float
    given: Mapping[str, float]
    used: frozenset[str] = frozenset()
    rounds_default: bool = False

    @property
    def what_if(self) -> Row:
        """Return the levels asked for, None where the estimate stands."""
        named = {name: self.given.get(name) for name in LEVELS}
        return {**named, "given": [name for name in LEVELS if name in self.given]}

    @property
    def now(self) -> Row:
        """Return what is believed of the day, whatever was asked in its place."""
        return {
            "green_speed": self.speed,
            "smoothness": self.smoothness,
            "trueness": self.trueness,
            "sideways_mm_per_m": sideways_estimate(self.trueness, self.speed),
            "rounds": self.rounds,
        }

    def speed_draws(self) -> Floats:
        """Return draws of the course's green speed (DRAWS,) [m]."""
        if "speed_m" in self.given:
            return np.full(DRAWS, self.given["speed_m"])
        return self.drawn(self.speed, 0)

    def trueness_draws(self) -> Floats:
        """Return draws of the course's trueness index (DRAWS,) [m]."""
        if "trueness_t" in self.given:
            return np.full(DRAWS, self.given["trueness_t"])
        return self.drawn(self.trueness, 1)

    @staticmethod
    def drawn(of: Estimate, stream: int) -> Floats:
        """Return log-normal draws of an estimate's level and spread (DRAWS,) [its unit]."""
        middle, sd = log_moments(of)
        noise = np.random.default_rng([SEED, stream]).standard_normal(DRAWS)
        return np.exp(middle + sd * noise)


def levels(record: Snapshot, surfaces: Mapping[str, Surface], asked: Asked) -> Levels:
    """Return the day's levels.

    Args:
        record: as it was known on the day.
        surfaces: by quantity, those that were ever read.
        asked: options of the question.
    """
    used: set[str] = set()
    speed = _level(surfaces, "green_speed") or _prior_speed(used)
    trueness = _level(surfaces, "trueness") or _prior_trueness(used)
    rounds, default = _rounds(record, asked)
    used |= {_ROUNDS_KEY} if default else set()
    given = {n: float(v) for n in LEVELS if (v := getattr(asked, n)) is not None}
    if asked.sideways_mm_per_m is not None:
        at = given.get("speed_m", speed.value)
        given["trueness_t"] = float(index_of_sideways(asked.sideways_mm_per_m / 1000, at))
    smoothness = _level(surfaces, "smoothness")
    return Levels(speed, smoothness, trueness, rounds, given, frozenset(used), default)


def log_moments(of: Estimate) -> tuple[float, float]:
    """Return mean and sd of the natural log of a level above zero, from its interval.

    >>> log_moments(normal_estimate(3.0, 0.3, "m"))[1].__round__(2)
    0.1
    """
    low = max(of.low, of.value / _FARTHEST)
    return math.log(of.value), math.log(max(of.high, low) / low) / (2 * Z90)


def _level(surfaces: Mapping[str, Surface], quantity: str) -> Estimate | None:
    held = surfaces.get(quantity)
    return None if held is None else held.course


def _prior_speed(used: set[str]) -> Estimate:
    used |= set(_SPEED_PRIOR)
    level, sd = (value(key) for key in _SPEED_PRIOR)
    return normal_estimate(level, sd, "m", basis="prior")


def _prior_trueness(used: set[str]) -> Estimate:
    used |= set(_TRUENESS_PRIOR)
    level, sd = (value(key) for key in _TRUENESS_PRIOR)
    return lognormal_estimate(level, sd, "m", n=0, basis="prior")


def _rounds(record: Snapshot, asked: Asked) -> tuple[float, bool]:
    """Return the rounds to reckon with, and whether they are a default."""
    if asked.rounds is not None:
        return float(asked.rounds), False
    first = record.as_of - timedelta(days=RECENT_ROUNDS_D)
    played = [row.rounds for row in record.rounds if first < row.date <= record.as_of]
    if played:
        return sum(played) / len(played), False
    return value(_ROUNDS_KEY), True
