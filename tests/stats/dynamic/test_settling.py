"""A comparison foreseen: against the model conditioned on its readings once they are there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic import DynamicFit, DynamicModel, Term, fit_dynamic, joined, readings
from greenwright.stats.dynamic.evidence import condition
from greenwright.stats.dynamic.layout import lay_out
from greenwright.stats.dynamic.outlook import Outlook, lengthened, only, outlook
from greenwright.stats.dynamic.settling import Comparison, Now, foresee, smallest, tossed
from tests.stats.dynamic.worlds import rich_model, rich_readings

MORE, UNITS = 12, (0, 1, 2)
GIVEN = np.array([[True, False, True], [False, True, False], [True, True, False]])
NOW = Now(0.1, 0.1, doses=50)


@pytest.fixture(scope="module")
def fitted() -> DynamicFit:
    model = rich_model(seed=3)
    return fit_dynamic(model, rich_readings(model), rng=np.random.default_rng(0), pairs=2)


def first(fit: DynamicFit) -> int:
    return fit.layout.model.days


def look_at(fit: DynamicFit, *terms: str, points: int = 1) -> Outlook:
    model = lengthened(fit.layout.model, MORE)
    days = range(first(fit), first(fit) + MORE)
    return outlook(fit, model, terms, units=UNITS, days=days, points=points)


def comparison(fit: DynamicFit, *, sets: int = 1, dose: float = 1.0) -> Comparison:
    days = first(fit) + np.array([1, 4, 6])
    return Comparison(np.array(UNITS), days, GIVEN, lags=(0, 2), sets=sets, dose=dose)


def made(fit: DynamicFit, one: Comparison, term: str, *, apart: bool) -> tuple[float, ...]:
    """Sd of the effect after the comparison: its doses and rows put into the model itself."""
    model = lengthened(fit.layout.model, MORE)
    dose = np.zeros((model.units, model.days))
    for day, given in zip(one.days, one.given, strict=True):
        dose[one.units[given], day] += one.dose
    unit, day = one.cells
    unit, day = np.tile(unit, one.sets), np.tile(day, one.sets)
    rows = fit.layout.rows
    more = readings(
        np.full(len(unit), 3.0), unit, day,
        count=float(np.median(rows.count)), variance=float(np.median(rows.variance)),
    )  # fmt: skip
    more = replace(more, members={"reader": np.full(len(unit), -1)})
    terms = tuple(dosed(t, dose, apart=apart) if t.name == term else t for t in model.terms)
    hyper = dict(fit.hyper)
    if apart:
        old = next(t for t in model.terms if t.name == term)
        terms = (*terms, replace(old, name="old"))
        hyper["apart:old"] = hyper.get(f"apart:{term}", 0.0)
    layout = lay_out(replace(model, terms=terms), joined(rows, more))
    at = condition(layout, hyper)
    place = layout.border.terms + [t.name for t in terms].index(term)
    return float(np.sqrt(at.cov[place, place])), float(at.mean[place])


def dosed(term: Term, more: np.ndarray, *, apart: bool) -> Term:
    return replace(term, dose=more if apart else term.dose + more)


@pytest.mark.parametrize("term", ["press", "dust early", "dust late"])
@pytest.mark.parametrize("alone", [False, True])
def test_the_foretold_sd_is_that_of_the_readings_put_in(
    fitted: DynamicFit, term: str, alone: bool
) -> None:
    one = comparison(fitted)
    told = foresee(look_at(fitted, term), one, replace(NOW, alone=alone))
    # The same joint normal, conditioned by the engine's evidence: no value matters to an sd.
    exact, _ = made(fitted, one, term, apart=alone)
    assert told.sd_after[0] == pytest.approx(exact, rel=1e-6)
    assert told.sd_after[0] < told.sd_before[0]


def test_a_set_read_twice_counts_as_two_sets(fitted: DynamicFit) -> None:
    one = comparison(fitted, sets=2)
    told = foresee(look_at(fitted, "press"), one, NOW)
    assert told.sd_after[0] == pytest.approx(made(fitted, one, "press", apart=False)[0], rel=1e-6)
    once = foresee(look_at(fitted, "press"), comparison(fitted), NOW)
    assert told.sd_after[0] < once.sd_after[0]
    # By hand: readings on days 1, 3, 4, 6 and 8 (4 + 2 is 6, said once) of three units.
    assert comparison(fitted).readings == 15 and one.readings == 30 and one.tosses == 9


def test_two_terms_of_a_practice_are_foreseen_together(fitted: DynamicFit) -> None:
    both = foresee(look_at(fitted, "dust early", "dust late"), comparison(fitted), NOW)
    assert both.sd_after.shape == both.share.shape == (2,)
    apart = foresee(look_at(fitted, "dust early"), comparison(fitted), NOW)
    # In `both` the doses bring a second effect that is unsure: the first can only be less sure.
    assert both.sd_after[0] > apart.sd_after[0]
    picked = only(look_at(fitted, "press", "dust early", "dust late"), ["dust early", "dust late"])
    assert foresee(picked, comparison(fitted), NOW).sd_after == pytest.approx(both.sd_after)


def test_the_rule_is_that_of_the_verdict(fitted: DynamicFit) -> None:
    one, look = comparison(fitted), look_at(fitted, "press")
    few = foresee(look, one, Now(0.1, 0.1, doses=0))
    assert "few doses" in few.reasons and few.chance_yes == 0.0  # five given, six needed
    alone = foresee(look, one, Now(0.1, 0.1, doses=50, alone=True, led=True))
    assert {"few doses", "no overlap"} <= set(alone.reasons)  # 9 tosses, 40 needed
    spread = foresee(look_at(fitted, "press", points=5), one, NOW)
    assert 0.0 <= spread.chance_yes <= 1.0


def test_a_large_effect_will_be_clear_and_none_will_not(fitted: DynamicFit) -> None:
    look, one = look_at(fitted, "press"), comparison(fitted)
    after = foresee(look, one, NOW).sd_after[0]
    sure = foresee(look, one, Now(10 * after, after, doses=50))
    none = foresee(look, one, Now(0.0, after, doses=50))
    # Nothing left to learn: ten sds are clear, none is not.
    assert sure.chance_clear == 1.0 and none.chance_clear == 0.0
    # Martingale: before it sd 1, after it 0.6, so the mean to come has sd 0.8, and
    # P(|N(0, 0.8)| > 1.96 x 0.6) = 2 x (1 - Phi(1.47)) = 0.1416 (table of the normal).
    half = foresee(look, one, Now(0.0, after / 0.6, doses=50))
    assert half.chance_clear == pytest.approx(0.1416, abs=1e-4)


def test_the_smallest_is_the_first_that_will_do(fitted: DynamicFit) -> None:
    look, rng = look_at(fitted, "press"), np.random.default_rng(1)
    days = first(fitted) + np.arange(MORE)
    designs = [
        Comparison(np.array(UNITS), days[:n], tossed(n, 3, rng=rng), sets=s)
        for n in (4, 8, 12) for s in (1, 4)
    ]  # fmt: skip
    seen = [foresee(look, one, NOW).share[0] for one in designs]
    wanted = look.prior[0]
    assert wanted > 0 and seen[-1] > seen[0]
    found = smallest(designs, lambda one: foresee(look, one, NOW))
    assert found is not None and found[1].reasons == ()
    before = designs[: designs.index(found[0])]
    assert all(foresee(look, one, NOW).reasons for one in before)
    assert smallest(designs[:1], lambda one: foresee(look, one, Now(0, 1, led=True))) is None
    assert smallest([], lambda one: foresee(look, one, NOW)) is None


def test_a_held_dose_is_felt_while_it_is_held(fitted: DynamicFit) -> None:
    days = first(fitted) + np.array([1, 5])
    given = np.array([[True, False, False], [False, True, True]])
    week = Comparison(np.array(UNITS), days, given, lags=(1, 2), held=3)
    look, alone = look_at(fitted, "set"), replace(NOW, alone=True)
    told, single = (foresee(look, replace(week, held=h), alone) for h in (3, 1))
    assert told.sd_after[0] < 0.9 * told.sd_before[0]
    # An act of one day that is not read on its day, and lasts no longer, tells nothing.
    assert single.sd_after[0] == pytest.approx(single.sd_before[0], rel=1e-9)
    spoken = replace(week, held=1, fading=np.ones((1, 4)))
    assert foresee(look, spoken, alone).sd_after[0] < 0.9 * told.sd_before[0]


def test_tosses_give_every_unit_as_often_as_they_leave_it() -> None:
    given = tossed(6, 5, rng=np.random.default_rng(2))
    assert (given.sum(axis=0) == 3).all()
    assert set(given.sum(axis=1)) == {2, 3}
    assert len({tuple(row) for row in given}) > 2


def test_what_does_not_fit_is_refused(fitted: DynamicFit) -> None:
    with pytest.raises(BadInput, match="tosses"):
        Comparison(np.array(UNITS), np.array([40]), GIVEN)
    far = replace(comparison(fitted), days=first(fitted) + np.array([1, 4, 11]))
    with pytest.raises(BadInput, match="outside"):
        foresee(look_at(fitted, "press"), far, NOW)
    with pytest.raises(BadInput, match="no term"):
        look_at(fitted, "nothing")


def test_a_longer_calendar_holds_what_is_kept_and_nothing_more_is_done(fitted: DynamicFit) -> None:
    model: DynamicModel = fitted.layout.model
    longer = lengthened(model, 2, keep=("set",))
    assert longer.days == model.days + 2
    at = {t.name: t.dose for t in longer.terms}
    assert (at["press"][:, -2:] == 0).all()
    assert (at["set"][:, -1] == model.terms[3].dose[:, -1]).all()
    assert longer.covariates[0].values[0, -1] == model.covariates[0].values[0, -1]
