"""Nitrogen by month, balances by element and by source, and their spread: all on paper first."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import value
from greenwright.base.values import Green, Limit, Reading, Snapshot, Target, WeatherDay, Work
from greenwright.feed.arrange import problem_of, put_in, still_needed, windows_of
from greenwright.feed.demand import month_need
from greenwright.feed.limits import feed_limits
from greenwright.feed.materials import feedstuffs
from greenwright.feed.need import SoilTest, Stakes, element_need, group_content
from greenwright.feed.record import groups, lab_means, soil_tests
from greenwright.feed.season import year_growth
from greenwright.feed.thresholds import CLASSICAL, MINIMUM, thresholds
from greenwright.feed.windows import half_months, opening
from greenwright.feed.year import GroupYear, Held, feed_year, price_of, scaled, use_of
from tests.feed.test_year import GREENS, ON, feed, lab, record, weather

ELEMENTS = ("K", "P", "Ca", "Mg", "S")
# Growth potential exp(-1/2((T - 20)/5.5)^2) and, for warm-season grass, 31 and 7 in their place:
# "growth-potential inflection", open script, 2017, and by script to four places.
COOL = {0: 0.0013, 5: 0.0243, 10: 0.1915, 12: 0.3472, 15: 0.6615, 18: 0.9360, 20: 1.0, 22: 0.9360,
        25: 0.6615, 28: 0.3472, 30: 0.1915, 33: 0.0612, 35: 0.0243}  # fmt: skip
WARM = {10: 0.0111, 15: 0.0734, 20: 0.2909, 25: 0.6926, 28: 0.9123, 30: 0.9898, 33: 1.0, 35: 1.0}


def one_green(grass: str) -> tuple[Green, ...]:
    return (Green(green="1", group="A", area_m2=500.0, grass=grass, rootzone="sand"),)


def year_at(t_c: float, grass: str = "creeping bentgrass", **more: object) -> GroupYear:
    return feed_year(record(greens=one_green(grass), weather=weather(t_c), **more), 2026)[0]


def element(year: GroupYear, name: str) -> Held:
    return next(h for h in year.elements if h.need.element == name)


# -- nitrogen by month


@pytest.mark.parametrize("t_c", COOL)
def test_a_cool_season_month_is_two_grams_times_growth(t_c: float) -> None:
    months = year_at(t_c).months
    assert [m.growth for m in months] == pytest.approx([COOL[t_c]] * 12, abs=6e-5)
    assert [m.need.value for m in months] == pytest.approx([2 * COOL[t_c]] * 12, abs=1.2e-4)


@pytest.mark.parametrize("t_c", WARM)
def test_a_warm_season_month_is_four_grams_times_its_own_growth(t_c: float) -> None:
    months = year_at(t_c, "bermudagrass").months
    assert [m.need.value for m in months] == pytest.approx([4 * WARM[t_c]] * 12, abs=2.4e-4)


def test_annual_bluegrass_grows_at_three_grams() -> None:
    # "GP and optimum temperatures", article, 2014, gives 18 degC for it: fully grown there
    at_best, warmer = (year_at(t, "annual bluegrass").months[5] for t in (18.0, 20.0))
    assert at_best.need.value == pytest.approx(3.0)
    assert warmer.need.value == pytest.approx(3.0 * 0.9360, abs=2e-4)  # two degrees off the best


def test_the_spread_of_a_month_by_the_delta_method_is_that_of_drawing_it() -> None:
    # need = ceiling x ratio x growth, growth read with its rule's error and the weather's
    rng, n = np.random.default_rng(11), 300_000
    got = month_need(0.7, 2.0, 1.25, ahead_share=0.6)
    rule = 1 + value("feed.nitrogen_cv") * rng.standard_normal(n)
    ahead = 0.6 * value("feed.growth_sd") * rng.standard_normal(n)
    draws = 2.0 * 1.25 * (0.7 * rule + ahead)
    assert got.value == pytest.approx(draws.mean(), rel=0.005)
    assert got.sd == pytest.approx(draws.std(), rel=0.01)
    assert got.low == pytest.approx(np.quantile(draws, 0.05), rel=0.02)
    assert got.high == pytest.approx(np.quantile(draws, 0.95), rel=0.02)


def test_an_unknown_month_is_anywhere_up_to_the_ceiling() -> None:
    year = feed_year(record(weather=weather(days=90)), 2026)[0]  # January to March of last year
    april = year.months[3]
    # by hand, a flat belief from 0 to 2: mean 1, sd 2/sqrt 12 = 0.577, nine tenths of it 0.1 to 1.9
    assert not april.known and april.growth is None
    assert (april.need.value, april.need.low, april.need.high) == pytest.approx((1.0, 0.1, 1.9))
    assert april.need.sd == pytest.approx(0.57735, abs=1e-5) and april.need.basis == "prior"
    assert year.months[0].known and still_needed(year, 4) == 0.0


@pytest.mark.parametrize(("days", "known"), [(4, False), (5, True)])
def test_five_days_of_a_month_speak_for_it_and_four_do_not(days: int, known: bool) -> None:
    months = year_growth(record(weather=weather(days=days)), 2026, "creeping bentgrass")
    assert (months[0] is not None) is known


def test_a_month_half_seen_is_half_unseen() -> None:
    seen = tuple(
        WeatherDay(date=date(2026, 6, 1) + timedelta(days=k), t_min_c=5.0, t_max_c=15.0)
        for k in range(10)
    )
    (june,) = [
        m for m in year_growth(record(weather=seen), 2026, "creeping bentgrass") if m is not None
    ]
    # by hand: ten days of thirty were seen, all at 10 degC, and speak for the rest
    assert june.month == 6 and june.unseen == pytest.approx(20 / 30)
    assert june.growth == pytest.approx(0.1915, abs=5e-5) and june.t_max_c == pytest.approx(15.0)


# -- the correction by clippings, through the whole year


def clipped_record(yield_ml: float, **more: object) -> Snapshot:
    rows = (Reading(date=ON, green="1", kind="clippings", value=yield_ml, unit=""),)
    wanted = (Target(quantity="clippings", low=12.0, high=18.0),)
    held = {"readings": rows, "targets": wanted, "greens": one_green("creeping bentgrass")}
    return record(**(held | more))


@pytest.mark.parametrize(
    ("read", "ratio"),
    # by hand: 15 wanted over what was read, kept within a half and one and a half
    [(15.0, 1.0), (12.0, 1.25), (20.0, 0.75), (3.0, 1.5), (90.0, 0.5)],
)
def test_clippings_correct_what_is_to_come_and_not_what_is_past(read: float, ratio: float) -> None:
    year = feed_year(clipped_record(read), 2026)[0]
    assert year.ratio.value == pytest.approx(ratio) and year.ratio.why == ""
    past, coming = year.months[:5], year.months[5:]
    assert [m.need.value for m in past] == pytest.approx([2.0] * 5)
    assert [m.need.value for m in coming] == pytest.approx([2.0 * ratio] * 7)
    assert year.nitrogen.value == pytest.approx(5 * 2.0 + 7 * 2.0 * ratio)


def test_a_regulator_suspends_the_correction_of_the_whole_year() -> None:
    spray = Work(date=ON - timedelta(days=9), green="all", practice="regulator", amount=0.04)
    year = feed_year(clipped_record(3.0, work=(spray,)), 2026)[0]
    assert year.ratio.value == 1.0 and year.ratio.raw == pytest.approx(5.0)
    assert "regulator" in year.ratio.why and year.nitrogen.value == pytest.approx(24.0)


def test_a_cold_month_suspends_it_too() -> None:
    year = feed_year(clipped_record(3.0, weather=weather(8.0)), 2026)[0]
    # by hand: exp(-1/2(12/5.5)^2) = 0.0925, under the 0.2 that growth must have to tell
    assert year.growth[5].growth == pytest.approx(0.0925, abs=1e-4)
    assert year.ratio.value == 1.0 and "cold" in year.ratio.why


@pytest.mark.parametrize(("days", "counted"), [(29, True), (30, False)])
def test_clippings_of_thirty_days_count(days: int, counted: bool) -> None:
    old = (Reading(date=ON - timedelta(days=days), green="1", kind="clippings", value=10.0,
                   unit=""),)  # fmt: skip
    year = feed_year(clipped_record(1.0, readings=old), 2026)[0]
    assert (year.ratio.value == pytest.approx(1.5)) is counted
    assert (year.clips.yield_ml_m2 is not None) is counted


# -- use + reserve - soil, each element and source by hand


# Use of 24 g of nitrogen by the ratios of leaf contents to nitrogen: slides on turfgrass nutrition,
# 2015 (K one half); 0.6/4.6 for P in clippings of bluegrass, trade article; Ca .625/5.25 and
# Mg .275/5.25 in the middle of bentgrass's ranges (memory); S 0.104 of the middle of a generic one.
USE = {"K": 12.0, "P": 24 * 0.6 / 4.6, "Ca": 24 * 0.625 / 5.25, "Mg": 24 * 0.275 / 5.25,
       "S": 24 * 0.104}  # fmt: skip
# Minimum guideline, preprint, 2016; lower ends of classical sufficiency on sand, resource guide.
RESERVE = {
    "K": (37, 50), "P": (21, 27), "Ca": (348, 500), "Mg": (47, 60), "S": (7, 15),
}  # fmt: skip
TESTED = {"K": 60.0, "P": 30.0, "Ca": 300.0, "Mg": 52.0, "S": 20.0}
# On the last day of the year before: the year to come is used whole.
EVE = date(2025, 12, 31)


@pytest.fixture(scope="module")
def tested() -> GroupYear:
    return year_at(20.0, lab=tuple(lab(e, mg, date=EVE) for e, mg in TESTED.items()))


@pytest.mark.parametrize("name", ELEMENTS)
@pytest.mark.parametrize("place", [0, 1], ids=[MINIMUM, CLASSICAL])
def test_each_balance_by_each_source(tested: GroupYear, name: str, place: int) -> None:
    held = element(tested, name)
    got = (held.need, held.other)[place]
    # by hand: 0.10 m at 1500 kg/m3 is 150 kg/m2, so 1 mg/kg is 0.15 g/m2
    by_hand = USE[name] + 0.15 * RESERVE[name][place] - 0.15 * TESTED[name]
    assert got.use.value == pytest.approx(USE[name], rel=1e-4)
    assert got.reserve.value == pytest.approx(0.15 * RESERVE[name][place])
    assert got.present.value == pytest.approx(0.15 * TESTED[name])
    assert got.balance.value == pytest.approx(by_hand, abs=1e-3)
    assert got.need.value == pytest.approx(max(by_hand, 0.0), abs=1e-3)


@pytest.mark.parametrize("name", ELEMENTS)
def test_each_spread_is_that_of_drawing_its_parts(tested: GroupYear, name: str) -> None:
    rng, n = np.random.default_rng(7), 200_000
    got = element(tested, name).need
    dense = 1 + value("feed.density_cv") * rng.standard_normal(n)
    soil = TESTED[name] * (1 + value("soil.test_cv") * rng.standard_normal(n))
    use = got.use.value + got.use.sd * rng.standard_normal(n)
    draws = use + 0.15 * dense * (RESERVE[name][0] - soil)
    assert got.balance.sd == pytest.approx(draws.std(), rel=0.015)
    assert got.chance == pytest.approx((draws > 0).mean(), abs=0.006)


def test_the_verdicts_of_two_sources_may_differ(tested: GroupYear) -> None:
    # by hand, the minimum leaves 3.1 + 3.2 - 4.5 = 1.8 g of P, and 12 + 5.6 - 9 = 8.6 g of K; of S
    # 2.5 + 1.05 - 3.0 = 0.55; classical sufficiency asks for more of each
    for name in ELEMENTS:
        held = element(tested, name)
        assert held.other.balance.value > held.need.balance.value
        assert held.other.chance >= held.need.chance
    assert element(tested, "K").need.verdict == "needed"


@pytest.mark.parametrize(("name", "rich"), [("K", 400), ("P", 200), ("Ca", 1500), ("S", 90)])
def test_a_rich_soil_needs_nothing_by_either_source(name: str, rich: float) -> None:
    held = element(year_at(20.0, lab=(lab(name, rich, date=EVE),)), name)
    assert (held.need.verdict, held.other.verdict) == ("not needed", "not needed")
    assert held.need.need.value == 0.0 and held.need.chance < 0.01


@pytest.mark.parametrize("name", ELEMENTS)
def test_without_a_test_each_element_is_tested_first(name: str) -> None:
    held = element(year_at(20.0), name)
    assert held.need.verdict == "test first" and held.other is None and held.content is None
    assert held.need.need is None and held.need.worth == 0.0
    assert "no soil test" in held.need.reason


@pytest.mark.parametrize(("root", "low"), [("sand", 60.0), ("soil", 70.0)])
def test_the_root_zone_decides_the_second_source(root: str, low: float) -> None:
    # classical sufficiency of magnesium, resource guide: 60-120 in sand, 70-140 elsewhere
    green = (replace(one_green("creeping bentgrass")[0], rootzone=root),)
    year = feed_year(record(greens=green, lab=(lab("Mg", 60.0, date=EVE),)), 2026)[0]
    assert element(year, "Mg").other.reserve.value == pytest.approx(0.15 * low)
    assert [t.low for t in thresholds("Mg", "mehlich-3", root)] == [47.0, low]


def test_the_depth_of_the_sample_is_the_depth_of_the_balance() -> None:
    year = year_at(20.0, lab=(lab("K", 60.0, date=EVE, depth_cm=15.24),))
    got = element(year, "K").need
    # worked out in the table of soil tests: 15.24 cm at 1.5 makes 1 mg/kg 0.2286 g/m2
    assert got.present.value == pytest.approx(60 * 0.2286)
    assert got.reserve.value == pytest.approx(37 * 0.2286)


def test_use_counts_from_the_test_on() -> None:
    spring = year_at(20.0, lab=(lab("K", 60.0, date=date(2026, 6, 30)),))
    past = year_at(20.0, lab=(lab("K", 60.0, date=EVE),))
    # the day is 10 June: a test of the 30th is not known yet, and nothing is used twice
    assert element(spring, "K").need.verdict == "test first"
    mid = element(year_at(20.0, lab=(lab("K", 60.0, date=date(2026, 3, 31)),)), "K")
    # by hand: nine months of 2 g from April at one half
    assert mid.need.use.value == pytest.approx(9.0)
    assert element(past, "K").need.use.value == pytest.approx(12.0)


def test_an_older_test_has_fed_the_time_since() -> None:
    old = element(year_at(20.0, lab=(lab("K", 60.0, date=date(2024, 12, 31)),)), "K")
    # by hand: 12 g this year, and the 365 days of the year before at the same use
    assert old.need.use.value == pytest.approx(12 * (1 + 365 / 365.25), rel=1e-4)


def test_own_leaves_take_the_place_of_the_table() -> None:
    leaves = tuple(
        lab(name, pct, medium="leaf", unit="%", depth_cm=None, extractant="")
        for name, pct in (("N", 4.0), ("K", 1.6))
    )
    year = year_at(20.0, lab=(*leaves, lab("K", 60.0, date=EVE)))
    own, table = use_of(year, "K", since=None), use_of(year_at(20.0), "K", since=None)
    assert own.value == pytest.approx(24 * 1.6 / 4.0)  # by hand: 9.6
    assert own.sd / own.value < table.sd / table.value  # the ratio's own doubt is gone


def test_the_spread_of_the_use_joins_nitrogen_ratio_and_uptake() -> None:
    rng, n = np.random.default_rng(3), 300_000
    year = year_at(20.0)
    got = use_of(year, "K", since=None)
    nitrogen = year.nitrogen.value + year.nitrogen.sd * rng.standard_normal(n)
    ratio = 0.5 * (1 + (0.1 / 0.5) * rng.standard_normal(n))  # 0.5 with sd 0.1 in the table
    taken = 1 + value("soil.use_cv") * rng.standard_normal(n)
    # to first order: products of small errors are left out, so within a few percent
    assert got.sd == pytest.approx((nitrogen * ratio * taken).std(), rel=0.04)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(ELEMENTS), st.floats(1, 800), st.floats(0, 20), st.floats(0, 6))
def test_what_is_given_leaves_as_much_less_to_give(
    name: str, mg_kg: float, use: float, put: float
) -> None:
    held = group_content([SoilTest("1", ON, mg_kg, 0.1, "mehlich-3")], [], greens=1)
    asked = [
        element_need(
            name, normal_estimate(use, 0.2 * use, "g/m2"), held,
            reserve_mg_kg=RESERVE[name][0], density_kg_m3=1500.0, stakes=Stakes(500.0, 0.003),
            on=ON, given_g_m2=amount,
        )
        for amount in (0.0, put)
    ]  # fmt: skip
    before, after = asked
    assert before.balance.value - after.balance.value == pytest.approx(put, abs=1e-9)
    assert after.chance <= before.chance + 1e-12 and after.balance.sd == before.balance.sd


def test_an_element_is_priced_by_its_cheapest_source() -> None:
    stuff, _ = feedstuffs(record().materials)
    # by hand: 1.4 a kg of a salt with 0.5 x 0.8301 K is 0.003373 a gram
    assert price_of("K", stuff) == pytest.approx(1.4 / 1000 / (0.5 * 0.8301), rel=1e-3)
    assert price_of("Mg", stuff) == value("feed.price_guess")


def test_a_share_of_an_estimate_scales_all_of_it() -> None:
    whole = Estimate(4.0, "g/m2", 1.0, 2.0, 6.0, basis="model")
    part = scaled(whole, 0.25)
    assert (part.value, part.sd, part.low, part.high) == (1.0, 0.25, 0.5, 1.5)


# -- tests: whose, how old, of which method


def test_a_group_without_a_test_borrows_and_says_so() -> None:
    year = feed_year(record(lab=(lab("K", 60.0, "1", date=EVE),)), 2026)
    a, b = (element(one, "K") for one in year)
    assert (a.borrowed, b.borrowed) == (False, True) and b.n == 1
    # by hand: 0.12 of the test against sqrt(0.12^2 + 2 x 0.3^2) across greens
    assert b.content[1] / b.content[0] == pytest.approx((0.12**2 + 2 * 0.3**2) ** 0.5)
    # one of two greens: sqrt(0.12^2 + 0.3^2 (1 - 1/2))
    assert a.content[1] / a.content[0] == pytest.approx((0.12**2 + 0.3**2 / 2) ** 0.5)


@pytest.mark.parametrize(("day", "verdict"), [("2023-07-01", "needed"), ("2023-06-01", "test")])
def test_a_test_is_old_after_three_years(day: str, verdict: str) -> None:
    held = element(year_at(20.0, lab=(lab("K", 20.0, date=date.fromisoformat(day)),)), "K")
    assert held.need.verdict.startswith(verdict)


def test_the_newest_test_of_each_green_is_averaged() -> None:
    rows = (lab("K", 40.0, date=EVE), lab("K", 60.0, date=date(2026, 3, 1)), lab("K", 80.0, "2"))
    held = record(lab=rows)
    assert {t.green: t.mg_kg for t in soil_tests(held, "K")} == {"1": 60.0, "2": 80.0}
    assert lab_means(held, "soil", ("K",), ("1", "2")) == {"K": 70.0}  # by hand: (60 + 80)/2
    assert lab_means(held, "leaf", ("K",), ("1", "2")) == {}


# -- what was given, told as product, element or oxide


@pytest.mark.parametrize(
    ("detail", "material", "amount", "element_", "brings"),
    [
        ("", "urea", 2.0, "N", 0.92),  # by hand: 46 % of 2 g
        ("as N", "urea", 0.92, "N", 0.92),
        ("as n", "urea", 0.92, "N", 0.92),
        ("as K2O", "potassium sulfate", 1.0, "K", 0.8301),  # oxide to element by molar masses
        ("as P2O5", "something", 1.0, "P", 0.4364),
        ("as MgO", "something", 1.0, "Mg", 0.6030),
        ("as K", "something", 1.5, "K", 1.5),
    ],
)
def test_what_was_given_is_told_in_elements(
    detail: str, material: str, amount: float, element_: str, brings: float
) -> None:
    row = feed(date(2026, 5, 1), amount, material=material, detail=detail)
    year = feed_year(record(work=(row,)), 2026)[0]
    (held,) = year.given
    assert held.elements[element_] == pytest.approx(brings, abs=1e-4)


def test_a_nutrient_of_a_known_material_is_product_with_all_it_holds() -> None:
    row = feed(date(2026, 5, 1), 1.0, material="potassium sulfate", detail="as K2O")
    (held,) = feed_year(record(work=(row,)), 2026)[0].given
    assert held.product == pytest.approx(2.0)  # by hand: 1 g of K2O at 50 %
    assert held.elements["S"] == pytest.approx(0.36)  # by hand: 18 % of 2 g


# -- windows, limits and what is left


def test_half_months_of_a_leap_february_end_on_the_29th() -> None:
    got = half_months(date(2028, 2, 10), date(2028, 3, 20), {2: (0.1, None), 3: (0.2, None)})
    ends = [(w.first.day, w.last.day, w.month) for w in got]
    assert ends == [(10, 15, 2), (16, 29, 2), (1, 15, 3), (16, 20, 3)]


@pytest.mark.parametrize(
    ("first", "last", "passes"),
    # by hand: a week apart, and never more than two in a half month
    [(1, 1, 1), (1, 7, 1), (1, 8, 2), (1, 15, 2), (16, 30, 2)],
)
def test_passes_of_a_window_are_a_week_apart(first: int, last: int, passes: int) -> None:
    (window,) = half_months(date(2026, 6, first), date(2026, 6, last), {6: (1.0, 24.0)})
    got = opening(window, feed_limits(record(), ("1",)))
    assert got.passes == passes and (got.first, got.last) == (window.first, window.last)


@pytest.mark.parametrize(("high", "hot"), [(30.0, False), (30.1, True), (None, False)])
def test_over_thirty_degrees_a_window_is_hot(high: float | None, hot: bool) -> None:
    # common practice: half the dose of a spray over 30 degC
    (window,) = half_months(date(2026, 7, 1), date(2026, 7, 9), {7: (1.0, high)})
    assert window.hot is hot
    got = opening(window, feed_limits(record(limits=()), ("1",)))
    assert got.n_pass == (0.5 if hot else 1.0) and got.assumed


def test_a_weekday_that_is_shut_is_shut_each_week() -> None:
    sundays = feed_limits(record(limits=(Limit(limit="no_feed", weekday="sun"),)), ("1",))
    got = sundays.open_days(date(2026, 6, 1), date(2026, 6, 14))  # a Monday and two weeks
    assert len(got) == 12 and all(day.weekday() != 6 for day in got)


@pytest.mark.parametrize(
    ("values", "allowed"), [((), None), ((1,), True), ((0,), False), ((1, 0), False)]
)
def test_phosphorus_is_asked_and_the_strictest_answer_holds(
    values: tuple[int, ...], allowed: bool | None
) -> None:
    rows = tuple(Limit(limit="p_allowed", value=v) for v in values)
    assert feed_limits(record(limits=rows), ("1",)).p_allowed is allowed


def test_the_widest_distance_to_water_holds() -> None:
    rows = tuple(Limit(limit="buffer_m", value=v, green=g) for v, g in ((3, "all"), (6, "B")))
    held = record(limits=rows)
    a, b = (feed_limits(held, g.greens).buffer_m for g in groups(held))
    assert (a, b) == (3, 6)


def test_room_under_the_limits_is_what_is_not_given_yet() -> None:
    rows = (
        Limit(limit="n_year_g_m2", value=10.0),
        Limit(limit="n_month_g_m2", value=1.5),
        Limit(limit="n_application_g_m2", value=0.8),
    )
    done = feed(date(2026, 6, 2), 2.0)
    planned = feed(date(2026, 7, 2), 1.0, status="planned")
    held = record(limits=rows, work=(done, planned))
    years = feed_year(held, 2026)
    plot = problem_of(held, years, ()).plots[0]
    # by hand: 0.92 g in June and 0.46 in July are off the year's ten and each month's 1.5
    assert plot.n_year == pytest.approx(10 - 0.92 - 0.46)
    assert plot.n_month[6] == pytest.approx(1.5 - 0.92)
    assert plot.n_month[7] == pytest.approx(1.5 - 0.46) and plot.n_month[8] == pytest.approx(1.5)
    assert put_in(years[0], 7) == pytest.approx(0.46)
    assert plot.nitrogen[7] == pytest.approx(2.0 - 0.46) and plot.used["urea"] == pytest.approx(3.0)


def test_a_rest_too_small_for_a_pass_is_nothing() -> None:
    # common practice: under 0.15 g nobody goes out; by hand 1.9/0.46 g of urea leave 0.1
    year = feed_year(record(work=(feed(date(2026, 6, 2), 1.9 / 0.46),)), 2026)[0]
    assert still_needed(year, 6) == 0.0
    assert still_needed(year, 7) == pytest.approx(2.0)


@pytest.mark.parametrize(("ph", "price"), [(5.0, True), (5.5, False), (6.5, False), (None, False)])
def test_acidity_costs_only_on_sour_soil(ph: float | None, price: bool) -> None:
    rows = () if ph is None else (lab("pH", ph, unit="", extractant="water"),)
    held = record(lab=rows)
    plot = problem_of(held, feed_year(held, 2026), ()).plots[0]
    assert plot.sour == (value("feed.lime_price") if price else 0.0)


def test_windows_run_from_tomorrow_to_the_end_of_the_year() -> None:
    years = feed_year(record(), 2026)
    got = windows_of(ON, years)
    assert (got[0].first, got[-1].last) == (ON + timedelta(days=1), date(2026, 12, 31))
    assert len(got) == 14  # by hand: two of June from the 11th, two of each of six months
    assert windows_of(ON, feed_year(record(), 2027))[0].first == date(2027, 1, 1)
    assert windows_of(date(2026, 12, 31), years) == () == windows_of(ON, ())


def test_greens_of_a_group_add_up() -> None:
    held = {g.key: g for g in groups(record(greens=(*GREENS, Green(green="4", group="B"))))}
    assert held["A"].area_m2 == 1000.0 and not held["A"].assumed
    # 9100 m2 of eighteen greens where none was entered (labour of a course, common practice)
    assert held["B"].area_m2 == pytest.approx(500 + 9100 / 18) and held["B"].assumed
