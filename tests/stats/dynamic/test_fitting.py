"""Fitting: closed forms, priors given back where nothing was read, warm starts, more readings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.stats.dynamic import (
    DynamicModel,
    Readings,
    effect_draws,
    effects,
    fit_dynamic,
    joined,
    readings,
    refit,
)
from greenwright.stats.dynamic.evidence import condition
from greenwright.stats.dynamic.fitting import _steps, hill, log_posterior, named
from greenwright.stats.dynamic.layout import lay_out
from greenwright.stats.dynamic.slope import slopes
from greenwright.stats.hyper import HyperPrior
from tests.stats.dynamic.worlds import rich_model, rich_readings, scales


def balanced(units: int, sets: int, *, seed: int) -> Readings:
    rng = np.random.default_rng(seed)
    level = 0.5 * rng.standard_normal(units)
    values = 10 + level[:, None] + 0.3 * rng.standard_normal((units, sets))
    unit = np.repeat(np.arange(units), sets)
    return readings(values.ravel(), unit, np.tile(np.arange(sets), units))


def test_balanced_units_give_the_classical_variance_components() -> None:
    """Restricted likelihood of a balanced one-way layout is the analysis of variance.

    Closed form (textbook result for balanced data, both components positive): the within mean
    square, and (between - within) / sets. Processes are held near nothing, priors near flat.
    """
    units, sets = 12, 6
    rows = balanced(units, sets, seed=5)
    table = rows.value.reshape(units, sets)
    within = float(np.square(table - table.mean(axis=1, keepdims=True)).sum()) / (
        units * (sets - 1)
    )
    between = sets * float(table.mean(axis=1).var(ddof=1))
    still = {n: HyperPrior(1e-5, 1e-3) for n in ("day_sd", "own_sd", "noise_sd")}
    flat = {n: HyperPrior(0.3, 300.0) for n in ("set_sd", "unit_sd")}
    model = DynamicModel(units, sets, 10.0, 1e3, scales() | still | flat)
    fit = fit_dynamic(model, rows, rng=np.random.default_rng(0), pairs=0, gain=1e-10)
    assert fit.hyper["set_sd"] ** 2 == pytest.approx(within, rel=1e-3)
    assert fit.hyper["unit_sd"] ** 2 == pytest.approx((between - within) / sets, rel=1e-3)
    assert fit.at[0].mean[0] == pytest.approx(float(table.mean()), abs=1e-5)
    # The unit's own level is the classical shrunken mean.
    shrunk = (1 - within / between) * (table.mean(axis=1) - table.mean())
    own = fit.layout.border.own(np.arange(units))[:, 0]
    assert fit.at[0].mean[own] == pytest.approx(shrunk, abs=1e-4)


def test_with_no_reading_the_priors_come_back() -> None:
    model = rich_model()
    nothing = readings(np.zeros(0), np.zeros(0, int), np.zeros(0, int))
    fit = fit_dynamic(model, nothing, rng=np.random.default_rng(1), pairs=40)
    found = effects(fit)
    assert found.mean == pytest.approx(found.prior_mean, abs=1e-12)
    assert found.sd == pytest.approx(found.prior_sd, rel=1e-9)
    assert found.share_local == pytest.approx(np.zeros(4), abs=1e-9)
    assert fit.top == pytest.approx(np.zeros(len(fit.top)), abs=1e-6)
    # Standard normal steps in prior sds: the curvature of the prior alone is one.
    assert fit.root @ fit.root.T == pytest.approx(np.eye(len(fit.top)), abs=1e-6)
    assert fit.weights[1:] == pytest.approx(np.full(80, fit.weights[1]), rel=1e-6)


def test_the_top_is_higher_than_all_about_it() -> None:
    model = rich_model()
    fit = fit_dynamic(model, rich_readings(model), rng=np.random.default_rng(0), gain=1e-6)
    best = log_posterior(fit.layout, fit.top)[0]
    rng = np.random.default_rng(2)
    for _ in range(20):
        assert (
            log_posterior(fit.layout, fit.top + 0.1 * rng.standard_normal(len(fit.top)))[0] < best
        )


def test_a_warm_start_ends_where_a_cold_one_does() -> None:
    model = rich_model(units=5, days=80)
    rows = rich_readings(model)
    old = rows.day < 79
    before = Readings(
        **{n: getattr(rows, n)[old] for n in ("value", "unit", "day", "count", "squares", "free",
                                              "variance", "before", "settled")},
        members={k: v[old] for k, v in rows.members.items()},
        conditions={k: v[old] for k, v in rows.conditions.items()},
    )  # fmt: skip
    first = fit_dynamic(model, before, rng=np.random.default_rng(3), gain=1e-7)
    cold = fit_dynamic(model, rows, rng=np.random.default_rng(3), gain=1e-7)
    warm = refit(first, model, rows, gain=1e-7)
    assert warm.top == pytest.approx(cold.top, abs=0.01)
    assert warm.evaluations < cold.evaluations / 2
    mine, theirs = effects(warm), effects(cold)
    assert np.abs((mine.mean - theirs.mean) / theirs.sd).max() < 0.1
    assert mine.sd == pytest.approx(theirs.sd, rel=0.1)


def test_the_same_generator_gives_the_same_fit() -> None:
    model = rich_model()
    rows = rich_readings(model)
    one, two = (fit_dynamic(model, rows, rng=np.random.default_rng(7)) for _ in range(2))
    assert (effects(one).mean == effects(two).mean).all()
    draws = [effect_draws(one, n=50, rng=np.random.default_rng(4)).by_unit for _ in range(2)]
    assert (draws[0] == draws[1]).all()


def test_draws_have_the_moments_they_stand_for() -> None:
    model = rich_model()
    fit = fit_dynamic(model, rich_readings(model), rng=np.random.default_rng(0))
    found, drawn = effects(fit), effect_draws(fit, n=20_000, rng=np.random.default_rng(1))
    # Error of a mean of 20,000 draws is sd / 141; four of these allowed.
    assert np.abs(drawn.common.mean(axis=0) - found.mean).max() < 4 * found.sd.max() / 141
    assert drawn.common.std(axis=0) == pytest.approx(found.sd, rel=0.03)
    assert drawn.by_unit.mean(axis=0) == pytest.approx(found.unit_mean, abs=0.02)
    assert drawn.by_unit.std(axis=0) == pytest.approx(found.unit_sd, rel=0.03)
    assert set(drawn.shapes) == set(model.shapes)


def test_where_units_are_alike_by_model_they_are_alike_by_belief() -> None:
    model = rich_model()
    found = effects(fit_dynamic(model, rich_readings(model), rng=np.random.default_rng(0)))
    assert found.unit_mean[2] == pytest.approx(np.full(3, found.mean[2]))
    assert float(np.ptp(found.unit_mean[0])) > 0


def test_more_readings_narrow_the_belief_and_overrule_a_wrong_prior() -> None:
    model = rich_model(units=6, days=120, seed=4)
    term = replace(model.terms[0], mean=1.0, sd=0.4, again=None, apart=None)
    lone = replace(model, terms=(term,), covariates=(), conditions=(), groups=())
    rng = np.random.default_rng(8)
    unit, day = np.nonzero(rng.random((6, 120)) < 0.5)
    felt = term.dose[unit, day] * 0.2
    rows = readings(2.9 + felt + 0.1 * rng.standard_normal(len(unit)), unit, day)
    few = effects(fit_dynamic(lone, readings(rows.value[:8], unit[:8], day[:8]), rng=rng))
    many = effects(fit_dynamic(lone, joined(rows, rows), rng=rng))
    assert many.sd[0] < few.sd[0] < 0.4
    # The truth is near 0.2, the prior said 1: more than half way by hundreds of readings.
    assert many.mean[0] < 0.6


@pytest.mark.parametrize(("width", "pairs"), [(5, 5), (5, 10), (1, 3)])
def test_steps_have_the_variance_of_normal_ones(width: int, pairs: int) -> None:
    """With all directions covered exactly, the middle that weighs as one of them included."""
    steps = _steps(width, pairs=pairs, rng=np.random.default_rng(2))
    assert len(steps) == 2 * pairs + 1
    assert steps.mean(axis=0) == pytest.approx(np.zeros(width), abs=1e-12)
    assert steps.T @ steps / len(steps) == pytest.approx(np.eye(width), abs=1e-12)


def test_few_steps_have_it_on_average() -> None:
    rng = np.random.default_rng(3)
    made = [_steps(6, pairs=2, rng=rng) for _ in range(4000)]
    square = np.mean([s.T @ s / len(s) for s in made], axis=0)
    # 8,000 directions: the sd of an entry is about 0.02.
    assert square == pytest.approx(np.eye(6), abs=0.1)
    assert len(_steps(6, pairs=0, rng=rng)) == 1


def test_where_units_are_read_seldom_periods_are_longer() -> None:
    """About 24 sets a unit and period, from 80 to 150 read days; the answer is the same."""
    model = rich_model(4, 700)
    often, seldom = (rich_readings(model, chance=c) for c in (0.9, 0.2))
    gaps = [np.diff(lay_out(model, rows).knots) for rows in (often, seldom)]
    assert gaps[0].mean() == pytest.approx(80, abs=2)
    assert gaps[1].mean() > 130
    layouts = [lay_out(model, seldom), lay_out(model, seldom, knots=np.array([300.5]))]
    heights = [log_posterior(one, np.zeros(len(model.hypers)))[0] for one in layouts]
    assert heights[0] == pytest.approx(heights[1], abs=1e-7)


def test_the_climb_ends_on_the_top() -> None:
    """What a Newton step could still gain, by the fit's own curvature, is next to nothing."""
    model = rich_model(5, 80)
    fit = fit_dynamic(model, rich_readings(model), rng=np.random.default_rng(0), pairs=0)
    slope = hill(fit.layout, fit.top)[1]
    assert 0 <= float(np.square(fit.root @ slope).sum()) / 2 < 5e-3


