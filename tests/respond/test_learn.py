"""Learning through the whole: a truth put in comes out, with its doubt, and again the same."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from greenwright.base.evidence import look_up
from greenwright.respond import Responses, curve, plannable, responses
from greenwright.respond.learning import Learned, LearnedOutcome, learn, learned_responses
from greenwright.respond.learning.learn import FEWEST_SETS
from greenwright.respond.rows import effect_rows
from greenwright.respond.shapes import PLANNED_ACTS
from greenwright.stats.dynamic import effects
from tests.respond.learning_records import DAY, FIRST, TRUE_ROLL, held, reading, rolled_course


@pytest.fixture(scope="module")
def learned() -> Learned:
    return learn(rolled_course(), seed=1)


@pytest.fixture(scope="module")
def speed(learned: Learned) -> LearnedOutcome:
    return learned.outcomes["green_speed", ""]


@pytest.fixture(scope="module")
def here(learned: Learned) -> Responses:
    return learned_responses(learned, rolled_course(), seed=1, n_draws=200)


def test_the_invented_gain_comes_out(speed: LearnedOutcome) -> None:
    for fit in (speed.fit, speed.plain):
        mean, sd = effects(fit).at("roll")
        assert abs(mean - TRUE_ROLL) < 2.6 * sd and sd < 0.02


def test_another_gain_comes_out_as_another() -> None:
    none = learn(rolled_course(gain=0.0), seed=1, quantities=["green_speed"])
    mean, sd = effects(none.outcomes["green_speed", ""].fit).at("roll")
    assert abs(mean) < 2.6 * sd


def test_it_says_what_it_was_fitted_on(speed: LearnedOutcome) -> None:
    assert (speed.first, speed.until, speed.day(DAY)) == (FIRST, DAY, 89)
    assert speed.greens == tuple("123456") and speed.n_sets == 45 * 6
    assert (speed.quantity, speed.unit, speed.log, speed.key) == (
        "green_speed", "m", False, "green_speed",
    )  # fmt: skip
    assert speed.n_days["mow"] == 90


def test_a_coin_s_decisions_are_modelled_and_say_yes(speed: LearnedOutcome) -> None:
    assert speed.chosen is not None and speed.chosen.act == "roll"
    choice = speed.chosen.decided.choice
    assert abs(choice.need) < 3 * choice.need_sd
    assert speed.separations["roll"].verdict == "yes"


def test_a_right_model_raises_no_alarm(speed: LearnedOutcome) -> None:
    assert speed.misfits == ()


def test_a_step_of_the_whole_course_is_told_with_its_day() -> None:
    stepped = learn(rolled_course(bad_day=50), seed=1, quantities=["green_speed"])
    named = {m.name: m for m in stepped.outcomes["green_speed", ""].misfits}
    assert set(named) <= {"step", "tails", "carry-over"} or named
    if "step" in named:
        assert "May 2026" in named["step"].words


def test_the_same_record_and_seed_give_the_same(learned: Learned) -> None:
    again = learn(rolled_course(), seed=1, quantities=["green_speed"])
    one, other = (x.outcomes["green_speed", ""].fit for x in (learned, again))
    assert np.array_equal(effects(one).mean, effects(other).mean)


def test_a_warm_start_is_quicker_and_says_the_same(learned: Learned) -> None:
    state = json.loads(json.dumps(learned.state))
    again = learn(rolled_course(), seed=1, start=state)
    one, other = (x.outcomes["green_speed", ""] for x in (learned, again))
    assert other.plain.evaluations < one.plain.evaluations / 2
    (cold, sd), (warm, _) = (effects(x.fit).at("roll") for x in (one, other))
    assert abs(warm - cold) < 0.3 * sd


def test_a_start_of_another_model_is_not_used(learned: Learned) -> None:
    state = {"green_speed": {**learned.state["green_speed"], "names": ["other"]}}
    again = learn(rolled_course(), seed=1, start=state, quantities=["green_speed"])
    one, other = (x.outcomes["green_speed", ""].plain for x in (learned, again))
    assert other.evaluations == one.evaluations


def test_too_few_readings_teach_nothing() -> None:
    record = rolled_course()
    few = replace(record, readings=record.readings[: FEWEST_SETS - 1])
    assert learn(few, seed=1).outcomes == {}
    one_morning = tuple(
        reading("moisture", 20.0, 3, green="1", observer=f"o{k}") for k in range(FEWEST_SETS + 3)
    )
    assert learn(held(readings=one_morning), seed=1).outcomes == {}
    assert learn(held(), seed=1).outcomes == {}


def test_only_what_was_asked_for_is_learned(learned: Learned) -> None:
    assert set(learned.outcomes) == {("green_speed", "")}
    assert learn(rolled_course(), seed=1, quantities=["quality"]).outcomes == {}
    assert learned.best("green_speed") is not None and learned.best("quality") is None


def test_draws_have_the_posterior_s_mean_and_green_by_green(
    here: Responses, speed: LearnedOutcome
) -> None:
    size = here.effect("roll", "green_speed").size
    found = effects(speed.fit)
    place = found.names.index("roll")
    assert size.shape == (200, 6)
    # by hand: 200 draws: their mean misses by a fourteenth of the sd, three times that at most
    reach = 3 * found.unit_sd[place] / 200**0.5
    assert (np.abs(size.mean(axis=0) - found.unit_mean[place]) < reach).all()
    assert here.basis == "model"
    assert here.share_local["roll", "green_speed"] > 0.9


def test_what_was_not_learned_stays_as_reported(here: Responses) -> None:
    prior = responses(rolled_course(), seed=1, n_draws=200)
    for key in (("roll", "smoothness"), ("feed", "green_speed"), ("core", "quality")):
        assert np.array_equal(here.effects[key].size, prior.effects[key].size)
        assert here.share_local[key] == 0.0
    # in the model, but never done: the prior's spread stays
    brush = here.effect("brush", "green_speed").size
    reported = look_up("effect.brush.green_speed")
    assert brush.std() == pytest.approx(reported.sd, rel=0.2)
    assert here.share_local["brush", "green_speed"] < 0.05


def test_half_lives_are_drawn_with_their_sizes(here: Responses) -> None:
    half = here.effect("roll", "green_speed").half_life_d
    assert half is not None and half.shape == (200, 1)
    # the invented half-life is 0.8 d
    assert 0.4 < float(np.median(half)) < 1.3
    found = curve(here, "roll", "green_speed", dose=1, days=[0, 1, 2]).mean(axis=0)
    assert found[0] > found[1] > found[2] > 0


def test_a_green_out_of_play_takes_the_common_effect() -> None:
    record = rolled_course()
    shut = replace(record, greens=tuple(replace(g, in_play=g.green != "3") for g in record.greens))
    made = learned_responses(learn(shut, seed=1), shut, seed=1, n_draws=50)
    size = made.effect("roll", "green_speed").size
    assert size.shape == (50, 6) and np.isfinite(size).all()


def test_a_plan_gets_only_what_it_can_reckon_with(here: Responses) -> None:
    kept = plannable(here).effects
    assert {act for act, _ in kept} <= set(PLANNED_ACTS)
    assert not any(e.shape.log for e in kept.values())
    assert ("roll", "green_speed") in kept and ("roll", "firmness") not in kept


def test_rows_say_what_is_here_and_what_is_elsewhere(here: Responses, learned: Learned) -> None:
    rows = {
        (r.practice, r.outcome, r.horizon_days, r.dose_unit): r
        for r in effect_rows(rolled_course(), here, learned)
        if r.green == "course"
    }
    roll = rows["roll", "green_speed", 0, "pass"]
    assert roll.here.low < TRUE_ROLL < roll.here.high and roll.here.basis == "model"
    assert roll.prior.value == pytest.approx(0.2286, rel=0.02)
    assert roll.separable == "yes" and "could have gone either way" in roll.reason
    sand = rows["topdress", "green_speed", 2, "L/m2"]
    assert sand.separable == "cannot tell" and sand.reason == "It is not in the record."
    other = rows["roll", "smoothness", 0, "pass"]
    assert other.here == other.prior and "No effect has been learned" in other.reason


def test_ratios_are_one_where_nothing_changes(here: Responses, learned: Learned) -> None:
    rows = [r for r in effect_rows(rolled_course(), here, learned) if r.outcome == "clippings"]
    roll = next(r for r in rows if r.practice == "roll")
    # elicited: a roll changes no volume; the ratio's middle is 1
    assert roll.here.value == pytest.approx(1.0, abs=0.02) and roll.here.unit == "1"
    regulator = next(r for r in rows if r.practice == "regulator" and r.horizon_days == 14)
    assert 0.6 < regulator.here.value < 0.95  # published: 20 to 30 % less at its strongest
