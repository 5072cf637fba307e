"""Simulated trials in which nothing differs: how often does each design cry wolf?"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from greenwright.verify.declared import Declared, read
from greenwright.verify.designing import lay_out
from greenwright.verify.lot import UNITS, allotted, arrangements, distinct, orders_of
from greenwright.verify.model import model_of
from greenwright.verify.power import (
    _finest,
    _unread,
    critical,
    effect_of,
    f_values,
    foresee,
    simulated,
    told_in,
)
from tests.verify.test_designing import CASES, SD, SIX, TWO, made

RUNS = 5_000


def null_rate(key: str, runs: int, seed: int) -> float:
    plan = made(key)
    data, model, term = _unread(plan)
    slot = told_in(model.splitting, term)
    y = simulated(data, model, SD, rng=np.random.default_rng(seed), runs=runs)
    edge = critical(slot.df, model.splitting.df_rest(slot.stratum), 0.05)
    return float(np.mean(f_values(_finest(model.splitting, term), term, y) > edge))


@pytest.mark.parametrize("key", CASES)
def test_f_cries_wolf_one_time_in_twenty(key: str) -> None:
    rate = null_rate(key, RUNS, 2)
    # 5,000 runs at 5 %: 0.999 of such simulations stay within these ends.
    low, high = binom.ppf([0.0005, 0.9995], RUNS, 0.05) / RUNS
    assert low <= rate <= high and rate <= 0.06


@pytest.mark.parametrize("key", ["split-plot", "complete-block", "crossover"])
def test_a_spoiled_analysis_is_caught(key: str) -> None:
    # Forgetting the blocks' own spread must break the promise somewhere: here by using the F of
    # the coarse stratum's units against the fine error.
    plan = made("split-plot-in-time")
    data, model, term = _unread(plan)
    y = simulated(data, model, SD, rng=np.random.default_rng(4), runs=RUNS)
    slot = told_in(model.splitting, term)
    fine = model.splitting.rest[model.splitting.strata[-1].name]
    wrong = np.sum((slot.basis.T @ y) ** 2, 0) / (np.sum((fine.T @ y) ** 2, 0) / fine.shape[1])
    assert np.mean(wrong > critical(1, fine.shape[1], 0.05)) > 0.2
    assert null_rate(key, 500, 1) < 0.1


def exact_rate(key: str, runs: int, level: float) -> float:
    """Return how often the p by the lot is at or under a level where nothing differs."""
    plan = made(key)
    data, model, term = _unread(plan)
    y = simulated(data, model, SD, rng=np.random.default_rng(9), runs=runs)
    dealt = allotted(data, term)
    orders, listed = orders_of(dealt, np.random.default_rng(1))
    assert listed
    split = _finest(model.splitting, term)
    own = f_values(split, term, y)
    high = np.zeros(runs)
    for order in orders:
        high += f_values(split, term, y[order]) >= own * (1 - 1e-9)
    return float(np.mean(high / len(orders) <= level + 1e-12))


@pytest.mark.parametrize("key", ["completely-randomised", "crossover", "before-after",
                                 "half-greens", "stepped-wedge"])  # fmt: skip
@pytest.mark.parametrize("level", [0.05, 0.1, 0.2])
def test_the_lot_never_cries_wolf_more_than_it_says(key: str, level: float) -> None:
    runs = 2_000
    # An exact test: the chance is at most the level; the simulation's own scatter is allowed for.
    assert exact_rate(key, runs, level) <= binom.ppf(0.9999, runs, level) / runs


@pytest.mark.parametrize("key", CASES)
def test_many_more_runs_of_every_design(key: str) -> None:
    assert 0.046 <= null_rate(key, 40_000, 5) <= 0.054


@pytest.mark.parametrize("key", ["completely-randomised", "crossover", "half-greens"])
def test_the_lot_in_five_thousand_runs(key: str) -> None:
    for level in (0.05, 0.1):
        assert exact_rate(key, 5_000, level) <= binom.ppf(0.9999, 5_000, level) / 5_000


@pytest.mark.parametrize("key", ["crossover", "split-plot", "complete-block", "latin-square"])
def test_power_is_kept(key: str) -> None:
    plan = made(key)
    promised = foresee(plan, sd=SD, difference=0.2)
    data, model, term = _unread(plan)
    slot = told_in(model.splitting, term)
    y = simulated(data, model, SD, rng=np.random.default_rng(77), runs=RUNS)
    y = y + 0.2 * effect_of(data, plan)[:, None]
    edge = critical(slot.df, model.splitting.df_rest(slot.stratum), 0.05)
    seen = float(np.mean(f_values(_finest(model.splitting, term), term, y) > edge))
    assert seen == pytest.approx(promised.power, abs=5 * promised.error + 0.005)


def test_every_distinct_deal_is_listed_once() -> None:
    held = list(distinct([0, 0, 0, 1, 1, 1]))
    assert len(held) == len(set(held)) == arrangements([0, 0, 0, 1, 1, 1]) == 20


def test_greens_are_exchanged_whole() -> None:
    plan = lay_out("crossover", factors=TWO, units=SIX[:4], seed=2, periods=2)
    table = plan.table() | {"y": [str(float(i)) for i in range(8)]}
    data = read(table, Declared("crossover", "y", plan.roles))
    orders, _ = orders_of(allotted(data, "way"), np.random.default_rng(1))
    assert len(orders) == 6 and set(UNITS) <= set(CASES)
    assert model_of(data).compared == ("way",)
    for order in orders:
        pairs = data.y[order].reshape(4, 2)
        assert np.allclose(pairs[:, 1] - pairs[:, 0], 1.0)
