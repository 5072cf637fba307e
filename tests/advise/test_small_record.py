"""The week of the small record made by hand: what its plan must and must not hold.

The musts are those written beside the record in `expected.json`.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from greenwright.advise import WeekPlan, breaches, plan_week
from greenwright.base.values import (
    CalendarEntry,
    Course,
    CrewRow,
    Feedback,
    Green,
    Limit,
    Reading,
    Rounds,
    Snapshot,
    Target,
    WeatherDay,
    Work,
)
from greenwright.intake import read_paths
from greenwright.measure import quantities_read, surface
from greenwright.respond import responses

FOLDER = Path(__file__).parents[1] / "data" / "record-small"
AS_OF = date(2026, 6, 5)
VALUES = {
    "greens": Green,
    "readings": Reading,
    "work": Work,
    "weather": WeatherDay,
    "calendar": CalendarEntry,
    "targets": Target,
    "crew": CrewRow,
    "limits": Limit,
    "rounds": Rounds,
    "feedback": Feedback,
}


@pytest.fixture(scope="module")
def record() -> Snapshot:
    files = {f.name: f for f in read_paths([FOLDER], today=AS_OF)[0]}
    held = {
        name: tuple(kind(**row.fields) for row in files[name].rows) for name, kind in VALUES.items()
    }
    course = Course(**files["course"].rows[0].fields)
    return Snapshot(course=course, as_of=AS_OF, **held)


@pytest.fixture(scope="module")
def week(record: Snapshot) -> WeekPlan:
    surfaces = {q: surface(record, q, method=m) for q, m in quantities_read(record)}
    return plan_week(record, surfaces, responses(record, seed=1), seed=1)


def test_it_is_not_empty(week: WeekPlan) -> None:
    assert week.advised.lines and not week.no_plan


def test_labour_is_at_most_three_hours_and_none_on_sunday(week: WeekPlan) -> None:
    hours: dict[date, float] = defaultdict(float)
    for line in week.advised.lines:
        hours[line.date] += line.labour_h
    assert max(hours.values()) <= 3.0 + 1e-9
    assert date(2026, 6, 7) not in hours


def test_heights_stay_within_their_limits(week: WeekPlan) -> None:
    for green in "123":
        mown = [(AS_OF, 4.0)] + [
            (x.date, x.amount)
            for x in week.advised.lines
            if x.practice == "mow" and green in x.greens
        ]
        changed = []
        for (_, before), (when, height) in pairwise(mown):
            assert height >= 3.2 and abs(height - before) <= 0.13 + 1e-12
            changed += [when] if height != before else []
        assert all((b - a).days >= 3 for a, b in pairwise(changed))


def test_at_most_three_rolls_in_any_seven_days(week: WeekPlan) -> None:
    for green in "123":
        passes: dict[date, float] = defaultdict(float)
        if green in "12":
            passes[date(2026, 6, 2)] = 1.0  # done, by the record
        for line in week.advised.lines:
            if line.practice == "roll" and green in line.greens:
                passes[line.date] += line.passes
        for start in (date(2026, 5, 31) + timedelta(days=i) for i in range(13)):
            assert sum(passes[start + timedelta(days=i)] for i in range(7)) <= 3


def test_no_coring(week: WeekPlan) -> None:
    assert all(line.practice != "core" for line in week.advised.lines)


def test_every_line_has_a_reason_an_effect_and_hours(week: WeekPlan) -> None:
    for line in week.advised.lines:
        assert len(line.reason) > 40 and line.changes_mind and line.stops
        assert line.labour_h > 0 and line.confidence in ("act", "try", "read first")
        assert line.effects
        for effect in line.effects:
            assert effect.estimate.low <= effect.estimate.value <= effect.estimate.high


def test_the_planned_cut_stands(week: WeekPlan) -> None:
    fixed = [x for x in week.advised.lines if x.fixed]
    assert {g for x in fixed for g in x.greens} == {"1", "2", "3"}
    assert {(x.date, x.practice, x.amount, x.passes) for x in fixed} == {
        (date(2026, 6, 8), "mow", 4.0, 1.0)
    }


def test_a_second_pair_of_eyes_finds_no_breach(record: Snapshot, week: WeekPlan) -> None:
    assert breaches(record, week.advised.lines) == ()
    assert breaches(record, week.usual.lines) == ()


def test_it_beats_doing_nothing_and_the_usual(week: WeekPlan) -> None:
    assert week.advised.loss < week.usual.loss < week.nothing.loss
    assert week.advised.in_target > week.usual.in_target
    assert week.nothing.labour_h == 0 and week.nothing.lines == ()


def test_slow_greens_are_rolled_and_kept_cut(week: WeekPlan) -> None:
    # greens at 2.33 to 2.50 m against 2.75 to 3.05 m: speed must be sought
    practices = {line.practice for line in week.advised.lines}
    assert {"mow", "roll"} <= practices
    by_day = {d.date: d.course["green_speed"].value for d in week.advised.by_day}
    assert max(by_day.values()) > 2.75


def test_what_stands_in_is_said(week: WeekPlan) -> None:
    assert "limits.stop_chance" in week.defaults
    assert any("quality" in note.lower() for note in week.notes)
    assert week.missing == ()


def test_the_usual_is_the_pattern_of_the_record(week: WeekPlan) -> None:
    # by hand: cut daily since 1 June, rolled once on Tuesday 2 June on group A, sanded once
    rolled = {(x.date, x.group) for x in week.usual.lines if x.practice == "roll"}
    assert rolled == {(date(2026, 6, 9), "A")}
    cut = {x.date for x in week.usual.lines if x.practice == "mow"}
    assert cut == {date(2026, 6, d) for d in (6, 8, 9, 10, 11, 12)}
    assert all(x.practice in ("mow", "roll") for x in week.usual.lines)
