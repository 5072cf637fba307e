"""Trials drawn and told: an undecided trial, other layouts, other units, long names."""

from __future__ import annotations

import re
from datetime import date

import pytest

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show.figures.differences import differences_figure, finding, told
from greenwright.show.figures.plots import plan_figure
from greenwright.show.pages.trials import trial_page
from greenwright.show.trial_report import report_svg

DAY = date(2026, 6, 26)
METRIC = Course(course="x", name="Tarn Edge", timezone="UTC", display_units="metric",
                speed_units="m")  # fmt: skip
FEET = Course(course="x", name="Tarn Edge", timezone="UTC", display_units="us")


def contrast(low: float, value: float, high: float, unit: str = "m") -> dict:
    return {
        "term": "treatment", "first": "rolled", "second": "as usual", "value": value, "se": 0.05,
        "df": 10.0, "low": low, "high": high, "level": 0.95, "p": 0.2, "p_adjusted": 0.2,
        "adjusted": "none", "unit": unit,
    }  # fmt: skip


def row(green: str, way: str, **more: str) -> dict:
    return {"plot": "1", "green": green, "treatment": way, "code": "QX" + green, "read": 1,
            "value": 2.8, "from": date(2026, 6, 1), "until": date(2026, 6, 5), **more}  # fmt: skip


def answer(
    contrasts: list[dict] | None = None, verdict: str = "cannot tell", **more: object
) -> Answer:
    held = [] if contrasts is None else contrasts
    trial = {
        "name": "spring", "layout": "half-greens", "seed": 3, "kind": "roll_distance", "unit": "m",
        "treatments": ["as usual", "rolled"], "greens": ["1", "2"], "from": date(2026, 6, 1),
        "until": date(2026, 6, 5), "washout_days": 0, "notes": ["Drawn by lot with seed 3."],
        "smallest_p": 0.5, "ways": 4, "power": 0.31, "power_error": 0.01, "difference": 0.1524,
        "detectable": 0.3, "alpha": 0.05,
    }  # fmt: skip
    plan = [row(g, w, part=p) for g in ("1", "2") for w, p in (("as usual", "a"), ("rolled", "b"))]
    found = {
        "term": "treatment", "stratum": "halves of greens", "df": 1, "df_error": 1, "ss": 1.0,
        "F": 2.0 if held else None, "p": 0.2 if held else None, "p_lot": None, "lot_ways": None,
        "estimate": None, "verdict": verdict, "reason": "A reason.",
    }  # fmt: skip
    return Answer(
        "trial",
        DAY,
        {"course": "x", "name": "Tarn Edge", "readings": 4, "last_reading": date(2026, 6, 5)},
        findings=(found,),
        choices=({"date": date(2026, 6, 1), "until": date(2026, 6, 5), "treatment": "rolled",
                  "greens": ["1 half b", "2 half b"]},),
        made_by={"program": "greenwright", "model": "trial", "seconds": 0.1},
        more={
            "trial": trial, "plan": plan, "contrasts": held, "means": [], "checks": [],
            "aliased": [], **more,
            "state": {"read": 4 if held else 1, "plots": 4, "complete": bool(held),
                      "analysed": bool(held), "kept": True},
        },
    )  # fmt: skip


def test_an_undecided_trial_says_so_with_its_range() -> None:
    made = trial_page(answer([contrast(-0.1, 0.1, 0.3)]), METRIC)
    assert "cannot tell them apart" in made.lead[0]
    assert made.lead[1] == (
        "We cannot tell: the true difference may lie anywhere from −0.1 m to 0.3 m."
    )


def test_a_verdict_without_the_lot() -> None:
    made = trial_page(answer([contrast(0.1, 0.2, 0.3)], verdict="differ"), METRIC)
    assert made.lead[0] == "spring: rolled gave 0.2 m more than as usual."
    assert "one time in twenty" in made.lead[1]


def test_feet_are_told_in_inches() -> None:
    # 0.2 m is 7.9 in, by hand.
    assert finding([contrast(0.1, 0.2, 0.3)], FEET).startswith("rolled gave 8 in more")
    assert told(-0.254, "m", FEET) == "−10 in"


def test_other_units_stay_as_they_are() -> None:
    assert told(1.26, "score") == "1.26 score"
    assert finding([contrast(-3.0, -2.0, -1.0, "%")], FEET) == "as usual gave 2 % more than rolled."


def test_the_clearest_of_several_is_named() -> None:
    held = [contrast(0.1, 0.2, 0.3), contrast(0.3, 0.5, 0.7)]
    assert finding(held, METRIC).endswith("the clearest of 2.")
    made = differences_figure(answer(held), METRIC)
    assert made.svg.count("<circle") == 2 and len(made.table.rows) == 2


def test_bars_stand_where_the_numbers_are() -> None:
    svg = differences_figure(answer([contrast(-0.1, 0.1, 0.3)]), METRIC).svg
    zero = float(re.search(r'<line x1="([\d.]+)" y1="20"', svg)[1])
    low, high = (float(x) for x in re.search(r'x1="([\d.]+)" y1="59" x2="([\d.]+)"', svg).groups())
    dot = float(re.search(r'cx="([\d.]+)"', svg)[1])
    # The dot is midway; no difference a quarter of the way from low to high, by hand.
    assert dot == pytest.approx((low + high) / 2, abs=0.2)
    assert zero == pytest.approx(low + (high - low) / 4, abs=0.2)


def test_no_differences_no_picture() -> None:
    assert differences_figure(answer(), METRIC) is None
    made = trial_page(answer(), METRIC)
    assert "1 of 4 plots were read" in made.lead[2]
    assert [f.key for f in made.figures] == ["plan"]


def test_halves_and_phases_head_the_columns() -> None:
    svg = plan_figure(answer()).svg
    assert "half a" in svg and "half b" in svg
    held = answer()
    plan = [row("1", "rolled", phase="before"), row("1", "rolled", phase="after")]
    made = plan_figure(answer(plan=plan))
    assert made.svg.count(">as usual<") == 1 and made.svg.count(">rolled<") == 1
    assert "before it begins" in made.table.rows[0][2] and held.question == "trial"


def test_a_blind_plan_shows_codes_alone() -> None:
    made = plan_figure(answer(), blind=True)
    assert "QX1" in made.svg and "rolled" not in made.svg + str(made.table.rows)


def test_names_are_escaped_and_cut_to_their_box() -> None:
    held = answer()
    held.more["plan"][0]["treatment"] = "<b>" + "long " * 40
    held.more["trial"]["treatments"][0] = held.more["plan"][0]["treatment"]
    for one in held.more["plan"]:
        if one["treatment"] == "as usual":
            one["treatment"] = held.more["trial"]["treatments"][0]
    svg = plan_figure(held).svg
    assert "<b>" not in svg and "&lt;b&gt;" in svg and "…" in svg


@pytest.mark.parametrize("reader", ["committee", "scientist"])
def test_reports_of_an_undecided_trial(reader: str) -> None:
    svg = report_svg(answer([contrast(-0.1, 0.1, 0.3)]), METRIC, reader=reader)
    assert "We cannot tell" in svg and svg.count("<svg") == 1
    assert ("A reason." in svg) is (reader == "scientist")
