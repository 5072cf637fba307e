"""Whole plans: a looser limit is never worse, names and order do not matter, the judge by hand."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.advise import PlanResult, WeekPlan, breaches, plan_week
from greenwright.advise.judge import judged
from greenwright.advise.labour import crew_of
from greenwright.advise.limits import rules
from greenwright.advise.plan import settle
from greenwright.advise.resources import fits, resources
from greenwright.base.values import CrewRow, Limit, Snapshot
from greenwright.measure import Surface
from greenwright.respond import Responses, responses
from tests.advise.hands import (
    TODAY,
    course_of,
    crew,
    event,
    limit,
    surface_of,
    surfaces_of,
    without_effect,
)

DAYS = 3  # few enough for every schedule to be looked at
HAIR = 1e-6
MINUTES = {"mow": 30.0, "roll": 20.0}
TIGHT: dict[str, Limit] = {
    "hours": limit("labour_h_day", 1.0),
    "sunday": limit("labour_h_day", 0.0, weekday="sun"),
    "rolls": limit("rolls_week", 1),
    "rolls of A": limit("rolls_week", 0, green="A", until=TODAY + timedelta(days=3)),
    "dates": limit("no_work", None, green="B", from_=TODAY + timedelta(days=2)),
}


def day(ahead: int) -> date:
    return TODAY + timedelta(days=ahead)


def record(*limits: Limit, rows: tuple[CrewRow, ...] = (), **more: object) -> Snapshot:
    table = (*crew(("A", "B"), **MINUTES), *rows)
    return course_of({"A": 2, "B": 1}, height=None, crew=table, limits=limits, **more)


def planned(held: Snapshot, speed: float = 2.5, score: float = 6.5, days: int = DAYS) -> WeekPlan:
    drawn = responses(held, seed=3, n_draws=12)
    return plan_week(held, surfaces_of(held, speed, score), drawn, seed=3, horizon=days)


@cache
def loss_with(*names: str) -> float:
    """Return the loss of the plan that is proven the best within some of the tight limits."""
    week = planned(record(*(TIGHT[name] for name in names)))
    assert week.proven
    return week.advised.loss


@pytest.mark.parametrize("lifted", sorted(TIGHT))
def test_lifting_one_limit_is_never_worse(lifted: str) -> None:
    others = sorted(set(TIGHT) - {lifted})
    assert loss_with(*others) <= loss_with(*sorted(TIGHT)) + 1e-9
    assert loss_with() <= loss_with(lifted) + 1e-9


@pytest.mark.parametrize("name", ["hours", "sunday", "rolls", "rolls of A", "dates"])
def test_each_limit_alone_costs_something_where_greens_are_slow(name: str) -> None:
    assert loss_with(name) > loss_with() + 1e-6


@pytest.mark.parametrize("count", [0, 1, 2])
def test_more_machines_are_never_worse(count: int) -> None:
    def loss(n: int) -> float:
        rows = (CrewRow(machine="roll", count=n), CrewRow(machine="mow", count=n))
        return planned(record(rows=rows)).advised.loss

    assert loss(count + 1) <= loss(count) + 1e-9


def test_a_machine_that_is_away_rolls_nothing() -> None:
    held = record(rows=(CrewRow(machine="roll", count=0),))
    room = resources(rules(held, ["1", "2", "3"], [day(1)]), crew_of(held), 1)
    assert dict(zip(room.machines, room.room[0], strict=True)) == {"mow": 240, "roll": 0}
    assert not fits(room.use(crew_of(held).job("roll", ["3"]), ["3"]), room.room[0])
    practices = {x.practice for x in planned(held).advised.lines}
    assert practices == {"mow"}


def test_two_clashing_limits_leave_what_both_allow() -> None:
    # by hand: no rolls of A until Monday, nobody on Sunday
    held = record(TIGHT["hours"], TIGHT["rolls of A"], TIGHT["sunday"])
    lines = planned(held).advised.lines
    rolled = {(x.date, x.group) for x in lines if x.practice == "roll"}
    assert not {(day(i), "A") for i in (1, 2, 3)} & rolled
    assert all(x.date != day(2) for x in lines)
    assert breaches(held, lines) == ()


def test_hours_of_the_course_and_of_a_group_both_hold() -> None:
    held = record(limit("labour_h_day", 1.5), limit("labour_h_day", 0.4, green="A"))
    spent: dict[tuple[date, str], float] = defaultdict(float)
    for x in planned(held).advised.lines:
        spent[x.date, x.group] += x.labour_h
    # by hand: half an hour cuts group A and a third rolls it: only the roll fits
    assert all(h == pytest.approx(1 / 3) for (_, g), h in spent.items() if g == "A")
    assert any(g == "A" for _, g in spent)
    assert any(h > 0.4 for (_, g), h in spent.items() if g == "B")


def signature(plan: PlanResult, names: dict[str, str]) -> set[tuple[object, ...]]:
    return {
        (x.date, names[x.group], tuple(sorted(names[g] for g in x.greens)), x.practice, x.passes)
        for x in plan.lines
    }


def test_what_greens_and_groups_are_called_does_not_matter() -> None:
    held = record(limit("labour_h_day", 1.2))
    names = {"A": "zeta", "B": "alpha", "1": "nine", "2": "East 2", "3": "a"}
    greens = tuple(replace(g, green=names[g.green], group=names[g.group]) for g in held.greens)
    called = replace(
        held,
        greens=greens,
        crew=tuple(replace(r, group=names.get(r.group, r.group)) for r in held.crew),
    )
    one, two = planned(held), planned(called)
    same = {name: name for name in names.values()}
    assert one.advised.lines
    assert signature(one.advised, names) == signature(two.advised, same)
    assert two.advised.loss == pytest.approx(one.advised.loss, abs=1e-12)


def certain(held: Snapshot, speeds: list[float]) -> dict[str, Surface]:
    """Return surfaces known exactly, on days that do not differ."""
    read = surface_of(held, "green_speed", speeds, sd=1e-9, day_sd=1e-9)
    smooth = surface_of(held, "smoothness", [7.0] * len(speeds), sd=1e-9, day_sd=1e-9)
    return {"green_speed": read, "smoothness": smooth}


def test_the_order_of_the_greens_does_not_matter() -> None:
    held = record(limit("labour_h_day", 1.0))
    turned = replace(held, greens=held.greens[::-1])
    speeds = {"1": 2.4, "2": 2.8, "3": 2.6}
    found = []
    for one in (held, turned):
        read = certain(one, [speeds[g.green] for g in one.greens])
        drawn = responses(one, seed=3, n_draws=12)
        found.append(plan_week(one, read, drawn, seed=3, horizon=DAYS).advised)
    same = {name: name for name in "AB123"}
    assert found[0].loss == pytest.approx(found[1].loss, abs=1e-6)
    assert signature(found[0], same) == signature(found[1], same)


def still(held: Snapshot, speed: float, days: int = 7) -> PlanResult:
    """Return what doing nothing comes to where nothing moves and all is known."""
    n = len(held.greens)
    unmoved: Responses = without_effect(responses(held, seed=1, n_draws=8))
    setting, _ = settle(held, certain(held, [speed] * n), unmoved, seed=1, horizon=days)
    return judged(setting, ())


@pytest.mark.parametrize(
    ("speed", "loss", "inside"),
    [
        # common practice: 9.5 to 10.5 ft, so 2.8956 to 3.2004 m, half width 0.1524 m
        (3.0, 0.0, 0.5),  # by hand: inside; smoothness 7 of 8 to 10 is not
        (2.7432, 1.0, 0.0),  # by hand: half a foot below
        (2.8194, 0.25, 0.0),  # by hand: a quarter of a foot below
        (3.2766, 0.25, 0.0),  # by hand: a quarter of a foot above
        (2.0, 4.0, 0.0),  # by hand: nearly six half widths, held at four
    ],
)
def test_the_judge_by_hand(speed: float, loss: float, inside: float) -> None:
    result = still(course_of({"A": 2}), speed)
    # by hand: smoothness one half width below: 1; complaints 100 / sqrt(100^2 + 20^2) a day,
    # at a tenth
    each = loss + 1.0 + 0.0980581
    assert [d.loss for d in result.by_day] == pytest.approx([each] * 7, abs=1e-5)
    assert result.loss_plan_days == pytest.approx(7 * each, abs=1e-4)
    assert result.in_target == pytest.approx(inside)
    assert result.complaints == pytest.approx(6.86406, abs=1e-4)  # by hand: 7 x 0.980581


def test_an_event_weighs_on_its_day_alone() -> None:
    result = still(course_of({"A": 1}, calendar=(event(3, weight=3.0),)), 2.7432)
    # by hand: 3 x (1 + 1), and 120 rounds at 1 / sqrt(100^2 + 20^2), at a tenth
    assert result.by_day[2].loss == pytest.approx(6 + 0.1176697, abs=1e-5)
    assert result.by_day[3].loss == pytest.approx(2 + 0.0980581, abs=1e-5)


def test_two_weeks_count_twice_what_one_does_where_nothing_moves() -> None:
    held = course_of({"A": 2})
    one, two = still(held, 2.7, days=7), still(held, 2.7, days=14)
    assert two.loss == pytest.approx(2 * one.loss) and one.loss == one.loss_plan_days
    assert two.loss_plan_days == pytest.approx(one.loss)


@st.composite
def machine_parks(draw: st.DrawFn) -> tuple[CrewRow, ...]:
    """Return crew tables with rows of groups and of the whole course, and shared machines."""
    rows = [
        CrewRow(
            practice=practice,
            group=draw(st.sampled_from(["A", "all", ""])),
            minutes=draw(st.integers(20, 200)),
            people=draw(st.sampled_from([1.0, 2.0])),
            machine=draw(st.sampled_from(["one", "two", ""])),
        )
        for practice in ("mow", "roll", "brush")
    ]
    rows += [CrewRow(machine=m, count=draw(st.integers(0, 2))) for m in ("one", "two")]
    return tuple(rows)


@settings(max_examples=10, deadline=None, derandomize=True)
@given(machine_parks(), st.floats(0.2, 6.0))
def test_no_plan_needs_more_than_the_machines_and_hours_there_are(
    rows: tuple[CrewRow, ...], hours: float
) -> None:
    held = course_of(
        {"A": 2, "B": 1}, height=None, crew=rows, limits=(limit("labour_h_day", hours),)
    )
    week = planned(held, days=3)
    counts = {r.machine: r.count or 0 for r in rows if not r.practice}
    table = {r.practice: r for r in rows if r.practice}
    minutes: dict[tuple[date, str], float] = defaultdict(float)
    worked: dict[date, float] = defaultdict(float)
    for x in week.advised.lines:
        row = table[x.practice]
        share = len(x.greens) / (2 if row.group == "A" else 3)
        spent = (row.minutes or 0.0) * x.passes * share
        minutes[x.date, row.machine] += spent
        worked[x.date] += spent * (row.people or 1.0) / 60
        # by hand: minutes x people x passes / 60
        assert x.labour_h == pytest.approx(spent * (row.people or 1.0) / 60)
        assert row.group != "A" or set(x.greens) <= {"1", "2"}
    # elicited: 240 minutes of a morning for each machine
    assert all(m <= 240 * counts[k[1]] + HAIR for k, m in minutes.items() if k[1])
    assert all(h <= hours + HAIR for h in worked.values())
    assert breaches(held, week.advised.lines) == breaches(held, week.usual.lines) == ()


@settings(max_examples=10, deadline=None, derandomize=True)
@given(st.floats(2.2, 3.4), st.floats(5.0, 9.0), st.integers(1, 10**6))
def test_the_advice_is_never_worse_than_nothing_or_the_usual(
    speed: float, score: float, seed: int
) -> None:
    held = record(limit("labour_h_day", 1.0), limit("rolls_week", 2))
    drawn = responses(held, seed=seed, n_draws=8)
    week = plan_week(held, surfaces_of(held, speed, score), drawn, seed=seed, horizon=3)
    assert week.advised.loss <= min(week.nothing.loss, week.usual.loss) + 1e-9
    assert week.nothing.labour_h == week.nothing.cost == 0
    total = sum(x.labour_h for x in week.advised.lines)
    assert week.advised.labour_h == pytest.approx(total)
    assert 0 <= (week.advised.in_target or 0.0) <= 1
    assert np.isfinite(week.advised.loss)
