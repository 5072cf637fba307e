"""Growth potential against the values of its published formula."""

from __future__ import annotations

import pytest

from greenwright.weather import growth_potential

# origin: computed from the published formula exp(-1/2 ((T - optimum) / width)^2) with optimum 20,
# width 5.5 (cool-season) and optimum 31, width 7, 1 from 31 degC up (warm-season), four decimals
COOL = {
    0: 0.0013, 5: 0.0243, 10: 0.1915, 12: 0.3472, 15: 0.6615, 18: 0.9360, 20: 1.0,
    22: 0.9360, 25: 0.6615, 28: 0.3472, 30: 0.1915, 33: 0.0612, 35: 0.0243,
}  # fmt: skip
WARM = {
    0: 0.0001, 5: 0.0010, 10: 0.0111, 12: 0.0251, 15: 0.0734, 18: 0.1783, 20: 0.2909,
    22: 0.4376, 25: 0.6926, 28: 0.9123, 30: 0.9898, 33: 1.0, 35: 1.0,
}  # fmt: skip


@pytest.mark.parametrize(("t", "wanted"), COOL.items())
def test_cool_season_table(t: float, wanted: float) -> None:
    assert growth_potential(t, "creeping bentgrass") == pytest.approx(wanted, abs=5e-5)


@pytest.mark.parametrize(("t", "wanted"), WARM.items())
def test_warm_season_table(t: float, wanted: float) -> None:
    assert growth_potential(t, "bermudagrass") == pytest.approx(wanted, abs=5e-5)


def test_a_year_of_nitrogen_by_growth() -> None:
    # origin: worked example, most 2 g N/m2 a month: by month as below, 10.0 g/m2 in the year
    months = [-1, 1, 5, 10, 15, 20, 23, 22, 18, 12, 6, 1]
    parts = [0.00, 0.01, 0.05, 0.38, 1.32, 2.00, 1.72, 1.87, 1.87, 0.69, 0.08, 0.01]
    found = 2.0 * growth_potential(months, "creeping bentgrass")
    assert found == pytest.approx(parts, abs=0.005)
    assert found.sum() == pytest.approx(10.0, abs=0.05)


def test_the_fahrenheit_writing_is_not_the_same_curve() -> None:
    # origin: 50 degF with optimum 68 and width 10 gives 0.1979; 10 degC here gives 0.1915
    assert growth_potential(10.0, "c3") == pytest.approx(0.1915, abs=5e-5)
    assert growth_potential(10.0, "c3") != pytest.approx(0.1979, abs=5e-3)
