"""The water balance as an answer tells it: by day, by green, and days to the refill line."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np

from greenwright.base.estimate import Z90, Estimate
from greenwright.base.values import Snapshot
from greenwright.desk.answering import Row
from greenwright.desk.weathering.told import ends, row
from greenwright.weather.given import GivenDay
from greenwright.weather.greens import KEYS, GreenWater
from greenwright.weather.store import days_to

UNGIVEN_D = 21
"""Days without any watering in the record after which it is taken to say nothing of watering."""


def eto_rows(days: Sequence[GivenDay], eto: np.ndarray, sd: np.ndarray) -> list[Row]:
    """Return reference evapotranspiration by day with its range [mm/d]."""
    return [
        row(day, "eto", float(use), "mm/d", **ends(float(use), float(spread)))
        for day, use, spread in zip(days, eto, sd, strict=True)
        if np.isfinite(use)
    ]


def deficit_rows(water: GreenWater, days: Sequence[GivenDay]) -> list[Row]:
    """Return the mean deficit of the greens at the end of each day, with its range [mm]."""
    made = []
    line, store = refill_line(water, days[-1].weather.date), float(_store(water).mean())
    for day in days:
        place = water.at(day.weather.date)
        if not 0 <= place < len(water.days):
            continue
        level, sd = _mean(water, place)
        held = ends(level, sd, high=store)
        made.append(row(day, "deficit", level, "mm", above_threshold=level >= line, **held))
    return made


def water_row(snapshot: Snapshot, water: GreenWater, days: Sequence[GivenDay], last: date) -> Row:
    """Return all that is told of water beside the findings.

    Args:
        snapshot: as known on its `as_of`.
        water: the balance.
        days: those told.
        last: the last day ahead.
    """
    return {
        "refill_mm": refill_line(water, last),
        "store_mm": float(_store(water).mean()),
        "watered": bool(given_lately(water, snapshot.as_of) > 0),
        "daily": [_daily(water, day) for day in days if _inside(water, day)],
        "greens": [_green(snapshot, water, i, last) for i in range(len(water.zones.greens))],
        "course": _course(snapshot, water, last),
    }


def given_lately(water: GreenWater, on: date) -> float:
    """Return the mean water given to the greens in the last three weeks of the record [mm]."""
    last = min(water.at(on), len(water.days) - 1)
    held = water.balance.given[max(last - UNGIVEN_D + 1, 0) : last + 1]
    return float(held.mean(axis=1).sum())


def refill_line(water: GreenWater, last: date) -> float:
    """Return the mean refill line of the greens in the days around the end [mm]."""
    place = min(water.at(last), len(water.days) - 1)
    return float(water.balance.refill[max(place - 13, 0) : place + 1].mean())


def evidence_of(water: GreenWater) -> frozenset[str]:
    """Return the evidence keys behind the balance."""
    return frozenset(KEYS) | water.zones.evidence_keys


def _store(water: GreenWater) -> np.ndarray:
    return water.zones.zone.total_available


def _inside(water: GreenWater, day: GivenDay) -> bool:
    return 0 <= water.at(day.weather.date) < len(water.days)


def _mean(water: GreenWater, place: int) -> tuple[float, float]:
    """Return the mean deficit and its sd, the greens' errors taken as alike [mm]."""
    return float(water.balance.deficit[place].mean()), float(water.balance.sd[place].mean())


def _daily(water: GreenWater, day: GivenDay) -> Row:
    place, held = water.at(day.weather.date), water.balance
    level, sd = _mean(water, place)
    return {
        "date": day.weather.date,
        "kind": day.weather.kind,
        "filled": bool(day.filled),
        "rain": float(held.rain[place].mean()),
        "given": float(held.given[place].mean()),
        "use": float(held.use[place].mean()),
        "drained": float(held.drained[place].mean()),
        "corrected": float(held.correction[place].mean()),
        "read": int(water.read[place].sum()),
        "deficit": level,
        **ends(level, sd, high=float(_store(water).mean())),
    }


def _green(snapshot: Snapshot, water: GreenWater, i: int, last: date) -> Row:
    on, zones = water.at(snapshot.as_of), water.zones
    on = min(on, len(water.days) - 1)
    level, sd = float(water.balance.deficit[on, i]), float(water.balance.sd[on, i])
    refill = float(_line(water, last)[i])
    read = np.flatnonzero(water.read[: on + 1, i])
    return {
        "green": zones.greens[i],
        "deficit": _estimate(level, sd, float(_store(water)[i])),
        "refill_mm": refill,
        "store_mm": float(_store(water)[i]),
        "field_capacity_pct": 100 * float(zones.zone.field_capacity[i]),
        "capacity_from": zones.capacity_from[i],
        "root_depth_mm": 1000 * float(zones.zone.depth_m[i]),
        "depth_from": zones.depth_from[i],
        "crop_coefficient": float(zones.coefficient[i]),
        "own_coefficient": zones.own_coefficient[i],
        "last_read": water.days[int(read[-1])] if read.size else None,
        "days_left": _days_left(water, refill, column=slice(i, i + 1), on=on),
    }


def _course(snapshot: Snapshot, water: GreenWater, last: date) -> Row:
    on = min(water.at(snapshot.as_of), len(water.days) - 1)
    level, sd = _mean(water, on)
    line = refill_line(water, last)
    return {
        "deficit": _estimate(level, sd, float(_store(water).mean())),
        "days_left": _days_left(water, line, column=slice(None), on=on),
    }


def _line(water: GreenWater, last: date) -> np.ndarray:
    place = min(water.at(last), len(water.days) - 1)
    return water.balance.refill[max(place - 13, 0) : place + 1].mean(axis=0)


def _estimate(level: float, sd: float, store: float) -> Estimate:
    held = ends(level, sd, high=store)
    return Estimate(level, "mm", sd, held["low"], held["high"], basis="model")


def _days_left(water: GreenWater, line: float, *, column: slice, on: int) -> Row:
    """Return days to the refill line: by the best guess, at the soonest and at the latest."""
    level = water.balance.deficit[on:, column].mean(axis=1)
    sd = water.balance.sd[on:, column].mean(axis=1)
    made: dict[str, Any] = {}
    for name, way in (("value", 0.0), ("low", 1.0), ("high", -1.0)):
        path = np.maximum(level + way * Z90 * sd, 0.0)
        made[name] = days_to(float(path[0]), line, np.diff(path))
    return made
