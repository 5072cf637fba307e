"""Planned rows and what they take of each group's machine; the usual work from short records."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from greenwright.advise import breaches, plan_week
from greenwright.advise.fixed import Fixed, job_of, last_done, use_of
from greenwright.advise.labour import crew_of, default_hours
from greenwright.advise.limits import rules
from greenwright.advise.resources import Resources, resources
from greenwright.advise.usual import last_material, usual_dose
from greenwright.base.values import CrewRow, Snapshot, Work
from greenwright.respond import responses
from tests.advise.hands import TODAY, course_of, limit, surfaces_of

TWO = (
    CrewRow(practice="mow", group="A", minutes=200, people=1, machine="walker", cost_per_h=20.0),
    CrewRow(practice="mow", group="B", minutes=100, people=2, machine="triplex", cost_per_h=30.0),
)


def planned(ahead: int, practice: str = "mow", **more: object) -> Work:
    held = {"green": "all", **more}
    when = TODAY + timedelta(days=ahead)
    return Work(date=when, practice=practice, status="planned", **held)  # type: ignore[arg-type]


def done(ago: int, practice: str, **more: object) -> Work:
    held = {"green": "all", **more}
    return Work(date=TODAY - timedelta(days=ago), practice=practice, **held)  # type: ignore[arg-type]


def record(*rows: Work, **more: object) -> Snapshot:
    base = course_of({"A": 2, "B": 1}, **{"crew": TWO, **more})  # type: ignore[arg-type]
    return replace(base, work=(*base.work, *rows))


def taken(held: Snapshot, work: Work) -> dict[str, float]:
    """Return what a planned row takes of the hours and of each machine."""
    crew, greens = crew_of(held), held.greens_of(work.green)
    room: Resources = resources(rules(held, ["1", "2", "3"], [TODAY]), crew, 1)
    row = Fixed(work, 0, greens, job_of(work, greens, crew))
    names = [*("hours" for _ in room.scopes), *room.machines]
    return dict(zip(names, use_of(row, crew, room).tolist(), strict=True))


@pytest.mark.parametrize(
    ("work", "wanted"),
    [
        # by hand: 200 + 2 x 100 minutes of people, each machine its own
        (planned(2), {"hours": 400 / 60, "walker": 200.0, "triplex": 100.0}),
        (planned(2, green="A"), {"hours": 200 / 60, "walker": 200.0, "triplex": 0.0}),
        (planned(2, green="1;3"), {"hours": 300 / 60, "walker": 100.0, "triplex": 100.0}),
        (planned(2, passes=2.0), {"hours": 800 / 60, "walker": 400.0, "triplex": 200.0}),
        # by hand: hours as the row gives them, machines as the table does
        (planned(2, labour_h=1.5), {"hours": 1.5, "walker": 200.0, "triplex": 100.0}),
        # common practice: 5.5 h for 18 greens, and no machine of the table
        (planned(2, "brush"), {"hours": 5.5 * 3 / 18, "walker": 0.0, "triplex": 0.0}),
    ],
)
def test_a_planned_row_takes_its_hours_and_each_group_s_machine(
    work: Work, wanted: dict[str, float]
) -> None:
    assert taken(record(limits=(limit("labour_h_day", 99.0),)), work) == pytest.approx(wanted)


def test_two_machines_of_one_row_are_not_added_up() -> None:
    # by hand: 200 and 100 minutes of 240 each; added up they would be refused
    held = record(planned(2))
    drawn = responses(held, seed=1, n_draws=10)
    week = plan_week(held, surfaces_of(held, 2.8, 8.0), drawn, seed=1, horizon=7, all_plans=0)
    fixed = [x for x in week.advised.lines if x.fixed]
    assert {(x.date, x.group) for x in fixed} == {
        (TODAY + timedelta(days=2), "A"),
        (TODAY + timedelta(days=2), "B"),
    }
    assert not any("left out" in note for note in week.notes)
    assert breaches(held, week.advised.lines) == ()


def test_two_rows_that_are_too_much_for_one_machine_lose_the_later() -> None:
    held = record(planned(2, green="A"), planned(2, green="1", labour_h=0.1))
    drawn = responses(held, seed=1, n_draws=10)
    week = plan_week(held, surfaces_of(held, 2.8, 8.0), drawn, seed=1, horizon=7, all_plans=0)
    # by hand: 200 + 100 of 240 minutes
    assert any("300 minutes of the walker, the limit is 240" in note for note in week.notes)


@pytest.mark.parametrize(
    ("more", "hours", "cost"),
    [
        ({}, 400 / 60, 200 / 60 * 20 + 200 / 60 * 30),  # by hand
        ({"labour_h": 2.0}, 2.0, 50.0),  # by hand: at the mean wage of 25
        ({"cost": 7.0}, 400 / 60, 7.0),
        ({"labour_h": 0.0, "cost": 0.0}, 0.0, 0.0),  # zero is a number: nobody is paid
    ],
)
def test_labour_of_a_planned_row(more: dict[str, float], hours: float, cost: float) -> None:
    job = job_of(planned(1, **more), ("1", "2", "3"), crew_of(record()))
    assert (job.hours, job.cost) == pytest.approx((hours, cost))


@pytest.mark.parametrize(
    ("practice", "passes", "hours"),
    [
        ("mow", 0.5, 5.5),  # reported: 11 h for 18 greens, half of them
        ("mow", 3.0, 30.0),  # by hand: 11 + 2 x (20.5 - 11)
        ("roll", 3.0, 5.0),  # by hand: 3 + 2 x 1
        ("topdress", 2.0, 18.0),  # common practice: 9 h each time
    ],
)
def test_common_practice_hours_by_passes(practice: str, passes: float, hours: float) -> None:
    assert default_hours(practice, passes) == pytest.approx(hours)


@pytest.mark.parametrize(
    ("ago", "ahead", "dose"),
    [
        ([7, 14], 7, 1.0),  # by hand: two of three Fridays
        ([14], 7, 0.0),  # by hand: once of three
        ([0], 7, 1.0),  # by hand: the only Friday there was
        ([7, 28], 7, 0.0),  # by hand: two of five
        ([7, 14, 28], 7, 1.0),  # by hand: three of five
        ([7, 14], 6, 0.0),  # by hand: no Thursday
        ([2, 1, 0], 4, 1.0),  # by hand: a Tuesday not met since: three of three days
        ([2], 4, 0.0),  # by hand: once of three days
        ([60, 67], 7, 0.0),  # by hand: before the last eight weeks
    ],
)
def test_what_is_usual_on_a_weekday(ago: list[int], ahead: int, dose: float) -> None:
    held = replace(record(), work=tuple(done(i, "roll") for i in ago))
    assert usual_dose(held, "1", "roll", TODAY + timedelta(days=ahead)) == dose


def test_the_usual_dose_is_the_median_of_its_days() -> None:
    rows = (done(0, "roll", passes=2.0), done(7, "roll"), done(7, "roll"), done(14, "roll"))
    held = replace(record(), work=rows)
    # by hand: 2, 1 + 1 and 1 passes
    assert usual_dose(held, "1", "roll", TODAY + timedelta(days=7)) == 2.0


def test_what_was_done_last_and_with_what() -> None:
    rows = (
        done(9, "topdress", material="fine sand"),
        done(3, "topdress", green="B", material="coarse sand"),
        planned(1, "topdress", material="none yet"),
    )
    held = record(*rows)
    assert last_done(held, "topdress", "1") == TODAY - timedelta(days=9)
    assert last_done(held, "topdress", "3") == TODAY - timedelta(days=3)
    assert last_done(held, "brush", "1") is None
    assert last_material(held, "topdress", ["1"]) == "fine sand"
    assert last_material(held, "topdress", ["3"]) == "coarse sand"
    assert last_material(record(), "topdress", ["1"]) == "sand"
    assert last_material(record(), "brush", ["1"]) == ""
