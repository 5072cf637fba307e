"""The day's step: how the invented surface wakes, is worked on, and is left for the night."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from greenwright.simulate.practices import Act, dose
from greenwright.simulate.site import Site
from greenwright.simulate.weather import WeatherDay

QUANTITIES = (
    "green_speed", "smoothness", "trueness_score", "trueness", "firmness", "moisture",
    "clippings", "height_of_cut", "growth", "quality",
)  # fmt: skip
REFERENCE_HEIGHT_MM = 3.6
REFERENCE_MOISTURE_PCT = 20.0


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the surface lived through since yesterday morning: its weather and its rounds."""

    date: date
    before: WeatherDay
    rounds: float
    index: int = 0  # day of the record


@dataclass(frozen=True, slots=True)
class State:
    """The surface at one moment; arrays by green.

    ``memory`` holds what is left of past doses (responses x greens); ``course`` and ``own``
    are the wandering of each noisy quantity; ``unworked`` is the morning's surface before
    any work and ``seen`` the surface when it is read.
    """

    memory: np.ndarray
    course: np.ndarray
    own: np.ndarray
    leaf_mm: np.ndarray
    bench_mm: np.ndarray
    water_pct: np.ndarray
    growth_mm: np.ndarray
    clippings: np.ndarray
    wear: float
    rounds: float
    jumped: np.ndarray  # what changed once and stays, of green speed [m]
    unworked: Mapping[str, np.ndarray]
    seen: Mapping[str, np.ndarray]


def begin(site: Site, rng: np.random.Generator) -> State:
    """Give the surface on the eve of the record: winter height, moist, no work remembered."""
    n, noise = len(site.names), site.world.noise
    empty = np.zeros(n)
    height = np.full(n, site.world.manager.month_height_mm[0])
    return State(
        memory=np.zeros((len(site.world.responses), n)),
        course=np.array([v.course_sd for v in noise]) * rng.standard_normal(len(noise)),
        own=np.array([[v.green_sd] for v in noise]) * rng.standard_normal((len(noise), n)),
        leaf_mm=height,
        bench_mm=height,
        water_pct=site.field_capacity_pct - 1.0,
        growth_mm=empty,
        clippings=np.full(n, np.nan),
        wear=1.0,
        rounds=site.world.surface.ordinary_rounds,
        jumped=empty,
        unworked={},
        seen={},
    )


def step(
    site: Site,
    state: State,
    acts: tuple[Act, ...],
    *,
    conditions: Conditions,
    rng: np.random.Generator,
) -> State:
    """Play one whole day with the work given: wake, early work, reading, later work.

    The chance drawn is the same whatever the work, so two plays that differ in one act
    differ by its effect only.
    """
    woken = wake(site, state, conditions, rng)
    return finish(site, labour(site, woken, acts), acts)


def wake(site: Site, state: State, conditions: Conditions, rng: np.random.Generator) -> State:
    """Carry the surface through a day and a night to the next morning, before any work."""
    memory = state.memory * _fading(site, conditions.before)[:, None]
    course, own = _wandered(site, state, rng)
    water = _water(site, state.water_pct, conditions.before)
    faded = replace(state, memory=memory, course=course, own=own, water_pct=water)
    growth = _growth(site, faded, conditions.before)
    surface = site.world.surface
    keep = 0.5 ** (1 / surface.wear_half_life_d)
    share = conditions.rounds / surface.ordinary_rounds
    morning = replace(
        faded,
        growth_mm=growth,
        leaf_mm=state.leaf_mm + growth,
        clippings=np.full(len(growth), np.nan),
        wear=keep * state.wear + (1 - keep) * share,
        rounds=conditions.rounds,
        jumped=_jumped(site, conditions.index),
    )
    view = look(site, morning)
    return replace(morning, unworked=view, seen=view)


def labour(site: Site, state: State, acts: tuple[Act, ...]) -> State:
    """Do the early work of a woken day; ``seen`` is then the surface as it is read."""
    early = tuple(act for act in acts if act.early)
    worked = _remember(site, state, early)
    for act in early:
        if act.practice == "mow":
            worked = _mown(site, worked, act)
    return replace(worked, seen=look(site, worked))


def finish(site: Site, state: State, acts: tuple[Act, ...]) -> State:
    """Do the later work, which the readings of the same morning do not feel."""
    late = tuple(act for act in acts if not act.early)
    water = state.water_pct.copy()
    for act in late:
        if act.practice in ("irrigate", "hand_water") and act.amount:
            water[list(act.greens)] += site.world.surface.water_pct_per_mm * act.amount
    return replace(_remember(site, state, late), water_pct=water)


def look(site: Site, state: State) -> Mapping[str, np.ndarray]:
    """Work out every quantity of the surface from its state."""
    surface = site.world.surface
    height = state.leaf_mm + surface.leaf_above_bench_mm
    moisture = (state.water_pct + _own(site, state, "moisture")).clip(4, 60)
    speed = _speed(site, state, height, moisture)
    score = {q: _score(site, state, height, q) for q in ("smoothness", "trueness_score")}
    wet = moisture - REFERENCE_MOISTURE_PCT
    quality = surface.quality_per_height_mm * (height - REFERENCE_HEIGHT_MM)
    quality = quality + surface.quality_per_wear * (state.wear - 1) * (1.5 - site.light)
    return {
        "green_speed": speed,
        **score,
        "trueness": surface.trueness_index_m * np.exp(-0.3 * (score["trueness_score"] - 8)),
        "firmness": _own(site, state, "firmness") + surface.firmness_per_moisture_pct * wet,
        "moisture": moisture,
        "clippings": state.clippings,
        "height_of_cut": height,
        "growth": state.growth_mm,
        "quality": (_own(site, state, "quality") + quality).clip(1, 9),
    }


