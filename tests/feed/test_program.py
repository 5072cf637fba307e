"""The feeding program: equal to trying everything, inside every limit, honest when it cannot."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date
from math import inf

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from greenwright.feed.build import Build
from greenwright.feed.check import broken, hits
from greenwright.feed.materials import Feedstuff
from greenwright.feed.outdone import outdoes, worth_trying
from greenwright.feed.plan import NO_MATERIAL, brought, feed_plan, masses
from greenwright.feed.problem import Line, Plot, Problem
from greenwright.feed.program import cost_of, solve, written
from greenwright.feed.tight import rounded
from greenwright.feed.windows import Opening, Window

# Invented prices; grades as such materials are usually sold.
UREA = Feedstuff("urea", {"N": 0.46}, 0.85, salt_index=74.4, caco3=-81)
SULFATE = Feedstuff("ammonium sulfate", {"N": 0.21, "S": 0.24}, 0.6, salt_index=88.3, caco3=-110)
POTASH = Feedstuff("potassium sulfate", {"K": 0.415, "S": 0.18}, 1.4, salt_index=42.6)
CALCIUM = Feedstuff("calcium nitrate", {"N": 0.15, "Ca": 0.19}, 0.7, salt_index=65)
PHOSPHATE = Feedstuff("ammonium phosphate", {"N": 0.11, "P": 0.227}, 1.1, salt_index=26.7)
JUNE = (Window(date(2026, 6, 1), date(2026, 6, 15)), Window(date(2026, 6, 16), date(2026, 6, 30)))


def opened(windows=JUNE, *, passes: int = 2, n_pass: float = 0.8) -> tuple[Opening, ...]:
    return tuple(Opening(w.first, w.last, passes, n_pass, False, 0) for w in windows)


def plot(key: str = "A", **more) -> Plot:
    held = {
        "greens": (key,), "area_m2": 1000.0, "nitrogen": {6: 1.5}, "elements": {},
        "openings": opened(), "pass_cost": 10.0,
    } | more  # fmt: skip
    return Plot(key, **held)


def problem(*materials: Feedstuff, plots: tuple[Plot, ...] = (), windows=JUNE, **more) -> Problem:
    settings_ = {"tolerance": 0.1, "salt_pass": 5.0, "another_material": 20.0, "weighing_out": 3.0}
    return Problem(plots or (plot(),), windows, materials, **(settings_ | more))


def total_n(held: Problem, lines: tuple[Line, ...]) -> float:
    stuff = {m.name: m for m in held.materials}
    return sum(one.total * stuff[one.material].share("N") for one in lines)


# -- equal to trying every whole choice


def tried(held: Problem) -> float:
    """Return the least objective over every whole choice, a linear program for the rest."""
    build, _ = written(held)
    whole = [k for k, w in enumerate(build.whole) if w]
    best = inf
    for values in itertools.product(*(range(int(build.upper[k]) + 1) for k in whole)):
        bounds = [(0.0, u if u < inf else None) for u in build.upper]
        for place, chosen in zip(whole, values, strict=True):
            bounds[place] = (float(chosen), float(chosen))
        best = min(best, linear(build, bounds))
    return best


def linear(build: Build, bounds: list) -> float:
    rows, ends = [], []
    for terms, low, high in build.rows:
        row = np.zeros(len(build.costs))
        for place, v in terms.items():
            row[place] = v
        if high < inf:
            rows.append(row)
            ends.append(high)
        if low > -inf:
            rows.append(-row)
            ends.append(-low)
    got = linprog(build.costs, A_ub=np.array(rows), b_ub=np.array(ends), bounds=bounds)
    return float(got.fun) if got.status == 0 else inf


TINY = {
    "nitrogen only": problem(UREA),
    "two sources": problem(UREA, SULFATE, plots=(plot(elements={"S": 0.4}),)),
    "a poor month": problem(UREA, plots=(plot(nitrogen={6: 0.3}),)),
    "over the limit": problem(UREA, plots=(plot(nitrogen={6: 9.0}),)),
    "one window": problem(UREA, POTASH, windows=JUNE[:1],
                          plots=(plot(elements={"K": 2.0}, openings=opened(JUNE[:1])),)),
    "shut": problem(UREA, plots=(plot(openings=(opened(passes=0)[0], opened()[1])),)),
    "calcium apart": problem(CALCIUM, SULFATE, windows=JUNE[:1],
                             plots=(plot(nitrogen={6: 1.0}, elements={"S": 0.2},
                                         openings=opened(JUNE[:1], passes=1)),)),
}  # fmt: skip


@pytest.mark.parametrize("name", TINY)
def test_the_program_equals_trying_everything(name: str) -> None:
    held = TINY[name]
    assert solve(held, gap=0.0).objective == pytest.approx(tried(held), rel=1e-6)


# -- what it does


def test_urea_alone_in_as_few_passes_as_the_limit_leaves() -> None:
    got = feed_plan(problem(UREA, SULFATE))
    # by hand: 1.5 g at most 0.8 a pass is two passes; urea is 1.85 a kg of nitrogen against 2.86
    assert {one.material for one in got.lines} == {"urea"}
    assert sum(one.passes for one in got.lines) == 2 and not got.short
    assert total_n(got.problem, got.lines) == pytest.approx(1.5)
    # by hand: 1.5/0.46 g/m2 on 1000 m2 is 3.26 kg at 0.85, and two passes at 10
    assert got.cost == pytest.approx(1.5 / 0.46 * 0.85 + 20, rel=1e-6)


def test_few_materials_where_one_can_do_two_things() -> None:
    one = problem(UREA, SULFATE, plots=(plot(elements={"S": 1.0}),))
    assert {line.material for line in feed_plan(one).lines} == {"ammonium sulfate"}
    cheap = replace(
        one,
        another_material=0.0,
        weighing_out=0.0,
        plots=(plot(area_m2=50_000.0, elements={"S": 0.3}),),
    )
    # on five hectares the price decides: urea for what sulfur does not ask
    assert {line.material for line in feed_plan(cheap).lines} == {"ammonium sulfate", "urea"}


def test_acidity_that_is_unwanted_is_paid_for() -> None:
    # by hand, a kg of nitrogen: sulfate 0.6/0.21 = 2.86 with 110/21 kg of lime, nitrate
    # 0.9/0.15 = 6.00 with none; at 1 a kg of lime the sulfate costs 8.10
    nitrate = Feedstuff("nitrate", {"N": 0.15}, 0.9, salt_index=65, caco3=20)
    sweet = problem(SULFATE, nitrate, salt_pass=50.0)
    sour = replace(sweet, plots=(plot(sour=1.0),))
    assert {one.material for one in feed_plan(sweet).lines} == {"ammonium sulfate"}
    assert {one.material for one in feed_plan(sour).lines} == {"nitrate"}


def test_calcium_and_sulfate_keep_apart() -> None:
    held = problem(CALCIUM, POTASH, plots=(plot(elements={"K": 1.0, "Ca": 0.5}),))
    got = feed_plan(held)
    windows = {
        name: {one.window for one in got.lines if one.material == name}
        for name in ("calcium nitrate", "potassium sulfate")
    }
    assert not got.short and not windows["calcium nitrate"] & windows["potassium sulfate"]


def test_phosphorus_that_is_forbidden_is_not_given_and_is_named() -> None:
    held = problem(UREA, PHOSPHATE, plots=(plot(elements={"P": 0.3}, phosphorus=False),))
    got = feed_plan(held)
    assert "ammonium phosphate" not in {one.material for one in got.lines}
    assert got.short == {("A", "P", 0): pytest.approx(0.3)} and got.clashes == ("p_allowed",)
    allowed = replace(held, plots=(plot(elements={"P": 0.3}),))
    assert not feed_plan(allowed).short


@pytest.mark.parametrize(
    ("change", "clash"),
    [
        ({"n_year": 1.0}, "n_year_g_m2"),
        ({"n_month": {6: 1.0}}, "n_month_g_m2"),
        ({"openings": opened(n_pass=0.2)}, "n_application_g_m2"),
        ({"openings": opened(passes=0)}, "no_feed"),
    ],
)
def test_the_limit_that_clashes_is_named(change: dict, clash: str) -> None:
    got = feed_plan(problem(UREA, plots=(plot(**change),)))
    assert got.short and got.clashes == (clash,)
    if clash != "no_feed":
        assert clash in got.hits


def test_two_limits_that_clash_only_together_are_both_named() -> None:
    got = feed_plan(problem(UREA, plots=(plot(n_year=1.0, n_month={6: 1.0}),)))
    assert set(got.clashes) == {"n_year_g_m2", "n_month_g_m2"}


def test_a_store_that_holds_nothing_of_it_is_told() -> None:
    got = feed_plan(problem(UREA, plots=(plot(elements={"Mg": 0.5}),)))
    assert got.clashes == (NO_MATERIAL,) and set(got.short) == {("A", "Mg", 0)}
    assert feed_plan(problem()).clashes == (NO_MATERIAL,)


@pytest.mark.parametrize(
    ("limited", "family"),
    [(replace(UREA, max_rate=0.5), "max_rate"), (replace(UREA, max_year=1.0), "max_per_year")],
)
def test_the_label_is_law(limited: Feedstuff, family: str) -> None:
    got = feed_plan(problem(limited))
    assert got.short and family in got.hits and family in got.clashes


def test_what_was_given_counts_against_the_label_s_year() -> None:
    limited = replace(UREA, max_year=4.0)
    free, used = (feed_plan(problem(limited, plots=(plot(used=u),))) for u in ({}, {"urea": 3.0}))
    assert not free.short and used.short
    assert sum(one.total for one in used.lines) <= 1.0 + 1e-6  # by hand: 4 - 3


def test_the_label_s_interval_keeps_passes_apart() -> None:
    slow = replace(UREA, interval_d=28)
    got = feed_plan(problem(slow))
    assert sum(one.passes for one in got.lines) == 1 and got.short


def test_a_spray_that_would_burn_is_split_or_left() -> None:
    got = feed_plan(problem(SULFATE))
    # by hand: 5 g of salt over 0.883 is 5.66 g of sulfate, 1.19 g of nitrogen: the pass limit rules
    assert (not got.short and "n_application_g_m2" not in got.hits) or got.lines
    tight = feed_plan(problem(SULFATE, salt_pass=1.0))
    assert "salt" in tight.hits and tight.clashes == ("salt",)


def test_granules_watered_in_carry_no_burn_limit() -> None:
    dry = replace(SULFATE, soluble=False)
    assert not feed_plan(problem(dry, salt_pass=0.5)).short


def test_no_need_is_no_plan() -> None:
    got = feed_plan(problem(UREA, plots=(plot(nitrogen={6: 0.0}),)))
    assert (got.lines, got.short, got.clashes, got.cost) == ((), {}, (), 0.0)


# -- whatever it is asked


stuffs = st.lists(
    st.builds(
        Feedstuff,
        st.just("x"),
        st.fixed_dictionaries(
            {"N": st.floats(0, 0.46), "K": st.floats(0, 0.5), "S": st.floats(0, 0.2)}
        ),
        st.floats(0.1, 3),
        salt_index=st.floats(0, 110),
        max_rate=st.one_of(st.none(), st.floats(0.5, 20)),
    ),
    min_size=1,
    max_size=3,
)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(stuffs, st.floats(0, 3), st.floats(0, 4), st.floats(0.2, 4), st.floats(0.3, 1.2))
def test_every_plan_keeps_every_limit_and_loses_no_mass(
    found: list[Feedstuff], n: float, k: float, year: float, each: float
) -> None:
    named = tuple(replace(one, name=f"m{i}") for i, one in enumerate(found))
    one = plot(nitrogen={6: n}, elements={"K": k}, n_year=year, openings=opened(n_pass=each))
    held = problem(*named, plots=(one,))
    got = solve(held)
    assert broken(held, got.lines) == ()
    given_ = brought(held, got.lines, "A")
    assert given_["N"] + got.short.get(("A", "N", 6), 0.0) >= n - 1e-3
    assert given_["N"] <= n * 1.1 + 1e-3
    assert given_["K"] + got.short.get(("A", "K", 0), 0.0) >= k - 1e-3
    kilos = masses(held, got.lines)
    by_hand = sum(one.total for one in got.lines)  # g/m2 on 1000 m2 are kg
    assert sum(kilos.values()) == pytest.approx(by_hand)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(stuffs, st.floats(0.1, 2), st.floats(0, 2))
def test_leaving_out_what_is_outdone_costs_nothing(found, n: float, k: float) -> None:
    """The same plan is found with a dearer twin of each material beside it."""
    named = tuple(replace(one, name=f"m{i}") for i, one in enumerate(found))
    twins = tuple(replace(one, name=f"{one.name}b", price_kg=one.price_kg * 1.2) for one in named)
    one = plot(nitrogen={6: n}, elements={"K": k})
    alone = solve(problem(*named, plots=(one,)), gap=0.0)
    beside = solve(problem(*twins, *named, plots=(one,)), gap=0.0)
    assert beside.objective == pytest.approx(alone.objective, rel=1e-5, abs=1e-6)


# -- the parts


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ((Line("A", 0, "urea", 2.0, 1),), "n_application_g_m2"),
        ((Line("A", 0, "urea", 1.7, 5),), "no_feed"),
        ((Line("A", 0, "urea", 1.7, 2), Line("A", 1, "urea", 1.7, 2)), "n_year_g_m2"),
        ((Line("A", 0, "ammonium sulfate", 6.0, 1),), "salt"),
        (tuple(Line("A", 0, n, 1.0, 1) for n in ("calcium nitrate", "ammonium sulfate")), "tank"),
        ((Line("A", 0, "ammonium phosphate", 1.0, 1),), "p_allowed"),
    ],
)  # fmt: skip
def test_the_second_look_sees_each_breach(lines: tuple[Line, ...], says: str) -> None:
    held = problem(UREA, SULFATE, CALCIUM, PHOSPHATE, plots=(plot(n_year=2.0, phosphorus=False),))
    told = broken(held, lines)
    assert any(text.startswith(says) for text in told), told
    assert broken(held, ()) == () and hits(held, ()) == ()


@pytest.mark.parametrize(("need", "room", "count"), [(1.8, 0.8, 3), (1.6, 0.8, 2), (0.1, 0.8, 1)])
def test_rooms_are_counted_whole(need: float, room: float, count: int) -> None:
    got, last = rounded(need, room)
    assert got == count and last == pytest.approx(need - room * (count - 1))


def test_who_outdoes_whom() -> None:
    dear = replace(UREA, name="dear", price_kg=2.0)
    assert outdoes(UREA, dear) and not outdoes(dear, UREA)
    assert not outdoes(UREA, SULFATE) and not outdoes(SULFATE, UREA)
    assert worth_trying((dear, UREA, UREA)) == (UREA,)
    assert worth_trying((SULFATE, POTASH, CALCIUM)) == (SULFATE, POTASH, CALCIUM)


def test_a_pass_is_paid_once_whatever_is_in_the_tank() -> None:
    held = problem(UREA, POTASH)
    both = (Line("A", 0, "urea", 1.0, 2), Line("A", 0, "potassium sulfate", 2.0, 2))
    # by hand: 2 kg at 0.85, 4 kg at 1.4, two passes at 10
    assert cost_of(held, both) == pytest.approx(2 * 0.85 + 4 * 1.4 + 20)