def a_day_more(days: int = 400) -> tuple[DynamicModel, Readings, Readings]:
    """A model, its readings but for the last day's, and all, in the order of units."""
    model = rich_model(4, days)
    rows = rich_readings(model)
    last = rows.day == days - 1
    plain = ("value", "unit", "day", "count", "squares", "free", "variance", "before", "settled")
    known = replace(
        rows,
        **{name: getattr(rows, name)[~last] for name in plain},
        members={k: v[~last] for k, v in rows.members.items()},
        conditions={k: v[~last] for k, v in rows.conditions.items()},
    )
    return model, known, rows


def test_closed_periods_are_taken_over_and_change_nothing() -> None:
    """All but the last are the very same sums; the answer is that of starting anew."""
    model, known, rows = a_day_more()
    hyper = named(model, 0.2 * np.random.default_rng(1).standard_normal(len(model.hypers)))
    before = condition(lay_out(model, known), hyper)
    anew, over = (condition(lay_out(model, rows), hyper, known=k) for k in (None, before))
    assert len(over.periods) > 2
    same = [a.system is b.system for a, b in zip(over.periods, before.periods, strict=True)]
    assert same == [True] * (len(same) - 1) + [False]
    assert over.log_likelihood == pytest.approx(anew.log_likelihood, abs=1e-9)
    assert over.mean == pytest.approx(anew.mean, abs=1e-10)
    assert over.cov == pytest.approx(anew.cov, abs=1e-12)
    slope = [np.array(list(slopes(lay_out(model, rows), at).values())) for at in (anew, over)]
    assert slope[0] == pytest.approx(slope[1], abs=1e-8)


