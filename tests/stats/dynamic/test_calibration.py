"""The engine under its own model: ranks of the truth are uniform, and a fault would be seen."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import kstest

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

UNITS, DAYS, WORLDS = 4, 50, 70
TRUE_SCALES = {
    "noise_sd": 0.1, "set_sd": 0.08, "unit_sd": 0.15, "day_sd": 0.12,
    "day_time": 4.0, "own_sd": 0.1, "own_time": 3.0,
}  # fmt: skip


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


def lived(rng: np.random.Generator, model: DynamicModel) -> tuple[Readings, float, np.ndarray]:
    """Draw everything from the prior; give readings, the true effect and the true levels."""
    h = {n: p.median * np.exp(p.log_sd * rng.standard_normal()) for n, p in model.hypers.items()}
    term, warm = model.terms[0], model.covariates[0]
    effect = term.mean + term.sd * rng.standard_normal()
    own_effect = effect + h["apart:press"] * rng.standard_normal((UNITS, 1))
    truth = model.level + model.level_sd * rng.standard_normal()
    truth = truth + h["unit_sd"] * rng.standard_normal((UNITS, 1))
    truth = (
        truth + warm.sd * rng.standard_normal() * warm.values + own_effect * by_hand(model, h)[0][0]
    )
    truth = truth + wandering(rng, 1, h["day_sd"], h["day_time"])
    truth = truth + wandering(rng, UNITS, h["own_sd"], h["own_time"])
    unit, day = np.nonzero(rng.random((UNITS, DAYS)) < 0.5)
    unit, day = unit[day < DAYS - 3], day[day < DAYS - 3]
    single = h["noise_sd"] * rng.standard_normal((len(unit), 3))
    sets = truth[unit, day] + h["set_sd"] * rng.standard_normal(len(unit)) + single.mean(axis=1)
    return (
        readings(sets, unit, day, count=3.0, squares=2 * single.var(axis=1, ddof=1)),
        effect,
        truth,
    )


@pytest.fixture(scope="module")
def ranks() -> dict[str, np.ndarray]:
    """Rank of the truth among draws, 0 to 1: the effect, a level read, and one three days ahead."""
    found: dict[str, list[float]] = {"effect": [], "now": [], "ahead": [], "narrow": []}
    for seed in range(WORLDS):
        rng = np.random.default_rng([seed, 41])
        model = model_for(rng)
        rows, effect, truth = lived(rng, model)
        fit = fit_dynamic(model, rows, rng=rng, pairs=6)
        drawn = effect_draws(fit, n=400, rng=rng).common[:, 0]
        seen = levels(fit, np.array([1, 2]), np.array([DAYS - 20, DAYS - 1])).draws(n=400, rng=rng)
        found["effect"].append(float(np.mean(drawn < effect)))
        found["now"].append(float(np.mean(seen[:, 0] < truth[1, DAYS - 20])))
        found["ahead"].append(float(np.mean(seen[:, 1] < truth[2, DAYS - 1])))
        # The planted fault: an engine that is twice as sure as it should be.
        narrow = drawn.mean() + 0.5 * (drawn - drawn.mean())
        found["narrow"].append(float(np.mean(narrow < effect)))
    return {name: np.array(values) for name, values in found.items()}


@pytest.mark.parametrize("name", ["effect", "now", "ahead"])
def test_ranks_of_the_truth_are_uniform(ranks: dict[str, np.ndarray], name: str) -> None:
    assert kstest(ranks[name], "uniform").pvalue > 0.01
    # 90 % intervals: with 70 worlds the share that holds the truth has sd 3.6 %.
    held = float(np.mean((ranks[name] > 0.05) & (ranks[name] < 0.95)))
    assert abs(held - 0.9) < 0.11


def test_a_planted_fault_is_caught(ranks: dict[str, np.ndarray]) -> None:
    held = float(np.mean((ranks["narrow"] > 0.05) & (ranks["narrow"] < 0.95)))
    # Half the width holds 59 % (normal table: within 0.82 sd).
    assert abs(held - 0.9) > 0.11
    assert kstest(ranks["narrow"], "uniform").pvalue < 0.01
