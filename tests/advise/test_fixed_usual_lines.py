"""Planned rows, the usual work, the words of a line, and the second pair of eyes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from greenwright.advise import PlanLine, breaches, plan_week
from greenwright.advise.labour import default_hours
from greenwright.advise.plan import settle
from greenwright.advise.units import build_units
from greenwright.advise.usual import usual_dose, usual_plans
from greenwright.advise.wording import act_text, change_text, level_text
from greenwright.base.tables import vocabulary
from greenwright.base.values import Course, Snapshot, Work
from greenwright.respond import responses
from tests.advise.hands import TODAY, course_of, crew, event, limit, surface_of, surfaces_of


def planned(ahead: int, practice: str, **more: object) -> Work:
    held = {"green": "all", **more}
    return Work(date=TODAY + timedelta(days=ahead), practice=practice, status="planned", **held)  # type: ignore[arg-type]


def with_rows(*rows: Work, **more: object) -> Snapshot:
    base = course_of({"A": 2, "B": 1})
    held: dict[str, object] = {"crew": crew(("A", "B"), mow=20, roll=15, topdress=30), **more}
    return replace(base, work=base.work + rows, **held)


def settled(record: Snapshot, days: int = 7):  # type: ignore[no-untyped-def]
    drawn = responses(record, seed=1, n_draws=20)
    return settle(record, surfaces_of(record, 2.6, 7.0), drawn, seed=1, horizon=days)


def week(record: Snapshot, **more: object):  # type: ignore[no-untyped-def]
    drawn = responses(record, seed=1, n_draws=100)
    return plan_week(record, surfaces_of(record, 2.6, 7.0), drawn, seed=1, **more)  # type: ignore[arg-type]


def test_a_planned_row_stands_with_its_own_hours() -> None:
    plan = week(with_rows(planned(2, "feed", green="A", labour_h=0.4)), horizon=7)
    line = next(x for x in plan.advised.lines if x.practice == "feed")
    assert line.fixed and line.labour_h == 0.4 and line.greens == ("1", "2")
    assert "not modelled" in line.reason


@pytest.mark.parametrize(
    ("row", "more", "why"),
    [
        (planned(3, "core"), {"calendar": (event(13),)}, "nearer than 21 days"),
        (planned(3, "roll", passes=2.0), {"limits": (limit("rolls_week", 1),)}, "rolling passes"),
        (planned(3, "mow"), {"limits": (limit("labour_h_day", 0.2),)}, "crew hours"),
        (
            planned(3, "mow"),
            {"limits": (limit("no_work", None, green="1"),)},
            "no work is allowed",
        ),
    ],
)
def test_a_planned_row_that_breaks_a_limit_is_left_out_and_named(
    row: Work, more: dict[str, object], why: str
) -> None:
    setting, notes = settled(with_rows(row, **more))
    assert setting.fixed == ()
    assert len(notes) == 1 and why in notes[0] and row.practice in notes[0]


def test_a_planned_height_under_the_lowest_keeps_its_day() -> None:
    record = with_rows(planned(2, "mow", amount=2.8), limits=(limit("min_height_mm", 3.2),))
    setting, notes = settled(record)
    assert setting.fixed[0].free_height and "under the lowest height" in notes[0]
    plan = week(record, horizon=7)
    cut = [x for x in plan.advised.lines if x.fixed]
    assert cut and all(x.amount >= 3.2 for x in cut)
    assert breaches(record, plan.advised.lines) == ()


def test_a_planned_height_that_no_step_reaches_is_left_free_and_said() -> None:
    plan = week(with_rows(planned(2, "mow", amount=3.0)), horizon=7)
    assert any("cannot be reached" in note for note in plan.notes)


def test_a_planned_height_within_reach_is_kept() -> None:
    plan = week(with_rows(planned(3, "mow", amount=3.5)), horizon=7)
    assert {x.amount for x in plan.advised.lines if x.fixed} == {3.5}


def test_a_row_for_part_of_a_group_splits_it() -> None:
    setting, _ = settled(with_rows(planned(2, "roll", green="1")))
    assert sorted(u.greens for u in build_units(setting)) == [("1",), ("2",), ("3",)]


def test_usual_by_weekday() -> None:
    fridays = [TODAY - timedelta(days=7 * i) for i in range(6)]
    rolls = tuple(Work(date=d, green="A", practice="roll") for d in fridays)
    record = replace(course_of({"A": 1, "B": 1}), work=rolls)
    assert usual_dose(record, "1", "roll", TODAY + timedelta(days=7)) == 1.0
    assert usual_dose(record, "1", "roll", TODAY + timedelta(days=6)) == 0.0
    assert usual_dose(record, "2", "roll", TODAY + timedelta(days=7)) == 0.0
    half = replace(record, work=rolls[::2])  # by hand: three of five Fridays
    assert usual_dose(half, "1", "roll", TODAY + timedelta(days=7)) == 1.0
    fewer = replace(record, work=(rolls[0], rolls[5]))  # by hand: two of six
    assert usual_dose(fewer, "1", "roll", TODAY + timedelta(days=7)) == 0.0


def test_usual_work_gives_way_to_the_hours() -> None:
    rolls = tuple(
        Work(date=TODAY - timedelta(days=i), green="all", practice="roll") for i in range(30)
    )
    record = with_rows(*rolls, limits=(limit("labour_h_day", 0.7), limit("rolls_week", 7)))
    setting, _ = settled(record)
    units = build_units(setting)
    plans, learned = usual_plans(setting, units)
    # by hand: two cuts are 0.67 h; a roll does not fit beside them
    assert learned and all(p[:, 0].tolist() == [1] * 7 for p in plans)
    assert not any(p[:, 2].any() for p in plans)


def test_without_any_work_the_usual_is_a_cut_a_day() -> None:
    record = replace(with_rows(), work=())
    plans, learned = usual_plans(*(lambda s: (s, build_units(s)))(settled(record)[0]))
    assert not learned and all(p[:, 0].all() for p in plans)


def test_old_readings_say_read_first() -> None:
    record = with_rows()
    old = TODAY - timedelta(days=30)
    n = len(record.greens)
    held = {
        "green_speed": surface_of(record, "green_speed", [2.6] * n, last=old),
        "smoothness": surface_of(record, "smoothness", [7.0] * n, sd=0.5, last=old),
    }
    plan = plan_week(record, held, responses(record, seed=1, n_draws=60), seed=1, horizon=7)
    assert {x.confidence for x in plan.advised.lines} == {"read first"}


def test_a_roll_with_a_published_gain_says_act_and_sand_says_try() -> None:
    plan = week(with_rows())
    found = {(x.practice, x.confidence) for x in plan.advised.lines}
    assert ("roll", "act") in found
    assert ("topdress", "act") not in found


def test_effects_are_with_and_without_the_line() -> None:
    plan = week(with_rows(limits=(limit("rolls_week", 1),)))
    roll = next(x for x in plan.advised.lines if x.practice == "roll")
    first = next(e for e in roll.effects if (e.quantity, e.horizon_days) == ("green_speed", 0))
    # reported: 6 to 12 in from one pass, middle 9 in (0.2286 m)
    assert first.estimate.value == pytest.approx(0.2286, abs=0.005)
    assert first.estimate.basis == "draws" and 0.09 < first.estimate.low < 0.13


def test_reasons_speak_the_course_s_units() -> None:
    metric = next(x for x in week(with_rows()).advised.lines if x.practice == "roll")
    assert " m " in metric.reason and "'" not in metric.reason
    record = with_rows()
    feet = replace(record, course=Course(course="lark", name="Lark Mere", setting="member"))
    line = next(x for x in week(feet).advised.lines if x.practice == "roll")
    assert " in " in line.reason and '"' in line.changes_mind


def test_words() -> None:
    feet, metric = Course(course="x", name="X"), Course(course="x", name="X", speed_units="m")
    assert level_text("green_speed", 2.8956, feet) == "9'6\""  # by hand: 9.5 ft
    assert level_text("green_speed", 2.8956, metric) == "2.90 m"
    assert level_text("smoothness", 7.26, feet) == "7.3"
    assert change_text("green_speed", -0.0508, feet) == "-2 in"  # by hand: 2 x 25.4 mm
    assert change_text("green_speed", -0.0508, metric) == "-0.05 m"
    text = act_text("mow", amount=3.87, passes=2, unit="mm", step_mm=-0.13)
    assert text == "A double cut at 3.87 mm, 0.13 mm lower than before,"
    assert act_text("topdress", amount=0.5, passes=1, unit="L/m2") == (
        "Light topdressing with 0.5 L/m2"
    )


def line(ahead: int, practice: str, **more: object) -> PlanLine:
    held: dict[str, object] = {
        "date": TODAY + timedelta(days=ahead),
        "greens": ("1", "2", "3"),
        "group": "A",
        "practice": practice,
        "amount": None,
        "unit": "",
        "passes": 1.0,
        "material": "",
        "labour_h": 0.5,
        "cost": 10.0,
        **more,
    }
    return PlanLine(**held)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("lines", "limit_named"),
    [
        ([line(1, "mow", labour_h=2.1)], "labour_h_day"),
        ([line(1, "mow", labour_h=1.5), line(1, "roll", labour_h=1.0)], "labour_h_day"),
        ([line(2, "mow", labour_h=0.1)], "labour_h_day"),
        ([line(1, "roll", passes=2.0), line(5, "roll")], "rolls_week"),
        ([line(1, "mow", amount=3.1)], "min_height_mm"),
        ([line(1, "mow", amount=3.45)], "max_height_step_mm"),
        ([line(1, "mow", amount=3.5), line(3, "mow", amount=3.4)], "min_step_interval_d"),
        ([line(4, "mow")], "no_work"),
        ([line(1, "core")], "no_core_days_before_event"),
        ([line(1, "verticut")], "crew"),
        ([line(1, "roll", passes=14.0, labour_h=0.1)], "machine"),
    ],
)
def test_the_second_pair_of_eyes_sees_each_breach(lines: list[PlanLine], limit_named: str) -> None:
    record = with_rows(
        limits=(
            limit("labour_h_day", 2.0),
            limit("labour_h_day", 0.0, weekday="sun"),
            limit("rolls_week", 2),
            limit("min_height_mm", 3.2),
            limit("max_height_step_mm", 0.13),
            limit("min_step_interval_d", 3),
            limit(
                "no_work", None, from_=TODAY + timedelta(days=4), until=TODAY + timedelta(days=4)
            ),
        ),
        calendar=(event(10),),
    )
    assert limit_named in {b.limit for b in breaches(record, lines)}


def test_a_lawful_plan_has_no_breach() -> None:
    record = with_rows(limits=(limit("labour_h_day", 2.0), limit("rolls_week", 2)))
    lines = [line(1, "mow", amount=3.5), line(1, "roll"), line(4, "mow", amount=3.4)]
    assert breaches(record, lines) == ()


def test_last_week_s_rolls_count() -> None:
    record = with_rows(
        Work(date=date(2026, 6, 3), green="all", practice="roll"), limits=(limit("rolls_week", 1),)
    )
    assert {b.limit for b in breaches(record, [line(1, "roll")])} == {"rolls_week"}
    assert np.all(
        [x.practice != "roll" or x.date >= date(2026, 6, 10) for x in week(record).advised.lines]
    )


def test_two_planned_rows_of_one_day_are_one_piece_of_work() -> None:
    record = with_rows(
        planned(2, "mow", amount=3.6), planned(2, "mow", green="A", amount=3.5, labour_h=0.3)
    )
    plan = week(record, horizon=7)
    lines = {x.group: x for x in plan.advised.lines if x.fixed}
    # by hand: all three greens once (20 min a group), and group A once more in its own 0.3 h
    assert lines["A"].passes == 2.0 and lines["A"].labour_h == pytest.approx(1 / 3 + 0.3)
    assert lines["B"].passes == 1.0 and lines["B"].labour_h == pytest.approx(1 / 3)
    assert lines["A"].amount == 3.5 and lines["B"].amount == 3.6


def test_a_change_that_rounds_to_nothing_has_no_sign() -> None:
    metric = Course(course="x", name="X", speed_units="m")
    assert change_text("green_speed", -0.001, metric) == "0.00 m"
    assert change_text("smoothness", 0.04, metric) == "0.0"
    assert change_text("smoothness", 0.06, metric) == "+0.1"


def test_planned_work_the_crew_table_does_not_know_takes_common_practice_hours() -> None:
    setting, _ = settled(with_rows(planned(2, "feed")))
    # elicited: 3 h for 18 greens, so 0.5 h for three
    assert setting.fixed[0].job.hours == pytest.approx(0.5)


def test_every_practice_of_the_record_has_hours() -> None:
    for practice in vocabulary("practice"):
        assert default_hours(practice, 1.0) > 0