@pytest.mark.parametrize("part", ["value", "variance", "dose", "hyper"])
def test_a_period_that_changed_is_worked_out_anew(part: str) -> None:
    model, known, _ = a_day_more()
    hyper = named(model, np.zeros(len(model.hypers)))
    before = condition(lay_out(model, known), hyper)
    other = known
    if part == "hyper":
        hyper = hyper | {"own_sd": hyper["own_sd"] * 1.01}
    elif part == "dose":
        dose = model.terms[0].dose.copy()
        dose[:, 5] = 3.0
        model = replace(model, terms=(replace(model.terms[0], dose=dose), *model.terms[1:]))
    else:
        changed = getattr(known, part).copy()
        changed[known.day < 10] += 0.1
        other = replace(known, **{part: changed})
    layout = lay_out(model, other)
    over, anew = condition(layout, hyper, known=before), condition(layout, hyper)
    assert over.log_likelihood == pytest.approx(anew.log_likelihood, abs=1e-9)
    assert over.log_likelihood != pytest.approx(before.log_likelihood, abs=1e-6)
    assert over.periods[0].system is not before.periods[0].system


def test_a_usual_day_moves_no_point_of_the_mixture() -> None:
    model, known, rows = a_day_more()
    fit = fit_dynamic(model, known, rng=np.random.default_rng(0), pairs=4)
    more = refit(fit, model, rows)
    assert (more.top == fit.top).all()
    climbed = refit(fit, model, rows, gain=1e-5)
    assert (climbed.top != fit.top).any()
    here, there = effects(more), effects(climbed)
    assert np.abs((here.mean - there.mean) / there.sd).max() < 0.1
    assert here.sd / there.sd == pytest.approx(np.ones(len(here.sd)), abs=0.05)
