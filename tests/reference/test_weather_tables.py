"""Tables of growth, warmth and disease that agronomists carry, through the reckoner.

Each number was worked out by hand from the formula named beside it; see the formulas' own sources
in the evidence table.
"""

from __future__ import annotations

import math

import pytest

from greenwright.desk.reckon import reckon
from greenwright.weather import days_to, degree_days, growth_potential, regulator_of

MONTHS_C = (-1, 1, 5, 10, 15, 20, 23, 22, 18, 12, 6, 1)
"""Monthly means of an invented place with cold winters [degC]."""
# nitrogen at 2 g/m2 a month at full growth, by hand: 2·exp(-½((T - 20)/5.5)²), to the hundredth
NITROGEN = (0.00, 0.01, 0.05, 0.38, 1.32, 2.00, 1.72, 1.87, 1.87, 0.69, 0.08, 0.01)


def test_a_year_of_nitrogen_by_growth() -> None:
    found = 2 * growth_potential(MONTHS_C, "creeping bentgrass")
    assert found == pytest.approx(NITROGEN, abs=0.006)
    assert found.sum() == pytest.approx(10.0, abs=0.05)


@pytest.mark.parametrize(
    ("t", "c3", "bluegrass"),
    # by hand; annual bluegrass and fescue have their optimum at 18
    [(10, 0.1915, 0.3472), (15, 0.6615, 0.8618), (18, 0.9360, 1.0), (25, 0.6615, 0.4449)],
)
def test_the_two_cool_season_curves(t: float, c3: float, bluegrass: float) -> None:
    assert growth_potential(t, "creeping bentgrass") == pytest.approx(c3, abs=5e-5)
    assert growth_potential(t, "annual bluegrass") == pytest.approx(bluegrass, abs=5e-5)


@pytest.mark.parametrize(
    ("low", "high", "days"),
    # 200 degree days: 9.1 days in summer, 25 in spring (extension: 7 d and 21 to 28 d)
    [(16, 28, 9.1), (4, 12, 25.0)],
)
def test_days_of_two_hundred_degree_days(low: float, high: float, days: float) -> None:
    a_day = float(degree_days([low], [high], 0.0)[0])
    assert 200 / a_day == pytest.approx(days, abs=0.05)


def test_half_lives_in_days_by_temperature() -> None:
    # trade article 2014: 6.4 d at 18 degC and 3.1 d at 30 degC: 115 and 93 degree days
    held = regulator_of("trinexapac-ethyl", "creeping bentgrass")
    for days, t in ((6.4, 18), (3.1, 30)):
        assert days * t == pytest.approx({18: 115, 30: 93}[t], abs=0.5)
        assert days * t < held.half_high  # the trade's later bounds are 116 and 175
    assert (held.half_low, held.half_high) == (116, 175)


@pytest.mark.parametrize(
    ("name", "typed", "key", "expected"),
    [
        ("dollar-spot", {"rh_mean": "50", "t_mean": "12"}, "probability", 0.0098),
        ("dollar-spot", {"rh_mean": "85", "t_mean": "22"}, "probability", 0.6095),
        ("dollar-spot", {"rh_mean": "90", "t_mean": "25"}, "probability", 0.8133),
        ("brown-patch", {"rh_mean": "75", "t_min": "16"}, "index", 3.702),
        ("brown-patch", {"rh_mean": "95", "t_min": "24"}, "index", 7.342),
        ("anthracnose", {"wet_hours": "12", "t_mean": "15"}, "index", 0.357),
        ("anthracnose", {"wet_hours": "12", "t_mean": "25"}, "index", 4.789),
        ("regulator-left", {"degree_days": "200", "half_life": "116"}, "part_left", 0.3027),
        ("regulator-left", {"degree_days": "100", "half_life": "116", "rate": "7"},
         "top_up", 3.149),
        ("water-store", {"field_capacity": "0.22", "wilting_point": "0.06", "depth": "10",
                         "p": "0.4"}, "readily_available", 6.4),
    ],
)  # fmt: skip
def test_the_reckoner_holds_the_tables(name, typed, key, expected) -> None:
    assert reckon(name, typed).result[key].number == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(
    ("store_mm", "use", "days"),
    # by hand: 19.2 mm at 4 mm a day, 6.4 mm at 4 mm a day
    [(19.2, 4.0, 4.8), (6.4, 4.0, 1.6)],
)
def test_days_of_water(store_mm: float, use: float, days: float) -> None:
    assert days_to(0.0, store_mm, [use] * 10) == pytest.approx(days)


def test_the_threshold_of_dollar_spot_by_humidity() -> None:
    # by hand: RH at which p is 0.20: (ln(0.2/0.8) + 11.4041 - 0.1932 T) / 0.0894
    for t in (10, 15, 20, 25, 30):
        rh = (math.log(0.25) + 11.4041 - 0.1932 * t) / 0.0894
        just, under = (
            reckon("dollar-spot", {"rh_mean": f"{rh + d}", "t_mean": f"{t}"}).result
            for d in (0.01, -0.01)
        )
        assert (just["above_threshold"].number, under["above_threshold"].number) == (1.0, 0.0)
