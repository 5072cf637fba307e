"""Learning what practices do here: time to fit, to fit again, and what grows with the days.

The records are invented, of noise about a plain response; each model has 17
hyper-parameters: six terms of all kernels, three of them departing by unit, a rater's shift, a
covariate, the time of day. Outcomes are fitted side by side in processes: threads wait for one
another.
"""

from __future__ import annotations

import resource
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context

import numpy as np

from bench.timing import Row, seconds
from greenwright.stats.dynamic import (
    SCALES,
    Condition,
    Covariate,
    DynamicFit,
    DynamicModel,
    Group,
    Held,
    Kernel,
    Pulse,
    Readings,
    Term,
    Window,
    fit_dynamic,
    readings,
    refit,
)
from greenwright.stats.dynamic.evidence import condition
from greenwright.stats.dynamic.layout import lay_out
from greenwright.stats.dynamic.slope import slopes
from greenwright.stats.hyper import HyperPrior
from greenwright.stats.pooling import one_blas_thread

YEAR, PAIRS, WORKERS = 365, 6, 2
APART = HyperPrior(0.05, 0.7)


@dataclass(frozen=True, slots=True)
class Case:
    """A record to learn from: calendar, share of units read on a day, seed."""

    units: int
    days: int
    share: float
    seed: int = 1


def model(case: Case) -> DynamicModel:
    """Return the model of a record: every kernel, departures, a covariate, a condition."""
    rng = np.random.default_rng([case.seed, 1])
    scales = {n: HyperPrior(4.0 if n.endswith("time") else 0.1, 0.6) for n in SCALES}
    medians = {"press.half": 0.9, "press.again": 0.4, "dust.first": 1.5, "dust.last": 8.0}
    medians |= {"comb.half": 1.0, "turn.half": 4.0}
    return DynamicModel(
        case.units,
        case.days,
        2.9,
        0.5,
        scales,
        {name: HyperPrior(value, 0.4) for name, value in medians.items()},
        _terms(rng, (case.units, case.days)),
        (Covariate("warmth", rng.standard_normal((1, case.days)), 0.0, 0.2),),
        (Condition("hour", 0.0, 0.1),),
        (Group("rater", 3, HyperPrior(0.05, 0.6)),),
    )


def _terms(rng: np.random.Generator, shape: tuple[int, int]) -> tuple[Term, ...]:
    press = (rng.random(shape) < 0.4) + 1.0 * (rng.random(shape) < 0.1)
    dust, comb, turn = ((rng.random(shape) < 0.1) * 1.0 for _ in range(3))
    kernels: dict[str, tuple[np.ndarray, Kernel]] = {
        "press": (press, Pulse("press.half")),
        "dust early": (dust, Window(None, "dust.first")),
        "dust late": (dust, Window("dust.first", "dust.last")),
        "comb": (comb, Pulse("comb.half")),
        "turn": (turn, Pulse("turn.half")),
        "set": (rng.standard_normal(shape), Held()),
    }
    apart = {"press": APART, "dust early": APART, "set": APART}
    again = {"press": "press.again"}
    return tuple(
        Term(n, n.split()[0], dose, kernel, 0.0, 0.2, apart.get(n), again.get(n))
        for n, (dose, kernel) in kernels.items()
    )


def record(case: Case) -> Readings:
    """Return sets of readings: a response to each press that halves in a day, and noise."""
    rng = np.random.default_rng([case.seed, 2])
    press = model(case).terms[0].dose
    felt = np.zeros(press.shape)
    for day in range(case.days):
        felt[:, day] = press[:, day] + (0.5 * felt[:, day - 1] if day else 0.0)
    level = 2.9 + 0.1 * rng.standard_normal((case.units, 1)) + 0.15 * felt
    unit, day = np.nonzero(rng.random(press.shape) < case.share)
    n = len(unit)
    return readings(
        level[unit, day] + 0.12 * rng.standard_normal(n),
        unit,
        day,
        count=3.0,
        squares=0.005 * rng.chisquare(2, n),
        before=(rng.random(n) < 0.2).astype(float),
        members={"rater": rng.integers(0, 3, n)},
        conditions={"hour": rng.standard_normal(n)},
    )


