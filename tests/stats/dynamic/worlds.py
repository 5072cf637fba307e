"""Small invented records for the tests of the dynamic model, and its plain dense twin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.stats.dynamic import (
    SCALES,
    Condition,
    Covariate,
    DynamicModel,
    Group,
    Held,
    Pulse,
    Readings,
    Term,
    Window,
    readings,
)
from greenwright.stats.hyper import HyperPrior

Floats = NDArray[np.float64]
LEVEL = 2.9


def scales(**medians: float) -> dict[str, HyperPrior]:
    """Priors of the scales: sds about 0.2, times about 5 days, but for those named."""
    usual = dict.fromkeys(SCALES, 0.2) | {"day_time": 5.0, "own_time": 4.0}
    return {name: HyperPrior(value, 0.5) for name, value in (usual | medians).items()}


def doses(rng: np.random.Generator, units: int, days: int, chance: float) -> Floats:
    return (rng.random((units, days)) < chance).astype(float)


def rich_model(units: int = 3, days: int = 30, *, seed: int = 0) -> DynamicModel:
    """Every kernel, departures, a covariate, a condition and a group at once."""
    rng, apart = np.random.default_rng(seed), HyperPrior(0.05, 0.7)
    passes = doses(rng, units, days, 0.4) + doses(rng, units, days, 0.1)
    early, late = doses(rng, units, days, 0.1), doses(rng, units, days, 0.1)
    held = rng.standard_normal((units, days))
    return DynamicModel(
        units=units,
        days=days,
        level=LEVEL,
        level_sd=0.5,
        scales=scales(),
        shapes={
            "press.half": HyperPrior(1.0, 0.5),
            "press.again": HyperPrior(0.3, 0.4),
            "dust.first": HyperPrior(2.0, 0.3),
            "dust.last": HyperPrior(9.0, 0.3),
        },
        terms=(
            Term("press", "press", passes, Pulse("press.half"), 0.1, 0.2, apart, "press.again"),
            Term("dust early", "dust", early, Window(None, "dust.first"), -0.2, 0.3, apart),
            Term("dust late", "dust", late, Window("dust.first", "dust.last"), 0.2, 0.3),
            Term("set", "set", held, Held(), 0.1, 0.3, apart),
        ),
        covariates=(Covariate("warmth", rng.standard_normal((1, days)), 0.0, 0.3),),
        conditions=(Condition("hour", 0.0, 0.1),),
        groups=(Group("reader", 3, HyperPrior(0.1, 0.6)),),
    )


def rich_readings(model: DynamicModel, *, chance: float = 0.4, seed: int = 1) -> Readings:
    """Readings of noise alone: what they say does not matter to an identity."""
    rng = np.random.default_rng(seed)
    unit, day = np.nonzero(rng.random((model.units, model.days)) < chance)
    n = len(unit)
    count = rng.integers(1, 5, n).astype(float)
    return readings(
        3.0 + 0.2 * rng.standard_normal(n),
        unit,
        day,
        count=count,
        squares=np.where(count > 1, 0.05 * (count - 1), 0.0),
        variance=0.001,
        before=(rng.random(n) < 0.2).astype(float),
        members={"reader": rng.integers(-1, 3, n)},
        conditions={"hour": rng.standard_normal(n)},
    )


@dataclass(frozen=True)
class Dense:
    """The plain joint normal, written out: evidence, fixed part, and levels asked for."""

    log_likelihood: float
    fixed_mean: Floats
    fixed_cov: Floats
    mean: Floats
    cov: Floats


def by_hand(model: DynamicModel, hyper: Mapping[str, float]) -> tuple[Floats, ...]:
    """What each term's doses are worth on each day, by summing over ages; and on the day itself."""
    whole, now = [], []
    for term in model.terms:
        dose = term.dose
        if term.again is not None:
            dose = np.minimum(dose, 1) + hyper[term.again] * np.maximum(dose - 1, 0)
        weights = np.array([weight(term, age, hyper) for age in range(model.days)])
        if isinstance(term.kernel, Held):
            whole.append(dose)
            now.append(0 * dose)
            continue
        felt = np.zeros_like(dose)
        for day in range(model.days):
            felt[:, day] = dose[:, : day + 1][:, ::-1] @ weights[: day + 1]
        whole.append(felt)
        now.append(weights[0] * dose)
    return np.array(whole), np.array(now)


