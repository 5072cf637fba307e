"""Decisions on two practices: what the first said of the levels stays for the next."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.stats.dynamic import (
    Decisions,
    DynamicFit,
    DynamicModel,
    Pulse,
    Readings,
    Term,
    effects,
    fit_decided,
    fit_dynamic,
    kept,
    readings,
)
from greenwright.stats.dynamic.evidence import condition
from greenwright.stats.hyper import HyperPrior
from tests.stats.dynamic.worlds import scales

UNITS, DAYS, NEED = 8, 120, 5.0
EFFECT = {"press": 0.3, "comb": 0.12}
SCALES = {
    "noise_sd": 0.05, "set_sd": 0.05, "unit_sd": 0.1, "day_sd": 0.15,
    "day_time": 3.0, "own_sd": 0.12, "own_time": 3.0,
}  # fmt: skip


def world(seed: int) -> tuple[dict[str, np.ndarray], Readings]:
    """Two practices by need: each is done where the level before work looks low; doses halve."""
    rng = np.random.default_rng([seed, 31])
    shared, own, left = np.zeros(1), np.zeros(UNITS), {n: np.zeros(UNITS) for n in EFFECT}
    unit_level, keep = 0.1 * rng.standard_normal(UNITS), np.exp(-1 / 3.0)
    dose = {n: np.zeros((UNITS, DAYS)) for n in EFFECT}
    rows = []
    for day in range(DAYS):
        shared = keep * shared + 0.15 * np.sqrt(1 - keep**2) * rng.standard_normal()
        own = keep * own + 0.12 * np.sqrt(1 - keep**2) * rng.standard_normal(UNITS)
        left = {n: 0.5 * v for n, v in left.items()}
        before = 2.9 + unit_level + shared + own + sum(EFFECT[n] * left[n] for n in EFFECT)
        for name in EFFECT:
            lean = -NEED * (before - 2.9) - 0.3 + rng.standard_normal(UNITS)
            dose[name][:, day] = lean > 0
            left[name] = left[name] + dose[name][:, day]
        for unit in np.flatnonzero(rng.random(UNITS) < 0.4):
            level = before[unit] + sum(EFFECT[n] * dose[n][unit, day] for n in EFFECT)
            rows.append((level + 0.07 * rng.standard_normal(), unit, day))
    value, unit, day = np.array(rows).T
    return dose, readings(value, unit.astype(int), day.astype(int))


def model_of(dose: dict[str, np.ndarray]) -> DynamicModel:
    terms = tuple(Term(n, n, dose[n], Pulse("half"), 0.1, 0.5) for n in EFFECT)
    return DynamicModel(
        UNITS, DAYS, 2.9, 0.3, scales(**SCALES), {"half": HyperPrior(1, 0.3)}, terms
    )


def decisions_of(dose: np.ndarray) -> Decisions:
    unit, day = (a.ravel() for a in np.indices(dose.shape))
    return Decisions(unit, day, dose.ravel(), np.ones((dose.size, 1)), np.ones(dose.size))


Fits = tuple[DynamicFit, DynamicFit, DynamicFit]


@pytest.fixture(scope="module")
def fits() -> list[Fits]:
    """Readings alone; with the comb's decisions; with those and then the press's."""
    made = []
    for seed in range(2):
        dose, rows = world(seed)
        rng = np.random.default_rng(seed)
        plain = fit_dynamic(model_of(dose), rows, rng=rng, pairs=1)
        fit, held = plain, [plain]
        for name in ("comb", "press"):
            found = fit_decided(fit, decisions_of(dose[name]), rng=rng, need_sd=10.0, rounds=1)
            held.append(found.fit)
            fit = kept(found.fit)
        made.append((held[0], held[1], held[2]))
    return made


def test_what_is_kept_says_what_was_believed(fits: list[Fits]) -> None:
    _, first, _ = fits[0]
    again = condition(kept(first).layout, first.hyper)
    # The same rows at the same hyper-parameters: the same belief, but for rounding.
    assert again.mean == pytest.approx(first.at[0].mean, abs=1e-7)
    assert np.diagonal(again.cov) == pytest.approx(np.diagonal(first.at[0].cov), rel=1e-6)
    rows, before = kept(first).layout.rows, first.layout.rows
    read = rows.settled > 0
    assert (rows.value[read] == before.value[read]).all()
    assert not np.allclose(rows.variance[~read], before.variance[~read])


def test_readings_alone_are_kept_as_they_are(fits: list[Fits]) -> None:
    plain, _, _ = fits[0]
    same = kept(plain).layout.rows
    assert (same.value == plain.layout.rows.value).all()
    assert (same.variance == plain.layout.rows.variance).all()


@pytest.mark.parametrize("name", list(EFFECT))
def test_both_practices_are_credited_with_about_what_they_do(fits: list[Fits], name: str) -> None:
    alone = np.array([effects(plain).at(name) for plain, _, _ in fits])
    both = np.array([effects(last).at(name) for _, _, last in fits])
    short = EFFECT[name] - alone[:, 0].mean()
    assert short > 0.1 * EFFECT[name]
    # Nearer than readings alone, and within four standard errors of the mean.
    error = 4 * both[:, 1].mean() / np.sqrt(len(fits))
    assert abs(both[:, 0].mean() - EFFECT[name]) < min(0.6 * short, error)


def test_the_first_practice_is_not_forgotten_when_the_second_is_believed(fits: list[Fits]) -> None:
    for plain, first, last in fits:
        alone, once, twice = (effects(f).at("comb")[0] for f in (plain, first, last))
        assert twice > alone + 0.5 * (once - alone)


def test_nothing_else_of_a_fit_is_touched(fits: list[Fits]) -> None:
    _, first, _ = fits[0]
    same = replace(kept(first), layout=first.layout)
    assert same.at is first.at and (same.top == first.top).all()
