"""A learned outcome made by hand: a small model, invented readings, and the record beside it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from greenwright.base.values import Course, Green, Snapshot, WeatherDay, Work
from greenwright.respond.learning import LearnedOutcome
from greenwright.stats.dynamic import (
    SCALES,
    Covariate,
    DynamicModel,
    Group,
    Pulse,
    Term,
    fit_dynamic,
    readings,
)
from greenwright.stats.hyper import HyperPrior as Prior

TODAY = date(2026, 6, 5)
DAYS = 60
FIRST = TODAY - timedelta(days=DAYS - 1)
GREENS = ("1", "2", "3")
SIZES: Mapping[str, float] = {
    "noise_sd": 0.05,
    "set_sd": 0.03,
    "unit_sd": 0.1,
    "day_sd": 0.08,
    "day_time": 4.0,
    "own_sd": 0.05,
    "own_time": 3.0,
}
"""Invented sds [m] and times [d]."""

Floats = NDArray[np.float64]


def model(*, dose: Floats, wet: Floats, level: float = 3.0, **sizes: float) -> DynamicModel:
    """Return a model with one practice, one covariate and two readers."""
    held = {**SIZES, **sizes}
    return DynamicModel(
        units=len(dose),
        days=dose.shape[1],
        level=level,
        level_sd=0.5,
        scales={name: Prior(held[name], 0.05) for name in SCALES},
        shapes={"roll.half_life_d": Prior(1.0, 0.05)},
        terms=(Term("roll", "roll", dose, Pulse("roll.half_life_d"), 0.2, 0.1),),
        covariates=(Covariate("wet", wet, 0.0, 0.05),),
        groups=(Group("who", 2, Prior(0.05, 0.2)),),
    )


def rolled(seed: int = 0) -> Floats:
    """Return the invented rolls, (greens, days)."""
    return (np.random.default_rng([seed, 1]).random((len(GREENS), DAYS)) < 0.3).astype(float)


def outcome(
    *,
    quantity: str = "green_speed",
    log: bool = False,
    seed: int = 0,
    last: int = DAYS,
    level: float = 3.0,
    **sizes: float,
) -> LearnedOutcome:
    """Return an outcome fitted to invented readings.

    Args:
        quantity, log: what the numbers are called, and whether they are logs.
        seed: of the invention.
        last: no reading is taken on or after this day of the calendar.
        level: of the greens [unit, or its log].
        sizes: priors of the scales, in place of SIZES.
    """
    rng, dose = np.random.default_rng(seed), rolled(seed)
    wet = rng.standard_normal((1, DAYS))
    unit, day = np.nonzero(rng.random((3, DAYS)) < 0.6)
    unit, day = unit[day < last], day[day < last]
    value = level + 0.2 * dose[unit, day] + 0.05 * wet[0, day]
    value = value + np.array([-0.1, 0.0, 0.1])[unit] + 0.06 * rng.standard_normal(len(unit))
    rows = readings(value, unit, day, count=4.0, members={"who": rng.integers(0, 2, len(unit))})
    fit = fit_dynamic(model(dose=dose, wet=wet, level=level, **sizes), rows, rng=rng, pairs=2)
    return LearnedOutcome(
        quantity=quantity,
        method="",
        unit="m" if quantity == "green_speed" else "mL/m2",
        log=log,
        first=FIRST,
        until=TODAY,
        greens=GREENS,
        fit=fit,
        plain=fit,
        separations={},
        misfits=(),
        n_sets=len(value),
    )


def record(*work: Work, weather: tuple[WeatherDay, ...] | None = None) -> Snapshot:
    """Return the record beside it: three greens, its rolls, a year of even weather, and work."""
    even = tuple(mild(TODAY - timedelta(days=k)) for k in range(365))
    done = tuple(
        Work(date=FIRST + timedelta(days=int(d)), green=GREENS[g], practice="roll")
        for g, d in zip(*np.nonzero(rolled()), strict=True)
    )
    return Snapshot(
        course=Course(course="lark", name="Lark Mere"),
        as_of=TODAY,
        greens=tuple(Green(green=g, grass="creeping bentgrass") for g in GREENS),
        work=(*done, *work),
        weather=even if weather is None else weather,
    )


def mild(day: date, *, rain_mm: float = 0.0, kind: str = "observed") -> WeatherDay:
    """Return a day of 20 degC."""
    return WeatherDay(date=day, kind=kind, t_min_c=15.0, t_max_c=25.0, rain_mm=rain_mm)


def roll(ahead: int, green: str = "all") -> Work:
    """Return a planned roll so many days ahead."""
    when = TODAY + timedelta(days=ahead)
    return Work(date=when, green=green, practice="roll", status="planned")
