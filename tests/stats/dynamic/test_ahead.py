"""Levels ahead under a plan, and changes that add up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic import (
    Covariate,
    DynamicFit,
    DynamicModel,
    change,
    contrast,
    fit_dynamic,
    levels,
)
from tests.stats.dynamic.worlds import rich_model, rich_readings

MODEL = rich_model(units=4, days=60)


@pytest.fixture(scope="module")
def fit() -> DynamicFit:
    return fit_dynamic(MODEL, rich_readings(MODEL), rng=np.random.default_rng(0), pairs=3)


def longer(model: DynamicModel, more: int) -> DynamicModel:
    """The same calendar with days added on which nothing is done."""
    terms = tuple(replace(t, dose=np.pad(t.dose, ((0, 0), (0, more)))) for t in model.terms)
    warm = model.covariates[0]
    weather = Covariate(warm.name, np.pad(warm.values, ((0, 0), (0, more))), warm.mean, warm.sd)
    return replace(model, days=model.days + more, terms=terms, covariates=(weather,))


def test_parts_of_a_change_add_up_to_it(fit: DynamicFit) -> None:
    before, after = (0, 5), (2, 48)
    found = change(fit, before, after)
    both = levels(fit, np.array([0, 2]), np.array([5, 48]))
    mean, sd = found.total
    assert mean == pytest.approx(both.mean[1] - both.mean[0], abs=1e-12)
    cov = both.cov
    assert sd**2 == pytest.approx(cov[0, 0] + cov[1, 1] - 2 * cov[0, 1], abs=1e-12)
    assert found.mean.sum() == pytest.approx(mean, abs=1e-12)
    assert found.parts == ("press", "dust", "set", "warmth", "unit", "shared", "own")


def test_a_change_of_one_unit_owes_nothing_to_the_unit(fit: DynamicFit) -> None:
    found = change(fit, (1, 10), (1, 11))
    place = found.kinds.index("unit")
    assert found.mean[place] == pytest.approx(0.0, abs=1e-12)
    assert found.sd[place] == pytest.approx(0.0, abs=1e-7)


def test_a_day_is_no_change_from_itself(fit: DynamicFit) -> None:
    found = change(fit, (3, 20), (3, 20))
    assert found.mean == pytest.approx(np.zeros(7), abs=1e-12)


def test_two_units_on_a_day_share_weather_and_course(fit: DynamicFit) -> None:
    found = change(fit, (0, 30), (1, 30))
    same = dict(zip(found.kinds, found.mean, strict=True))
    assert same["shared"] == pytest.approx(0.0, abs=1e-12)
    assert same["covariate"] == pytest.approx(0.0, abs=1e-12)
    assert abs(same["own"]) > 0


def test_a_contrast_of_means_is_the_mean_of_the_changes(fit: DynamicFit) -> None:
    unit, day = np.array([0, 1, 0, 1]), np.array([5, 5, 48, 48])
    weight = np.array([-0.5, -0.5, 0.5, 0.5])
    found = contrast(fit, unit, day, weight)
    single = [change(fit, (u, 5), (u, 48)) for u in (0, 1)]
    # By definition of a mean; its spread is that of the same sum of levels.
    assert found.mean == pytest.approx((single[0].mean + single[1].mean) / 2, abs=1e-12)
    joint = levels(fit, unit, day)
    assert found.total[0] == pytest.approx(weight @ joint.mean, abs=1e-12)
    assert found.total[1] ** 2 == pytest.approx(weight @ joint.cov @ weight, abs=1e-12)


def test_a_contrast_of_one_level_is_that_level(fit: DynamicFit) -> None:
    found = contrast(fit, np.array([2]), np.array([30]), np.array([1.0]))
    alone = levels(fit, np.array([2]), np.array([30]))
    assert found.total[0] == pytest.approx(alone.mean[0], abs=1e-12)
    assert found.total[1] ** 2 == pytest.approx(alone.cov[0, 0], abs=1e-12)


def test_a_planned_dose_adds_its_effect_and_nothing_else(fit: DynamicFit) -> None:
    idle = longer(MODEL, 10)
    dose = idle.terms[3].dose.copy()
    dose[1, 65] = 1.0
    busy = replace(idle, terms=(*idle.terms[:3], replace(idle.terms[3], dose=dose)))
    unit, day = np.array([1, 1, 2]), np.array([65, 66, 65])
    gain = levels(fit, unit, day, model=busy).mean - levels(fit, unit, day, model=idle).mean
    own = fit.layout.border.own(1)[1 + fit.layout.model.apart.index(3)]
    place = fit.layout.border.terms + 3
    expected = sum(
        w * (a.mean[place] + a.mean[own]) for w, a in zip(fit.weights, fit.at, strict=True)
    )
    # A held effect is its size times the dose while it is held, and gone the day after.
    assert gain == pytest.approx([expected, 0.0, 0.0], abs=1e-10)


def test_far_ahead_the_processes_are_forgotten(fit: DynamicFit) -> None:
    idle = longer(MODEL, 400)
    near, far, farther = (
        levels(fit, np.array([0]), np.array([d]), model=idle) for d in (61, 300, 459)
    )
    assert near.cov[0, 0] < far.cov[0, 0]
    assert far.mean[0] == pytest.approx(farther.mean[0], abs=1e-6)
    assert far.cov[0, 0] == pytest.approx(farther.cov[0, 0], rel=1e-6)


def test_draws_of_levels_have_their_moments(fit: DynamicFit) -> None:
    found = levels(fit, np.array([0, 0, 1]), np.array([58, 59, 59]))
    drawn = found.draws(n=20_000, rng=np.random.default_rng(1))
    assert drawn.mean(axis=0) == pytest.approx(found.mean, abs=0.01)
    assert np.cov(drawn.T) == pytest.approx(found.cov, abs=0.06 * float(found.cov.max()))


def test_days_beyond_the_calendar_and_other_terms_are_refused(fit: DynamicFit) -> None:
    with pytest.raises(BadInput, match="calendar"):
        levels(fit, np.array([0]), np.array([60]))
    with pytest.raises(BadInput, match="other terms"):
        levels(fit, np.array([0]), np.array([0]), model=replace(MODEL, terms=MODEL.terms[:2]))


def test_what_a_reader_sees_is_known_with_his_shift(fit: DynamicFit) -> None:
    border, unit, day = fit.layout.border, np.array([0, 2]), np.array([58, 59])
    place = border.groups[0][0]
    seen_by = np.zeros((2, border.fixed))
    seen_by[:, place] = 1.0
    plain, seen = levels(fit, unit, day), levels(fit, unit, day, seen_by=seen_by)
    shift = sum(w * a.mean[place] for w, a in zip(fit.weights, fit.at, strict=True))
    assert seen.mean - plain.mean == pytest.approx([shift, shift], abs=1e-12)
    # Level and shift are told apart by other readers alone: their sum is known better than if
    # both doubts were added.
    apart = np.diag(plain.cov) + sum(
        w * a.cov[place, place] for w, a in zip(fit.weights, fit.at, strict=True)
    )
    assert (np.diag(seen.cov) < apart).all()
