"""The water of a course's greens: what they were given, what was read, and the balance of both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta

import numpy as np
from numpy.typing import NDArray

from greenwright.base.evidence import look_up, value
from greenwright.base.values import Snapshot, Work
from greenwright.weather.balance import Balance, Doubt, Water, balance
from greenwright.weather.daily import numbers, reference_days
from greenwright.weather.evapotranspiration import Place
from greenwright.weather.given import GivenDay
from greenwright.weather.zones import Own, Zones, zones_of

Array = NDArray[np.float64]
GIVES: tuple[str, ...] = ("irrigate", "hand_water", "syringe", "flush")
"""Practices that give water."""
EARLY = time(9, 0)
"""Water given before this hour is there for the morning's reading."""
KEYS: tuple[str, ...] = (
    "water.eto_sd",
    "water.eto_sd_missing",
    "water.given_sd",
    "water.rain_effective",
    "water.start",
    "water.unexplained_sd",
    "weather.forecast_rain",
    "measure.moisture.noise_sd",
)


@dataclass(frozen=True, slots=True)
class GreenWater:
    """The water of the greens over days.

    Args:
        days: the days of the balance, in order, none without temperature.
        zones: what was taken for each green.
        balance: days x greens [mm].
        demand: evapotranspiration of unstressed grass, days x greens [mm].
        read: days x greens, True where a moisture reading corrected it.
        unknown_amounts: rows of water given without an amount.
    """

    days: tuple[date, ...]
    zones: Zones
    balance: Balance
    demand: Array
    read: NDArray[np.bool_]
    unknown_amounts: int

    def at(self, day: date) -> int:
        """Return the place of a day in the balance."""
        return (day - self.days[0]).days


def known_stretch(days: Sequence[GivenDay], on: date) -> tuple[int, int]:
    """Return the first place and the one past the last of the known days around a day.

    Equal places mean that neither that day nor the one before it is known.
    """
    place = next((i for i, d in enumerate(days) if d.weather.date == on), len(days) - 1)
    if not days or (not days[place].known and (place == 0 or not days[place - 1].known)):
        return 0, 0
    start = place if days[place].known else place - 1
    end = start + 1
    while start > 0 and days[start - 1].known:
        start -= 1
    while end < len(days) and days[end].known:
        end += 1
    return start, end


def water_of(
    snapshot: Snapshot, days: Sequence[GivenDay], place: Place, *, own: Own | None = None
) -> GreenWater | None:
    """Return the water balance of the greens in play, or None where it cannot be drawn up.

    It needs known days up to the snapshot's day, and rain in the record.

    Args:
        snapshot: the record as known on its `as_of`.
        days: weather without holes.
        place: of the course.
        own: in place of what the record says.

    Source keys: KEYS, and those of the zones.
    """
    first, last = known_stretch(days, snapshot.as_of)
    held = days[first:last]
    rain = numbers(held, "rain_mm")
    if not held or np.isnan(rain).all() or not any(g.in_play for g in snapshot.greens):
        return None
    dates = tuple(day.weather.date for day in held)
    rain = np.nan_to_num(rain) * value("water.rain_effective")
    keys = tuple(g.green for g in snapshot.greens if g.in_play)
    early, late, unknown = _given(snapshot, dates, keys)
    zones = zones_of(snapshot, _soaked(dates, rain, early + late), own)
    found, sd = reference_days(held, place)
    demand = found.eto[:, None] * zones.coefficient
    read, read_sd = _read(snapshot, dates, zones)
    water = Water(
        demand=demand,
        demand_sd=sd[:, None] * zones.coefficient,
        rain=rain[:, None],
        rain_sd=_rain_sd(held, rain)[:, None],
        early=early,
        late=late,
        given_sd=_table("water.given_sd")["irrigation"],
        read=read,
        read_sd=read_sd,
    )
    result = balance(water, zones.zone, _doubt(zones))
    return GreenWater(dates, zones, result, demand, np.isfinite(read), unknown)


