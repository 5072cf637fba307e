"""What the model refuses, and how readings are put together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic import DynamicModel, Pulse, Term, fit_dynamic, joined, readings
from greenwright.stats.dynamic.layout import lay_out
from tests.stats.dynamic.worlds import rich_model, rich_readings, scales


def test_a_point_names_every_hyper_parameter_once() -> None:
    names = list(rich_model().hypers)
    # By hand: seven scales, one group, three departing terms, four shapes, one of them shared.
    assert len(names) == 7 + 1 + 3 + 4 == len(set(names))
    assert names[:2] == ["noise_sd", "set_sd"] and "dust.first" in names


def test_missing_priors_and_double_names_are_refused() -> None:
    model = rich_model()
    with pytest.raises(BadInput, match=r"press\.half"):
        replace(model, shapes={})
    with pytest.raises(BadInput, match="day_time"):
        replace(model, scales={k: v for k, v in scales().items() if k != "day_time"})
    with pytest.raises(BadInput, match="named twice"):
        replace(model, terms=(*model.terms, model.terms[0]))


def test_doses_must_fit_the_calendar() -> None:
    term = Term("a", "a", np.zeros((2, 5)), Pulse("press.half"), 0.0, 1.0)
    with pytest.raises(BadInput, match="units x days"):
        replace(rich_model(), terms=(term,))
    holed = replace(term, dose=np.full((3, 30), np.nan))
    with pytest.raises(BadInput, match="not finite"):
        replace(rich_model(), terms=(holed,))
    with pytest.raises(BadInput, match="sd"):
        replace(rich_model(), terms=(replace(term, dose=np.zeros((3, 30)), sd=0.0),))


@pytest.mark.parametrize(
    "bad", [{"value": [np.nan]}, {"count": 0.5}, {"squares": -1.0}, {"variance": np.zeros(2)}]
)
def test_impossible_readings_are_refused(bad: dict[str, object]) -> None:
    given = {"value": np.array([1.0]), "unit": np.array([0]), "day": np.array([0])} | bad
    with pytest.raises(BadInput):
        readings(**given)  # type: ignore[arg-type]


def test_readings_outside_the_model_are_refused() -> None:
    model: DynamicModel = rich_model()
    for unit, day in ((3, 0), (0, 30), (-1, 0)):
        with pytest.raises(BadInput, match="calendar"):
            lay_out(model, readings(np.ones(1), np.array([unit]), np.array([day])))
    at = (np.ones(1), np.array([0]), np.array([0]))
    with pytest.raises(BadInput, match="member 3 of 3"):
        lay_out(model, readings(*at, members={"reader": np.array([3])}))
    with pytest.raises(BadInput, match="does not know wind"):
        fit_dynamic(model, readings(*at, conditions={"wind": np.ones(1)}),
                    rng=np.random.default_rng(0))  # fmt: skip


def test_joined_readings_are_both_in_order() -> None:
    rows = rich_readings(rich_model())
    more = readings(np.array([9.0]), np.array([2]), np.array([29]))
    both = joined(rows, more)
    assert len(both) == len(rows) + 1 and both.value[-1] == 9.0
    assert both.members["reader"][-1] == -1 and both.conditions["hour"][-1] == 0.0
    assert both.members["reader"].dtype == rows.members["reader"].dtype


def test_long_records_are_cut_and_short_ones_are_not() -> None:
    short = lay_out(rich_model(), rich_readings(rich_model()))
    model = rich_model(days=500)
    long = lay_out(model, rich_readings(model))
    assert len(short.knots) == 0 and len(long.knots) >= 3
    assert sum(float(b.real.sum()) for b in long.batches) == len(long.rows)
