"""Invented daily weather: a yearly course, days that remember, and forecasts that err."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from datetime import date, timedelta

import numpy as np

from greenwright.simulate.world import Climate


@dataclass(frozen=True, slots=True)
class WeatherDay:
    """One day's weather; units as the record writes them, wind at 2 m."""

    date: date
    t_min_c: float
    t_max_c: float
    t_mean_c: float
    rain_mm: float
    rh_mean_pct: float
    rh_min_pct: float
    rh_max_pct: float
    rh90_h: float
    leaf_wet_h: float
    wind_m_s: float
    solar_mj_m2: float


NUMBERS = tuple(f.name for f in fields(WeatherDay) if f.name != "date")


def season(climate: Climate, day: date) -> float:
    """Give the place of a day in the year: +1 on the hottest, -1 half a year later."""
    return math.cos(2 * math.pi * (day.timetuple().tm_yday - climate.hottest_day) / 365.25)


def clear_sky(climate: Climate, day: date) -> float:
    """Give the solar energy of a cloudless day [MJ/m2], from the sun's path at the latitude."""
    angle = 2 * math.pi * day.timetuple().tm_yday / 365
    declination = 0.409 * math.sin(angle - 1.39)
    latitude = math.radians(climate.latitude_deg)
    sunset = math.acos(max(-1.0, min(1.0, -math.tan(latitude) * math.tan(declination))))
    path = sunset * math.sin(latitude) * math.sin(declination)
    path += math.cos(latitude) * math.cos(declination) * math.sin(sunset)
    return 0.75 * 37.6 * (1 + 0.033 * math.cos(angle)) * path


def humid_hours(low: float, high: float, bar: float = 90.0) -> float:
    """Give the hours that a daily sine between low and high [%] stands at or over the bar."""
    if low >= bar:
        return 24.0
    if high <= bar:
        return 0.0
    middle, half = (low + high) / 2, (high - low) / 2
    return 24 * math.acos((bar - middle) / half) / math.pi


@dataclass(frozen=True, slots=True)
class _Sky:
    """What drives one day: warmth above the mean year, cloud and wind as standard normals."""

    warmth: float = 0.0
    cloud: float = 0.0
    wind: float = 0.0
    rain_mm: float = 0.0
    rh_error: float = 0.0


def _day(climate: Climate, day: date, sky: _Sky) -> WeatherDay:
    summer = season(climate, day)
    cloud = 0.5 * (1 + math.erf(sky.cloud / math.sqrt(2)))
    spread = (climate.t_range_c + 2.0 * summer) * (1.3 - 0.7 * cloud)
    mean = climate.t_mean_c + climate.t_swing_c * summer + sky.warmth
    rh = climate.rh_mean_pct - 6 * summer + 16 * (cloud - 0.5) + sky.rh_error
    rh = min(max(rh + 4 * (sky.rain_mm > 0), 40.0), 97.0)
    rh_low, rh_high = max(rh - 2.2 * spread, 22.0), min(rh + 1.7 * spread, 100.0)
    humid = humid_hours(rh_low, rh_high)
    return _rounded(
        day,
        t_min_c=mean - 0.5 * spread,
        t_max_c=mean + 0.5 * spread,
        t_mean_c=mean,
        rain_mm=sky.rain_mm,
        rh_mean_pct=min(max(rh, rh_low), rh_high),
        rh_min_pct=rh_low,
        rh_max_pct=rh_high,
        rh90_h=humid,
        leaf_wet_h=min(24.0, humid + min(sky.rain_mm, 8.0) * 0.5),
        wind_m_s=max(0.3, climate.wind_m_s * math.exp(0.35 * sky.wind)),
        solar_mj_m2=clear_sky(climate, day) * (1 - 0.72 * cloud**1.5),
    )


def _rounded(day: date, **numbers: float) -> WeatherDay:
    whole = {"rh_mean_pct", "rh_min_pct", "rh_max_pct"}
    return WeatherDay(
        day, **{k: float(round(v, 0 if k in whole else 1)) for k, v in numbers.items()}
    )


def _wander(n: int, memory: float, rng: np.random.Generator) -> np.ndarray:
    shocks = rng.standard_normal(n)
    path = np.empty(n)
    path[0] = shocks[0]
    scale = math.sqrt(1 - memory**2)
    for i in range(1, n):
        path[i] = memory * path[i - 1] + scale * shocks[i]
    return path


def draw_weather(
    climate: Climate, first: date, n: int, rng: np.random.Generator
) -> tuple[WeatherDay, ...]:
    """Draw n days of weather from a first date on."""
    warmth = climate.t_spread_c * _wander(n, climate.t_memory, rng)
    cloud = _wander(n, climate.cloud_memory, rng)
    wind = _wander(n, 0.5, rng)
    showery = cloud + 0.5 * rng.standard_normal(n) > climate.dry_above
    amount = rng.gamma(0.75, climate.rain_mean_mm / 0.75, n)
    damp = 3.5 * rng.standard_normal(n)
    return tuple(
        _day(climate, first + timedelta(days=i),
             _Sky(warmth[i], cloud[i], wind[i], float(amount[i] * showery[i]), damp[i]))
        for i in range(n)
    )  # fmt: skip


def typical_day(climate: Climate, day: date) -> WeatherDay:
    """Give the weather of the mean year on a date, with the mean rain spread evenly."""
    return _day(climate, day, _Sky(rain_mm=climate.rain_mean_mm * 0.35))


def draw_forecast(
    climate: Climate, ahead: tuple[WeatherDay, ...], rng: np.random.Generator
) -> tuple[WeatherDay, ...]:
    """Draw what was forecast for the days ahead, the first being tomorrow.

    The forecast leans to the typical day and its error grows with the lead.
    """
    errors = 0.55 * np.cumsum(rng.standard_normal(len(ahead)))
    return tuple(
        _misjudged(climate, truth, (lead, float(errors[lead])), rng)
        for lead, truth in enumerate(ahead)
    )


def _misjudged(
    climate: Climate, truth: WeatherDay, lead_error: tuple[int, float], rng: np.random.Generator
) -> WeatherDay:
    lead, error = lead_error
    skill = math.exp(-(lead + 0.5) / climate.forecast_skill_days)
    usual = typical_day(climate, truth.date)
    mixed = {
        name: skill * getattr(truth, name) + (1 - skill) * getattr(usual, name) for name in NUMBERS
    }
    for name in ("t_min_c", "t_max_c", "t_mean_c"):
        mixed[name] += 0.4 * rng.standard_normal() * (name != "t_mean_c") + error
    mixed["rain_mm"] = _rain_guess(climate, truth.rain_mm, skill, rng)
    low, high = sorted((mixed["t_min_c"], mixed["t_max_c"]))
    mixed |= {"t_min_c": low, "t_max_c": high, "t_mean_c": (low + high) / 2}
    return _rounded(truth.date, **mixed)


def _rain_guess(climate: Climate, rain: float, skill: float, rng: np.random.Generator) -> float:
    if rng.random() < skill:
        return rain * math.exp(0.3 * rng.standard_normal())
    return float(rng.gamma(0.75, climate.rain_mean_mm / 0.75)) if rng.random() < 0.35 else 0.0
