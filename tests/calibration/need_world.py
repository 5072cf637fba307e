"""From an invented course to the dynamic model of its green speed, and what its manager could see.

Only what a record holds is used: sets of rolls, work, weather, rounds, the calendar. The truth
stays in `simulate`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from greenwright import simulate
from greenwright.simulate.events import days_to_event
from greenwright.stats.dynamic import (
    Condition,
    Covariate,
    Decisions,
    DynamicModel,
    Group,
    Held,
    Pulse,
    Readings,
    Term,
    readings,
)
from greenwright.stats.hyper import HyperPrior as Prior

Floats = NDArray[np.float64]
TRUE_ROLL = 0.16
"""Gain of one roll on its morning [m], mean over greens: the peak of `simulate`'s response."""

SCALES = {
    "noise_sd": Prior(0.06, 0.5),
    "set_sd": Prior(0.04, 0.6),
    "unit_sd": Prior(0.1, 0.5),
    "day_sd": Prior(0.08, 0.6),
    "day_time": Prior(4.0, 0.8),
    "own_sd": Prior(0.06, 0.6),
    "own_time": Prior(3.0, 0.8),
}
SHAPES = {
    "roll.half": Prior(0.7, 0.4),
    "double.half": Prior(0.8, 0.4),
    "brush.half": Prior(1.0, 0.4),
    "sand.early": Prior(1.0, 0.5),
    "sand.late": Prior(7.0, 0.4),
    "verticut.half": Prior(1.2, 0.5),
    "core.half": Prior(5.0, 0.4),
    "sham.half": Prior(0.8, 0.4),
}
"""Invented medians of the right order; none is the simulator's own number."""


@dataclass(frozen=True)
class World:
    """An invented course made ready: model, readings, decisions on rolling, and the raw course."""

    made: simulate.Simulated
    model: DynamicModel
    rows: Readings
    decisions: Decisions


def world(seed: int, manager: simulate.Manager, *, days: int, greens: int = 18) -> World:
    """Play a course and lay its record out; a sham practice of no effect is put beside."""
    made = simulate.course(
        seed,
        today=date(2026, 10, 1),
        world=simulate.World(greens=greens, days=days, manager=manager),
    )
    units, size = greens, len(made.truth.days)
    dose, bench, mown = _worked(made, units, size)
    dose["sham"] = (np.random.default_rng([seed, 5]).random((units, size)) < 0.15).astype(float)
    covariates = _covariates(made, mown)
    rows, observers, ramps = _rows(made)
    model = DynamicModel(
        units, size, 2.9, 0.4, SCALES, SHAPES,
        terms=_terms(dose, bench),
        covariates=covariates,
        conditions=(Condition("hour", 0.0, 0.02),),
        groups=(Group("who", observers, Prior(0.03, 0.7)), Group("ramp", ramps, Prior(0.03, 0.7)),
                Group("station", 2 * units, Prior(0.05, 0.7))),
    )  # fmt: skip
    warmth = covariates[0].values[0] - 0.5
    return World(made, model, rows, _decisions(made, dose["roll"] > 0, warmth))


def _metres(row: dict[str, str]) -> float:
    if row.get("unit") == "m":
        return float(row["value"])
    if row.get("unit") == "in":
        return 0.0254 * float(row["value"])
    feet, inches = row["value"].rstrip('"').split("'")
    return 0.0254 * (12 * int(feet) + int(inches))


def _rows(made: simulate.Simulated) -> tuple[Readings, int, int]:
    """Level speeds of sets rolled both ways, 2ab / (a + b) roll by roll."""
    first, names = made.truth.days[0], list(made.truth.greens)
    sets: dict[tuple[str, ...], dict[str, list[float]]] = {}
    for row in made.tables["readings"]:
        if row["kind"] == "roll_distance":
            keys = ("date", "green", "station", "observer", "instrument", "time")
            key = tuple(row[k] for k in keys)
            sets.setdefault(key, {"a": [], "b": []})[row["direction"]].append(_metres(dict(row)))
    who = sorted({key[3] for key in sets})
    ramps = sorted({key[4] for key in sets})
    both = [(np.array(v["a"]), np.array(v["b"])) for v in sets.values()]
    speed = np.array([2 * a * b / (a + b) for a, b in both])
    unit = np.array([names.index(key[1]) for key in sets])
    day = np.array([(date.fromisoformat(key[0]) - first).days for key in sets])
    hour = np.array([int(key[5][:2]) + int(key[5][3:]) / 60 - 7 for key in sets])
    rows = readings(
        speed.mean(axis=1), unit, day, count=float(speed.shape[1]),
        squares=speed.shape[1] * speed.var(axis=1),
        members={
            "who": np.array([who.index(key[3]) for key in sets]),
            "ramp": np.array([ramps.index(key[4]) for key in sets]),
            "station": 2 * unit + np.array([key[2] != "front" for key in sets]),
        },
        conditions={"hour": hour},
    )  # fmt: skip
    return rows, len(who), len(ramps)


def _worked(
    made: simulate.Simulated, units: int, days: int
) -> tuple[dict[str, Floats], Floats, Floats]:
    """Doses by practice, bench height, and mown or not; work after the reading counts tomorrow."""
    names = ("roll", "double", "brush", "topdress", "verticut", "core")
    dose = {name: np.zeros((units, days)) for name in names}
    bench, mown = np.full((units, days), np.nan), np.zeros((units, days))
    for day, acts in enumerate(made.acts):
        for act in acts:
            where = list(act.greens)
            if act.practice == "mow":
                dose["double"][where, day] += act.passes - 1
                bench[where, day], mown[where, day] = act.amount, 1.0
            elif act.practice in ("roll", "brush"):
                dose[act.practice][where, day] += act.passes
            elif act.practice in dose and day + 1 < days:
                size = (act.amount or 0.5) / 0.5 if act.practice == "topdress" else 1.0
                dose[act.practice][where, day + 1] += size
    bench[:, 0] = np.where(np.isnan(bench[:, 0]), 4.0, bench[:, 0])
    for day in range(1, days):
        bench[:, day] = np.where(np.isnan(bench[:, day]), bench[:, day - 1], bench[:, day])
    return dose, bench, mown