def _doubt(zones: Zones) -> Doubt:
    store, start = zones.zone.total_available, _table("water.start")
    relative = float(np.mean(zones.coefficient_sd / zones.coefficient))
    return Doubt(
        start=start["share"] * store,
        start_sd=start["sd"] * store,
        unexplained_sd=value("water.unexplained_sd"),
        shared_sd=relative,
    )


def _rain_sd(days: Sequence[GivenDay], rain: Array) -> Array:
    """Return how far off the rain of each day may be [mm]."""
    coming = _table("weather.forecast_rain")
    made = rain * _table("water.given_sd")["rain"]
    for i, day in enumerate(days):
        if day.weather.kind == "forecast":
            made[i] = max(coming["share"] * rain[i], coming["least_mm"])
        if "rain_mm" in day.filled:
            made[i] = day.spread["rain_mm"]
        elif day.weather.rain_mm is None:
            made[i] = max(made[i], coming["least_mm"])
    return made


def _given(
    snapshot: Snapshot, dates: Sequence[date], keys: Sequence[str]
) -> tuple[Array, Array, int]:
    """Return water given early and late by day and green [mm], and rows without an amount.

    Rows planned for days to come count as coming.
    """
    column = {key: i for i, key in enumerate(keys)}
    made = np.zeros((2, len(dates), len(keys)))
    unknown = 0
    for row in snapshot.work:
        place = (row.date - dates[0]).days
        if row.practice not in GIVES or not 0 <= place < len(dates) or not _counts(row, snapshot):
            continue
        if row.amount is None:
            unknown += 1
            continue
        late = int(row.time is None or row.time >= EARLY)
        for key in snapshot.greens_of(row.green):
            if key in column:
                made[late, place, column[key]] += row.amount * row.passes
    return made[0], made[1], unknown


def _counts(row: Work, snapshot: Snapshot) -> bool:
    coming = row.date > snapshot.as_of
    return row.status == "done" or (row.status == "planned" and coming)


def _soaked(dates: Sequence[date], rain: Array, given: Array) -> tuple[date, ...]:
    """Return the days on which every green got water enough to fill its root zone."""
    enough = (rain[:, None] + given).min(axis=1) >= value("water.soaking")
    return tuple(day for day, wet in zip(dates, enough, strict=True) if wet)


def _read(snapshot: Snapshot, dates: Sequence[date], zones: Zones) -> tuple[Array, Array]:
    """Return the deficit that moisture readings say by day and green, and its sd [mm]."""
    column = {key: i for i, key in enumerate(zones.greens)}
    shape = (len(dates), len(zones.greens))
    total, spots = np.zeros(shape), np.zeros(shape)
    for row in snapshot.readings:
        # A reading of the afternoon belongs to the next morning: that day's use is mostly over.
        day = row.date + timedelta(days=int(row.time is not None and row.time.hour >= 14))
        place = (day - dates[0]).days
        if row.kind == "moisture" and row.green in column and 0 <= place < len(dates):
            n = row.n or 1
            total[place, column[row.green]] += n * row.value
            spots[place, column[row.green]] += n
    with np.errstate(invalid="ignore"):
        mean = np.where(spots > 0, total / np.where(spots > 0, spots, 1), np.nan)
    noise = value("measure.moisture.noise_sd") / 100 / np.sqrt(np.where(spots > 0, spots, np.nan))
    depth = 1000 * zones.zone.depth_m
    read = np.maximum(zones.zone.deficit_of(mean), 0.0)
    return read, depth * np.hypot(noise, zones.capacity_sd)


def _table(key: str) -> dict[str, float]:
    return look_up(key).value  # type: ignore[return-value]


def without_readings(snapshot: Snapshot) -> Snapshot:
    """Return a record without its moisture readings, to see what they change."""
    kept = tuple(row for row in snapshot.readings if row.kind != "moisture")
    return replace(snapshot, readings=kept)
