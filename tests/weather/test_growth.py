"""Growth potential: shapes, limits, grasses, and what it refuses."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.tables import vocabulary
from greenwright.base.values import WeatherDay
from greenwright.weather import curve_of, growth_potential, mean_temperature

DAY = date(2026, 6, 1)


def test_many_temperatures_equal_one_by_one() -> None:
    t = np.array([[0.0, 10.0], [20.0, 35.0]])
    found = growth_potential(t, "creeping bentgrass")
    assert found.shape == (2, 2)
    assert found.ravel().tolist() == [growth_potential(x, "creeping bentgrass") for x in t.ravel()]


def test_every_grass_of_the_record_has_a_curve() -> None:
    for grass in vocabulary("grass"):
        assert growth_potential(18.0, grass) > 0


def test_annual_bluegrass_grows_best_cooler() -> None:
    # origin: its optimum is 18 degC (published), so 18 degC gives 1
    assert growth_potential(18.0, "annual bluegrass") == pytest.approx(1.0)
    assert growth_potential(23.0, "annual bluegrass") < growth_potential(23.0, "c3")


def test_the_mixture_takes_the_curve_the_evidence_names() -> None:
    assert curve_of("bentgrass-bluegrass mix").key == "c3"
    assert (
        "growth.curve.bentgrass_bluegrass_mix" in curve_of("bentgrass-bluegrass mix").evidence_keys
    )


@given(st.floats(-30, 31), st.floats(-30, 31))
def test_warm_season_growth_never_falls_with_warmth(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert growth_potential(low, "c4") <= growth_potential(high, "c4") <= 1.0


@given(st.floats(-59, 59))
def test_it_is_a_share(t: float) -> None:
    assert 0.0 <= growth_potential(t, "zoysiagrass") <= 1.0


@pytest.mark.parametrize("t", [68.5, -61.0, float("nan"), float("inf")])
def test_a_temperature_that_air_cannot_have_is_refused(t: float) -> None:
    with pytest.raises(BadInput, match="degC"):
        growth_potential(t, "c3")


def test_an_unknown_grass_is_named() -> None:
    with pytest.raises(UnknownKey, match="clover"):
        growth_potential(20.0, "clover")


def test_mean_temperature() -> None:
    assert mean_temperature(WeatherDay(date=DAY, t_min_c=10, t_max_c=20)) == 15  # by hand
    given_ = WeatherDay(date=DAY, t_min_c=10, t_max_c=20, t_mean_c=14)
    assert mean_temperature(given_) == 14
    assert mean_temperature(WeatherDay(date=DAY, t_min_c=10)) is None
