"""One row of weather for each day asked for: seen, forecast, or typical of the season."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields, replace
from datetime import date, timedelta

from greenwright.base.errors import BadInput
from greenwright.base.values import Snapshot, WeatherDay

SEASON_REACH_D: tuple[int, ...] = (7, 15, 30)
"""Days either side of a date in the year that count as its season, tried in this order."""

LEAST_TYPICAL_DAYS = 5
"""Fewer observed days than this make no typical day."""

NUMBERS: tuple[str, ...] = tuple(
    f.name
    for f in fields(WeatherDay)
    if f.name not in ("date", "kind", "issued", "station", "id", "entered_at", "note", "other")
)
"""The numbers of a weather row."""


def days(snapshot: Snapshot, first: date, last: date) -> tuple[WeatherDay, ...]:
    """Return the weather from first to last, one row a day, both ends included.

    Each day is what was observed; else the forecast issued last of those known; else the typical
    row that the record holds; else the mean of the observed days of that season in the record
    (kind ``typical``; empty of numbers when the record has too few). What one station leaves
    empty another station of the same kind and issue fills. News from after ``as_of`` is unseen.

    Args:
        snapshot: the record as known on its `as_of`.
        first, last: dates, first not after last.

    Raises:
        BadInput: first is after last.
    """
    wanted = every_day(first, last)
    held = known_rows(snapshot)
    observed = [row for row in held.values() if row.kind == "observed"]
    return tuple(held.get(day) or typical_day(observed, day) for day in wanted)


def every_day(first: date, last: date) -> list[date]:
    """Return the days from first to last, both included.

    Raises:
        BadInput: first is after last.
    """
    if first > last:
        raise BadInput(f"the days asked for run backwards: {first} to {last}")
    return [first + timedelta(days=i) for i in range((last - first).days + 1)]


def known_rows(snapshot: Snapshot) -> dict[date, WeatherDay]:
    """Return the best row of each day that was known on the snapshot's day, by date.

    Observed before forecast, the forecast issued last before earlier ones; what one station
    leaves empty another of the same kind and issue fills.
    """
    known = (row for row in snapshot.weather if _known_by(row, snapshot.as_of))
    return _best_rows(known)


def typical_day(observed: Sequence[WeatherDay], day: date) -> WeatherDay:
    """Return the mean of the observed days nearest in the year to a date, kind ``typical``."""
    near: list[WeatherDay] = []
    for reach in SEASON_REACH_D:
        near = [d for d in observed if _days_apart_in_year(d.date, day) <= reach]
        if len(near) >= LEAST_TYPICAL_DAYS:
            break
    if len(near) < LEAST_TYPICAL_DAYS:
        return WeatherDay(date=day, kind="typical")
    means = {name: _mean(getattr(d, name) for d in near) for name in NUMBERS}
    return WeatherDay(date=day, kind="typical", **means)


def _best_rows(rows: Iterable[WeatherDay]) -> dict[date, WeatherDay]:
    by_day: dict[date, list[WeatherDay]] = {}
    for row in rows:
        by_day.setdefault(row.date, []).append(row)
    return {day: _completed(sorted(held, key=_rank)[::-1]) for day, held in by_day.items()}


def _completed(ranked: Sequence[WeatherDay]) -> WeatherDay:
    """Return the first row, its empty numbers filled from the next ones of its kind and issue."""
    first = ranked[0]
    if len(ranked) == 1:
        return first
    alike = [row for row in ranked[1:] if (row.kind, row.issued) == (first.kind, first.issued)]
    missing = [name for name in NUMBERS if getattr(first, name) is None] if alike else []
    found = {n: next((v for r in alike if (v := getattr(r, n)) is not None), None) for n in missing}
    return replace(first, **found)


def _known_by(row: WeatherDay, day: date) -> bool:
    if row.kind == "forecast":
        return row.issued is None or row.issued <= day
    return row.kind != "observed" or row.date <= day


def _rank(row: WeatherDay) -> tuple[int, int, int, str]:
    kind = {"observed": 2, "forecast": 1}.get(row.kind, 0)
    issued = row.issued.toordinal() if row.issued and kind == 1 else 0
    filled = sum(getattr(row, name) is not None for name in NUMBERS)
    return kind, issued, filled, row.station


def _days_apart_in_year(a: date, b: date) -> int:
    gap = abs(a.timetuple().tm_yday - b.timetuple().tm_yday)
    return min(gap, abs(365 - gap) or 1)


def _mean(numbers: Iterable[float | None]) -> float | None:
    known = [x for x in numbers if x is not None]
    return sum(known) / len(known) if known else None
