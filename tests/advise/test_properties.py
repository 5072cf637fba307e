"""What must hold whatever the record: limits, order, nothing for nothing, repeatability."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from greenwright.advise import breaches, plan_week
from greenwright.base.errors import CannotAnswer
from greenwright.base.values import Snapshot, Work
from greenwright.respond import responses
from tests.advise.hands import (
    TODAY,
    course_of,
    crew,
    event,
    limit,
    mild,
    surfaces_of,
    without_effect,
)

SLOW = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


PLANNED = ("mow", "roll", "core", "feed")


def mown(ago: int, height: float) -> Work:
    """Return a cut of all greens so many days ago."""
    return Work(date=TODAY - timedelta(days=ago), green="all", practice="mow", amount=height)


@st.composite
def records(draw: st.DrawFn) -> Snapshot:
    """Return a record with random groups, hours, limits, history and planned rows."""
    groups = {"A": draw(st.integers(1, 3)), "B": draw(st.integers(1, 2))}
    hours = draw(st.sampled_from([0.0, 0.8, 1.7, 4.0]))
    limits = [
        limit("labour_h_day", hours),
        limit("labour_h_day", draw(st.sampled_from([0.0, 0.5])), weekday="sun"),
        limit("labour_h_day", 0.7, green="A", weekday="tue"),
        limit("rolls_week", draw(st.integers(0, 4))),
        limit("rolls_week", 1, green="B", from_=TODAY + timedelta(days=3)),
        limit("min_height_mm", draw(st.sampled_from([2.9, 3.5, 3.6, 3.8]))),
        limit("max_height_step_mm", draw(st.sampled_from([0.05, 0.13]))),
        limit("min_step_interval_d", draw(st.integers(2, 4))),
    ]
    if draw(st.booleans()):
        day = TODAY + timedelta(days=draw(st.integers(1, 7)))
        limits.append(limit("no_work", None, green="B", from_=day, until=day))
    past = [
        Work(
            date=TODAY - timedelta(days=i), green="all", practice="mow", amount=3.6 + 0.1 * (i > 1)
        )
        for i in range(10)
    ]
    rolled = draw(st.lists(st.integers(0, 6), max_size=3))
    past += [Work(date=TODAY - timedelta(days=i), green="A", practice="roll") for i in rolled]
    for ahead, practice in draw(
        st.lists(
            st.tuples(st.integers(1, 7), st.sampled_from(["mow", "roll", "core", "feed"])),
            max_size=3,
        )
    ):
        past.append(
            Work(
                date=TODAY + timedelta(days=ahead),
                green=draw(st.sampled_from(["all", "A", "1"])),
                practice=practice,
                status="planned",
                amount=draw(st.sampled_from([3.4, 3.6])) if practice == "mow" else None,
            )
        )
    return course_of(
        groups,
        work=tuple(past),
        limits=tuple(limits),
        crew=crew(tuple(groups), mow=25, roll=20, topdress=40, verticut=30),
        calendar=(event(draw(st.integers(1, 12))),),
        weather=mild(t_min_c=draw(st.sampled_from([1.0, 10.0]))),
    )


@given(records(), st.floats(2.2, 3.4), st.floats(5.0, 9.0))
@SLOW
def test_no_limit_is_ever_broken(record: Snapshot, speed: float, score: float) -> None:
    surfaces = surfaces_of(record, speed, score)
    drawn = responses(record, seed=1, n_draws=20)
    week = plan_week(record, surfaces, drawn, seed=1, horizon=8)
    assert breaches(record, week.advised.lines) == ()
    assert breaches(record, week.usual.lines) == ()
    assert week.advised.loss <= week.usual.loss + 1e-9
    quality = [x for x in week.advised.lines if x.practice == "mow" and x.amount is not None]
    # published slope 0.7 a mm from the 7 assumed: not under 6 means not under 3.6 - 1.43 mm
    assert all(x.amount > 2.1 for x in quality)


@given(st.integers(0, 200), st.floats(0.0, 2.0), st.floats(0.0, 2.0))
@settings(max_examples=8, deadline=None, derandomize=True)
def test_more_hours_are_never_worse(seed: int, few: float, more: float) -> None:
    rng = np.random.default_rng(seed)
    speed, score = rng.uniform(2.4, 3.2), rng.uniform(5.5, 8.5)
    found = []
    for hours in sorted((few, few + more)):
        record = course_of(
            {"A": 2, "B": 1},
            height=None,
            crew=crew(("A", "B"), mow=20, roll=25),
            limits=(limit("labour_h_day", hours),),
        )
        drawn = responses(record, seed=seed, n_draws=16)
        week = plan_week(record, surfaces_of(record, speed, score), drawn, seed=seed, horizon=3)
        assert week.proven
        found.append(week.advised.loss)
    assert found[1] <= found[0] + 1e-9


def test_where_nothing_helps_leave_it_alone() -> None:
    record = course_of({"A": 3, "B": 3}, crew=crew(("A", "B"), mow=20, roll=15, topdress=30))
    still = without_effect(responses(record, seed=1, n_draws=60))
    week = plan_week(record, surfaces_of(record, 2.3, 6.0), still, seed=1)
    assert week.advised.lines == () and week.no_plan == ""
    assert week.advised.loss == pytest.approx(week.nothing.loss, abs=1e-12)


def test_greens_in_their_band_are_only_kept_cut() -> None:
    record = course_of({"A": 3}, crew=crew(("A",), mow=20, roll=15, topdress=30))
    drawn = responses(record, seed=1, n_draws=100)
    week = plan_week(record, surfaces_of(record, 3.05, 9.5), drawn, seed=1)
    extra = [x for x in week.advised.lines if x.practice != "mow" or x.passes > 1]
    assert len(extra) <= 2
    assert week.advised.lines


def test_same_record_same_seed_same_plan() -> None:
    record = course_of(
        {"A": 3, "B": 2},
        crew=crew(("A", "B"), mow=20, roll=15, topdress=30),
        limits=(limit("labour_h_day", 1.0),),
    )
    drawn = responses(record, seed=4, n_draws=60)
    one, two = (plan_week(record, surfaces_of(record, 2.6, 7.0), drawn, seed=4) for _ in range(2))
    assert one == two


def test_hours_of_nought_leave_no_plan_and_say_so() -> None:
    record = course_of(
        {"A": 2}, crew=crew(("A",), mow=20, roll=15), limits=(limit("labour_h_day", 0.0),)
    )
    drawn = responses(record, seed=1, n_draws=20)
    week = plan_week(record, surfaces_of(record, 2.5, 6.0), drawn, seed=1, horizon=7)
    assert week.advised.lines == ()
    assert "labour_h_day is 0 on every day" in week.no_plan


def test_frost_keeps_everybody_off() -> None:
    record = course_of({"A": 2}, crew=crew(("A",), mow=20, roll=15), weather=mild(t_min_c=-2.0))
    drawn = responses(record, seed=1, n_draws=20)
    week = plan_week(record, surfaces_of(record, 2.5, 6.0), drawn, seed=1, horizon=7)
    assert week.advised.lines == () and "frost" in week.no_plan


def test_nothing_read_cannot_be_planned() -> None:
    record = course_of({"A": 2})
    with pytest.raises(CannotAnswer, match="ever read"):
        plan_week(record, {}, responses(record, seed=1, n_draws=20), seed=1)


def test_no_green_in_play_cannot_be_planned() -> None:
    record = course_of({"A": 1})
    held = surfaces_of(record, 2.5, 7.0)
    shut = replace(record, greens=tuple(replace(g, in_play=False) for g in record.greens))
    with pytest.raises(CannotAnswer, match="in play"):
        plan_week(shut, held, responses(shut, seed=1, n_draws=20), seed=1)


def test_progress_is_told_and_runs_forward() -> None:
    record = course_of({"A": 2}, crew=crew(("A",), mow=20, roll=15))
    told: list[float] = []
    plan_week(
        record,
        surfaces_of(record, 2.5, 7.0),
        responses(record, seed=1, n_draws=20),
        seed=1,
        progress=lambda text, share: told.append(share),
    )
    assert told == sorted(told) and told[0] >= 0 and told[-1] <= 1


@pytest.mark.slow
def test_a_full_course_keeps_its_limits_and_beats_the_usual() -> None:
    record = course_of(
        {"A": 6, "B": 6, "C": 6},
        crew=crew(("A", "B", "C"), mow=160, roll=60, topdress=240, verticut=90, brush=60),
        limits=(limit("labour_h_day", 12.0), limit("labour_h_day", 5.0, weekday="sun")),
        calendar=(event(9),),
    )
    drawn = responses(record, seed=1, n_draws=200)
    week = plan_week(record, surfaces_of(record, 2.7, 7.2), drawn, seed=1)
    assert breaches(record, week.advised.lines) == ()
    assert week.advised.loss < 0.8 * week.usual.loss
