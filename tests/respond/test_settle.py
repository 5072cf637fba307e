"""The smallest comparison that would settle an effect: where, when, how many, and in what words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from greenwright.base.values import CalendarEntry, Snapshot
from greenwright.respond.learning import LearnedOutcome, learn, learned_responses
from greenwright.respond.learning.settle import Asked, Trial, now_of, trials
from greenwright.respond.learning.settle_designs import (
    GIVE,
    LEAVE,
    TURNS,
    WEEKS,
    changed,
    designs_on,
    ground_of,
    partners,
    seasons,
)
from greenwright.respond.learning.settle_words import trial_words
from greenwright.respond.responses import Effect, responses
from greenwright.respond.shapes import SHAPES, Shape
from tests.respond.learning_records import DAY, rolled_course, work

EVENT = CalendarEntry(start=DAY + timedelta(days=6), name="Cup", kind="event")
MORNINGS_FREE = 2
"""Days before an event on which nothing is tried: `learn.event_days` holds at least so many."""


def shape_of(act: str, outcome: str = "green_speed") -> Shape:
    return next(s for s in SHAPES if (s.act, s.outcome) == (act, outcome))


@pytest.fixture(scope="module")
def record() -> Snapshot:
    return replace(rolled_course(greens=10), calendar=(EVENT,))


@pytest.fixture(scope="module")
def one(record: Snapshot) -> LearnedOutcome:
    return learn(record, seed=1, quantities=["green_speed"]).outcomes["green_speed", ""]


@pytest.fixture(scope="module")
def here(record: Snapshot, one: LearnedOutcome) -> dict[str, Effect]:
    made = responses(record, seed=1, n_draws=50)
    return {act: e for (act, outcome), e in made.effects.items() if outcome == "green_speed"}


@pytest.fixture(scope="module")
def found(record: Snapshot, one: LearnedOutcome, here: dict[str, Effect]) -> dict[str, Trial]:
    asked = [Asked(here[act], 0) for act in ("roll", "double_cut", "topdress", "mow")]
    made = trials(record, one, asked, months={})
    assert all(made.values())
    return {act: trial for act, trial in made.items() if trial}


def test_a_comparison_for_every_act_in_the_way_it_can_be_given(found: dict[str, Trial]) -> None:
    ways = {act: trial.way for act, trial in found.items()}
    # rolled four mornings in ten: left out on half; never cut twice: given to half
    assert ways == {"roll": LEAVE, "double_cut": GIVE, "topdress": TURNS, "mow": WEEKS}


def test_every_green_is_given_or_left_and_none_twice(found: dict[str, Trial]) -> None:
    for trial in found.values():
        for morning in trial.mornings:
            assert sorted(morning.given + morning.left) == sorted(trial.greens)
            assert abs(len(morning.given) - len(morning.left)) <= 1
        assert len(trial.mornings[0].given) == len(trial.greens) // 2


def test_first_and_last_green_are_spared_and_the_event_is_kept_free(
    found: dict[str, Trial],
) -> None:
    for trial in found.values():
        assert not {"1", "10"} & set(trial.greens)
        dates = [m.date for m in trial.mornings]
        assert min(dates) > DAY and len(set(dates)) == len(dates)
        busy = {EVENT.start - timedelta(days=k) for k in range(MORNINGS_FREE + 1)}
        assert not busy & set(dates)
        assert (max(dates) - min(dates)).days < 42  # six weeks


def test_work_that_follows_the_look_needs_forty_tosses(found: dict[str, Trial]) -> None:
    for act in ("roll", "double_cut", "mow"):
        trial = found[act]
        # 40 = FEWEST_FLIPS, the rule of the verdict
        assert len(trial.greens) * len(trial.mornings) >= 40
    roll = found["roll"]
    assert roll.changed == sum(len(m.left) for m in roll.mornings)
    assert roll.readings == len(roll.greens) * len(roll.mornings) * roll.sets
    # five minutes a set: reading_time.roll_distance
    assert roll.minutes == pytest.approx(5 * roll.readings)
    assert found["topdress"].changed == 0  # it comes anyway; half of the greens wait


def test_what_it_costs_is_the_effect_where_it_is_left(
    found: dict[str, Trial], here: dict[str, Effect]
) -> None:
    roll, gain = found["roll"], here["roll"].size.mean()
    assert roll.surface_cost.value == pytest.approx(-gain, rel=1e-9)
    assert roll.surface_cost_all is not None
    # each left-out roll lacks its gain on the morning and what is left of it later
    assert roll.surface_cost_all.value < -gain * roll.changed
    assert found["double_cut"].surface_cost.value > 0
    assert roll.surface_cost.low < roll.surface_cost.value < roll.surface_cost.high


def test_it_would_be_known_better_and_the_chances_are_told(found: dict[str, Trial]) -> None:
    for trial in found.values():
        assert trial.sd_after < trial.sd_before / np.sqrt(2)  # half of the variance is gone
        assert trial.chance_yes is not None and trial.chance_yes >= 0.8
        assert 0 <= trial.chance_clear <= 1


def test_designs_go_from_least_changed_to_most(record: Snapshot, one: LearnedOutcome) -> None:
    ground = ground_of(record, one, shape_of("roll"), greens=partners(record, one), half_life_d=0.7)
    made = designs_on(ground, one, tosses=40, fading=None)
    order = [(changed(ground, c), c.readings) for c in made]
    assert order == sorted(order) and all(c.tosses >= 40 for c in made)
    # 2.3 half-lives of 0.7 days are 1.6: two days apart
    assert ground.spacing == 2 and ground.lags == (0,) and ground.delay == 0
    first = one.fit.layout.model.days
    assert made[0].days[0] == first + (ground.dates[0] - DAY).days - 1


def test_sand_is_felt_from_the_next_morning_and_half_waits_a_week(
    record: Snapshot, one: LearnedOutcome
) -> None:
    ground = ground_of(
        record, one, shape_of("topdress"), greens=partners(record, one), half_life_d=None
    )
    assert ground.way == TURNS and ground.delay == 1 and ground.spacing == 7
    assert 0 in ground.lags and max(ground.lags) < 7


def test_few_days_or_the_look_leave_it_to_the_comparison_alone(one: LearnedOutcome) -> None:
    assert now_of(one, shape_of("roll"), 40).alone and now_of(one, shape_of("roll"), 40).led
    sand = now_of(one, shape_of("topdress"), 3)
    assert sand.alone and not sand.led
    assert not now_of(one, shape_of("topdress"), 30).alone


def test_where_nothing_of_six_weeks_would_settle_it_that_is_said(
    record: Snapshot, one: LearnedOutcome, here: dict[str, Effect]
) -> None:
    two = replace(record, greens=record.greens[:2])
    few = replace(one, greens=("1", "2"))
    # two greens on ten mornings are 20 tosses, and 40 are needed
    assert trials(two, few, [Asked(here["roll"], 9)], months={}) == {"roll": None}
    text = trial_words(None, shape_of("roll"))
    assert "No comparison of up to six weeks" in text and "green speed" in text


def test_work_of_a_season_waits_for_it(record: Snapshot, one: LearnedOutcome) -> None:
    season = frozenset({2, 3})
    ground = ground_of(
        record, one, shape_of("core"), greens=partners(record, one), half_life_d=5, months=season
    )
    assert ground.dates[0] == date(DAY.year + 1, 2, 1)
    long = replace(record, work=(*record.work, work("core", 400), work("mow", 5, passes=2.0)))
    months = seasons(long)
    assert months["core"] == {5} and months["double_cut"] == {6}
    assert seasons(record) == {}  # 90 days are no year


@pytest.mark.parametrize(
    ("act", "parts"),
    [
        ("roll", ("keep the roller off half of greens", "do the rest as usual")),
        ("double_cut", ("give half of greens", "a second cut", "leave the other half")),
        ("topdress", ("When sand is next due", "the other half seven days later")),
        ("mow", ("0.25 mm higher for a week", "weeks")),
    ],
)
def test_the_words_say_what_to_do_and_to_read(
    found: dict[str, Trial], act: str, parts: tuple[str, ...]
) -> None:
    told = trial_words(found[act], shape_of(act))
    assert all(part in told for part in parts), told
    assert f"{found[act].readings} sets of readings" in told
    assert found[act].mornings[0].date.isoformat() in told and "by toss" in told


def test_learned_effects_may_be_asked_too(record: Snapshot) -> None:
    learned = learn(record, seed=1, quantities=["green_speed"])
    effect = learned_responses(learned, record, seed=1, n_draws=20).effects["roll", "green_speed"]
    one = learned.outcomes["green_speed", ""]
    again = [trials(record, one, [Asked(effect, 60)], months={})["roll"] for _ in range(2)]
    assert again[0] == again[1] and again[0] is not None
