"""Daily weather without holes: what was read, what stands in for it, and how far off it may be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from greenwright.base.evidence import value
from greenwright.base.values import Snapshot, WeatherDay
from greenwright.weather.days import (
    LEAST_TYPICAL_DAYS,
    NUMBERS,
    SEASON_REACH_D,
    every_day,
    known_rows,
)

NEIGHBOURED: tuple[str, ...] = (
    "t_min_c",
    "t_max_c",
    "t_mean_c",
    "rh_mean_pct",
    "rh_min_pct",
    "rh_max_pct",
    "wind_m_s",
    "solar_mj_m2",
)
"""Numbers that change slowly enough to be put between their neighbours; rain is not."""
LONGEST_GAP_D = 3
"""Days missing in a row that their neighbours may fill."""

_MEANS = (("t_mean_c", "t_min_c", "t_max_c"), ("rh_mean_pct", "rh_min_pct", "rh_max_pct"))
_PLACE = {name: i for i, name in enumerate(NUMBERS)}
_YEAR = 366
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class GivenDay:
    """The weather of one day.

    Args:
        weather: its row, of kind observed | forecast | typical, holes filled.
        filled: number -> neighbours | season, for those that were not in the record.
        spread: number -> sd of what stands in [its unit].
    """

    weather: WeatherDay
    filled: Mapping[str, str]
    spread: Mapping[str, float]

    @property
    def known(self) -> bool:
        """Return whether the day has a temperature at all."""
        return self.weather.t_min_c is not None and self.weather.t_max_c is not None


@dataclass(frozen=True, slots=True)
class Season:
    """What the observed days of a record say of each day of the year, by number.

    Args:
        mean, sd, count: day of the year (366) x number; NaN where too few days tell.
    """

    mean: Array
    sd: Array
    count: Array

    def at(self, day: date | int, name: str) -> tuple[float, float] | None:
        """Return mean and sd of a number in the season of a day (or its place, 0..365), or None."""
        place = day if isinstance(day, int) else day.timetuple().tm_yday - 1
        found = self.mean[place, _PLACE[name]]
        return None if np.isnan(found) else (float(found), float(self.sd[place, _PLACE[name]]))

    @property
    def told(self) -> tuple[str, ...]:
        """Return the numbers that the record holds at all, or that are put between neighbours."""
        seen = np.any(self.count > 0, axis=0)
        return tuple(n for n in NUMBERS if seen[_PLACE[n]] or n in NEIGHBOURED)


def season_of(observed: Sequence[WeatherDay]) -> Season:
    """Return the season of a record: means of the days within 7, else 15, else 30 of each day.

    A number is told from five days on; fewer leave it empty.
    """
    sums = np.zeros((3, _YEAR, len(NUMBERS)))
    for row in observed:
        held = np.array([_nan(getattr(row, name)) for name in NUMBERS])
        told = np.isfinite(held)
        plain = np.where(told, held, 0.0)
        sums[:, row.date.timetuple().tm_yday - 1] += (told, plain, plain**2)
    mean = np.full(sums.shape[1:], np.nan)
    sd, count = mean.copy(), np.zeros(sums.shape[1:])
    for reach in SEASON_REACH_D[::-1]:
        n, total, square = _around(sums, reach)
        enough = n >= LEAST_TYPICAL_DAYS
        middle = total / np.maximum(n, 1)
        scatter = np.maximum(square - n * middle**2, 0.0) / np.maximum(n - 1, 1)
        mean = np.where(enough, middle, mean)
        sd = np.where(enough, np.sqrt(scatter), sd)
        count = np.where(enough, n, count)
    return Season(mean, sd, count)


def given_days(snapshot: Snapshot, first: date, last: date) -> tuple[GivenDay, ...]:
    """Return the weather from first to last, one a day, as it was known on the snapshot's day.

    Observed, else the forecast issued last, else typical of the record's own season. A number
    that a day lacks is put between its neighbours where the gap is three days at most (never
    rain), else it is the season's mean; both are marked, with their spread. A number that the
    record never holds stays empty.

    Args:
        snapshot: the record as known on its `as_of`.
        first, last: dates, first not after last.

    Raises:
        BadInput: first is after last.
    """
    wanted = every_day(first, last)
    held = known_rows(snapshot)
    season = season_of([row for row in held.values() if row.kind == "observed"])
    rows = [held.get(day) or WeatherDay(date=day, kind="typical") for day in wanted]
    between, told = _between(rows), season.told
    return tuple(_given(row, season, told, between[i]) for i, row in enumerate(rows))


def _given(
    row: WeatherDay, season: Season, told: Sequence[str], between: Mapping[str, float]
) -> GivenDay:
    numbers = _derived(row)
    missing = [n for n in told if getattr(row, n) is None and n not in numbers]
    place = row.date.timetuple().tm_yday - 1 if missing else 0
    filled: dict[str, str] = {}
    spread: dict[str, float] = {}
    for name in missing:
        usual = season.at(place, name)
        if name in between:
            numbers[name], filled[name] = between[name], "neighbours"
            spread[name] = value("weather.gap_spread") * (usual[1] if usual else 0.0)
        elif usual:
            (numbers[name], spread[name]), filled[name] = usual, "season"
    if not numbers:
        return GivenDay(row, filled, spread)
    return GivenDay(replace(row, **_possible(row, numbers)), filled, spread)


def _derived(row: WeatherDay) -> dict[str, float]:
    """Return the means that a row's own ends give; that is no stand-in."""
    made = {}
    for mean, low, high in _MEANS:
        if getattr(row, mean) is None:
            ends = getattr(row, low), getattr(row, high)
            if ends[0] is not None and ends[1] is not None:
                made[mean] = (ends[0] + ends[1]) / 2
    return made


def _possible(row: WeatherDay, numbers: Mapping[str, float]) -> dict[str, float]:
    """Return stand-ins that do not contradict what was read on the day."""
    made = dict(numbers)
    for low, high in (("t_min_c", "t_max_c"), ("rh_min_pct", "rh_max_pct")):
        ends = [made.get(name, getattr(row, name)) for name in (low, high)]
        if None not in ends and ends[0] > ends[1]:
            kept = ends[1] if high not in made else ends[0]
            made |= {name: kept for name in (low, high) if name in made}
    return made


def _between(rows: Sequence[WeatherDay]) -> list[dict[str, float]]:
    """Return for each row the numbers that its neighbours put in it."""
    made: list[dict[str, float]] = [{} for _ in rows]
    for name in NEIGHBOURED:
        held = np.array([_nan(getattr(row, name)) for row in rows])
        seen = np.flatnonzero(np.isfinite(held))
        for before, after in pairwise(seen):
            if 1 < after - before <= LONGEST_GAP_D + 1:
                for k in range(before + 1, after):
                    part = (k - before) / (after - before)
                    made[k][name] = float(held[before] + part * (held[after] - held[before]))
    return made


def _around(sums: Array, reach: int) -> Array:
    """Return sums over the days of the year within a reach, the year closed to a ring."""
    width = 2 * reach + 1
    ring = np.concatenate([sums[:, -reach:], sums, sums[:, :reach]], axis=1)
    run = np.concatenate([np.zeros_like(ring[:, :1]), np.cumsum(ring, axis=1)], axis=1)
    return run[:, width:] - run[:, :-width]


def _nan(held: float | None) -> float:
    return np.nan if held is None else held