def until(rows: Readings, day: int) -> Readings:
    """Return the readings before a day."""
    kept = rows.day < day
    plain = ("value", "unit", "day", "count", "squares", "free", "variance", "before", "settled")
    return replace(
        rows,
        **{name: getattr(rows, name)[kept] for name in plain},
        members={k: v[kept] for k, v in rows.members.items()},
        conditions={k: v[kept] for k, v in rows.conditions.items()},
    )


def fitted(case: Case) -> DynamicFit:
    """Fit a record from the start."""
    return fit_dynamic(model(case), record(case), rng=np.random.default_rng(0), pairs=PAIRS)


def fit_time(case: Case) -> float:
    """Return the time of one fit [s]; the record is made beforehand."""
    made, rows = model(case), record(case)
    return seconds(lambda: fit_dynamic(made, rows, rng=np.random.default_rng(0), pairs=PAIRS))


def refit_time(case: Case) -> float:
    """Return the time to take in the last day's readings, all before known [s]."""
    made, rows = model(case), record(case)
    known = until(rows, case.days - 1)
    before = fit_dynamic(made, known, rng=np.random.default_rng(0), pairs=PAIRS)
    return min(seconds(lambda: refit(before, made, rows)) for _ in range(3))


def outcomes(case: Case, count: int) -> list[Case]:
    """Return as many records as outcomes, each of its own readings."""
    return [replace(case, seed=1 + k) for k in range(count)]


def side_by_side(cases: list[Case], pool: ProcessPoolExecutor) -> float:
    """Return the time until several outcomes are fitted on two running processes [s]."""
    return seconds(lambda: list(pool.map(fit_time, cases)))


def peak_gb(case: Case) -> float:
    """Return the most memory this process ever held, a fit of the record included [GB]."""
    fitted(case)
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20


def curve(years: tuple[int, ...] = (1, 2, 3, 5)) -> tuple[str, list[float]]:
    """Return seconds per evaluation and thousand readings over years of 18 units."""
    cost = []
    for many in years:
        case = Case(18, many * YEAR, 0.18)
        made, rows = model(case), record(case)
        layout, hyper = lay_out(made, rows), {n: p.median for n, p in made.hypers.items()}
        with one_blas_thread():
            best = min(seconds(lambda a=layout, h=hyper: slopes(a, condition(a, h))) for _ in "123")
        cost.append(1e3 * best / len(rows))
    told = ", ".join(f"{y} y {c:.4f}" for y, c in zip(years, cost, strict=True))
    return told, cost


def rows() -> list[Row]:
    """Return times and memory of learning."""
    season, three, five = Case(19, 240, 0.4), Case(18, 3 * YEAR, 0.18), Case(27, 5 * YEAR, 0.165)
    fit_time(Case(4, 60, 0.5))
    with ProcessPoolExecutor(WORKERS, get_context("spawn")) as pool:
        side_by_side(outcomes(Case(4, 60, 0.5), 2 * WORKERS), pool)
        several = side_by_side(outcomes(season, 3), pool)
        years = side_by_side(outcomes(three, 4), pool)
    with ProcessPoolExecutor(1, get_context("spawn")) as pool:
        memory = pool.submit(peak_gb, five).result()
    told, cost = curve()
    sets = len(record(five))
    return [
        Row("learn 19 x 240 days, one outcome", fit_time(season), "s", 1.5),
        Row("learn 19 x 240 days, three outcomes on two cores", several, "s", 2.5),
        Row("learn again after a day, 19 x 240 days", refit_time(season), "s", 0.5),
        Row("learn 18 x 3 years, four outcomes on two cores", years, "s", 10.0),
        Row("learn again after a day, 18 x 3 years", refit_time(three), "s", 0.5),
        Row("learn 27 x 5 years", fit_time(five), "s", 30.0, beside=f"{sets:,} sets"),
        Row("learn 27 x 5 years, memory of the process", memory, "GB", 1.5),
        Row("learn again after a day, 27 x 5 years", refit_time(five), "s", 0.5),
        Row("cost of a set, 5 years over 1 year", cost[-1] / cost[0], "x", 1.5,
            beside=f"s per evaluation and thousand sets: {told}"),
    ]  # fmt: skip
