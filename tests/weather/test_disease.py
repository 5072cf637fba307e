"""Disease models against worked tables: the formulas' own numbers, worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.weather.daily import risk_days
from greenwright.weather.disease import (
    anthracnose,
    brown_patch,
    disease_models,
    dollar_spot,
    pythium,
)
from greenwright.weather.given import given_days
from tests.weather.days_made import DAY, ahead, record, seen

DOLLAR_SPOT = [
    # RH, T -> p; by hand 1/(1 + exp(11.4041 - 0.0894 RH - 0.1932 T)), PLOS ONE 13(3):e0194216
    (50, 12, 0.0098),
    (70, 15, 0.0955),
    (70, 20, 0.2172),
    (75, 20, 0.3026),
    (80, 20, 0.4042),
    (70, 25, 0.4216),
    (85, 22, 0.6095),
    (90, 25, 0.8133),
]
# RH at which p is 0.20, by hand: (logit 0.2 + 11.4041 - 0.1932 T) / 0.0894
AT_THRESHOLD = [(10, 90.4), (15, 79.6), (20, 68.8), (25, 58.0), (30, 47.2)]
# RH, T min -> E; by hand from Phytopathology 86:385-390, 1996
BROWN_PATCH = [(75, 16, 3.702), (80, 18, 5.008), (90, 20, 6.800), (95, 24, 7.342)]
# wet hours, T -> ASI; by hand from the equation in Phytopathology, 1984
ANTHRACNOSE = [(12, 15, 0.357), (10, 20, 1.974), (15, 22, 3.2785), (12, 25, 4.789)]


@pytest.mark.parametrize(("rh", "t", "p"), DOLLAR_SPOT)
def test_dollar_spot(rh: float, t: float, p: float) -> None:
    assert float(dollar_spot(rh, t)) == pytest.approx(p, abs=6e-5)


@pytest.mark.parametrize(("t", "rh"), AT_THRESHOLD)
def test_dollar_spot_at_its_threshold(t: float, rh: float) -> None:
    assert float(dollar_spot(rh, t)) == pytest.approx(0.20, abs=1e-3)


@pytest.mark.parametrize(("rh", "t", "e"), BROWN_PATCH)
def test_brown_patch(rh: float, t: float, e: float) -> None:
    assert float(brown_patch(rh, t)) == pytest.approx(e, abs=5e-4)


@pytest.mark.parametrize(("wet", "t", "asi"), ANTHRACNOSE)
def test_anthracnose(wet: float, t: float, asi: float) -> None:
    assert float(anthracnose(wet, t)) == pytest.approx(asi, abs=5e-4)


def test_anthracnose_is_shown_as_six_at_most() -> None:
    # By hand: 20 h at 28 degC gives 4.0233-4.566-14.8624-0.52+15.4448+8.68 = 8.20
    assert float(anthracnose(20, 28)) == 6.0


@pytest.mark.parametrize(
    ("t_max", "hours", "t_min", "risk"),
    [
        # 86 degF = 30 degC, 68 degF = 20 degC, 82 degF = 27.8 degC; University of Kentucky
        (30.1, 14, 20.1, 1.0),
        (30.0, 8, 21.0, 0.0),
        (31.0, 14, 20.0, 0.0),
        (28.0, 9, 20.5, 1.0),
        (27.7, 24, 22.0, 0.0),
    ],
)
def test_pythium(t_max: float, hours: float, t_min: float, risk: float) -> None:
    assert float(pythium(t_max, hours, t_min)) == risk


def test_outside_their_range_models_give_no_answer() -> None:
    assert np.isnan(dollar_spot([80.0, 80.0], [9.9, 35.1])).all()
    assert np.isnan(brown_patch([90.0, 90.0], [9.0, 28.0])).all()
    assert np.isnan(anthracnose([7.9, 12.0, 12.0], [20.0, 11.0, 31.0])).all()
    assert np.isnan(pythium(float("nan"), 14.0, 21.0))


@pytest.mark.parametrize(
    ("model", "numbers"),
    [(dollar_spot, (101.0, 20.0)), (brown_patch, (-1.0, 20.0)), (anthracnose, (25.0, 20.0))],
)
def test_slips_are_refused(model, numbers: tuple[float, float]) -> None:
    with pytest.raises(BadInput):
        model(*numbers)


@given(st.floats(0, 100), st.floats(10, 34))
def test_warmer_or_damper_is_never_less_likely(rh: float, t: float) -> None:
    p = float(dollar_spot(rh, t))
    assert 0 < p < 1 and float(dollar_spot(rh, t + 1)) > p
    assert float(dollar_spot(min(rh + 1, 100), t)) >= p


def test_models_carry_their_host_and_a_threshold_is_a_setting() -> None:
    held = {m.name: m for m in disease_models()}
    assert {n: m.threshold for n, m in held.items()} == {
        "dollar_spot": 0.2, "brown_patch": 6.0, "anthracnose": 2.0, "pythium": 1.0,
    }  # fmt: skip
    assert held["brown_patch"].host == "ryegrass"
    assert held["anthracnose"].host == "annual bluegrass"
    assert all(m.host and m.evidence_keys for m in held.values())
    own = {m.name: m.threshold for m in disease_models({"dollar_spot": 0.3})}
    assert own["dollar_spot"] == 0.3 and own["brown_patch"] == 6.0
    with pytest.raises(UnknownKey, match="brown_spot"):
        disease_models({"brown_spot": 1.0})
    for slip in (0.0, 1.5, -1.0):
        with pytest.raises(BadInput):
            disease_models({"dollar_spot": slip})


WARM = {"t_min_c": 15.0, "t_max_c": 25.0, "rh_mean_pct": 75.0}


def models() -> dict:
    """Return the models by name."""
    return {m.name: m for m in disease_models()}


def test_five_day_means_need_five_days() -> None:
    days = given_days(record(*(seen(k, **WARM) for k in range(-6, 1))), DAY.replace(day=4), DAY)
    found = risk_days(days, models()["dollar_spot"])
    assert np.isnan(found.index[:4]).all()
    assert found.index[4:] == pytest.approx([0.3026] * 3, abs=5e-5)  # the table's 75 %, 20 degC
    assert found.risky.tolist() == [False] * 4 + [True] * 3


def test_a_mean_is_of_the_days_and_not_of_their_risks() -> None:
    humid = [60.0, 90.0, 60.0, 90.0, 75.0]  # mean 75
    rows = [seen(k - 4, **(WARM | {"rh_mean_pct": rh})) for k, rh in enumerate(humid)]
    days = given_days(record(*rows), DAY.replace(day=6), DAY)
    assert risk_days(days, models()["dollar_spot"]).index[-1] == pytest.approx(0.3026, abs=5e-5)


def test_nothing_that_stood_in_makes_a_risk_day() -> None:
    rows = [seen(k, **WARM) for k in range(-40, 1) if k != -2]
    gap = seen(-2, t_min_c=15.0, t_max_c=25.0)
    days = given_days(record(*rows, gap), DAY.replace(day=1), DAY.replace(day=12))
    assert days[7].filled["rh_mean_pct"] == "neighbours"
    found = risk_days(days, models()["dollar_spot"])
    known = np.isfinite(found.index)
    # Days 8 to 12 average over the filled eighth; 11 and 12 are typical besides.
    assert known.tolist() == [False] * 4 + [True] * 3 + [False] * 5
    assert found.missing["rh_mean_pct"] == 3


def test_a_forecast_makes_risk_days() -> None:
    rows = [seen(k, **WARM) for k in range(-4, 1)] + [ahead(1, **WARM), ahead(2, **WARM)]
    days = given_days(record(*rows), DAY, DAY.replace(day=12))
    assert risk_days(days, models()["brown_patch"]).index == pytest.approx([3.325] * 3, abs=1e-3)
    # By hand: -21.5 + 0.15·75 + 1.4·15 - 0.033·225 = 3.325


def test_anthracnose_is_never_told_without_leaf_wetness() -> None:
    rows = [seen(k, rh90_h=12.0, **WARM) for k in range(-6, 1)]
    days = given_days(record(*rows), DAY.replace(day=4), DAY)
    found = risk_days(days, models()["anthracnose"])
    assert np.isnan(found.index).all() and not found.risky.any()
    assert found.missing == {"leaf_wet_h": 7}
