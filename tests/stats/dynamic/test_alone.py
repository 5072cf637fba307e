"""Doses that tell by themselves: against a model in which the others have a term of their own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.stats.dynamic import DynamicFit, alone, effects, fit_dynamic, separate
from tests.stats.dynamic.worlds import rich_model, rich_readings


@pytest.fixture(scope="module")
def fitted() -> DynamicFit:
    model = rich_model(days=60, seed=5)
    return fit_dynamic(model, rich_readings(model), rng=np.random.default_rng(0), pairs=0)


def late(fit: DynamicFit, name: str) -> np.ndarray:
    dose = next(t.dose for t in fit.layout.model.terms if t.name == name).copy()
    dose[:, :40] = 0.0
    return dose


def test_some_doses_tell_less_than_all_and_more_than_none(fitted: DynamicFit) -> None:
    whole = separate(fitted, "press").share_local
    some = alone(fitted, "press", late(fitted, "press"), coin_flips=60.0)
    none = alone(fitted, "press", np.zeros_like(late(fitted, "press")))
    assert 0.0 < some.share_local < whole
    # A term of ten prior sds for the others leaves 1 / (1 + 10^2) at most to be told by them.
    assert 0 <= none.share_local <= 1 / 101 + 1e-9 and none.doses == 0
    assert none.verdict == "cannot tell" and "few doses" in none.reasons


def test_the_others_have_a_wide_term_of_their_own(fitted: DynamicFit) -> None:
    dose = late(fitted, "dust late")
    told = alone(fitted, "dust late", dose)
    # The same split, fitted as a model of its own at the same hyper-parameters.
    model = fitted.layout.model
    old = next(t for t in model.terms if t.name == "dust late")
    terms = tuple(t for t in model.terms if t.name != "dust late")
    split = replace(
        model,
        terms=(*terms, old, replace(old, name="rest", dose=old.dose - dose, mean=0.0, sd=2.0)),
    )
    rng = np.random.default_rng(0)
    other = fit_dynamic(split, fitted.layout.rows, rng=rng, pairs=0)
    found = effects(other)
    share = found.share_local[found.names.index("dust late")]
    assert told.share_local == pytest.approx(share, abs=0.05)
    kept = alone(other, "dust late", dose, rest="rest")
    assert kept.share_local == pytest.approx(share, rel=1e-12)


def test_tosses_count_where_they_are_needed(fitted: DynamicFit) -> None:
    dose = late(fitted, "press")
    few, many = (alone(fitted, "press", dose, coin_flips=n) for n in (20.0, 60.0))
    assert few.reasons == (*many.reasons, "no overlap") or "no overlap" in few.reasons
    assert "no overlap" not in many.reasons and many.coin_flips == 60.0
