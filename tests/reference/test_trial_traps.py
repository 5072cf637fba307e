"""The traps that spoil a trial's analysis, each on the published data that shows it."""

from __future__ import annotations

import pytest

from greenwright.base.errors import BadInput
from greenwright.verify.analyse import analyse
from greenwright.verify.declared import Declared
from greenwright.verify.found import Analysis
from tests.reference.r_answers import table, without


def failed(found: Analysis) -> dict[str, str]:
    return {c.key: c.sentence for c in found.checks if c.holds is False}


def test_shade_is_held_against_plots_not_vines() -> None:
    # 22.2 on (3, 6) against plots (memory, and R); 38.2 against vines is the wrong answer.
    held = Declared("complete-block", "yield", {"treatments": ("shade",), "blocks": ("block",)})
    found = analyse(table("kiwishade"), held)
    shade = found.term("shade")
    assert shade.f == pytest.approx(22.21, abs=0.005)
    assert (shade.df, shade.df_error) == (3, 6)
    assert shade.stratum == "plots within blocks"
    told = next(c.sentence for c in found.checks if c.key == "repeats")
    assert "48 readings stand on 12 plots" in told


def test_vines_called_plots_give_the_other_answer() -> None:
    held = table("kiwishade") | {"vine": [str(i) for i in range(48)]}
    roles = {"treatments": ("shade",), "blocks": ("block",), "plots": ("vine",)}
    found = analyse(held, Declared("complete-block", "yield", roles))
    assert found.term("shade").df_error == 42 and found.term("shade").f > 30


def test_the_three_way_term_of_the_peas_is_named_as_aliased() -> None:
    roles = {"treatments": ("N", "P", "K"), "blocks": ("block",)}
    found = analyse(table("npk"), Declared("complete-block", "yield", roles))
    assert len(found.aliased) == 1
    assert found.aliased[0].startswith("N:P:K is aliased with blocks")
    assert found.term("N:P:K").stratum == "blocks" and found.term("N:P:K").df_error == 4


def test_the_level_none_is_a_level() -> None:
    roles = {"blocks": ("Block",), "whole": ("Variety",), "periods": ("Date",)}
    found = analyse(table("alfalfa"), Declared("split-plot-in-time", "Yield", roles))
    assert (found.rows, found.used) == (72, 72)
    assert "None" in {m.label for m in found.means if m.term == "Date"}
    # V 0.653 (2, 10), Date 23.39 (3, 45), V x D 1.255 (R; 30 df if the level is lost).
    told = {t.term: (round(t.f, 3), t.df_error) for t in found.terms}
    assert told == {"Variety": (0.653, 10), "Date": (23.39, 45), "Variety:Date": (1.255, 45)}


def eelworms(*baseline: str) -> Analysis:
    held = table("eelworm_fumigation")
    pairs = zip(held["fumigant"], held["dose"], strict=True)
    held["trt"] = [" ".join(p) for p in pairs]
    roles = {"treatments": ("trt",), "blocks": ("block",), "plots": ("row", "col")}
    return analyse(held, Declared("complete-block", "final", roles, baseline=baseline, log=True))


def test_a_forgotten_baseline_is_pointed_out() -> None:
    found = eelworms()
    told = [c.sentence for c in found.checks if c.key == "baseline"]
    assert any("'initial'" in text and "--baseline" in text for text in told)
    # p .21 without, .00056 with log(initial) (computed with R).
    assert found.term("trt").p == pytest.approx(0.205, abs=0.001)
    assert found.term("trt").verdict == "cannot tell"
    fair = eelworms("initial").term("trt")
    assert fair.p == pytest.approx(0.00056, abs=5e-6) and fair.verdict == "differ"


def test_blocks_that_hide_a_split_plot() -> None:
    roles = {"treatments": ("gen",), "blocks": ("block",)}
    found = analyse(table("strawberry_yield"), Declared("complete-block", "yield", roles))
    assert "share a row" in failed(found)["hidden split-plot"]
    assert found.term("gen").f == pytest.approx(3.69, abs=0.005)


def test_a_true_lot_hides_nothing() -> None:
    held = table("turnip_density")
    roles = {"treatments": ("spacing", "density"), "blocks": ("block",)}
    found = analyse(held, Declared("complete-block", "yield", roles))
    assert "hidden split-plot" not in failed(found)


def test_years_exchanged_at_one_site_are_suspected() -> None:
    roles = {"treatments": ("variety", "year"), "blocks": ("site",)}
    found = analyse(table("barley"), Declared("complete-block", "yield", roles))
    # The site with years apparently exchanged is Morris (memory).
    assert "Morris" in failed(found)["odd one out"]


def test_no_site_is_suspected_once_the_years_are_put_right() -> None:
    held = table("barley")
    other = {"1931": "1932", "1932": "1931"}
    pairs = zip(held["site"], held["year"], strict=True)
    held["year"] = [other[year] if site == "Morris" else year for site, year in pairs]
    roles = {"treatments": ("variety", "year"), "blocks": ("site",)}
    assert "odd one out" not in failed(analyse(held, Declared("complete-block", "yield", roles)))


def test_the_ground_changes_the_verdict_on_wheat() -> None:
    # Plain: F 0.88, p .71 (computed with R); a spatial model changes the verdict (memory).
    roles = {"treatments": ("variety",), "blocks": ("Block",)}
    found = analyse(table("wheat2"), Declared("complete-block", "yield", roles))
    assert found.term("variety").p == pytest.approx(0.71, abs=0.005)
    assert "Neighbours resemble each other" in failed(found)["ground"]


def test_a_missing_reading_is_named_by_its_line() -> None:
    held = without(table("oats"), "Y", [2, 17])
    roles = {"blocks": ("B",), "whole": ("V",), "sub": ("N",)}
    found = analyse(held, Declared("split-plot", "Y", roles))
    assert found.missing == (3, 18) and found.used == 70 and found.method == "reml"
    assert "lines 3, 18" in failed(found)["rows"]


def test_words_are_no_readings() -> None:
    held = table("oats")
    held["Y"][4] = "NA"
    roles = {"blocks": ("B",), "whole": ("V",), "sub": ("N",)}
    with pytest.raises(BadInput, match="line 6, column Y"):
        analyse(held, Declared("split-plot", "Y", roles))


def test_linear_nitrogen_on_oats() -> None:
    # Reference page of MASS: linear F 110.323.
    roles = {"blocks": ("B",), "whole": ("V",), "sub": ("N",)}
    found = analyse(table("oats"), Declared("split-plot", "Y", roles, trend=("N",)))
    assert found.term("N linear").f == pytest.approx(110.323, abs=5e-4)
    assert found.term("N linear").df_error == 45
    parts = [t.ss for t in found.terms if t.term.startswith("N ")]
    assert sum(parts) == pytest.approx(found.term("N").ss)
