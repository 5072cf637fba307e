"""Growth and warmth: by day near today, by week through the year."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.desk.answering import Row
from greenwright.desk.weathering.told import row
from greenwright.weather.daily import mean_temperatures, numbers
from greenwright.weather.degree_days import degree_days
from greenwright.weather.given import GivenDay
from greenwright.weather.growth import curve_of, growth_potential

SEASON_REACH_D = 10
"""Days either side of a date in the year whose growth makes the usual range."""
_LEAST = 8
_TAILS = (0.05, 0.95)


def grasses_of(snapshot: Snapshot) -> tuple[str, ...]:
    """Return the grasses of the greens in play, the commonest first."""
    counts = Counter(green.grass for green in snapshot.greens if green.in_play)
    return tuple(sorted(counts, key=lambda grass: (-counts[grass], grass)))


def growth_rows(days: Sequence[GivenDay], grasses: Sequence[str]) -> list[Row]:
    """Return the growth potential of each grass on each known day."""
    known = [day for day in days if day.known]
    warmth = mean_temperatures(known)
    made = []
    for grass in grasses:
        found = np.atleast_1d(growth_potential(warmth, grass)) if known else ()
        made += [
            row(day, "growth_potential", float(gp), "1", grass=grass)
            for day, gp in zip(known, found, strict=True)
        ]
    return made


def warmth_rows(days: Sequence[GivenDay], since: Sequence[GivenDay]) -> list[Row]:
    """Return the degree days of each known day, with their sum since the year began.

    Args:
        days: those told.
        since: those from 1 January on that the sum goes over.
    """
    base = value("degree_days.base_c")
    gained = degree_days(numbers(since, "t_min_c"), numbers(since, "t_max_c"), base)
    sums = dict(zip((d.weather.date for d in since), np.nancumsum(gained), strict=True))
    daily = dict(zip((d.weather.date for d in since), gained, strict=True))
    return [
        row(day, "degree_days", float(daily[at]), "degC.d", total=float(sums[at]))
        for day in days
        if day.known and (at := day.weather.date) in daily
    ]


def year_rows(
    seen: Sequence[GivenDay], year: Sequence[GivenDay], grasses: Sequence[str]
) -> list[Row]:
    """Return the mean growth potential of each week of a year, with what is usual then here.

    Args:
        seen: the observed days of earlier years.
        year: the days from 1 January to 31 December, seen, forecast or typical.
        grasses: one series each.
    """
    made = []
    for grass in grasses:
        usual = _usual(seen, grass)
        for week in range(0, len(year), 7):
            held = [day for day in year[week : week + 7] if day.known]
            if not held:
                continue
            middle = held[len(held) // 2].weather.date
            typical = all(day.weather.kind == "typical" for day in held)
            gp = np.atleast_1d(growth_potential(mean_temperatures(held), grass))
            common = usual.get(middle.timetuple().tm_yday)
            level = common[1] if typical and common else float(np.mean(gp))
            made.append(
                {
                    "date": held[0].weather.date,
                    "until": held[-1].weather.date,
                    "kind": _kind(held),
                    "grass": grass,
                    "value": level,
                    "usual": common and {"low": common[0], "value": common[1], "high": common[2]},
                }
            )
    return made


def growing_days(days: Sequence[GivenDay], grass: str, until: date) -> Row:
    """Return the growth added up since the year began, and the days that told it."""
    held = [d for d in days if d.known and d.weather.date <= until]
    gp = np.atleast_1d(growth_potential(mean_temperatures(held), grass)) if held else np.zeros(0)
    stood_in = sum(d.weather.kind == "typical" for d in held)
    return {"grass": grass, "sum": float(gp.sum()), "days": len(held), "stood_in": stood_in}


def evidence_of(grasses: Sequence[str]) -> frozenset[str]:
    """Return the evidence keys behind growth and warmth."""
    keys = {key for grass in grasses for key in curve_of(grass).evidence_keys}
    return frozenset(keys | {"degree_days.base_c"})


def _kind(days: Sequence[GivenDay]) -> str:
    kinds = [day.weather.kind for day in days]
    return max(("observed", "forecast", "typical"), key=kinds.count)


def _usual(seen: Sequence[GivenDay], grass: str) -> dict[int, tuple[float, float, float]]:
    """Return low, mean and high of daily growth by day of the year, where enough days tell."""
    held = [day for day in seen if day.known]
    if not held:
        return {}
    place = np.array([d.weather.date.timetuple().tm_yday for d in held])
    gp = np.atleast_1d(growth_potential(mean_temperatures(held), grass))
    made = {}
    for day in range(1, 367):
        gap = np.abs(place - day)
        near = gp[np.minimum(gap, 366 - gap) <= SEASON_REACH_D]
        if near.size >= _LEAST:
            low, high = np.quantile(near, _TAILS)
            made[day] = (float(low), float(near.mean()), float(high))
    return made


def first_of_year(on: date) -> date:
    """Return 1 January of a day's year."""
    return on.replace(month=1, day=1)


def last_of_year(on: date) -> date:
    """Return 31 December of a day's year."""
    return first_of_year(on).replace(year=on.year + 1) - timedelta(days=1)
