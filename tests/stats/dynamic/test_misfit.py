"""Surprises are standard normal under the model, and patterns are seen where they are planted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.stats.dynamic import (
    Covariate,
    DynamicModel,
    Readings,
    fit_dynamic,
    readings,
    signs,
    surprises,
)
from greenwright.stats.dynamic.evidence import condition
from greenwright.stats.dynamic.misfit import own_slopes
from tests.stats.dynamic.worlds import dense, rich_model, rich_readings, scales

UNITS, DAYS = 6, 120


def world(
    seed: int, *, step: float = 0.0, tail: float = 0.0, lean: float = 0.0, own: float = 0.0
) -> tuple[DynamicModel, Readings]:
    """Readings that scatter about a level, with a fault planted."""
    rng = np.random.default_rng(seed)
    unit, day = np.nonzero(rng.random((UNITS, DAYS)) < 0.6)
    wet = rng.standard_normal(DAYS)
    noise = 0.1 * rng.standard_normal(len(unit))
    noise += tail * (rng.random(len(unit)) < 0.03) * rng.choice([-1.0, 1.0], len(unit))
    slope = lean * np.linspace(-1, 1, UNITS)[unit]
    values = 2.9 + step * (day > 60) + slope * wet[day] + noise
    values += own * ((day > 60) & np.isin(unit, (1, 4)))
    model = DynamicModel(UNITS, DAYS, 2.9, 0.3, scales(own_sd=0.05, day_sd=0.05, unit_sd=0.05),
                         covariates=(Covariate("wet", wet[None], 0.0, 0.2),))  # fmt: skip
    return model, readings(values, unit, day)


def scores(seed: int, **fault: float) -> dict[str, float]:
    model, rows = world(seed, **fault)
    fit = fit_dynamic(model, rows, rng=np.random.default_rng(seed), pairs=0)
    return {sign.name: sign.score for sign in signs(fit, surprises(fit))}


def test_surprises_multiply_to_the_evidence() -> None:
    """One-step densities multiply to the joint one: squares add to the dense quadratic form."""
    model = rich_model()
    rows = rich_readings(model)
    fit = fit_dynamic(model, rows, rng=np.random.default_rng(0), pairs=0)
    found = surprises(fit)
    plain = dense(model, rows, fit.hyper, (np.array([0]), np.array([0])))
    within = rows.free.sum() * np.log(fit.hyper["noise_sd"])
    within += rows.squares.sum() / (2 * fit.hyper["noise_sd"] ** 2)
    assert (np.diff(rows.day[found.row]) >= 0).all()
    root = plain.log_likelihood + within + 0.5 * float(found.value @ found.value)
    # What is left is the normalising constant, which does not depend on the values read.
    shifted = readings(
        rows.value + 0.3, rows.unit, rows.day, count=rows.count, variance=0.001,
        before=rows.before, members=rows.members, conditions=rows.conditions,
    )  # fmt: skip
    other = dense(model, shifted, fit.hyper, (np.array([0]), np.array([0])))
    from_other = fit_at(model, shifted, dict(fit.hyper))
    assert other.log_likelihood + 0.5 * from_other == pytest.approx(root, abs=1e-6)


def fit_at(model: DynamicModel, rows: Readings, hyper: dict[str, float]) -> float:
    """Squares of the surprises of other readings at given hyper-parameters."""
    fit = fit_dynamic(model, rows, rng=np.random.default_rng(0), pairs=0)
    there = replace(fit, at=(condition(fit.layout, hyper),))
    value = surprises(there).value
    return float(value @ value)


def test_a_right_model_raises_no_sign() -> None:
    worst = [max(abs(s) for s in scores(seed).values()) for seed in range(5)]
    # Five records of four signs: the chance that a normal passes 4 in one of them is 0.1 %.
    assert max(worst) < 4


@pytest.mark.parametrize(
    ("fault", "sign"),
    [
        ({"step": 0.6}, "step"),
        ({"tail": 0.8}, "tails"),
        ({"lean": 0.1}, "own slope on wet"),
        ({"own": 0.4}, "unit step"),
    ],
)
def test_planted_faults_are_seen(fault: dict[str, float], sign: str) -> None:
    assert scores(11, **fault)[sign] > 3


def test_a_step_says_when_and_whose() -> None:
    model, rows = world(11, own=0.4)
    fit = fit_dynamic(model, rows, rng=np.random.default_rng(11), pairs=0)
    (found,) = [s for s in signs(fit, surprises(fit)) if s.name == "unit step"]
    assert found.day is not None and abs(found.day - 61) <= 4  # planted after day 60
    assert set(found.units) == {1, 4}


def test_own_slopes_score_as_a_normal_does() -> None:
    """The sum of squared slopes of 12 units is a chi-square; its 99th percentile scores 2.33."""
    # tables of the chi-square: 26.217 for 12 at 0.99; the rule of the cube root by hand
    rest = 2 / (9 * 12)
    assert ((26.217 / 12) ** (1 / 3) - (1 - rest)) / np.sqrt(rest) == pytest.approx(2.33, abs=0.02)
    rng = np.random.default_rng(2)
    unit = np.repeat(np.arange(12), 40)
    wet = rng.standard_normal(480)
    scores = [own_slopes(rng.standard_normal(480), wet, unit) for _ in range(800)]
    # mean of 800 standard normals is within 0.1, the share over 1.645 within 0.025
    assert abs(np.mean(scores)) < 0.12
    assert np.mean(np.array(scores) > 1.645) == pytest.approx(0.05, abs=0.025)


def test_a_handful_of_readings_says_nothing() -> None:
    model, rows = world(1)
    few = readings(rows.value[:10], rows.unit[:10], rows.day[:10])
    fit = fit_dynamic(model, few, rng=np.random.default_rng(0), pairs=0)
    assert signs(fit, surprises(fit)) == ()
