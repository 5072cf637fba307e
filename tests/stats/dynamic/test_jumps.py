"""A step that stays is found with its date and size, and slow wandering is not taken for one."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from greenwright.stats.dynamic import DynamicFit, DynamicModel, fit_dynamic, readings
from greenwright.stats.dynamic.jumps import common_jump, likeliest, unit_jumps
from tests.stats.dynamic.worlds import scales

UNITS, DAYS, TURN = 6, 160, 90


def wander(n: int, time: float, rng: np.random.Generator) -> np.ndarray:
    """A path of sd 1 that forgets by exp(-1 / time) a day."""
    keep, path = np.exp(-1 / time), np.empty(n)
    path[0] = rng.standard_normal()
    for k in range(1, n):
        path[k] = keep * path[k - 1] + np.sqrt(1 - keep**2) * rng.standard_normal()
    return path


@cache
def fitted(
    seed: int, *, all_units: float = 0.0, one_unit: float = 0.0, share: float = 0.5
) -> DynamicFit:
    """Units that wander together and each alone, with a step planted on day TURN."""
    rng = np.random.default_rng(seed)
    unit, day = np.nonzero(rng.random((UNITS, DAYS)) < share)
    value = 2.9 + 0.07 * wander(DAYS, 3.0, rng)[day]
    value += 0.06 * np.array([wander(DAYS, 2.0, rng) for _ in range(UNITS)])[unit, day]
    value += 0.06 * rng.standard_normal(len(unit)) + all_units * (day >= TURN)
    value += one_unit * ((day >= TURN) & (unit == 2))
    model = DynamicModel(UNITS, DAYS, 2.9, 0.3, scales(own_sd=0.06, day_sd=0.08, unit_sd=0.1))
    return fit_dynamic(model, readings(value, unit, day), rng=rng, pairs=0)


def test_without_wandering_it_is_the_classical_comparison_of_two_means() -> None:
    """With a free level and noise of sd 1 the likelihood ratio is the square of z, by hand."""
    rng = np.random.default_rng(3)
    day = np.arange(40)
    value = rng.standard_normal(40) + 2.0 * (day >= 25)
    found = likeliest(value, [np.eye(40) + 1e6], day)
    z = []
    for cut in range(4, 36):
        before, after = value[:cut], value[cut:]
        z.append((after.mean() - before.mean()) / np.sqrt(1 / len(before) + 1 / len(after)))
    best = int(np.argmax(np.abs(z)))
    assert found.day == 4 + best
    # a search over all dates is worth 3 in the ratio
    assert found.score**2 == pytest.approx(z[best] ** 2 - 3, rel=1e-4)
    assert found.size == pytest.approx(value[found.day :].mean() - value[: found.day].mean(), 1e-3)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_step_of_all_is_dated_and_sized(seed: int) -> None:
    found = common_jump(fitted(seed, all_units=0.3))
    assert found is not None and found.unit is None
    assert found.score > 3.5
    assert abs(found.day - TURN) <= 2
    assert abs(found.size - 0.3) < 0.12


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_step_of_one_unit_is_named(seed: int) -> None:
    found = unit_jumps(fitted(seed, one_unit=0.35))
    assert found[0].unit == 2 and found[0].score > 3.5
    assert abs(found[0].day - TURN) <= 8
    assert abs(found[0].size - 0.35) < 0.15
    assert [j.score for j in found] == sorted((j.score for j in found), reverse=True)


def test_wandering_alone_is_no_step() -> None:
    """Of 8 records each, none reaches the alarm of 3.5, which a normal passes once in 4,000."""
    fits = [fitted(seed) for seed in range(10, 18)]
    common = [common_jump(fit) for fit in fits]
    assert max(j.score for j in common if j) < 3.5
    assert max(unit_jumps(fit)[0].score for fit in fits) < 3.5


def test_a_step_of_one_is_not_told_of_all() -> None:
    found = common_jump(fitted(1, one_unit=0.35))
    assert found is not None and found.score < 3.5


def test_units_read_alone_or_seldom_say_nothing() -> None:
    rng = np.random.default_rng(5)
    day = np.arange(120)
    model = DynamicModel(4, 120, 2.9, 0.3, scales())
    alone = readings(2.9 + 0.1 * rng.standard_normal(120), day % 4, day)
    assert unit_jumps(fit_dynamic(model, alone, rng=rng, pairs=0)) == ()
    few = replace(model, days=20)
    some = readings(2.9 + 0.1 * rng.standard_normal(20), np.arange(20) % 4, np.arange(20))
    assert common_jump(fit_dynamic(few, some, rng=rng, pairs=0)) is None


@pytest.mark.parametrize("seed", [1, 2, 4])
def test_a_larger_step_is_plainer(seed: int) -> None:
    found = [common_jump(fitted(seed, all_units=size)) for size in (0.0, 0.2, 0.4, 0.6)]
    scores = [j.score for j in found if j]
    assert scores == sorted(scores) and len(scores) == 4
