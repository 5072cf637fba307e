"""What acts on the surface beside work: growth, leaf, water, warmth, wear and the season."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from greenwright.base.evidence import log_sd, look_up, value
from greenwright.base.values import Snapshot, WeatherDay
from greenwright.respond.learning.worked import Worked
from greenwright.respond.shapes import LEAF_KEY, SHAPES
from greenwright.stats.dynamic import Covariate
from greenwright.weather import days as weather_days
from greenwright.weather import mean_temperature

Floats = NDArray[np.float64]

NAMES = ("growth", "leaf", "wet", "warm", "rounds", "season_sin", "season_cos")
WETTEST, DRIEST = 40.0, -20.0
_KEPT = 0.8
_DRYING = 0.2
_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Weather:
    """The days' weather as known, filled from the record's own climate: each (days,).

    Args:
        mean_c: mean temperature [degC].
        usual_c: that of the season in this record [degC].
        least_c: minimum temperature [degC], nan where not known.
        rain_mm: rain, 0 where nothing is known of it.
    """

    mean_c: Floats
    usual_c: Floats
    least_c: Floats
    rain_mm: Floats


def weather_of(snapshot: Snapshot, *, first: date, until: date) -> Weather:
    """Return the weather of the days first..until."""
    rows = weather_days(snapshot, first, until)
    dates = [first + timedelta(days=i) for i in range(len(rows))]
    mean = _filled([mean_temperature(row) for row in rows], rows)
    usual = _season(mean, rows, dates)
    return Weather(
        np.where(np.isnan(mean), usual, mean),
        usual,
        np.array([np.nan if r.t_min_c is None else r.t_min_c for r in rows]),
        np.array([r.rain_mm or 0.0 for r in rows]),
    )


def covariates(
    snapshot: Snapshot, work: Worked, *, quantity: str, until: date, day_sd: float
) -> tuple[Covariate, ...]:
    """Return what acts on an outcome on every day, with its slope's prior.

    Args:
        snapshot: the record, for weather and rounds.
        work: for the growth and the cuts.
        quantity: the outcome.
        until: last day of the calendar.
        day_sd: prior sd of its days [unit], by which widths are scaled.
    """
    weather = weather_of(snapshot, first=work.first, until=until)
    values = {
        "growth": _eve(work.growth),
        "leaf": _leaf(work, quantity),
        "wet": wetness(weather)[None] / 10.0,
        "warm": _eve((weather.mean_c - weather.usual_c)[None]) / 5.0,
        "rounds": _eve(_rounds(snapshot, first=work.first, until=until)[None]) / 100.0,
    }
    turn = 2 * np.pi * np.array([_turn(work.first, i) for i in range(work.growth.shape[1])])
    values |= {"season_sin": np.sin(turn)[None], "season_cos": np.cos(turn)[None]}
    return tuple(Covariate(name, values[name], *_slope(name, quantity, day_sd)) for name in NAMES)


def wetness(weather: Weather) -> Floats:
    """Return a running balance of rain and drying behind each morning [mm]."""
    out, held = np.zeros(len(weather.rain_mm)), 0.0
    rain, warm = _eve(weather.rain_mm[None])[0], _eve(weather.mean_c[None])[0]
    for day in range(len(out)):
        held = _KEPT * held + rain[day] - _DRYING * max(warm[day], 0.0)
        out[day] = held = float(np.clip(held, DRIEST, WETTEST))
    return out


def _leaf(work: Worked, quantity: str) -> Floats:
    left, gathered = work.grown()
    if quantity == "clippings":
        return np.log(np.maximum(gathered, 0.05))
    return left


def _slope(name: str, quantity: str, day_sd: float) -> tuple[float, float]:
    """Return prior mean and sd of a slope."""
    if name == "leaf":
        return _leaf_slope(quantity, day_sd)
    worn = f"effect.rounds.{'trueness_log' if quantity == 'trueness' else quantity}"
    if name == "rounds" and _known(worn):
        held = look_up(worn)
        # Half-gone by the next morning: what is published speaks of the end of the day.
        return value(worn) * 2 ** (-0.5 / value("effect.rounds.half_life")), held.sd or day_sd
    key = f"learn.slope.{'season' if name.startswith('season') else name}"
    return value(key) * day_sd, (look_up(key).sd or 1.0) * day_sd


def _leaf_slope(quantity: str, day_sd: float) -> tuple[float, float]:
    """Return the prior of the slope by a day's full growth left uncut."""
    if quantity == "clippings":
        key = "learn.leaf.clippings"
        return value(key), look_up(key).sd or 1.0
    held = [s for s in SHAPES if s.act == "mow" and s.outcome == quantity and s.leaf]
    if not held:
        return 0.0, day_sd
    size, leaf = look_up(held[0].stem), value(LEAF_KEY)
    mean = value(held[0].stem) / held[0].reference * leaf
    width = (size.sd or 0.0) / abs(held[0].reference) * leaf
    return mean, float(np.hypot(width, mean * log_sd(LEAF_KEY)))


def _known(key: str) -> bool:
    return key in {f"effect.rounds.{q}" for q in _WORN}


_WORN = ("green_speed", "smoothness", "trueness_score", "trueness_log")


def _rounds(snapshot: Snapshot, *, first: date, until: date) -> Floats:
    """Return rounds of each day; the mean of its weekday where they are not known."""
    told = {r.date: r.rounds for r in snapshot.rounds if r.date <= snapshot.as_of}
    usual = np.array([_mean([r for d, r in told.items() if d.weekday() == k]) for k in range(7)])
    whole = _mean(list(told.values()))
    usual = np.where(np.isnan(usual), 0.0 if np.isnan(whole) else whole, usual)
    dates = [first + timedelta(days=i) for i in range((until - first).days + 1)]
    return np.array([told.get(d, usual[d.weekday()]) for d in dates])


def _mean(found: Sequence[float]) -> float:
    return float(np.mean(found)) if found else float("nan")


def _eve(values: Floats) -> Floats:
    """Return what the morning has behind it: the day before's value; the first day its own."""
    return np.concatenate([values[:, :1], values[:, :-1]], axis=1)


def _turn(first: date, day: int) -> float:
    return (first + timedelta(days=day)).timetuple().tm_yday / _YEAR


def _filled(means: Sequence[float | None], rows: Sequence[WeatherDay]) -> Floats:
    return np.array([np.nan if m is None else m for m in means]).reshape(len(rows))


def _season(mean: Floats, rows: Sequence[WeatherDay], dates: Sequence[date]) -> Floats:
    """Return one wave through the observed days; their mean where less than a season is known."""
    seen = np.array([row.kind == "observed" for row in rows]) & ~np.isnan(mean)
    turn = 2 * np.pi * np.array([d.timetuple().tm_yday for d in dates]) / _YEAR
    if seen.sum() < 2:
        known = mean[~np.isnan(mean)]
        return np.full(len(mean), known.mean() if len(known) else 15.0)
    design = np.column_stack([np.ones(len(turn)), np.sin(turn), np.cos(turn)])
    ridge = np.diag([1e-6, 1.0, 1.0])
    some = design[seen]
    best = np.linalg.solve(some.T @ some + ridge, some.T @ mean[seen])
    return design @ best
