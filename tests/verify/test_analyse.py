"""Analyses of made-up trials whose answers are worked out by hand, and their sentences."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.base.errors import BadInput, CannotAnswer, UnknownKey
from greenwright.stats.trials.factors import factor
from greenwright.verify.analyse import analyse
from greenwright.verify.checks import odd_level
from greenwright.verify.declared import Declared, level_values, numbers
from greenwright.verify.designing import lay_out
from greenwright.verify.found import VERDICTS, Analysis

SIX = ["1", "2", "3", "4", "5", "6"]


def crossover(gain: float, seed: int = 1, periods: int = 2) -> tuple[dict, Declared]:
    """Return six greens in turns: levels by green and period, the gain, and scatter 0.1."""
    plan = lay_out("crossover", factors={"way": ("as usual", "new")}, units=SIX, seed=seed,
                   periods=periods)  # fmt: skip
    rng = np.random.default_rng(seed)
    y = [
        3 + 0.3 * int(r["green"]) + 0.2 * int(r["period"]) + gain * (r["way"] == "new") + e
        for r, e in zip(plan.rows, 0.1 * rng.normal(size=len(plan.rows)), strict=True)
    ]
    return plan.table() | {"y": [repr(float(v)) for v in y]}, Declared("crossover", "y", plan.roles)


def by_hand(table: dict) -> tuple[float, float]:
    """Return estimate and t of a two-period crossover from differences within greens."""
    held: dict[str, dict[str, tuple[str, float]]] = {}
    for green, period, way, y in zip(
        table["green"], table["period"], table["way"], table["y"], strict=True
    ):
        held.setdefault(green, {})[period] = (way, float(y))
    first = [g["2"][1] - g["1"][1] for g in held.values() if g["2"][0] == "new"]
    second = [g["2"][1] - g["1"][1] for g in held.values() if g["2"][0] != "new"]
    effect = (np.mean(first) - np.mean(second)) / 2
    rest = sum(np.sum((np.array(d) - np.mean(d)) ** 2) for d in (first, second))
    se = (rest / (len(held) - 2) * (1 / len(first) + 1 / len(second))) ** 0.5 / 2
    return float(effect), float(effect / se)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_crossover_is_the_textbook_two_sample_t(seed: int) -> None:
    table, declared = crossover(0.2, seed)
    found = analyse(table, declared)
    effect, t = by_hand(table)
    one = found.contrasts[0]
    sign = 1 if one.first == "new" else -1
    assert sign * one.value == pytest.approx(effect)
    assert found.term("way").f == pytest.approx(t * t)
    assert found.term("way").df_error == 4


def test_a_lot_that_could_fall_in_few_ways_is_said(capsys) -> None:
    found = analyse(*crossover(2.0))
    one = found.term("way")
    # Three and three: 20 ways, the mirror image as large: 0.1 by hand.
    assert one.p_lot == pytest.approx(0.1) and one.ways == 20 and one.lot_exact
    assert "of only 20 ways it could fall" in one.sentence
    assert one.verdict == "differ" and one.p < 0.001


def test_cannot_tell_is_a_verdict_with_a_range() -> None:
    found = analyse(*crossover(0.0, seed=4))
    one = found.term("way")
    assert one.verdict == "cannot tell" and "is not ruled out" in one.sentence
    assert found.detectable > 0.1


def test_alike_within_a_margin_is_another() -> None:
    table, declared = crossover(0.0, seed=4, periods=6)
    held = Declared(declared.layout, "y", declared.roles, margin=0.5, unit="m")
    found = analyse(table, held)
    assert found.term("way").verdict == "alike within the margin"
    assert "alike within 0.5 m" in found.term("way").sentence
    assert {found.term("way").verdict, "differ", "cannot tell"} == set(VERDICTS)


def test_rows_in_any_order_give_the_same() -> None:
    table, declared = crossover(0.2)
    order = np.random.default_rng(5).permutation(12)
    mixed = {key: [cells[i] for i in order] for key, cells in table.items()}
    one, other = analyse(table, declared).term("way"), analyse(mixed, declared).term("way")
    assert other.f == pytest.approx(one.f) and other.p_lot == pytest.approx(one.p_lot)


def test_a_unit_moves_nothing_but_the_unit() -> None:
    table, declared = crossover(0.2)
    inches = table | {"y": [repr(float(v) / 0.0254) for v in table["y"]]}
    one, other = analyse(table, declared), analyse(inches, declared)
    assert other.term("way").f == pytest.approx(one.term("way").f)
    assert other.contrasts[0].se == pytest.approx(one.contrasts[0].se / 0.0254)


def before_after(gain: float) -> Analysis:
    roles = {"units": ("green",), "group": ("group",), "phase": ("phase",)}
    rows = [
        (g, "treated" if int(g) > 3 else "left", phase, day)
        for g in SIX
        for phase in ("before", "after")
        for day in range(3)
    ]
    rng = np.random.default_rng(2)
    level = dict(zip(SIX, rng.normal(0, 0.5, 6), strict=True))
    y = [
        level[g] + 0.4 * (p == "after") + gain * (p == "after" and w == "treated") + e
        for (g, w, p, _), e in zip(rows, rng.normal(0, 0.1, len(rows)), strict=True)
    ]
    names = ("green", "group", "phase", "day")
    table = {name: [str(r[i]) for r in rows] for i, name in enumerate(names)}
    return analyse(table | {"y": [repr(float(v)) for v in y]},
                   Declared("before-after", "y", roles))  # fmt: skip


def test_before_and_after_is_told_by_the_change_of_greens_not_of_days() -> None:
    found = before_after(0.6)
    one = found.term("group:phase")
    # Six greens in two groups: 4 df for their changes, however many days were read; by hand.
    assert (one.df, one.df_error, one.stratum) == (1, 4, "phases within greens")
    assert one.p < 0.05
    assert found.term("group").df_error == 4 and found.term("group").stratum == "greens"


def test_what_both_groups_did_alike_is_no_effect() -> None:
    assert before_after(0.0).term("group:phase").p > 0.05


def test_a_wedge_and_half_greens() -> None:
    plan = lay_out("half-greens", factors={"way": ("a", "b")}, units=SIX, seed=2)
    y = [int(r["green"]) + 0.5 * (r["way"] == "b") + 0.01 * i for i, r in enumerate(plan.rows)]
    found = analyse(plan.table() | {"y": [repr(v) for v in y]},
                    Declared("half-greens", "y", plan.roles))  # fmt: skip
    assert found.term("way").df_error == 5 and found.term("way").p_lot == pytest.approx(2 / 64)
    wedge = lay_out("stepped-wedge", factors={"way": ("a", "b")}, units=SIX, seed=2, periods=4)
    rng = np.random.default_rng(1)
    y = [int(r["green"]) + 0.8 * (r["way"] == "b") + 0.1 * rng.normal() for r in wedge.rows]
    told = analyse(wedge.table() | {"y": [repr(float(v)) for v in y]},
                   Declared("stepped-wedge", "y", wedge.roles))  # fmt: skip
    # 24 readings less 6 greens, 3 periods, 1 way: 14, by hand.
    assert told.method == "within" and told.term("way").df_error == 14
    assert abs(told.contrasts[0].value) == pytest.approx(0.8, abs=0.15)


def test_a_strip_has_three_errors() -> None:
    factors = {"roll": ("no", "yes"), "cut": ("3", "4", "5")}
    plan = lay_out("strip", factors=factors, units=SIX[:4], seed=6)
    rng = np.random.default_rng(6)
    table = plan.table() | {"y": [repr(float(v)) for v in rng.normal(size=24)]}
    found = analyse(table, Declared("strip", "y", plan.roles))
    held = {t.term: (t.stratum, t.df, t.df_error) for t in found.terms}
    # (4 - 1)(2 - 1) = 3, (4 - 1)(3 - 1) = 6, (4 - 1)(1)(2) = 6: by hand.
    assert held == {
        "roll": ("strips along", 1, 3),
        "cut": ("strips across", 2, 6),
        "roll:cut": ("crossings of strips", 2, 6),
    }


def test_a_split_split_plot_has_three_errors() -> None:
    factors = {"a": ("1", "2"), "b": ("1", "2"), "c": ("1", "2", "3")}
    plan = lay_out("split-split-plot", factors=factors, units=SIX[:3], seed=6)
    y = [repr(float(v)) for v in np.random.default_rng(6).normal(size=36)]
    found = analyse(plan.table() | {"y": y}, Declared("split-split-plot", "y", plan.roles))
    errors = {t.term: t.df_error for t in found.terms}
    # 3 blocks: (2)(1) = 2; 2 (2 - 1)(3 - 1) = 4; 2 . 2 (3 - 1)(3 - 1) = 16, by hand.
    assert errors == {"a": 2, "b": 4, "a:b": 4, "c": 16, "a:c": 16, "b:c": 16, "a:b:c": 16}


def test_a_far_reading_is_pointed_out_and_kept() -> None:
    table, declared = crossover(0.2, periods=4)
    table["y"][5] = "9.0"
    found = analyse(table, declared)
    told = {c.key: c for c in found.checks}
    assert told["far off"].holds is False and "it was kept" in told["far off"].sentence
    assert found.used == 24


def test_nothing_left_for_error_is_refused() -> None:
    table = {"way": ["a", "b", "c"], "y": ["1", "2", "3"]}
    with pytest.raises(CannotAnswer, match="nothing is left for error"):
        analyse(table, Declared("crd", "y", {"treatments": ("way",)}))


def test_a_control_that_no_factor_has_is_refused() -> None:
    table, declared = crossover(0.1)
    with pytest.raises(UnknownKey, match="no level"):
        analyse(table, Declared("crossover", "y", declared.roles, control="other"))


def test_a_logarithm_of_nothing_is_refused() -> None:
    table = {"way": list("abab"), "y": ["0", "2", "3", "4"]}
    with pytest.raises(BadInput, match="above zero"):
        analyse(table, Declared("crd", "y", {"treatments": ("way",)}, log=True))


def test_an_empty_level_is_refused_with_its_line() -> None:
    table = {"way": ["a", "", "a", "b"], "y": ["1", "2", "3", "4"]}
    with pytest.raises(BadInput, match="line 3, column way"):
        analyse(table, Declared("crd", "y", {"treatments": ("way",)}))


def test_doses_with_units_are_numbers() -> None:
    assert level_values(factor("n", ["0.2cwt", "0.0cwt"])) == [0.2, 0.0]
    with pytest.raises(BadInput, match="no dose"):
        level_values(factor("n", ["low", "high"]))


def test_numbers_name_the_line() -> None:
    assert np.isnan(numbers({"y": ["1", ""]}, "y", empty=True)[1])
    with pytest.raises(BadInput, match="line 3, column y"):
        numbers({"y": ["1", "None"]}, "y", empty=True)


def test_the_odd_level_needs_all_others_on_one_side() -> None:
    site = factor("site", [s for s in SIX for _ in range(8)])
    year = factor("year", (["1"] * 4 + ["2"] * 4) * 6)
    up = np.array([(k == "2") * 1.0 for k in (["1"] * 4 + ["2"] * 4) * 6])
    noise = 0.05 * np.random.default_rng(3).normal(size=48)
    odd = np.where(site.codes == 3, -up, up) + noise
    assert odd_level(odd, site, year) == "4"
    assert odd_level(up + noise, site, year) is None
