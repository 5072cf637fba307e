"""A plan's values become rows, each number where it belongs."""

from __future__ import annotations

from datetime import date

from greenwright.advise import DayResult, LineEffect, PlanLine, PlanResult
from greenwright.base.estimate import normal_estimate
from greenwright.desk.planned import choice_row, plan_row

DAY = date(2026, 6, 6)
EFFECT = normal_estimate(0.2, 0.1, "m", basis="prior")


def line(**more: object) -> PlanLine:
    held = {
        "date": DAY,
        "greens": ("1", "2"),
        "group": "A",
        "practice": "roll",
        "amount": None,
        "unit": "",
        "passes": 1.0,
        "material": "",
        "labour_h": 0.5,
        "cost": 11.0,
    }
    return PlanLine(**{**held, **more})


def test_a_line_is_told_with_its_effects() -> None:
    row = choice_row(
        line(
            reason="slow",
            effects=(LineEffect("green_speed", 1, EFFECT),),
            confidence="act",
            changes_mind="a reading over the target",
            stops=("frost",),
        )
    )
    assert row["date"] == DAY and row["greens"] == ["1", "2"] and row["amount"] is None
    assert row["effects"] == [{"quantity": "green_speed", "horizon_days": 1, "estimate": EFFECT}]
    assert (row["reason"], row["confidence"], row["stops"]) == ("slow", "act", ["frost"])
    assert row["changes_mind"] == "a reading over the target" and row["fixed"] is False


def test_a_planned_line_without_words_still_says_why_it_is_there() -> None:
    row = choice_row(line(fixed=True))
    assert "planned work" in row["reason"] and row["changes_mind"]


def test_a_plan_is_told_in_all_and_by_day() -> None:
    level = normal_estimate(2.8, 0.1, "m", basis="model")
    days = (DayResult(DAY, 1.5, 0.5, 11.0, 0.25, 0.75, {"green_speed": level}),)
    result = PlanResult(
        lines=(line(),),
        in_target=0.75,
        complaints=0.25,
        labour_h=0.5,
        cost=11.0,
        loss=9.0,
        loss_plan_days=1.5,
        by_day=days,
    )
    row = plan_row(result)
    assert [row[k] for k in ("in_target", "complaints", "labour_h", "cost", "loss")] == [
        0.75,
        0.25,
        0.5,
        11.0,
        9.0,
    ]
    assert row["by_day"] == [{"date": DAY, "quantity": "green_speed", "estimate": level}]
    assert row["days"] == [
        {
            "date": DAY,
            "in_target": 0.75,
            "complaints": 0.25,
            "labour_h": 0.5,
            "cost": 11.0,
            "loss": 1.5,
        }
    ]
    assert [one["practice"] for one in row["lines"]] == ["roll"]
