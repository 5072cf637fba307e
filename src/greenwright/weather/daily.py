"""Series over days: growth, water use, warmth and risk days of weather without holes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from greenwright.base.evidence import look_up
from greenwright.weather.disease import DiseaseModel
from greenwright.weather.evapotranspiration import Air, Place, Reference, reference_et
from greenwright.weather.given import GivenDay
from greenwright.weather.growth import mean_temperature

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RiskDays:
    """One disease model over days: its index (NaN = no answer) and whether each is a risk day.

    Args:
        model: what was asked.
        index: one number a day.
        missing: fields that days lacked, with how many days.
    """

    model: DiseaseModel
    index: Array
    missing: dict[str, int]

    @property
    def risky(self) -> NDArray[np.bool_]:
        """Return where the index reaches the threshold."""
        return np.nan_to_num(self.index, nan=-np.inf) >= self.model.threshold


def numbers(days: Sequence[GivenDay], name: str) -> Array:
    """Return one number of each day; NaN where there is none."""
    held = (getattr(day.weather, name) for day in days)
    return np.array([np.nan if x is None else x for x in held], dtype=float)


def mean_temperatures(days: Sequence[GivenDay]) -> Array:
    """Return the mean temperature of each day [degC]; NaN where unknown."""
    held = (mean_temperature(day.weather) for day in days)
    return np.array([np.nan if x is None else x for x in held], dtype=float)


def air_of(days: Sequence[GivenDay]) -> Air:
    """Return the air of days, each number NaN where it is not known."""
    held = {
        "t_min": "t_min_c",
        "t_max": "t_max_c",
        "rh_min": "rh_min_pct",
        "rh_max": "rh_max_pct",
        "rh_mean": "rh_mean_pct",
        "wind": "wind_m_s",
        "wind_height": "wind_height_m",
        "solar": "solar_mj_m2",
        "sunshine": "sunshine_h",
    }
    return Air(t_mean=None, **{name: numbers(days, field) for name, field in held.items()})


def reference_days(days: Sequence[GivenDay], place: Place) -> tuple[Reference, Array]:
    """Return reference evapotranspiration of days, and its sd [mm/d].

    The sd holds what stood in for readings, the doubt of a day to come, and the season's spread
    where a day is typical.

    Args:
        days: weather without holes; a day without temperature gives NaN.
        place: where.

    Source keys: eto.*, water.eto_sd, water.eto_sd_missing.
    """
    year = np.array([day.weather.date.timetuple().tm_yday for day in days], dtype=float)
    found = reference_et(air_of(days), place, year)
    more: dict[str, float] = look_up("water.eto_sd_missing").value  # type: ignore[assignment]
    coming = np.array([day.weather.kind != "observed" for day in days])
    relative = np.sqrt(found.relative_sd**2 + np.where(coming, more["forecast"] ** 2, 0.0))
    return found, np.hypot(found.eto * relative, _stand_in_sd(days, place, year, found.eto))


def _stand_in_sd(days: Sequence[GivenDay], place: Place, year: Array, eto: Array) -> Array:
    """Return what stand-ins may be off by [mm/d]: the step when each is moved by its spread."""
    square = np.zeros(len(days))
    for name in ("t_max_c", "solar_mj_m2", "wind_m_s", "rh_mean_pct"):
        spread = np.array([day.spread.get(name, 0.0) for day in days])
        if not spread.any():
            continue
        moved = [_moved(day, name, step) for day, step in zip(days, spread, strict=True)]
        square += (reference_et(air_of(moved), place, year).eto - eto) ** 2
    return np.sqrt(np.nan_to_num(square))


def _moved(day: GivenDay, name: str, step: float) -> GivenDay:
    held = getattr(day.weather, name)
    if not step or held is None:
        return day
    high = {"rh_mean_pct": 100.0, "solar_mj_m2": 45.0}.get(name, 60.0)
    changes = {name: min(held + step, high)}
    if name == "rh_mean_pct":
        changes |= {"rh_min_pct": None, "rh_max_pct": None}
    return replace(day, weather=replace(day.weather, **changes))


def risk_days(days: Sequence[GivenDay], model: DiseaseModel) -> RiskDays:
    """Return a disease model over days, from what was read or forecast alone.

    Nothing that stood in is used: a typical day, or humidity put between neighbours, says
    nothing of a wet spell. Where a day of the average is missing there is no answer.

    Args:
        days: weather, one a day, in order.
        model: see `disease_models`.
    """
    held, missing = [], {}
    for name in model.needs:
        read = np.array([_read(day, name) for day in days], dtype=float)
        missing[name] = int(np.isnan(read).sum())
        held.append(_averaged(read, model.days))
    known = np.all(np.isfinite(held), axis=0) if days else np.zeros(0, dtype=bool)
    index = np.full(len(days), np.nan)
    if known.any():
        index[known] = model.index(*(column[known] for column in held))
    return RiskDays(model, index, {name: n for name, n in missing.items() if n})


def _read(day: GivenDay, name: str) -> float:
    if day.weather.kind == "typical" or name in day.filled:
        return np.nan
    mean = name == "t_mean_c"
    held = mean_temperature(day.weather) if mean else getattr(day.weather, name)
    return np.nan if held is None else held


def _averaged(read: Array, days: int) -> Array:
    """Return the mean of each day and those before it, NaN until there are enough."""
    if days == 1 or len(read) < days:
        return read if days == 1 else np.full(len(read), np.nan)
    made = np.full(len(read), np.nan)
    windows = np.lib.stride_tricks.sliding_window_view(read, days)
    made[days - 1 :] = windows.mean(axis=1)
    return made
