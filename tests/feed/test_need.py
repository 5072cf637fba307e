"""The balance of an element, its spread, and what a test is worth."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import value
from greenwright.feed import SoilTest, element_need, group_content, leaf_range, thresholds
from greenwright.feed.need import ElementNeed, Stakes, expected_loss, worth_of_test
from greenwright.feed.thresholds import CLASSICAL, MINIMUM, outside_guideline, ratio_warning

DAY = date(2026, 6, 12)
SPRING = date(2026, 2, 10)
STAKES = Stakes(area_m2=3000.0, price_g=0.003)


def soil(green: str, mg_kg: float, *, day: date = SPRING) -> SoilTest:
    return SoilTest(green, day, mg_kg, 0.1, "mehlich-3")


def need(mg_kg: float | None, use: float = 8.0, **more) -> ElementNeed:
    """Return the need of potassium for one green; reserve 37 mg/kg, 10 cm at 1.5 t/m3."""
    held = None if mg_kg is None else group_content([soil("1", mg_kg)], [], greens=1)
    settings = {"reserve_mg_kg": 37.0, "density_kg_m3": 1500.0, "stakes": STAKES, "on": DAY} | more
    return element_need("K", normal_estimate(use, 0.2 * use, "g/m2"), held, **settings)


def test_the_worked_example_of_potassium() -> None:
    # turfgrass nutrition, slides of a talk, 2015: 8 + 5.5 - 7.5 = 6.1 g/m2; unrounded 6.05
    got = need(50.0)
    assert (got.use.value, got.reserve.value, got.present.value) == pytest.approx((8, 5.55, 7.5))
    assert got.balance.value == pytest.approx(6.05) and got.need.value == pytest.approx(6.05)
    assert got.verdict == "needed" and got.chance > 0.95


def test_the_parts_close_whatever_was_given_since() -> None:
    got = need(50.0, given_g_m2=2.0)
    parts = got.use.value + got.reserve.value - got.present.value - got.given
    assert got.balance.value == pytest.approx(parts) == pytest.approx(4.05)


def test_a_rich_soil_needs_nothing_and_that_is_an_answer() -> None:
    got = need(250.0)
    assert got.verdict == "not needed" and got.need.value == 0 == got.need.low
    assert got.balance.value < 0 and "more than" in got.reason


def test_without_a_test_it_is_test_first() -> None:
    got = need(None)
    assert got.verdict == "test first" and got.need is None and got.present is None
    other = need(None, untested="tested with olsen, for which no threshold was read")
    assert "olsen" in other.reason


def test_an_old_test_is_asked_for_again() -> None:
    held = group_content([soil("1", 50.0, day=date(2021, 2, 10))], [], greens=1)
    got = element_need(
        "K", normal_estimate(8, 1.6, "g/m2"), held,
        reserve_mg_kg=37.0, density_kg_m3=1500.0, stakes=STAKES, on=DAY,
    )  # fmt: skip
    assert got.verdict == "test first" and "5 years" in got.reason


def test_near_the_edge_a_cheap_test_comes_first_and_a_dear_one_does_not() -> None:
    large = need(85.0, stakes=Stakes(1e6, 0.003))
    small = need(85.0, stakes=Stakes(10.0, 0.003))
    assert large.verdict == "test first" and large.worth > value("feed.test_cost")
    assert small.verdict in ("needed", "not needed") and small.worth < value("feed.test_cost")


def test_the_spread_is_that_of_drawing_everything() -> None:
    # the same sum by 400,000 draws, the density common to reserve and content
    rng, n = np.random.default_rng(5), 400_000
    got = need(50.0)
    dense = 1 + value("feed.density_cv") * rng.standard_normal(n)
    content = 50 * (1 + value("soil.test_cv") * rng.standard_normal(n))
    use = 8 * (1 + 0.2 * rng.standard_normal(n))
    draws = use + 0.15 * dense * (37 - content)
    assert got.balance.sd == pytest.approx(draws.std(), rel=0.01)
    assert got.chance == pytest.approx((draws > 0).mean(), abs=0.003)


def test_more_greens_tested_narrow_the_group() -> None:
    one = group_content([soil("1", 50.0)], [], greens=6)
    all_six = group_content([soil(str(k), 50.0) for k in range(6)], [], greens=6)
    borrowed = group_content([], [soil("9", 50.0)], greens=6)
    assert all_six.cv < one.cv < borrowed.cv and borrowed.borrowed and not one.borrowed
    assert all_six.cv == pytest.approx(value("soil.test_cv") / 6**0.5)  # by hand
    assert group_content([], [], greens=3) is None


@given(st.floats(0, 300), st.floats(0, 30), st.floats(0, 300))
def test_mass_balance_closes(mg_kg: float, use: float, reserve: float) -> None:
    got = need(mg_kg, use=use, reserve_mg_kg=reserve)
    by_hand = use + 0.15 * (reserve - mg_kg)  # 10 cm at 1.5 t/m3: 1 mg/kg is 0.15 g/m2
    assert got.balance.value == pytest.approx(by_hand, abs=1e-9)
    assert got.need.value == pytest.approx(max(by_hand, 0.0), abs=1e-9)
    assert 0 <= got.chance <= 1 and got.worth >= 0


# -- what a test is worth


def test_the_loss_is_the_newsvendor_s() -> None:
    # textbook: least loss is (over + under) x density at the critical share, free of nought
    z = stats.norm.ppf(3 / 4)
    assert expected_loss(10.0, 1.0, factor=3) == pytest.approx(4 * stats.norm.pdf(z))
    # far under nought nothing is given and nothing is missing
    assert expected_loss(-10.0, 1.0, factor=3) == pytest.approx(0.0, abs=1e-9)


def test_the_loss_agrees_with_drawing() -> None:
    draws = np.random.default_rng(2).normal(0.3, 1.0, 400_000)
    amount = max(0.0, 0.3 + stats.norm.ppf(0.75))
    true = np.maximum(draws, 0.0)
    drawn = np.where(true < amount, amount - true, 3 * (true - amount)).mean()
    assert expected_loss(0.3, 1.0, factor=3) == pytest.approx(drawn, rel=0.01)


def test_a_test_s_worth_agrees_with_playing_it() -> None:
    """Draw the truth and the test, give what is best after it, and average what that saves."""
    rng, n, factor = np.random.default_rng(3), 200_000, value("feed.shortage_factor")
    mean, sd, present_sd, test_sd = 0.2, 1.0, 0.8, 0.5
    content = present_sd * rng.standard_normal(n)
    rest = np.sqrt(sd**2 - present_sd**2) * rng.standard_normal(n)
    seen = content + test_sd * rng.standard_normal(n)
    learned = seen * present_sd**2 / (present_sd**2 + test_sd**2)
    left = np.sqrt(sd**2 - present_sd**4 / (present_sd**2 + test_sd**2))
    amount = np.maximum(0.0, mean + learned + left * stats.norm.ppf(factor / (1 + factor)))
    gap = np.maximum(mean + content + rest, 0.0) - amount
    after = np.where(gap < 0, -gap, factor * gap).mean()
    saved = expected_loss(mean, sd, factor=factor) - after
    got = worth_of_test(mean, sd, present_sd=present_sd, test_sd=test_sd)
    assert got == pytest.approx(saved, abs=0.01)


def test_where_all_is_plain_a_test_is_worth_nothing() -> None:
    assert worth_of_test(-30.0, 1.0, present_sd=0.8, test_sd=0.5) == pytest.approx(0, abs=1e-6)
    assert worth_of_test(1.0, 1.0, present_sd=0.0, test_sd=0.5) == 0.0


@given(st.floats(-3, 3), st.floats(0.1, 2))
def test_a_sharper_test_is_worth_no_less(mean: float, test_sd: float) -> None:
    rough = worth_of_test(mean, 1.0, present_sd=0.9, test_sd=test_sd * 1.5)
    assert worth_of_test(mean, 1.0, present_sd=0.9, test_sd=test_sd) >= rough - 1e-3


# -- thresholds


@pytest.mark.parametrize(
    ("element", "minimum", "sand", "other"),
    [
        # minimum guideline, 2016; classical sufficiency, resource guide (sand; other)
        ("K", 37, (50, 116), (75, 176)),
        ("P", 21, (27, 54), (27, 54)),
        ("Ca", 348, (500, 750), (500, 750)),
        ("Mg", 47, (60, 120), (70, 140)),
        ("S", 7, (15, 40), (15, 40)),
    ],
)
def test_two_named_sources(element: str, minimum: float, sand: tuple, other: tuple) -> None:
    for rootzone, ends in (("sand", sand), ("sand-topped soil", sand), ("soil", other)):
        first, second = thresholds(element, "mehlich-3", rootzone)
        assert (first.source, first.low, first.high) == (MINIMUM, minimum, None)
        assert (second.source, second.low, second.high) == (CLASSICAL, *ends)


@pytest.mark.parametrize("extractant", ["olsen", "bray-1", "ammonium-acetate", "water", ""])
def test_no_threshold_is_borrowed_from_another_extractant(extractant: str) -> None:
    assert thresholds("K", extractant, "sand") == ()
    assert thresholds("Fe", "mehlich-3", "sand") == ()


@pytest.mark.parametrize(
    ("ph", "cec", "inside"),
    [(6.4, None, True), (None, None, True), (5.4, None, False), (8.6, 20, False), (7.0, 61, False)],
)
def test_where_the_guideline_speaks(ph: float | None, cec: float | None, inside: bool) -> None:
    assert (outside_guideline(ph, cec) == "") is inside


def test_ratios_between_cations_are_a_warning_with_a_reason() -> None:
    reason, key = ratio_warning()
    assert "carbonate" in reason and key == "soil.cation_ratio_warning"


@pytest.mark.parametrize(
    ("element", "content", "verdict"),
    [("K", 2.0, "low"), ("K", 2.4, "usual"), ("N", 6.5, "high"), ("S", 0.3, "usual")],
)
def test_leaves_against_their_range(element: str, content: float, verdict: str) -> None:
    # creeping bentgrass K 2.2-2.6, N 4.5-6.0 (memory); generic S 0.20-0.45 (memory)
    assert leaf_range(element, "creeping bentgrass").verdict(content) == verdict


def test_leaf_ranges_go_from_the_grass_to_the_general() -> None:
    assert leaf_range("K", "zoysiagrass").key == "leaf.general.K"
    assert leaf_range("Mn", "zoysiagrass").key == "leaf.generic.Mn"
    assert leaf_range("Xe", "zoysiagrass") is None


def test_needs_are_estimates() -> None:
    got = need(50.0)
    assert all(isinstance(x, Estimate) for x in (got.use, got.reserve, got.present, got.need))
