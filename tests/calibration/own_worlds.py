"""Worlds drawn from the dynamic model's own prior: where among its draws does the truth rank?

If the engine is right, each rank is uniform. ``python -m tests.calibration.own_worlds 500`` runs
many and prints a table; the suite runs some.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chisquare, kstest

from greenwright.stats.dynamic import (
    Covariate,
    DynamicModel,
    Pulse,
    Readings,
    Term,
    effect_draws,
    fit_dynamic,
    levels,
    readings,
)
from greenwright.stats.hyper import HyperPrior
from tests.stats.dynamic.worlds import by_hand, doses

UNITS, DAYS, DRAWS = 4, 50, 400
WHATS = ("effect", "now", "ahead", "half-life", "departure", "narrow")
"""Effect of one dose, a level read, one three days ahead, the half-life, one unit's departure from
the effect; and the planted fault, an effect whose draws are half as wide as they should be."""
TRUE_SCALES = {
    "noise_sd": 0.1, "set_sd": 0.08, "unit_sd": 0.15, "day_sd": 0.12,
    "day_time": 4.0, "own_sd": 0.1, "own_time": 3.0,
}  # fmt: skip


@dataclass(frozen=True)
class Lived:
    """A world: what was read, and what is true."""

    rows: Readings
    effect: float
    half: float
    departure: np.ndarray
    level: np.ndarray


def model_for(rng: np.random.Generator) -> DynamicModel:
    return DynamicModel(
        UNITS, DAYS, 3.0, 0.4,
        scales={name: HyperPrior(value, 0.4) for name, value in TRUE_SCALES.items()},
        shapes={"half": HyperPrior(1.5, 0.4)},
        terms=(Term("press", "press", doses(rng, UNITS, DAYS, 0.25), Pulse("half"), 0.1, 0.2,
                    HyperPrior(0.05, 0.5)),),
        covariates=(Covariate("warmth", rng.standard_normal((1, DAYS)), 0.0, 0.2),),
    )  # fmt: skip


def wandering(rng: np.random.Generator, size: int, sd: float, time: float) -> np.ndarray:
    path, keep = np.empty((size, DAYS)), np.exp(-1 / time)
    path[:, 0] = sd * rng.standard_normal(size)
    for day in range(1, DAYS):
        fresh = sd * np.sqrt(1 - keep**2) * rng.standard_normal(size)
        path[:, day] = keep * path[:, day - 1] + fresh
    return path


def lived(rng: np.random.Generator, model: DynamicModel) -> Lived:
    """Draw everything from the prior, nothing fixed."""
    h = {n: p.median * np.exp(p.log_sd * rng.standard_normal()) for n, p in model.hypers.items()}
    term, warm = model.terms[0], model.covariates[0]
    effect = term.mean + term.sd * rng.standard_normal()
    departure = h["apart:press"] * rng.standard_normal((UNITS, 1))
    truth = model.level + model.level_sd * rng.standard_normal()
    truth = truth + h["unit_sd"] * rng.standard_normal((UNITS, 1))
    truth = truth + warm.sd * rng.standard_normal() * warm.values
    truth = truth + (effect + departure) * by_hand(model, h)[0][0]
    truth = truth + wandering(rng, 1, h["day_sd"], h["day_time"])
    truth = truth + wandering(rng, UNITS, h["own_sd"], h["own_time"])
    unit, day = np.nonzero(rng.random((UNITS, DAYS)) < 0.5)
    unit, day = unit[day < DAYS - 3], day[day < DAYS - 3]
    single = h["noise_sd"] * rng.standard_normal((len(unit), 3))
    sets = truth[unit, day] + h["set_sd"] * rng.standard_normal(len(unit)) + single.mean(axis=1)
    rows = readings(sets, unit, day, count=3.0, squares=2 * single.var(axis=1, ddof=1))
    return Lived(rows, float(effect), h["half"], departure[:, 0], truth)


def rank(drawn: np.ndarray, truth: float) -> float:
    return float(np.mean(drawn < truth))


def ranked(seed: int) -> dict[str, float]:
    """Fit one world; return the rank of each truth among draws, 0 to 1."""
    rng = np.random.default_rng([seed, 41])
    model = model_for(rng)
    world = lived(rng, model)
    fit = fit_dynamic(model, world.rows, rng=rng, pairs=6)
    drawn = effect_draws(fit, n=DRAWS, rng=rng)
    seen = levels(fit, np.array([1, 2]), np.array([DAYS - 20, DAYS - 1])).draws(n=DRAWS, rng=rng)
    common = drawn.common[:, 0]
    narrow = common.mean() + 0.5 * (common - common.mean())
    return {
        "effect": rank(common, world.effect),
        "now": rank(seen[:, 0], world.level[1, DAYS - 20]),
        "ahead": rank(seen[:, 1], world.level[2, DAYS - 1]),
        "half-life": rank(drawn.shapes["half"], world.half),
        "departure": rank(drawn.by_unit[:, 0, 0] - common, world.departure[0]),
        "narrow": rank(narrow, world.effect),
    }


def ranks(seeds: Sequence[int]) -> dict[str, np.ndarray]:
    found = [ranked(seed) for seed in seeds]
    return {what: np.array([one[what] for one in found]) for what in WHATS}


def held(of: np.ndarray) -> float:
    """Share of 90 % intervals that hold the truth."""
    return float(np.mean((of > 0.05) & (of < 0.95)))


def evenness(of: np.ndarray) -> tuple[float, float]:
    """P values that ranks are uniform: chi-square over ten bins, Kolmogorov-Smirnov."""
    counts = np.histogram(of, bins=10, range=(0, 1))[0]
    return float(chisquare(counts).pvalue), float(kstest(of, "uniform").pvalue)


def table(found: Mapping[str, np.ndarray]) -> str:
    lines = [f"{'ranks of':<10}  chi-square p      KS p   90 % hold"]
    for what, of in found.items():
        chi, ks = evenness(of)
        lines.append(f"{what:<10}  {chi:12.3g}  {ks:8.3g}  {held(of):10.3f}")
    return "\n".join(lines)


def main() -> int:
    """Print the table of as many worlds as asked; the exit code says whether ranks are even."""
    found = ranks(range(int(sys.argv[1])))
    print(table(found))
    sound = [min(evenness(of)) for what, of in found.items() if what != "narrow"]
    return int(min(sound) < 0.001 or max(evenness(found["narrow"])) > 0.001)


if __name__ == "__main__":
    sys.exit(main())
