"""Each limit of the plan alone, the plan worked out on paper; small choices all tried by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.feed.check import broken, hits, uses
from greenwright.feed.materials import Feedstuff, supplied
from greenwright.feed.outdone import outdoes
from greenwright.feed.plan import NO_MATERIAL, NO_ROOM, brought, feed_plan, masses
from greenwright.feed.problem import FAMILIES, Line, Problem
from greenwright.feed.program import cost_of, highest_rate, solve
from greenwright.feed.windows import Window
from tests.feed.test_program import (
    CALCIUM,
    JUNE,
    PHOSPHATE,
    POTASH,
    SULFATE,
    UREA,
    opened,
    plot,
    problem,
    total_n,
)

JULY = (Window(date(2026, 7, 1), date(2026, 7, 15)), Window(date(2026, 7, 16), date(2026, 7, 31)))
SUMMER = (*JUNE, *JULY)


def of_month(held: Problem, lines: tuple[Line, ...], month: int) -> float:
    """Return the nitrogen that lines bring in a month [g/m2]."""
    return total_n(held, tuple(x for x in lines if held.windows[x.window].month == month))


def by_window(lines: tuple[Line, ...]) -> dict[int, int]:
    return {one.window: one.passes for one in lines}


# -- each limit alone, by hand


def test_the_yearly_limit_leaves_its_room_and_no_more() -> None:
    got = feed_plan(problem(UREA, plots=(plot(n_year=1.0),)))
    # by hand: 1.0 of 1.5 g; at most 0.8 a pass makes two; 1/0.46 g/m2 on 1000 m2 at 0.85 a kg
    assert total_n(got.problem, got.lines) == pytest.approx(1.0)
    assert got.short == {("A", "N", 6): pytest.approx(0.5)}
    assert got.cost == pytest.approx(1 / 0.46 * 0.85 + 2 * 10)
    assert "n_year_g_m2" in got.hits and got.clashes == ("n_year_g_m2",)


def test_a_yearly_limit_that_is_used_up_leaves_nothing() -> None:
    got = feed_plan(problem(UREA, plots=(plot(n_year=0.0),)))
    assert got.lines == () and got.short == {("A", "N", 6): pytest.approx(1.5)}
    assert got.cost == 0 and got.product_kg == {}


def test_the_monthly_limit_holds_its_month_alone() -> None:
    one = plot(nitrogen={6: 1.0, 7: 1.0}, n_month={6: 0.5}, openings=opened(SUMMER))
    held = problem(UREA, plots=(one,), windows=SUMMER)
    got = feed_plan(held)
    # by hand: June stops at 0.5, July is met; 0.5 is short in June and nothing anywhere else
    assert of_month(held, got.lines, 6) == pytest.approx(0.5)
    assert of_month(held, got.lines, 7) == pytest.approx(1.0)
    assert got.short == {("A", "N", 6): pytest.approx(0.5)}
    assert got.clashes == ("n_month_g_m2",)


def test_the_single_dose_holds_every_pass() -> None:
    got = feed_plan(problem(UREA, plots=(plot(openings=opened(n_pass=0.3)),)))
    # by hand: two windows of two passes at 0.3 are 1.2 of 1.5 g
    assert total_n(got.problem, got.lines) == pytest.approx(1.2)
    assert got.short == {("A", "N", 6): pytest.approx(0.3)}
    assert {round(one.rate * 0.46, 6) for one in got.lines} == {0.3}
    assert by_window(got.lines) == {0: 2, 1: 2}


def test_the_burn_limit_counts_salt_of_each_pass() -> None:
    got = feed_plan(problem(SULFATE, salt_pass=1.0))
    # by hand: 1 g of salt is 1/0.883 = 1.1325 g of sulfate, 0.2378 g N; four passes 0.9513 g
    assert {round(one.rate, 4) for one in got.lines} == {1.1325}
    assert total_n(got.problem, got.lines) == pytest.approx(0.9513, abs=1e-4)
    assert got.short[("A", "N", 6)] == pytest.approx(1.5 - 0.9513, abs=1e-4)


def test_salt_of_two_sprays_in_one_tank_adds_up() -> None:
    one = plot(nitrogen={6: 0.46}, elements={"K": 0.83}, openings=opened(JUNE[:1], passes=1))
    held = problem(UREA, POTASH, plots=(one,), windows=JUNE[:1], salt_pass=1.6)
    got = feed_plan(held)
    # by hand: 1 g of urea 0.744 and 2 g of potassium sulfate 0.852 are 1.596, under 1.6
    assert not got.short
    salts = [used for what, _, used, _ in uses(held, got.lines) if what == "salt"]
    assert salts == [pytest.approx(0.744 + 0.852, abs=1e-3)]
    assert feed_plan(replace(held, salt_pass=1.5)).short  # by hand: 1.596 is over 1.5


def test_a_shut_window_moves_the_passes_to_the_open_one() -> None:
    shut = (opened(passes=0)[0], opened()[1])
    got = feed_plan(problem(UREA, plots=(plot(openings=shut),)))
    assert by_window(got.lines) == {1: 2} and not got.short  # by hand: 2 x 0.75 under 0.8
    assert {round(one.rate * 0.46, 6) for one in got.lines} == {0.75}


def test_where_all_is_shut_nothing_goes_out() -> None:
    got = feed_plan(problem(UREA, plots=(plot(openings=opened(passes=0)),)))
    assert got.lines == () and got.clashes == ("no_feed",)


@pytest.mark.parametrize(
    ("label", "family", "brings"),
    [
        # by hand: 0.5 g at most in each of four passes, 2 g of 46 %
        ({"max_rate": 0.5}, "max_rate", 0.92),
        # by hand: 2 g of 46 % over the year
        ({"max_year": 2.0}, "max_per_year", 0.92),
        # by hand: one pass of the month at the 0.8 g that goes at once
        ({"interval_d": 28.0}, "max_rate", 0.8),
    ],
    ids=["rate", "year", "interval"],
)
def test_the_label_by_hand(label: dict, family: str, brings: float) -> None:
    got = feed_plan(problem(replace(UREA, **label)))
    assert total_n(got.problem, got.lines) == pytest.approx(brings)
    assert family in got.clashes


def test_a_week_between_passes_leaves_two_in_a_half_month_and_shuts_the_next() -> None:
    got = feed_plan(problem(replace(UREA, interval_d=7.0)))
    # by hand: day 1 and day 8 or later keep a week; the 15th and the 16th would not
    assert len(by_window(got.lines)) == 1 and not got.short
    assert sum(one.passes for one in got.lines) == 2


def test_barred_phosphorus_bars_only_where_it_is_barred() -> None:
    free = plot("A", elements={"P": 0.3})
    barred = plot("B", elements={"P": 0.3}, phosphorus=False)
    held = problem(UREA, PHOSPHATE, plots=(free, barred))
    got = feed_plan(held)
    assert brought(held, got.lines, "A")["P"] == pytest.approx(0.3)
    assert brought(held, got.lines, "B")["P"] == 0
    assert set(got.short) == {("B", "P", 0)} and got.clashes == ("p_allowed",)


@pytest.mark.parametrize(("lime", "chosen"), [(0.55, "ammonium sulfate"), (0.65, "nitrate")])
def test_the_price_of_lime_at_which_the_sour_source_gives_way(lime: float, chosen: str) -> None:
    # by hand, a kg of nitrogen: 0.6/0.21 + 1.10/0.21 x lime = 0.9/0.15 where lime costs 0.60
    nitrate = Feedstuff("nitrate", {"N": 0.15}, 0.9, salt_index=65, caco3=20)
    held = problem(SULFATE, nitrate, plots=(plot(sour=lime),), salt_pass=50.0)
    assert {one.material for one in solve(held, gap=0.0).lines} == {chosen}


def test_the_tank_keeps_calcium_apart_or_names_itself() -> None:
    one = plot(elements={"K": 1.0, "Ca": 0.5}, openings=opened(JUNE[:1]))
    held = problem(CALCIUM, POTASH, plots=(one,), windows=JUNE[:1], salt_pass=50.0)
    got = feed_plan(held)
    assert got.short and "tank" in got.clashes
    assert len({one.material for one in got.lines}) == 1
    assert not solve(replace(held, lifted=frozenset({"tank"}))).short


# -- what cannot be met says why


@pytest.mark.parametrize("need", [0.06, 0.1, 0.3, 0.9])
@pytest.mark.parametrize("nitrogen", [{}, {6: 1.5}], ids=["alone", "beside nitrogen"])
def test_a_small_need_is_met_where_no_limit_stands_against_it(need: float, nitrogen: dict) -> None:
    got = feed_plan(problem(UREA, POTASH, plots=(plot(nitrogen=nitrogen, elements={"K": need}),)))
    assert not got.short
    assert brought(got.problem, got.lines, "A")["K"] == pytest.approx(need, rel=1e-4)


def test_a_source_that_brings_too_much_nitrogen_is_told_so() -> None:
    held = problem(
        SULFATE,
        salt_pass=50.0,
        plots=(plot(nitrogen={6: 0.7}, elements={"S": 3.0}, openings=opened(n_pass=3.0)),),
    )
    got = feed_plan(held)
    # by hand: a tenth over 0.7 g of nitrogen is 0.77, 3.667 g of sulfate, 0.88 g of sulfur
    assert brought(held, got.lines, "A")["S"] == pytest.approx(0.88, abs=1e-3)
    assert got.short == {("A", "S", 0): pytest.approx(2.12, abs=1e-3)}
    assert got.clashes == (NO_ROOM,)


def test_a_month_that_asks_for_no_nitrogen_takes_none() -> None:
    nitrate = Feedstuff("potassium nitrate", {"N": 0.13, "K": 0.365}, 1.0, salt_index=69.5)
    held = problem(nitrate, plots=(plot(nitrogen={}, elements={"K": 1.0}),))
    got = feed_plan(held)
    assert got.lines == () and got.clashes == (NO_ROOM,)
    told = broken(held, (Line("A", 0, "potassium nitrate", 2.7, 1),))
    assert told and told[0].startswith("need on A, month 6")  # the second look sees it too


def test_a_room_of_nought_is_named_though_nothing_goes_up_to_it() -> None:
    assert feed_plan(problem(UREA, plots=(plot(n_year=0.0),))).clashes == ("n_year_g_m2",)
    assert feed_plan(problem(UREA, plots=(plot(n_month={6: 0.0}),))).clashes == ("n_month_g_m2",)


def test_shut_days_that_leave_too_few_passes_are_named() -> None:
    held = (replace(opened()[0], passes=1, shut=12), replace(opened()[1], passes=0, shut=15))
    got = feed_plan(problem(UREA, plots=(plot(openings=held),)))
    # by hand: one pass of 0.8 of 1.5 g; with the days open four passes would do
    assert got.short == {("A", "N", 6): pytest.approx(0.7)} and "no_feed" in got.clashes


def test_shut_days_and_the_dose_that_clash_together_are_both_named() -> None:
    held = opened(passes=0, n_pass=0.3)
    got = feed_plan(problem(UREA, plots=(plot(openings=held),)))
    # by hand: open days leave four passes of 0.3, 1.2 of 1.5 g: the dose must give way too
    assert set(got.clashes) == {"no_feed", "n_application_g_m2"}


def test_what_the_store_lacks_stands_beside_the_limit_that_clashes() -> None:
    got = feed_plan(problem(UREA, plots=(plot(n_year=1.0, elements={"Mg": 0.5}),)))
    assert got.clashes == (NO_MATERIAL, "n_year_g_m2")


# -- trying every choice, without a line of the program


def tried(held: Problem, need: float, each: float) -> float:
    """Return the least cost that meets one month's nitrogen: every set and every count of passes.

    Sources differ in price alone, so a window takes its cheapest and the cheapest window is filled
    first; what the paper leaves to choose is which windows and how many passes.
    """
    (one,) = held.plots
    gram = {m.name: m.price_kg / 1000 / m.share("N") for m in held.materials}
    best = float("inf")
    for name, counts in product(gram, product(range(3), repeat=len(held.windows))):
        if sum(counts) * each < need - 1e-9:
            continue
        late = sorted(
            (1 + 0.02 * (1 - w.growth) + 0.00002 * k, counts[k] * each)
            for k, w in enumerate(held.windows)
            if counts[k]
        )
        left, paid = need, held.another_material + held.weighing_out * len(late)
        for factor, room in late:
            put = min(left, room)
            paid += put * gram[name] * one.area_m2 * factor
            left -= put
        best = min(best, paid + one.pass_cost * sum(counts))
    return best


@pytest.mark.parametrize("need", [0.5, 0.8, 1.5, 2.4, 3.2])
@pytest.mark.parametrize(("labour", "weighing"), [(10.0, 3.0), (2.0, 30.0), (60.0, 0.0)])
def test_the_plan_costs_what_the_best_of_all_choices_costs(
    need: float, labour: float, weighing: float
) -> None:
    windows = (replace(JUNE[0], growth=0.4), replace(JUNE[1], growth=0.9))
    dear = replace(UREA, name="dear", price_kg=1.1)
    one = plot(nitrogen={6: need}, pass_cost=labour, openings=opened(windows))
    held = problem(UREA, dear, plots=(one,), windows=windows, weighing_out=weighing)
    assert solve(held, gap=0.0).objective == pytest.approx(tried(held, need, 0.8), rel=1e-6)


def test_what_two_groups_share_is_paid_once() -> None:
    plots = (plot("A", nitrogen={6: 0.7}), plot("B", nitrogen={6: 0.7}, area_m2=500.0))
    got = solve(problem(UREA, plots=plots), gap=0.0)
    # by hand: one material in the store 20, weighed out once 3, a pass each 10 + 10, and
    # 0.7/0.46 g/m2 on 1500 m2 at 0.85 a kg
    product_ = 0.7 / 0.46 * 1.5 * 0.85
    assert got.objective == pytest.approx(20 + 3 + 20 + product_)
    assert got.cost == pytest.approx(20 + product_)  # what is paid for: no bother counted


def test_the_better_growing_half_is_fed() -> None:
    windows = (replace(JUNE[0], growth=0.1), replace(JUNE[1], growth=1.0))
    got = solve(problem(UREA, plots=(plot(nitrogen={6: 0.5}),), windows=windows), gap=0.0)
    assert {one.window for one in got.lines} == {1}


# -- mass


rates = st.lists(st.tuples(st.floats(0.1, 20), st.integers(1, 2)), min_size=1, max_size=4)
grades = st.fixed_dictionaries({"N": st.floats(0.01, 0.46), "K": st.floats(0.01, 0.5)})


@settings(max_examples=60, deadline=None)
@given(rates, grades, st.floats(50, 20_000))
def test_product_times_grade_is_the_nutrient(
    found: list[tuple[float, int]], grade: dict[str, float], area: float
) -> None:
    stuff = Feedstuff("m", grade, 1.3)
    held = problem(stuff, plots=(plot(area_m2=area, pass_cost=7.0),), windows=SUMMER)
    lines = tuple(Line("A", w, "m", rate, n) for w, (rate, n) in enumerate(found))
    grams = sum(rate * n for rate, n in found)
    got = brought(held, lines, "A")
    for element in ("N", "K"):
        assert got[element] == pytest.approx(grams * grade[element])
        each = sum(supplied(stuff, one.total)[element] for one in lines)
        assert each == pytest.approx(got[element])
    kilos = masses(held, lines)["m"]
    assert kilos == pytest.approx(grams * area / 1000)
    passes = sum(n for _, n in found)
    assert cost_of(held, lines) == pytest.approx(kilos * 1.3 + 7 * passes)


def test_nothing_is_brought_to_greens_that_got_nothing() -> None:
    held = problem(UREA, plots=(plot("A"), plot("B")))
    assert set(brought(held, (Line("A", 0, "urea", 1.0, 1),), "B").values()) == {0.0}


# -- the second look


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ((Line("A", 0, "urea", 1.3, 1),), "max_rate on A, 2026-06-01, urea: 1.3 over 1.2"),
        (
            tuple(Line("A", w, "urea", 1.2, 2) for w in (0, 1)),
            "max_per_year on A, urea: 4.8 over 3",
        ),
        (
            tuple(Line("A", w, "urea", 1.1, 1) for w in (0, 1)),
            "n_month_g_m2 on A, month 6: 1.012 over 0.9",
        ),
        ((Line("A", 0, "potassium sulfate", 12.0, 1),), "salt on A, 2026-06-01: 5.112 over 5"),
    ],
    ids=["rate", "year", "month", "salt"],
)
def test_a_breach_is_told_with_its_numbers(lines: tuple[Line, ...], says: str) -> None:
    # by hand: 1.3 > 1.2; 4 x 1.2 > 4 - 1; 2.2 x 0.46 = 1.012 > 0.9; 12 x 0.426 = 5.112 > 5
    label = replace(UREA, max_rate=1.2, max_year=4.0)
    held = problem(label, POTASH, plots=(plot(n_month={6: 0.9}, used={"urea": 1.0}),))
    assert says in broken(held, lines)


def test_a_limit_is_hit_at_its_edge_and_not_before() -> None:
    held = problem(UREA)
    full, short = (Line("A", 0, "urea", grams / 0.46, 1) for grams in (0.8, 0.79))
    assert hits(held, (full,)) == ("n_application_g_m2",) and hits(held, (short,)) == ()


def test_too_much_for_the_month_is_a_breach_and_no_limit_that_is_hit() -> None:
    held = problem(UREA, plots=(plot(nitrogen={6: 0.5}),))
    over = (Line("A", 0, "urea", 0.6 / 0.46, 1),)  # by hand: 0.6 over 0.5 and a tenth
    assert any(text.startswith("need") for text in broken(held, over))
    assert set(hits(held, over)) <= set(FAMILIES)


def test_lifting_a_family_lifts_it_and_nothing_else() -> None:
    label = replace(UREA, max_rate=0.5)
    held = problem(label, plots=(plot(openings=opened(passes=0)),))
    assert highest_rate(held, label) == 0.5 and held.passes(held.plots[0], 0) == 0
    free = replace(held, lifted=frozenset({"max_rate", "no_feed"}))
    assert highest_rate(free, label) > 0.5 and free.passes(free.plots[0], 0) == 2
    assert free.holds("salt") and not free.holds("no_feed")


# -- who outdoes whom, one reason at a time


@pytest.mark.parametrize(
    "worse_at",
    [
        {"price_kg": 2.0},
        {"salt_index": 100.0},
        {"caco3": -200.0},
        {"interval_d": 14.0},
        {"max_rate": 1.0},
        {"max_year": 5.0},
        {"shares": {"N": 0.46, "P": 0.1}},
        {"shares": {"N": 0.46, "S": 0.1}},
        {"soluble": False},
    ],
    ids=lambda held: next(iter(held)),
)
def test_one_thing_worse_keeps_a_material_from_outdoing(worse_at: dict) -> None:
    twin = replace(UREA, name="twin", **worse_at)
    assert not outdoes(twin, UREA)
    assert outdoes(replace(UREA, name="same"), UREA)


def test_a_weaker_grade_at_a_fair_price_outdoes_by_more_product() -> None:
    # by hand: 2 g of 23 % bring what 1 g of 46 % does, for 0.80 against 0.85 a kilogram
    half = Feedstuff("half", {"N": 0.23}, 0.4, salt_index=37.2, caco3=-40.5)
    assert outdoes(half, UREA)
    assert not outdoes(replace(half, price_kg=0.43), UREA)  # 0.86 against 0.85
