"""The year's growth by month: days that were seen, forecast days, and the same month before."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import mean

import numpy as np

from greenwright.base.values import Snapshot, WeatherDay
from greenwright.weather import growth_potential, mean_temperature

LEAST_DAYS = 5
"""Days of a month in the record, of any year, that let it speak for the days not seen."""


@dataclass(frozen=True, slots=True)
class Month:
    """Growth of one month.

    Args:
        month: 1..12.
        growth: mean of the daily growth potential, 0..1.
        unseen: share of its days that were not observed.
        t_mean_c, t_max_c: means of the days known [degC]; t_max None where not recorded.
    """

    month: int
    growth: float
    unseen: float
    t_mean_c: float
    t_max_c: float | None


@dataclass(frozen=True, slots=True)
class _Day:
    seen: bool
    t_mean: float
    t_max: float | None


def year_growth(snapshot: Snapshot, year: int, grass: str) -> tuple[Month | None, ...]:
    """Return the growth of each month of a year; None where the record holds no such weather.

    A day is what was observed, else the forecast issued last, else the mean of the days of the
    same month in the record, from five on. Growth is the mean of the days' growth potential, not
    that of the mean temperature.

    Args:
        snapshot: the record; news after its day is unseen.
        year: calendar year.
        grass: as in the record.
    """
    known = known_days(snapshot)
    return tuple(_month(known, year, month, grass) for month in range(1, 13))


def known_days(snapshot: Snapshot) -> Mapping[date, _Day]:
    """Return the days with a temperature: observed, else forecast."""
    held: dict[date, list[WeatherDay]] = {}
    for row in snapshot.weather:
        if row.kind in ("observed", "forecast") and _known(row, snapshot.as_of):
            held.setdefault(row.date, []).append(row)
    found = {day: _settled(rows) for day, rows in held.items()}
    return {day: one for day, one in found.items() if one is not None}


def _known(row: WeatherDay, on: date) -> bool:
    return (row.date if row.kind == "observed" else row.issued or on) <= on


def _settled(rows: Iterable[WeatherDay]) -> _Day | None:
    told = [row for row in rows if mean_temperature(row) is not None]
    seen = [row for row in told if row.kind == "observed"]
    last = max((row.issued or date.min for row in told), default=date.min)
    used = seen or [row for row in told if (row.issued or date.min) == last]
    if not used:
        return None
    highs = [row.t_max_c for row in used if row.t_max_c is not None]
    middle = mean(t for row in used if (t := mean_temperature(row)) is not None)
    return _Day(bool(seen), middle, mean(highs) if highs else None)


def _month(known: Mapping[date, _Day], year: int, month: int, grass: str) -> Month | None:
    length = monthrange(year, month)[1]
    wanted = [date(year, month, 1) + timedelta(days=k) for k in range(length)]
    own = [known[day] for day in wanted if day in known]
    pool = [one for day, one in known.items() if day.month == month]
    missing = length - len(own)
    if missing and len(pool) < LEAST_DAYS:
        return None
    ours, theirs = _growth(own, grass), _growth(pool, grass)
    growth = (ours * len(own) + theirs * missing) / length
    day_means = [*own, *(pool if missing else [])]
    highs = [one.t_max for one in day_means if one.t_max is not None]
    return Month(
        month,
        growth,
        1 - sum(one.seen for one in own) / length,
        mean(one.t_mean for one in day_means),
        mean(highs) if highs else None,
    )


def _growth(days: Iterable[_Day], grass: str) -> float:
    temperatures = [one.t_mean for one in days]
    return float(np.mean(growth_potential(temperatures, grass))) if temperatures else 0.0
