"""Hours, machines, and the limits of the grass: entered, strictest of several, defaults."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from greenwright.advise.heights import height_choices
from greenwright.advise.labour import crew_of
from greenwright.advise.limits import rules
from greenwright.advise.resources import fits, resources
from greenwright.advise.stops import mornings
from greenwright.base.values import CrewRow
from tests.advise.hands import TODAY, course_of, crew, limit, mild

DATES = [TODAY + timedelta(days=i) for i in range(1, 8)]  # Saturday to Friday


def test_hours_are_minutes_times_people_times_passes() -> None:
    row = CrewRow(practice="topdress", group="A", minutes=60, people=2, cost_per_h=22.0)
    held = crew_of(course_of({"A": 2}, crew=(row,)))
    job = held.job("topdress", ["1", "2"], 1)
    assert (job.hours, job.cost) == (2.0, 44.0)  # by hand: 60 x 2 / 60, at 22
    assert held.job("topdress", ["1"], 2).hours == pytest.approx(2.0)  # by hand: half, twice


def test_what_the_crew_table_lacks_the_crew_does_not_do() -> None:
    held = crew_of(course_of({"A": 1, "B": 1}, crew=crew(("A",), mow=20)))
    assert held.can("mow", ["1"])
    assert not held.can("mow", ["1", "2"]) and not held.can("roll", ["1"])


def test_a_row_without_a_group_is_for_the_whole_course() -> None:
    held = crew_of(course_of({"A": 2, "B": 2}, crew=(CrewRow(practice="mow", minutes=120),)))
    assert held.job("mow", ["3"]).hours == pytest.approx(0.5)  # by hand: 2 h by four greens


def test_without_a_crew_table_common_practice_stands_in() -> None:
    held = crew_of(course_of({"A": 9, "B": 9}))
    everything = [str(i + 1) for i in range(18)]
    assert not held.entered and held.can("verticut", everything)
    assert held.job("mow", everything).hours == pytest.approx(11.0)  # reported: 11 h
    assert held.job("mow", everything, 2).hours == pytest.approx(20.5)  # published: 19 to 22 h
    assert held.job("roll", everything, 2).hours == pytest.approx(4.0)  # reported: 3 h and 1 h
    assert "labour.mow.hours_per_18" in held.evidence_keys(["mow"])


def test_machines_not_counted_are_one() -> None:
    rows = (*crew(("A",), mow=300, roll=30), CrewRow(machine="mow", count=2))
    record = course_of({"A": 1}, crew=rows)
    held, limits = crew_of(record), rules(record, ["1"], DATES)
    room = resources(limits, held, len(DATES))
    assert dict(zip(room.machines, room.room[0], strict=True)) == {"mow": 480, "roll": 240}
    # elicited: 240 minutes of a morning
    assert not fits(room.use(held.job("roll", ["1"], 9), ["1"]), room.room[0])


def test_the_strictest_hours_hold() -> None:
    record = course_of(
        {"A": 1, "B": 1},
        limits=(
            limit("labour_h_day", 3.0),
            limit("labour_h_day", 0.0, weekday="sun"),
            limit("labour_h_day", 5.0, from_=DATES[3], until=DATES[4]),
            limit("labour_h_day", 1.0, green="B"),
        ),
    )
    held = dict(rules(record, ["1", "2"], DATES).hours)
    assert held[frozenset("12")].tolist() == [3, 0, 3, 3, 3, 3, 3]
    assert held[frozenset("2")].tolist() == [1.0] * 7


def test_limits_by_green_and_default() -> None:
    record = course_of(
        {"A": 1, "B": 1},
        limits=(limit("rolls_week", 2, green="A"), limit("min_height_mm", 3.2)),
    )
    held = rules(record, ["1", "2"], DATES)
    assert held.rolls_week[0, 0] == 2
    assert held.rolls_week[1, 0] == 6  # published: six a week on sand without decline
    assert held.min_height_mm[0, 0] == 3.2 and held.max_step_mm[0] == 0.13
    assert "limits.default.rolls_week.sand" in held.defaults
    assert not any("min_height" in key for key in held.defaults)


def test_no_work_dates() -> None:
    record = course_of(
        {"A": 1, "B": 1},
        limits=(limit("no_work", None, green="B", from_=DATES[1], until=DATES[2]),),
    )
    assert rules(record, ["1", "2"], DATES).no_work[1].tolist() == [False, True, True] + [False] * 4


@pytest.mark.parametrize("step", [0.13, 0.1, 0.05, 0.125, 0.3])
def test_no_rung_is_a_hair_more_than_a_step(step: float) -> None:
    heights, start, reach = height_choices(4.0, step, lowest=3.2)
    assert heights[start] == 4.0 and heights.min() >= 3.2 and reach == 1
    assert np.all(np.diff(heights) <= step)  # in plain floats, without any tolerance


def test_heights_stop_at_the_lowest() -> None:
    assert height_choices(3.25, 0.13, lowest=3.2)[0][0] == 3.2
    assert height_choices(3.2, 0.13, lowest=3.2)[0][0] == 3.2


def test_an_unknown_height_has_no_rungs() -> None:
    heights, start, reach = height_choices(float("nan"), 0.13, lowest=3.2)
    assert np.isnan(heights).all() and (start, reach) == (0, 0)


def test_a_mild_morning_stops_nothing_but_says_what_to_look_for() -> None:
    held = mornings(course_of({"A": 1}), DATES)[0]
    assert held.no_work == "" and not held.gentle_only
    assert any("lightning" in text.lower() for text in held.stops("mow"))
    assert any("dry" in text for text in held.stops("topdress"))


def test_frost_by_hand() -> None:
    held = mornings(course_of({"A": 1}, weather=mild(t_min_c=2.0)), DATES)[0]
    # by hand: forecast 2 degC, spread 2 degC: chance of 0 or less is that of one sd, 0.159
    assert held.frost == pytest.approx(0.1587, abs=1e-4)
    assert "frost" in held.no_work
    warmer = mornings(course_of({"A": 1}, weather=mild(t_min_c=4.0)), DATES)[0]
    assert warmer.no_work == "" and any("frost" in t for t in warmer.stops("roll"))


def test_saturation_by_hand() -> None:
    # by hand: 25 mm at a mean of 12: exp(-25/12) = 0.125 is over 0.1; at 10: 0.082 is not
    wet = mornings(course_of({"A": 1}, weather=mild(rain_mm=12.0)), DATES)[0]
    damp = mornings(course_of({"A": 1}, weather=mild(rain_mm=10.0)), DATES)[0]
    assert "saturated" in wet.no_work and damp.no_work == ""


def test_heat_leaves_only_a_single_cut() -> None:
    hot = mornings(course_of({"A": 1}, weather=mild(t_max_c=31.0)), DATES)[0]
    # by hand: 31 degC against 32, spread 2: chance 0.31
    assert hot.heat == pytest.approx(0.3085, abs=1e-4) and hot.gentle_only


def test_unknown_weather_stops_nothing_and_asks_for_a_look() -> None:
    held = mornings(course_of({"A": 1}, weather=()), DATES)[0]
    assert held.frost is None and held.no_work == ""
    assert any("frost" in text for text in held.stops("mow"))
