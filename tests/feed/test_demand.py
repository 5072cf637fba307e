"""Nitrogen by growth and by clippings, against the tables it was read from."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import look_up, value
from greenwright.feed import (
    CEILING_GRASSES,
    clippings_nitrogen,
    dry_mass_key,
    growth_ratio,
    month_need,
    nitrogen_by_month,
    nitrogen_ceiling,
)
from greenwright.feed.demand import bounded_below, total

MONTHS_C = (-1, 1, 5, 10, 15, 20, 23, 22, 18, 12, 6, 1)
# By script from GP = exp(-1/2((T - 20)/5.5)^2) times 2 g/m2, rounded to two places.
MONTHS_N = (0.00, 0.01, 0.05, 0.38, 1.32, 2.00, 1.72, 1.87, 1.87, 0.69, 0.08, 0.01)


def test_the_example_year_comes_to_ten_grams() -> None:
    got = nitrogen_by_month(MONTHS_C, 2.0, "c3")
    assert [round(x, 2) for x in got] == pytest.approx(MONTHS_N, abs=0.0051)
    assert sum(got) == pytest.approx(10.0, abs=0.05)  # the table's own sum


@pytest.mark.parametrize(
    ("grass", "most"),
    [
        # "Monthly or annual maximum N", article, 2023: 2, 3 and 4 g N/m2 a month
        ("creeping bentgrass", 2.0),
        ("annual bluegrass", 3.0),
        ("bermudagrass", 4.0),
        ("bentgrass-bluegrass mix", 2.5),  # by hand: mean of 2 and 3
    ],
)
def test_ceilings(grass: str, most: float) -> None:
    held = nitrogen_ceiling(grass)
    assert held.g_m2 == most and value(held.key) == most


@pytest.mark.parametrize("grass", ["seashore paspalum", "zoysiagrass", "fine fescue", "other"])
def test_other_grasses_are_asked(grass: str) -> None:
    with pytest.raises(UnknownKey, match="ceiling") as caught:
        nitrogen_ceiling(grass)
    assert "n_month_g_m2" in caught.value.do
    assert all(name in caught.value.expected for name in CEILING_GRASSES)


@pytest.mark.parametrize(("months", "most"), [((1.0,) * 11, 2.0), (MONTHS_C, -1.0), (MONTHS_C, 99)])
def test_a_year_has_twelve_months_and_a_ceiling(months: tuple, most: float) -> None:
    with pytest.raises(BadInput):
        nitrogen_by_month(months, most, "c3")


@given(st.lists(st.floats(-20, 40), min_size=12, max_size=12), st.floats(0, 5))
def test_no_month_asks_more_than_the_ceiling(months: list[float], most: float) -> None:
    assert all(0 <= n <= most for n in nitrogen_by_month(months, most, "c3"))


def test_clippings_of_the_worked_examples() -> None:
    # "Growth ratio, N harvest, fertilizer adjustment": 1 L is 60 g dry and 2.4 g nitrogen
    assert clippings_nitrogen(1000.0, "creeping bentgrass") == pytest.approx((60.0, 2.4))
    # "Flipping things around": 1.5 L/100 m2 a day for 30 days, "just over 1" g/m2
    assert clippings_nitrogen(15.0 * 30)[1] == pytest.approx(1.08)
    # the other way: 1 g N is 25 g dry and 417 mL (the source rounds to 420), by hand 25/60
    assert clippings_nitrogen(1000 * 25 / 60) == pytest.approx((25.0, 1.0))
    # manilagrass: about 110 g/L in "Converting clipping volume to dry weight"
    assert clippings_nitrogen(100.0, "zoysiagrass")[0] == pytest.approx(11.0)


def test_an_unknown_grass_takes_the_default_mass() -> None:
    assert dry_mass_key("seashore paspalum") == "clippings.dry_mass.default"
    assert dry_mass_key("creeping bentgrass") == "clippings.dry_mass.creeping_bentgrass"


@pytest.mark.parametrize(("volume", "leaf"), [(-1.0, 4.0), (10.0, 9.0), (float("nan"), 4.0)])
def test_no_clippings_below_nought_and_no_leaf_of_nitrogen_alone(volume, leaf) -> None:
    with pytest.raises(BadInput):
        clippings_nitrogen(volume, "", leaf)


@pytest.mark.parametrize(
    ("wanted", "measured", "ratio"),
    [
        (15.0, 15.0, 1.0),
        (15.0, 12.0, 1.25),  # by hand
        (15.0, 5.0, 1.5),  # 3 is over the upper bound
        (15.0, 60.0, 0.5),  # 0.25 is under the lower bound
    ],
)
def test_the_ratio_is_wanted_over_measured_within_its_bounds(wanted, measured, ratio) -> None:
    got = growth_ratio(wanted, measured, growth=0.8)
    assert got.value == pytest.approx(ratio) and got.why == ""
    assert got.bounded == (wanted / measured != pytest.approx(ratio))


def test_the_ratio_is_put_aside_when_clippings_fall_for_other_reasons() -> None:
    held = growth_ratio(15.0, 5.0, growth=0.8, suspended="a regulator holds growth back")
    assert (held.value, held.raw, held.why) == (1.0, 3.0, "a regulator holds growth back")
    cold = growth_ratio(15.0, 5.0, growth=value("clippings.ratio_min_growth") - 0.01)
    assert cold.value == 1.0 and "cold" in cold.why


@pytest.mark.parametrize(
    ("wanted", "measured", "why"),
    [(None, 5.0, "target"), (15.0, None, "measured"), (15.0, 0.0, "measured")],
)
def test_without_both_numbers_nothing_is_corrected(wanted, measured, why) -> None:
    held = growth_ratio(wanted, measured, growth=1.0)
    assert held.value == 1.0 and held.raw is None and why in held.why


def test_a_month_s_need_is_surer_once_it_was_seen() -> None:
    seen = month_need(0.9, 2.0, 1.0, ahead_share=0.0)
    ahead = month_need(0.9, 2.0, 1.0, ahead_share=1.0)
    assert seen.value == ahead.value == pytest.approx(1.8)  # by hand: 0.9 x 2
    assert seen.sd == pytest.approx(1.8 * value("feed.nitrogen_cv")) and seen.sd < ahead.sd
    assert seen.low >= 0 and look_up("feed.nitrogen_cv").grade == "elicited"


def test_a_dead_month_needs_nothing_and_never_less() -> None:
    held = month_need(0.0, 2.0, 1.0, ahead_share=1.0)
    assert held.value == 0 and held.low == 0 and held.high > 0


def test_errors_of_the_same_rule_go_together() -> None:
    months = [month_need(0.5, 2.0, 1.0, ahead_share=0.0) for _ in range(4)]
    year = total(months)
    assert year.value == pytest.approx(4.0)  # by hand: 4 x 0.5 x 2
    assert year.sd == pytest.approx(4 * months[0].sd)  # not the root of the sum of squares
    assert bounded_below(year) == year
