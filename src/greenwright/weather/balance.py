"""The water balance of the root zone, day by day, put right by each moisture reading."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.weather.store import RootZone

Array = NDArray[np.float64]
_LEAST_VARIANCE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """What comes and goes: arrays of days x greens [mm] (or days x 1 where all are alike).

    Args:
        demand: crop evapotranspiration of unstressed grass; demand_sd: its daily spread.
        rain: what enters the root zone; rain_sd: its spread.
        early, late: water given before the morning's reading, and after it.
        given_sd: relative spread of water given.
        read: deficit by a moisture reading of the morning; NaN = none.
        read_sd: its spread; NaN = none.
    """

    demand: Array
    demand_sd: Array
    rain: Array
    rain_sd: Array
    early: Array
    late: Array
    given_sd: float
    read: Array
    read_sd: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """What the balance does not know.

    Args:
        start, start_sd: deficit before the first day, one number a green [mm].
        unexplained_sd: what a day leaves unexplained [mm].
        shared_sd: relative spread of demand that is the same every day (the crop coefficient).
    """

    start: Array
    start_sd: Array
    unexplained_sd: float
    shared_sd: float


@dataclass(frozen=True, slots=True)
class Balance:
    """Days x greens [mm]: the deficit at the end of each day with its spread, and its parts.

    deficit[t] = deficit[t-1] + correction + use - rain - given + drained, for every day.
    """

    deficit: Array
    sd: Array
    use: Array
    rain: Array
    given: Array
    drained: Array
    correction: Array
    refill: Array


@dataclass(slots=True)
class _State:
    """Mean, variance, and covariance with the demand's shared error."""

    mean: Array
    var: Array
    shared: Array


def balance(water: Water, zone: RootZone, doubt: Doubt) -> Balance:
    """Return the balance of the root zone over days.

    In each day: water given early, the morning's reading, what the grass uses, rain and water
    given late, drainage of what is over field capacity. A reading corrects by its uncertainty
    (a scalar Kalman update; the shared error of demand is carried along but not corrected).
    Past the readily available water the grass uses less, down to nothing when the store is
    empty. Where field capacity lies within the doubt, drainage is the mean over it.

    Args:
        water: what comes and goes, by day and green.
        zone: the root zones, one number a green.
        doubt: where it starts and what it does not know.

    Valid for: greens that drain within a day, without run-on or a water table.

    Raises:
        BadInput: numbers that are missing or negative.
    """
    shape = _shape(water, zone)
    full = {name: np.broadcast_to(getattr(water, name), shape) for name in _ARRAYS}
    _refuse(full)
    parts = {name: np.empty(shape) for name in _PARTS}
    mean = np.broadcast_to(doubt.start, shape[1:]).astype(float)
    spread = np.broadcast_to(doubt.start_sd, shape[1:]).astype(float)
    state = _State(mean, spread**2, np.zeros(shape[1:]))
    read_days = np.any(np.isfinite(full["read"]), axis=1)
    early_days, nothing = np.any(full["early"] > 0, axis=1), np.zeros(shape[1:])
    store = zone.total_available
    refill = zone.readily_available(full["demand"])
    for day in range(shape[0]):
        row = {name: held[day] for name, held in full.items()}
        # A day without early water must not be drained twice: the state is drained already.
        early = bool(early_days[day])
        drained = _give(state, row["early"], water.given_sd, store) if early else nothing
        fixed = _corrected(state, row, store) if read_days[day] else 0.0
        used = _use(state, row, store, refill=refill[day], shared_sd=doubt.shared_sd)
        state.var = state.var + row["rain_sd"] ** 2 + doubt.unexplained_sd**2
        state.mean = state.mean - row["rain"]
        drained = drained + _give(state, row["late"], water.given_sd, store)
        for name, held in zip(
            _PARTS, (state.mean, np.sqrt(state.var), used, drained, fixed), strict=True
        ):
            parts[name][day] = held
    given = full["early"] + full["late"]
    return Balance(rain=full["rain"], given=given, refill=refill, **parts)


_ARRAYS = ("demand", "demand_sd", "rain", "rain_sd", "early", "late", "read", "read_sd")
_PARTS = ("deficit", "sd", "use", "drained", "correction")


def _shape(water: Water, zone: RootZone) -> tuple[int, int]:
    greens = zone.field_capacity.shape[0]
    return len(water.demand), greens


def _refuse(full: dict[str, Array]) -> None:
    for name in _ARRAYS[:-2]:
        if not np.all(full[name] >= 0):
            raise BadInput(
                f"a balance needs {name} of every day, 0 or more",
                where=name,
                expected="mm, none missing",
            )


def _give(state: _State, amount: Array, relative_sd: float, store: Array) -> Array:
    """Take water in, drain what is over field capacity, and return that [mm]."""
    state.mean = state.mean - amount
    state.var = state.var + (relative_sd * amount) ** 2
    spread = np.sqrt(np.maximum(state.var, _LEAST_VARIANCE))
    z = state.mean / spread
    if z.min() >= _FAR:
        return np.zeros_like(z)
    inside, density = _below(z), np.exp(-0.5 * z**2) / sqrt(2 * pi)
    kept = np.minimum(state.mean * inside + spread * density, store)
    square = (state.mean**2 + state.var) * inside + state.mean * spread * density
    drained = np.maximum(kept - state.mean, 0.0)
    # Far from field capacity nothing drains: rounding must not nibble at the spread there.
    near = z < _FAR
    state.mean = np.where(near, np.maximum(kept, 0.0), state.mean)
    state.var = np.where(near, np.maximum(square - kept**2, 0.0), state.var)
    state.shared = np.where(near, state.shared * inside, state.shared)
    return np.where(near, drained, 0.0)


def _below(z: Array) -> Array:
    """Return the chance that a normal belief lies under z spreads; a handful of greens at most.

    The special functions of the larger library take longer to load than a season takes to run.
    """
    return 0.5 + 0.5 * np.fromiter(map(erf, z / sqrt(2)), float, z.size)


_FAR = 7.0
"""Spreads from field capacity at which drainage is less than a millionth of a spread."""


def _corrected(state: _State, row: dict[str, Array], store: Array) -> Array:
    """Correct the deficit by the morning's reading and return by how much [mm]."""
    noise = np.where(np.isfinite(row["read"]), row["read_sd"] ** 2, np.inf)
    weight = state.var / (state.var + np.maximum(noise, _LEAST_VARIANCE))
    gap = np.where(np.isfinite(row["read"]), row["read"] - state.mean, 0.0)
    better = np.clip(state.mean + weight * gap, 0.0, store)
    fixed = better - state.mean
    state.mean = better
    state.var = (1 - weight) * state.var
    state.shared = (1 - weight) * state.shared
    return fixed


def _use(
    state: _State, row: dict[str, Array], store: Array, *, refill: Array, shared_sd: float
) -> Array:
    """Let the grass use water and return how much [mm]."""
    room = np.maximum(store - state.mean, 0.0)
    thirst = np.clip(room / np.maximum(store - refill, _LEAST_VARIANCE), 0.0, 1.0)
    use = np.minimum(row["demand"] * thirst, room)
    common = shared_sd * use
    state.mean = state.mean + use
    state.var = state.var + 2 * common * state.shared + common**2 + (row["demand_sd"] * thirst) ** 2
    state.shared = state.shared + common
    return use
