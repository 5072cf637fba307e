"""Known patients: what was put into a large record comes out of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.stats.dynamic import (
    Condition,
    DynamicFit,
    DynamicModel,
    Group,
    Pulse,
    Readings,
    Term,
    Window,
    change,
    effect_draws,
    effects,
    fit_dynamic,
    levels,
    readings,
)
from greenwright.stats.dynamic.effects import _shape_draws
from greenwright.stats.dynamic.left_out import left_out
from greenwright.stats.hyper import HyperPrior
from tests.stats.dynamic.worlds import by_hand, doses, scales

UNITS, DAYS = 10, 200
TRUE = {"press.half": 2.5, "press.again": 0.4, "dust.first": 3.0, "dust.last": 12.0}
SIZES = {"press": 0.30, "dust early": -0.4, "dust late": 0.25}
HOUR = -0.03
READERS = np.array([0.1, -0.1, 0.0])
OWN = 0.3 + np.linspace(-0.1, 0.1, UNITS)


@pytest.fixture(scope="module")
def model() -> DynamicModel:
    rng = np.random.default_rng(21)
    passes = doses(rng, UNITS, DAYS, 0.3) + doses(rng, UNITS, DAYS, 0.15)
    dust = doses(rng, UNITS, DAYS, 0.05)
    return DynamicModel(
        UNITS, DAYS, 2.5, 1.0,
        scales=scales(noise_sd=0.05, set_sd=0.05, day_sd=0.1, own_sd=0.1, unit_sd=0.1),
        # The priors' medians are wrong on purpose: the record has to move them.
        shapes={
            "press.half": HyperPrior(1.2, 0.6), "press.again": HyperPrior(0.8, 0.6),
            "dust.first": HyperPrior(2.0, 0.4), "dust.last": HyperPrior(8.0, 0.4),
        },
        terms=(
            Term("press", "press", passes, Pulse("press.half"), 0.0, 0.5,
                 HyperPrior(0.05, 0.6), "press.again"),
            Term("dust early", "dust", dust, Window(None, "dust.first"), 0.0, 0.5),
            Term("dust late", "dust", dust, Window("dust.first", "dust.last"), 0.0, 0.5),
        ),
        conditions=(Condition("hour", 0.0, 0.1),),
        groups=(Group("reader", 3, HyperPrior(0.1, 0.5)),),
    )  # fmt: skip


def true_levels(model: DynamicModel) -> np.ndarray:
    rng = np.random.default_rng(22)
    felt = by_hand(model, TRUE)[0]
    worked = OWN[:, None] * felt[0] + SIZES["dust early"] * felt[1] + SIZES["dust late"] * felt[2]
    shared, own = np.zeros((1, DAYS)), np.zeros((UNITS, DAYS))
    for day in range(1, DAYS):
        shared[:, day] = 0.8 * shared[:, day - 1] + 0.06 * rng.standard_normal(1)
        own[:, day] = 0.7 * own[:, day - 1] + 0.06 * rng.standard_normal(UNITS)
    return 2.8 + 0.1 * rng.standard_normal((UNITS, 1)) + worked + shared + own


@pytest.fixture(scope="module")
def rows(model: DynamicModel) -> Readings:
    rng = np.random.default_rng(23)
    unit, day = np.nonzero(rng.random((UNITS, DAYS)) < 0.5)
    hour, who = rng.uniform(0, 4, len(unit)), rng.integers(0, 3, len(unit))
    single = 0.06 * rng.standard_normal((len(unit), 4))
    value = true_levels(model)[unit, day] + HOUR * hour + READERS[who]
    value += 0.05 * rng.standard_normal(len(unit)) + single.mean(axis=1)
    return readings(
        value, unit, day, count=4.0, squares=3 * single.var(axis=1, ddof=1),
        members={"reader": who}, conditions={"hour": hour},
    )  # fmt: skip


@pytest.fixture(scope="module")
def fit(model: DynamicModel, rows: Readings) -> DynamicFit:
    return fit_dynamic(model, rows, rng=np.random.default_rng(24), pairs=6)


def test_effects_come_out_as_they_went_in(fit: DynamicFit) -> None:
    found = effects(fit)
    for name, size in SIZES.items():
        mean, sd = found.at(name)
        assert abs(mean - size) < 3 * sd and sd < 0.1
    assert (found.share_local > 0.9).all()


def test_times_and_shares_are_learned_against_the_prior(fit: DynamicFit) -> None:
    for name, value in TRUE.items():
        assert fit.hyper[name] == pytest.approx(value, rel=0.25)


def test_noise_is_told_apart_by_the_spread_within_sets(fit: DynamicFit) -> None:
    # 1,000 sets of four: the sd of an estimated sd is under 2 %.
    assert fit.hyper["noise_sd"] == pytest.approx(0.06, rel=0.06)
    assert fit.hyper["set_sd"] == pytest.approx(0.05, rel=0.35)


def test_units_that_answer_differently_are_told_apart(fit: DynamicFit) -> None:
    found = effects(fit)
    assert np.corrcoef(found.unit_mean[0], OWN)[0, 1] > 0.9
    held = np.abs(found.unit_mean[0] - OWN) < 1.96 * found.unit_sd[0]
    # Ten units, 95 % each: three misses or more have a chance of 1 %.
    assert held.sum() >= 8


def test_readers_and_hours_are_taken_out(fit: DynamicFit) -> None:
    first, end = fit.layout.border.groups[0]
    shifts = fit.at[0].mean[first:end]
    assert shifts - shifts.mean() == pytest.approx(READERS - READERS.mean(), abs=0.02)
    # The hour's slope stands behind the level and the covariates, of which there is none.
    assert fit.at[0].mean[1] == pytest.approx(HOUR, abs=0.01)


def test_levels_hold_the_truth_as_often_as_they_say(model: DynamicModel, fit: DynamicFit) -> None:
    unit, day = (a.ravel() for a in np.meshgrid(np.arange(UNITS), np.arange(20, DAYS, 20)))
    found = levels(fit, unit, day)
    # Levels share what is left open of the readers, so they are judged jointly: whitened.
    away = found.mean - true_levels(model)[unit, day]
    white = np.linalg.solve(np.linalg.cholesky(found.cov), away)
    # 90 independent normals: the share within 1.64 has an sd of 3 %, the mean square one of 0.15.
    assert 0.8 < np.mean(np.abs(white) < 1.645) <= 1.0
    assert np.mean(white**2) == pytest.approx(1.0, abs=0.45)


def test_a_change_is_laid_at_the_right_door(model: DynamicModel, fit: DynamicFit) -> None:
    felt = by_hand(model, TRUE)[0]
    truth = true_levels(model)
    moves = np.abs(felt[0][3, 1:] - felt[0][3, :-1])
    day = int(moves[20:].argmax()) + 21
    found = change(fit, (3, day - 1), (3, day))
    share = dict(zip(found.parts, found.mean, strict=True))
    spread = dict(zip(found.parts, found.sd, strict=True))
    pressed = OWN[3] * (felt[0][3, day] - felt[0][3, day - 1])
    assert abs(share["press"] - pressed) < 3 * spread["press"]
    total, sd = found.total
    assert abs(total - (truth[3, day] - truth[3, day - 1])) < 3 * sd


def test_draws_go_with_the_times_they_were_drawn_with(fit: DynamicFit) -> None:
    drawn = effect_draws(fit, n=400, rng=np.random.default_rng(1))
    halves = drawn.shapes["press.half"]
    # All different, with the Laplace curve's own spread.
    place = list(fit.layout.model.hypers).index("press.half")
    spread = fit.layout.model.shapes["press.half"].log_sd * np.linalg.norm(fit.root[place])
    assert len(np.unique(halves)) == 400
    assert np.log(halves).std() == pytest.approx(spread, rel=0.15)
    assert drawn.by_unit.shape == (400, 3, UNITS)
    # Terms that do not depart are the same on every unit, draw by draw.
    assert np.ptp(drawn.by_unit[:, 1], axis=1).max() == 0.0


def test_shapes_keep_the_order_of_the_points_they_go_with(fit: DynamicFit) -> None:
    own = np.array([at.hyper["press.half"] for at in fit.at])
    picked = np.repeat(np.arange(len(own)), 30)
    drawn = _shape_draws(fit, "press.half", picked, rng=np.random.default_rng(3))
    by_point = drawn.reshape(len(own), 30)[np.argsort(own)]
    assert (by_point[:-1].max(axis=1) <= by_point[1:].min(axis=1)).all()
    # And what belongs to one point is in no order.
    assert (np.diff(by_point[0]) > 0).any() and (np.diff(by_point[0]) < 0).any()


def test_what_others_say_of_a_reading_scatters_as_it_should(fit: DynamicFit) -> None:
    rows, at = fit.layout.rows, fit.at[0]
    found = left_out(fit.layout, at)
    noise = at.hyper["noise_sd"] ** 2 / rows.count + at.hyper["set_sd"] ** 2
    away = (rows.value - found.mean) / np.sqrt(found.variance + noise)
    assert np.mean(away) == pytest.approx(0.0, abs=0.1)
    assert np.mean(away**2) == pytest.approx(1.0, abs=0.12)


def test_an_alien_dose_is_learned_to_do_nothing(model: DynamicModel, rows: Readings) -> None:
    rng = np.random.default_rng(25)
    alien = Term("alien", "alien", doses(rng, UNITS, DAYS, 0.2), Pulse("press.half"), 0.3, 0.3)
    more = replace(model, terms=(*model.terms, alien))
    mean, sd = effects(fit_dynamic(more, rows, rng=rng, pairs=0)).at("alien")
    # The prior believed in 0.3 +- 0.3; a thousand sets leave nothing of it.
    assert abs(mean) < 3 * sd and sd < 0.03


def test_cost_grows_with_days_no_faster_than_linearly_in_size() -> None:
    """Sizes, not seconds: blocks and chunks stay as long, only their number grows."""
    sizes = {}
    for days in (240, 960):
        rng = np.random.default_rng(3)
        unit, day = np.nonzero(rng.random((6, days)) < 0.5)
        plain = DynamicModel(6, days, 0.0, 1.0, scales())
        rows = readings(np.zeros(len(unit)), unit, day)
        layout = fit_dynamic(plain, rows, rng=rng, pairs=0, gain=1e3).layout
        longest = max(b.row.shape[1] for b in layout.batches)
        widest = max(end - first for first, end in layout.blocks)
        sizes[days] = (longest, widest, len(layout.blocks), len(rows))
    assert sizes[960][0] < 1.3 * sizes[240][0]
    assert sizes[960][1] < 1.7 * sizes[240][1]
    assert sizes[960][2] > 3 * sizes[240][2]