def weight(term: Term, age: int, hyper: Mapping[str, float]) -> float:
    """What a dose is worth at an age, from the definitions of the kernels."""
    match term.kernel:
        case Pulse(half):
            return 0.5 ** (age / hyper[half])
        case Window(first, last, edge, longest):
            rises = 1.0 if first is None else 1 / (1 + np.exp(-(age - hyper[first] - 0.5) / edge))
            return rises / (1 + np.exp(-(hyper[last] + 0.5 - age) / edge)) * (age <= longest)
    return 1.0


def fixed_part(
    model: DynamicModel, rows: Readings, hyper: Mapping[str, float], asked: tuple[Floats, Floats]
) -> tuple[Floats, Floats, Floats]:
    """Columns of readings and asked levels, prior mean and variance of the fixed part."""
    whole, now = by_hand(model, hyper)
    unit, day = np.append(rows.unit, asked[0]), np.append(rows.day, asked[1])
    n, more = len(rows), len(asked[0])
    before = np.append(rows.before, np.zeros(more))
    columns, mean, variance = [np.ones(n + more)], [model.level], [model.level_sd**2]
    for one in model.covariates:
        columns.append(np.broadcast_to(one.values, (model.units, model.days))[unit, day])
    for one in model.conditions:
        columns.append(np.append(rows.conditions[one.name], np.zeros(more)))
    for one in (*model.covariates, *model.conditions):
        mean, variance = [*mean, one.mean], [*variance, one.sd**2]
    for group in model.groups:
        member = np.append(rows.members[group.name], np.full(more, -1))
        columns += [(member == k).astype(float) for k in range(group.size)]
        mean += [0.0] * group.size
        variance += [hyper[f"group:{group.name}"] ** 2] * group.size
    for k, term in enumerate(model.terms):
        columns.append(whole[k][unit, day] - before * now[k][unit, day])
        mean, variance = [*mean, term.mean], [*variance, term.sd**2]
    return np.column_stack(columns), np.array(mean), np.array(variance)


def dense(
    model: DynamicModel, rows: Readings, hyper: Mapping[str, float], asked: tuple[Floats, Floats]
) -> Dense:
    """Condition the whole joint normal of readings and asked levels at once."""
    columns, centre, variance = fixed_part(model, rows, hyper, asked)
    n = len(rows)
    unit, day = np.append(rows.unit, asked[0]), np.append(rows.day, asked[1])
    same, gap = unit[:, None] == unit[None, :], np.abs(day[:, None] - day[None, :])
    own = hyper["unit_sd"] ** 2 + hyper["own_sd"] ** 2 * np.exp(-gap / hyper["own_time"])
    for k, term in enumerate(model.terms):
        if term.apart is not None:
            column = columns[:, columns.shape[1] - len(model.terms) + k]
            own = own + hyper[f"apart:{term.name}"] ** 2 * np.outer(column, column)
    cov = (columns * variance) @ columns.T + same * own
    cov += hyper["day_sd"] ** 2 * np.exp(-gap / hyper["day_time"])
    noise = hyper["noise_sd"] ** 2 / rows.count + hyper["set_sd"] ** 2
    cov[np.arange(n), np.arange(n)] += rows.settled * noise + rows.variance
    prior = columns @ centre
    inverse = np.linalg.inv(cov[:n, :n])
    away = rows.value - prior[:n]
    log_det = np.linalg.slogdet(cov[:n, :n])[1]
    value = -0.5 * (away @ inverse @ away + log_det + n * np.log(2 * np.pi))
    value -= rows.free.sum() * np.log(hyper["noise_sd"])
    value -= rows.squares.sum() / (2 * hyper["noise_sd"] ** 2)
    gain = variance[:, None] * columns[:n].T @ inverse
    ahead = cov[n:, :n] @ inverse
    return Dense(
        log_likelihood=float(value),
        fixed_mean=centre + gain @ away,
        fixed_cov=np.diag(variance) - gain @ columns[:n] * variance,
        mean=prior[n:] + ahead @ away,
        cov=cov[n:, n:] - ahead @ cov[:n, n:],
    )
