"""Four simple rules that a forecast must beat, each with the spread its own misses had before.

A rule knows what the forecast could know: nothing that was read after the day on which the
forecast was made, neither for its middle nor for its spread.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.verify.scores import Floats

Ints = NDArray[np.intp]

PERSISTENCE, CLIMATOLOGY = "persistence", "climatology"
SEASONAL, TREND = "seasonal-naive", "last-reading-plus-trend"

LONGEST = 14
"""Days ahead that are judged."""
HORIZONS: Mapping[int, tuple[int, int]] = {1: (1, 1), 3: (2, 4), 7: (5, 9), 14: (10, 14)}
"""Name of a stretch of days ahead -> its first and last day."""
FEWEST_MISSES = 10
"""A rule whose misses were seen less often has no spread to be given yet."""
SEASON_D = 30
"""Days either side in the year that are of one season."""
YEAR, NEAR_D = 365, 7
"""The same day last year, and how far from it a reading still speaks of it [d]."""
TREND_D, TREND_DAYS = 28, 3
"""Days back over which a trend is taken, and the fewest days with readings it needs."""


@dataclass(frozen=True, slots=True)
class Readings:
    """Sets of readings of one quantity, days ascending.

    Args:
        green: (n,) place of its green.
        day: (n,) day, counted from any day.
        value: (n,) what was read [unit, or its log].
    """

    green: Ints
    day: Ints
    value: Floats


@dataclass(frozen=True, slots=True)
class Ruled:
    """What a rule says of each reading, asked 1 to 14 days before.

    Args:
        middle, sd: (n, 14); nan where the rule could say nothing then.
    """

    middle: Floats
    sd: Floats


def ruled(readings: Readings, name: str) -> Ruled:
    """Return what one of the rules would have said of every reading.

    Args:
        readings: all that were read.
        name: one of RULES.
    """
    middle = RULES[name](readings)
    return Ruled(middle, _spread(readings, readings.value[:, None] - middle))


def _spread(readings: Readings, missed: Floats) -> Floats:
    """Return the root mean square of the misses seen by the day of asking, at that stretch."""
    spread = np.full(missed.shape, np.nan)
    for first, last in HORIZONS.values():
        some = missed[:, first - 1 : last]
        seen = np.isfinite(some)
        squares = np.concatenate([[0.0], np.cumsum(np.where(seen, some, 0.0) ** 2 @ _ones(some))])
        counts = np.concatenate([[0], np.cumsum(seen.sum(axis=1))])
        # Counted in readings: one reading asked for on several days is one miss, not several.
        lone = np.concatenate([[0], np.cumsum(seen.any(axis=1))])
        for ahead in range(first, last + 1):
            known = np.searchsorted(readings.day, readings.day - ahead, side="right")
            enough = lone[known] >= FEWEST_MISSES
            mean = squares[known] / np.maximum(counts[known], 1)
            spread[enough, ahead - 1] = np.sqrt(mean[enough])
    return np.where(spread > 0, spread, np.nan)


def _ones(some: Floats) -> Floats:
    return np.ones(some.shape[1])


def _last(readings: Readings) -> tuple[Floats, Floats]:
    """Return (n, 14) the green's last reading by the day of asking, and its day."""
    value = np.full((len(readings.day), LONGEST), np.nan)
    day = value.copy()
    for mine in _by_green(readings):
        days, first = np.unique(readings.day[mine], return_index=True)
        counts = np.diff([*first, len(mine)])
        means = np.add.reduceat(readings.value[mine], first) / counts
        asked = readings.day[mine, None] - np.arange(1, LONGEST + 1)
        place = np.searchsorted(days, asked, side="right") - 1
        value[mine] = np.where(place >= 0, means[place], np.nan)
        day[mine] = np.where(place >= 0, days[place], np.nan)
    return value, day


def _by_green(readings: Readings) -> list[Ints]:
    return [np.flatnonzero(readings.green == green) for green in np.unique(readings.green)]


def _persistence(readings: Readings) -> Floats:
    return _last(readings)[0]


def _trend(readings: Readings) -> Floats:
    value, day = _last(readings)
    asked = readings.day[:, None] - np.arange(1, LONGEST + 1)
    origins, place = np.unique(asked, return_inverse=True)
    slopes = np.array([_slope(readings, origin) for origin in origins])
    return value + slopes[place.reshape(asked.shape)] * (readings.day[:, None] - day)


def _slope(readings: Readings, origin: int) -> float:
    """Return the common slope of all greens [unit/d], each about its own mean."""
    first, last = np.searchsorted(readings.day, [origin - TREND_D, origin], side="right")
    day, green = readings.day[first:last], readings.green[first:last]
    if len(np.unique(day)) < TREND_DAYS:
        return np.nan
    x, y = _about_own_mean(day, green), _about_own_mean(readings.value[first:last], green)
    size = float(x @ x)
    return float(x @ y) / size if size > 0 else np.nan


def _about_own_mean(values: Floats | Ints, green: Ints) -> Floats:
    counts = np.bincount(green)
    means = np.bincount(green, weights=values) / np.maximum(counts, 1)
    return values - means[green]


def _climatology(readings: Readings) -> Floats:
    def near(gap: Ints) -> NDArray[np.bool_]:
        away = gap % YEAR
        return np.minimum(away, YEAR - away) <= SEASON_D

    return _averaged(readings, near)


def _seasonal(readings: Readings) -> Floats:
    return _averaged(readings, lambda gap: np.abs(gap - YEAR) <= NEAR_D)


def _averaged(readings: Readings, near: Callable[[Ints], NDArray[np.bool_]]) -> Floats:
    """Return the mean of the green's readings that lie so many days back, by the day of asking."""
    made = np.full((len(readings.day), LONGEST), np.nan)
    for mine in _by_green(readings):
        gap = readings.day[mine, None] - readings.day[None, mine]
        chosen = near(gap)
        for ahead in range(1, LONGEST + 1):
            used = chosen & (gap >= ahead)
            counts = used.sum(axis=1)
            sums = used @ readings.value[mine]
            made[mine, ahead - 1] = np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)
    return made


RULES: Mapping[str, Callable[[Readings], Floats]] = {
    PERSISTENCE: _persistence,
    CLIMATOLOGY: _climatology,
    SEASONAL: _seasonal,
    TREND: _trend,
}