def _terms(dose: dict[str, Floats], bench: Floats) -> tuple[Term, ...]:
    apart = Prior(0.03, 0.8)
    sand = dose["topdress"]
    return (
        Term("roll", "roll", dose["roll"], Pulse("roll.half"), 0.15, 0.15, apart),
        Term("double", "mow", dose["double"], Pulse("double.half"), 0.08, 0.1),
        Term("brush", "brush", dose["brush"], Pulse("brush.half"), -0.03, 0.06),
        Term("sand early", "topdress", sand, Pulse("sand.early"), -0.1, 0.2),
        Term("sand late", "topdress", sand, Pulse("sand.late"), 0.06, 0.1),
        Term("verticut", "verticut", dose["verticut"], Pulse("verticut.half"), -0.06, 0.1),
        Term("core", "core", dose["core"], Pulse("core.half"), -0.1, 0.12),
        Term("height", "mow", bench - 3.6, Held(), -0.3, 0.2),
        Term("sham", "sham", dose["sham"], Pulse("sham.half"), 0.0, 0.15),
    )


def _covariates(made: simulate.Simulated, mown: Floats) -> tuple[Covariate, ...]:
    days = len(made.truth.days)
    weather = made.stage.weather[:days]  # the eve's first: what the morning has behind it
    mean = np.array([w.t_mean_c for w in weather])
    growth = np.exp(-0.5 * ((mean - 20) / 7) ** 2)
    leaf, wet = np.zeros(mown.shape), np.zeros(days)
    for day in range(days):
        grown = 0.5 * growth[day] + (leaf[:, day - 1] if day else 0.0)
        leaf[:, day] = np.where(mown[:, day] > 0, 0.0, grown)
        drying = 0.36 * weather[day].solar_mj_m2 * np.clip(0.25 + 0.015 * mean[day], 0.1, 0.8)
        wet[day] = 0.8 * (wet[day - 1] if day else 0.0) + weather[day].rain_mm - drying
    rounds = (np.array(made.stage.rounds[:days]) - 55) / 50
    turn = 2 * np.pi * np.array([d.timetuple().tm_yday for d in made.truth.days]) / 365
    return (
        Covariate("growth", growth[None], -0.1, 0.2),
        Covariate("leaf", leaf, -0.3, 0.2),
        Covariate("wet", wet[None] / 10, 0.0, 0.1),
        Covariate("rounds", rounds[None], 0.0, 0.05),
        Covariate("sin", np.sin(turn)[None], 0.0, 0.15),
        Covariate("cos", np.cos(turn)[None], 0.0, 0.15),
    )


def _decisions(made: simulate.Simulated, rolled: NDArray[np.bool_], warmth: Floats) -> Decisions:
    """Mornings on which rolling was open, with what else could push: weekday, event, season."""
    units, days = rolled.shape
    site, weather, dates = made.stage.site, made.stage.weather, made.truth.days
    manager = site.world.manager
    stopped = np.array([weather[i + 1].t_min_c < 1 or weather[i].rain_mm > 15 for i in range(days)])
    week = np.stack([rolled[:, max(0, d - 6) : d].sum(axis=1) for d in range(days)], axis=1)
    room = week < np.array(manager.rolls_week)[site.group][:, None]
    open_days = room & ~stopped & (np.arange(days) > 0)
    event = [days_to_event(made.stage.events, d) for d in dates]
    shared = np.column_stack([
        np.ones(days),
        [d.weekday() in (1, 4) for d in dates],
        [e is not None and e <= 3 for e in event],
        [d.month in (11, 12, 1, 2) for d in dates],
        warmth,
    ])  # fmt: skip
    unit, day = np.nonzero(open_days)
    features = shared[day].astype(float)
    told = np.append(True, features[:, 1:].std(axis=0) > 0)
    held_together = 1.0 if manager.by_green else 3.0 / units
    return Decisions(unit, day, rolled[unit, day].astype(float), features[:, told],
                     np.full(len(unit), held_together))  # fmt: skip


def difference_of_means(made: World) -> float:
    """What a plain comparison of readings with and without a roll gives [m]."""
    rolled = made.model.terms[0].dose[made.rows.unit, made.rows.day] > 0
    return float(made.rows.value[rolled].mean() - made.rows.value[~rolled].mean())


def regression(made: World) -> tuple[float, float]:
    """Coefficient and standard error [m] of least squares on roll and recorded covariates."""
    model, rows = made.model, made.rows
    shape = (model.units, model.days)
    at = (rows.unit, rows.day)
    columns = [np.ones(len(rows)), (model.terms[0].dose[at] > 0).astype(float)]
    columns += [np.broadcast_to(c.values, shape)[at] for c in model.covariates]
    columns += [term.dose[at] for term in model.terms[1:]]
    design = np.column_stack(columns)
    best = np.linalg.lstsq(design, rows.value, rcond=None)[0]
    left = rows.value - design @ best
    variance = float(left @ left) / (len(rows) - design.shape[1])
    return float(best[1]), float(np.sqrt(variance * np.linalg.pinv(design.T @ design)[1, 1]))