def _speed(site: Site, state: State, height: np.ndarray, moisture: np.ndarray) -> np.ndarray:
    surface = site.world.surface
    return (
        _own(site, state, "green_speed")
        + surface.speed_per_height_mm * (height - REFERENCE_HEIGHT_MM)
        + surface.speed_per_growth_mm_d * state.growth_mm
        + surface.speed_per_moisture_pct * (moisture - REFERENCE_MOISTURE_PCT)
        + surface.speed_per_round * (state.rounds - surface.ordinary_rounds)
        + _shaded_slope(site) * (moisture - REFERENCE_MOISTURE_PCT)
        + state.jumped
    )


def _shaded_slope(site: Site) -> np.ndarray:
    surface = site.world.surface
    return surface.shade_speed_per_moisture_pct * (site.light < surface.shade_below)


def _jumped(site: Site, index: int) -> np.ndarray:
    size, jump = np.zeros(len(site.names)), site.world.surface.jump
    if jump is not None and index >= jump.day:
        size[list(jump.greens or range(len(size)))] = jump.size_m
    return size


def _score(site: Site, state: State, height: np.ndarray, quantity: str) -> np.ndarray:
    surface = site.world.surface
    return (
        _own(site, state, quantity)
        + surface.score_per_height_mm * (height - REFERENCE_HEIGHT_MM)
        + surface.score_per_growth_mm_d * state.growth_mm
        + surface.score_per_wear * (state.wear - 1)
    )


def _own(site: Site, state: State, quantity: str) -> np.ndarray:
    """Base + the green's own level + wandering + what is left of the work."""
    total = site.world.surface.base[quantity] + site.offsets[quantity]
    for row, noise in enumerate(site.world.noise):
        if noise.quantity == quantity:
            total = total + state.course[row] + state.own[row]
    for row, part in enumerate(site.world.responses):
        if part.quantity == quantity:
            total = total + part.peak * site.slopes[part.practice] * state.memory[row]
    return total


def _fading(site: Site, before: WeatherDay) -> np.ndarray:
    heat = max(before.t_mean_c, 0.0)
    ages = [1.0 if part.clock == "days" else heat for part in site.world.responses]
    lives = [part.half_life for part in site.world.responses]
    return 0.5 ** (np.array(ages) / np.array(lives))


def _wandered(site: Site, state: State, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    noise = site.world.noise
    shared = rng.standard_normal(state.course.shape)
    single = rng.standard_normal(state.own.shape)
    keep = np.array([v.course_memory for v in noise])
    size = np.array([v.course_sd for v in noise]) * np.sqrt(1 - keep**2)
    keep_own = np.array([[v.green_memory] for v in noise])
    size_own = np.array([[v.green_sd] for v in noise]) * np.sqrt(1 - keep_own**2)
    return keep * state.course + size * shared, keep_own * state.own + size_own * single


def _growth(site: Site, state: State, before: WeatherDay) -> np.ndarray:
    best, width = site.world.surface.growth_best_c, site.world.surface.growth_width_c
    warm = math.exp(-0.5 * ((before.t_mean_c - best) / width) ** 2)
    thirst = ((state.water_pct - 6.0) / 8.0).clip(0.2, 1.0)
    full = site.world.surface.full_growth_mm_d
    return full * warm * site.light * thirst * np.exp(_own(site, state, "growth"))


def _water(site: Site, water: np.ndarray, before: WeatherDay) -> np.ndarray:
    surface = site.world.surface
    drying_mm = 0.36 * before.solar_mj_m2 * min(max(0.25 + 0.015 * before.t_mean_c, 0.1), 0.8)
    wetter = water + surface.water_pct_per_mm * (before.rain_mm - drying_mm * site.light)
    spare = (wetter - site.field_capacity_pct).clip(0, None)
    return (wetter - surface.draining_share * spare).clip(7, 48)


def _remember(site: Site, state: State, acts: tuple[Act, ...]) -> State:
    memory = state.memory.copy()
    for act in acts:
        rows = [i for i, r in enumerate(site.world.responses) if r.practice == act.practice]
        if rows:
            memory[np.ix_(rows, list(act.greens))] += dose(act)
    return replace(state, memory=memory)


def _mown(site: Site, state: State, act: Act) -> State:
    if act.amount is None:
        raise ValueError("mow: no bench height; give the act an amount in mm")
    where = list(act.greens)
    leaf, bench, clippings = (a.copy() for a in (state.leaf_mm, state.bench_mm, state.clippings))
    cut = (leaf[where] - act.amount).clip(0, None)
    clippings[where] = site.world.surface.clippings_ml_m2_mm * cut
    leaf[where] = np.minimum(leaf[where], act.amount)
    bench[where] = act.amount
    return replace(state, leaf_mm=leaf, bench_mm=bench, clippings=clippings)
