"""One row of weather for each day asked for: seen, forecast, or typical of the season."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields
from datetime import date, timedelta

from greenwright.base.errors import BadInput
from greenwright.base.values import Snapshot, WeatherDay

SEASON_REACH_D: tuple[int, ...] = (7, 15, 30)
"""Days either side of a date in the year that count as its season, tried in this order."""

LEAST_TYPICAL_DAYS = 5
"""Fewer observed days than this make no typical day."""

_NUMBERS = tuple(
    f.name
    for f in fields(WeatherDay)
    if f.name not in ("date", "kind", "issued", "station", "id", "entered_at", "note", "other")
)


def days(snapshot: Snapshot, first: date, last: date) -> tuple[WeatherDay, ...]:
    """Return the weather from first to last, one row a day, both ends included.

    Each day is what was observed; else the forecast issued last of those known; else the typical
    row that the record holds; else the mean of the observed days of that season in the record
    (kind ``typical``; empty of numbers when the record has too few).

    Args:
        snapshot: the record as known on its `as_of`.
        first, last: dates, first not after last.

    Raises:
        BadInput: first is after last.
    """
    if first > last:
        raise BadInput(f"the days asked for run backwards: {first} to {last}")
    observed = [d for d in snapshot.weather if d.kind == "observed"]
    held = _best_rows(snapshot.weather)
    wanted = [first + timedelta(days=i) for i in range((last - first).days + 1)]
    return tuple(held.get(day) or typical_day(observed, day) for day in wanted)


def typical_day(observed: Sequence[WeatherDay], day: date) -> WeatherDay:
    """Return the mean of the observed days nearest in the year to a date, kind ``typical``."""
    near: list[WeatherDay] = []
    for reach in SEASON_REACH_D:
        near = [d for d in observed if _days_apart_in_year(d.date, day) <= reach]
        if len(near) >= LEAST_TYPICAL_DAYS:
            break
    if len(near) < LEAST_TYPICAL_DAYS:
        return WeatherDay(date=day, kind="typical")
    means = {name: _mean(getattr(d, name) for d in near) for name in _NUMBERS}
    return WeatherDay(date=day, kind="typical", **means)


def _best_rows(rows: Iterable[WeatherDay]) -> dict[date, WeatherDay]:
    best: dict[date, tuple[tuple[int, int, int, str], WeatherDay]] = {}
    for row in rows:
        rank = _rank(row)
        if row.date not in best or rank > best[row.date][0]:
            best[row.date] = (rank, row)
    return {day: row for day, (_, row) in best.items()}


def _rank(row: WeatherDay) -> tuple[int, int, int, str]:
    kind = {"observed": 2, "forecast": 1}.get(row.kind, 0)
    issued = row.issued.toordinal() if row.issued and kind == 1 else 0
    filled = sum(getattr(row, name) is not None for name in _NUMBERS)
    return kind, issued, filled, row.station


def _days_apart_in_year(a: date, b: date) -> int:
    gap = abs(a.timetuple().tm_yday - b.timetuple().tm_yday)
    return min(gap, 365 - gap) if gap < 365 else 0


def _mean(numbers: Iterable[float | None]) -> float | None:
    known = [x for x in numbers if x is not None]
    return sum(known) / len(known) if known else None
