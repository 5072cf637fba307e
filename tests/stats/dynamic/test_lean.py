"""A lean fit believes what the whole one does, and takes half the memory."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

from greenwright.stats.dynamic import DynamicFit, effects, fit_dynamic, levels, refit, surprises
from greenwright.stats.dynamic.lean import lean
from tests.stats.dynamic.worlds import rich_model, rich_readings


@pytest.fixture(scope="module")
def whole() -> DynamicFit:
    model = rich_model(4, 60)
    rows = rich_readings(model, chance=0.8)
    return fit_dynamic(model, rows, rng=np.random.default_rng(1), pairs=2)


def test_every_belief_stays(whole: DynamicFit) -> None:
    small, unit, day = lean(whole), np.array([0, 1, 3]), np.array([5, 30, 59])
    for one, other in ((effects(whole), effects(small)),):
        assert np.array_equal(one.mean, other.mean) and np.array_equal(one.sd, other.sd)
    seen, same = levels(whole, unit, day), levels(small, unit, day)
    assert np.array_equal(seen.mean, same.mean) and np.array_equal(seen.cov, same.cov)
    assert np.array_equal(surprises(whole).value, surprises(small).value)


def test_much_less_is_held(whole: DynamicFit) -> None:
    assert len(pickle.dumps(lean(whole))) < 0.75 * len(pickle.dumps(whole))


def test_a_refit_from_it_is_the_refit_from_the_whole(whole: DynamicFit) -> None:
    model, rows = whole.layout.model, whole.layout.rows
    ours, theirs = refit(lean(whole), model, rows), refit(whole, model, rows)
    assert effects(ours).mean == pytest.approx(effects(theirs).mean, abs=1e-9)
