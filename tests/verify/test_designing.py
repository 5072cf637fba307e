"""Every layout by lot: who gets what is fair, reproducible, and what it can tell is as promised."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from math import comb

import numpy as np
import pytest
from scipy.special import fdtri
from scipy.stats import ncf

from greenwright.base.errors import BadInput, CannotAnswer, UnknownKey
from greenwright.verify.designing import Plan, blind_codes, lay_out, sequences
from greenwright.verify.layouts import LAYOUTS, layout
from greenwright.verify.power import foresee, smallest_p

TWO = {"way": ("as usual", "new")}
FOUR = {"way": ("a", "b", "c", "d")}
PAIR = {"roll": ("no", "yes"), "cut": ("3", "4", "5")}
SIX = ["1", "2", "3", "4", "5", "6"]
SD = {
    name: 0.1
    for form in LAYOUTS.values()
    for name in (*(s for s, _ in form.strata), form.last)
}  # fmt: skip
CASES = {
    "completely-randomised": (TWO, SIX, 2),
    "complete-block": (FOUR, SIX, 2),
    "latin-square": (FOUR, SIX[:4], 2),
    "split-plot": (PAIR, SIX[:4], 2),
    "split-split-plot": (PAIR | {"food": ("low", "high")}, SIX[:3], 2),
    "strip": (PAIR, SIX[:4], 2),
    "split-plot-in-time": (TWO, SIX, 4),
    "crossover": (TWO, SIX, 4),
    "stepped-wedge": (TWO, SIX, 4),
    "before-after": (TWO, SIX, 2),
    "half-greens": (TWO, SIX, 2),
}


def made(key: str, seed: int = 11) -> Plan:
    factors, units, periods = CASES[key]
    return lay_out(key, factors=factors, units=units, seed=seed, periods=periods)


def test_every_layout_can_be_laid_out() -> None:
    assert set(CASES) == set(LAYOUTS)


@pytest.mark.parametrize("key", CASES)
def test_the_same_seed_draws_the_same_plan_and_another_another(key: str) -> None:
    assert made(key).rows == made(key).rows
    others = {tuple(map(str, made(key, seed).rows)) for seed in range(1, 9)}
    assert len(others) > 1
    assert "seed 11" in made(key).notes[0]


@pytest.mark.parametrize("key", CASES)
def test_every_level_stands_equally_often(key: str) -> None:
    plan = made(key)
    if key == "stepped-wedge":
        return
    for name, levels in plan.factors.items():
        counts = Counter(row[name] for row in plan.rows)
        assert set(counts) == set(levels) and len(set(counts.values())) == 1


def test_blocks_hold_every_treatment_once() -> None:
    for green in SIX:
        held = [row["way"] for row in made("complete-block").rows if row["block"] == green]
        assert sorted(held) == ["a", "b", "c", "d"]


def test_a_square_is_a_square() -> None:
    plan = made("latin-square")
    for line in ("row", "column"):
        for place in {row[line] for row in plan.rows}:
            assert sorted(r["way"] for r in plan.rows if r[line] == place) == list("abcd")


def test_whole_plots_hold_one_level_and_strips_run_through() -> None:
    for row in made("split-plot").rows:
        mates = [
            r["roll"]
            for r in made("split-plot").rows
            if (r["block"], r["whole"]) == (row["block"], row["whole"])
        ]
        assert len(set(mates)) == 1 and len(mates) == 3
    strip = made("strip").rows
    for line, factor in (("row", "roll"), ("column", "cut")):
        for row in strip:
            same = {r[factor] for r in strip if (r["block"], r[line]) == (row["block"], row[line])}
            assert same == {row[factor]}


def test_a_crossover_gives_every_green_every_way_and_half_begin_each() -> None:
    rows = made("crossover").rows
    first = Counter(r["way"] for r in rows if r["period"] == "1")
    assert first == {"as usual": 3, "new": 3}
    for green in SIX:
        assert {r["way"] for r in rows if r["green"] == green} == set(TWO["way"])


def test_a_wedge_only_ever_goes_forward() -> None:
    rows = made("stepped-wedge").rows
    for green in SIX:
        held = [r["way"] == "new" for r in rows if r["green"] == green]
        assert held == sorted(held) and held[0] is False and held[-1] is True


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_each_way_follows_each_other_equally_often(count: int) -> None:
    turns = sequences(count, count)
    follows = Counter((a, b) for one in turns for a, b in pairwise(one))
    assert len(follows) == count * (count - 1) and len(set(follows.values())) == 1


def test_greens_of_an_event_are_left_alone() -> None:
    plan = lay_out("crossover", factors=TWO, units=SIX, seed=3, periods=2, never=["2", "5"])
    assert {row["green"] for row in plan.rows} == {"1", "3", "4", "6"}
    assert "2, 5" in plan.notes[1]


def test_lots_are_even() -> None:
    # Of 400 seeds each green begins with the new way about half the time: 5 sd of a coin is 50.
    counts = Counter(
        row["green"]
        for seed in range(400)
        for row in lay_out("crossover", factors=TWO, units=SIX, seed=seed, periods=2).rows
        if row["period"] == "1" and row["way"] == "new"
    )
    assert all(abs(counts[g] - 200) < 50 for g in SIX)


def test_smallest_p_by_hand() -> None:
    # Six greens three and three: 20 ways, two of them mirror images.
    for key in ("completely-randomised", "crossover", "before-after"):
        assert smallest_p(made(key)) == (pytest.approx(2 / comb(6, 3)), 20)
    # Six coins: 64 ways, two alike.
    plan = made("half-greens")
    p, ways = smallest_p(plan)
    flips = Counter(row["way"] for row in plan.rows if row["part"] == "a")
    assert ways == 64 and p == pytest.approx(2 / 64) and sum(flips.values()) == 6
    # Four treatments in six blocks: 24^6 ways, the 24 that rename them alike.
    assert smallest_p(made("split-plot"))[0] == pytest.approx(6 / 6**8)


@pytest.mark.parametrize("key", CASES)
def test_power_is_that_of_the_noncentral_f(key: str) -> None:
    plan = made(key)
    seen = foresee(plan, sd=SD, difference=0.2, runs=4_000)
    assert 0 <= seen.power <= 1 and seen.df_error >= 1
    # Noncentrality by hand for those with one error and one difference.
    if key == "completely-randomised":
        centre = 6 * 0.1**2 / 0.1**2
    elif key == "half-greens":
        centre = 12 * 0.1**2 / 0.1**2
    elif key == "crossover":
        centre = 24 * 0.1**2 / 0.1**2
    else:
        return
    edge = fdtri(1, seen.df_error, 0.95)
    assert seen.power == pytest.approx(ncf.sf(edge, 1, seen.df_error, centre), abs=0.03)


def test_the_detectable_difference_is_seen_four_times_in_five() -> None:
    plan = made("crossover")
    least = foresee(plan, sd=SD, difference=0.2).detectable
    again = foresee(plan, sd=SD, difference=least)
    assert again.power == pytest.approx(0.8, abs=0.01)


def test_more_greens_see_more() -> None:
    few = lay_out("crossover", factors=TWO, units=SIX[:4], seed=1, periods=2)
    many = lay_out("crossover", factors=TWO, units=[*SIX, "7", "8"], seed=1, periods=2)
    power = [foresee(p, sd=SD, difference=0.15).power for p in (few, many)]
    assert power[1] > power[0] + 0.2


def test_codes_say_nothing_and_are_each_used_once() -> None:
    plan = made("crossover")
    codes = blind_codes(plan)
    assert len(set(codes.values())) == len(plan.rows) == 24
    assert not any(letter in code for code in codes.values() for letter in "IO")


REFUSED = [
    ("completely-randomised", TWO, SIX[:3], 2, "nothing to judge"),
    ("latin-square", FOUR, SIX, 2, "needs 4 rows"),
    ("split-plot", TWO, SIX, 2, "takes 2 factors"),
    ("crossover", FOUR, SIX, 2, "as many periods"),
    ("stepped-wedge", TWO, SIX, 2, "three or more periods"),
    ("before-after", TWO, SIX[:3], 2, "two greens for each"),
    ("half-greens", FOUR, SIX, 2, "two ways"),
    ("crossover", {"way": ("a", "a")}, SIX, 2, "two levels"),
    ("crossover", TWO, ["1", "1"], 2, "different greens"),
]


@pytest.mark.parametrize(("key", "factors", "units", "periods", "why"), REFUSED)
def test_what_cannot_be_laid_out_says_why(key, factors, units, periods, why) -> None:
    with pytest.raises(BadInput, match=why):
        lay_out(key, factors=factors, units=units, seed=1, periods=periods)


def test_unknown_names_are_refused() -> None:
    with pytest.raises(UnknownKey, match="no layout"):
        layout("by wish")
    with pytest.raises(UnknownKey, match="to leave out"):
        lay_out("crossover", factors=TWO, units=SIX, seed=1, never=["99"])
    with pytest.raises(BadInput, match="sd of"):
        foresee(made("crossover"), sd={}, difference=0.1)
    with pytest.raises(BadInput, match="above zero"):
        foresee(made("crossover"), sd=SD, difference=0.0)


def test_a_plan_that_leaves_nothing_for_error_is_refused() -> None:
    plan = lay_out("crossover", factors=TWO, units=SIX[:2], seed=1, periods=2)
    with pytest.raises(CannotAnswer, match="nothing to judge"):
        foresee(plan, sd=SD, difference=0.1)


def test_plans_are_tables_that_an_analysis_can_read() -> None:
    for key in CASES:
        plan = made(key)
        table = plan.table()
        assert {c for columns in plan.roles.values() for c in columns} <= set(table)
        assert np.unique([len(cells) for cells in table.values()]).size == 1
