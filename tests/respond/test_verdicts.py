"""Verdicts and misfits in words, on hand-made separations and surprises."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.respond import SHAPES
from greenwright.respond.learning import LearnedOutcome, learn
from greenwright.respond.learning.learned import Misfit
from greenwright.respond.learning.misfits import misfits
from greenwright.respond.learning.telling import told
from greenwright.respond.learning.verdicts import either_way, unlearned, verdict
from greenwright.respond.responses import responses
from greenwright.stats.dynamic import Separation
from tests.respond.learning_records import FIRST, rolled_course

SHAPE = {(s.act, s.outcome): s for s in SHAPES}
ROLL, SAND = SHAPE["roll", "green_speed"], SHAPE["topdress", "green_speed"]


@pytest.fixture(scope="module")
def speed() -> LearnedOutcome:
    return learn(rolled_course(), seed=1).outcomes["green_speed", ""]


def judged(*reasons: str, share: float = 0.9) -> Separation:
    return Separation("cannot tell" if reasons else "yes", reasons, 40, 200.0, share, 0.0)


def known(one: LearnedOutcome, **found: Separation) -> LearnedOutcome:
    named = {name.replace("_until", "."): held for name, held in found.items()}
    return replace(one, separations={**one.separations, **named})


def test_never_done_is_not_in_the_record(speed: LearnedOutcome) -> None:
    found = verdict(speed, SAND, 0)
    assert (found.separable, found.reason) == ("cannot tell", "It is not in the record.")


@pytest.mark.parametrize(("n", "words"), [(1, "1 day only"), (2, "2 days only"), (3, "3 days")])
def test_hardly_done_cannot_be_told(speed: LearnedOutcome, n: int, words: str) -> None:
    found = verdict(speed, ROLL, n)
    assert found.separable == "cannot tell" and words in found.reason


def test_little_learned_names_the_share(speed: LearnedOutcome) -> None:
    found = verdict(known(speed, roll=judged("little learned", share=0.31)), ROLL, 40)
    assert found.separable == "cannot tell" and "31 %" in found.reason


def test_a_modelled_choice_says_how_many_mornings_compare(speed: LearnedOutcome) -> None:
    assert speed.chosen is not None
    with_it, without = either_way(speed.chosen)
    found = verdict(known(speed, roll=judged()), ROLL, 80)
    assert found.separable == "yes" and found.reason.endswith("the days compare.")
    assert f"{with_it} mornings" in found.reason and f"{without} mornings" in found.reason


def test_no_overlap_cannot_be_told(speed: LearnedOutcome) -> None:
    found = verdict(known(speed, roll=judged("no overlap")), ROLL, 80)
    assert found.separable == "cannot tell" and "so closely" in found.reason


def test_leaning_on_the_need_is_partly(speed: LearnedOutcome) -> None:
    found = verdict(known(speed, roll=judged("rests on the decision model")), ROLL, 80)
    assert found.separable == "partly" and "looked slow" in found.reason


def test_much_unwritten_work_is_partly(speed: LearnedOutcome) -> None:
    found = verdict(known(speed, roll=judged("unwritten work")), ROLL, 80)
    assert found.separable == "partly" and "never written down" in found.reason


@pytest.mark.parametrize("name", ["step", "unit step"])
def test_a_level_that_changed_once_leaves_no_plain_yes(speed: LearnedOutcome, name: str) -> None:
    broken = replace(speed, misfits=(Misfit(name, 5.0, "Since 3 May the greens read faster."),))
    sound = verdict(known(speed, roll=judged()), ROLL, 80)
    found = verdict(known(broken, roll=judged()), ROLL, 80)
    assert (sound.separable, found.separable) == ("yes", "partly")
    assert found.reason.endswith("Since 3 May the greens read faster.")
    other = replace(speed, misfits=(Misfit("own slope on wet", 5.0, "Greens lean differently."),))
    assert verdict(known(other, roll=judged()), ROLL, 80) == sound


def test_few_doses_felt_cannot_be_told(speed: LearnedOutcome) -> None:
    found = verdict(known(speed, roll=judged("few doses")), ROLL, 80)
    assert found.separable == "cannot tell" and "40 readings" in found.reason


def test_readings_alone_are_partly_where_work_follows_the_look(speed: LearnedOutcome) -> None:
    alone = replace(known(speed, roll=judged()), chosen=None)
    found = verdict(alone, ROLL, 80)
    assert found.separable == "partly" and "look of the surface" in found.reason


def test_work_by_the_calendar_is_told(speed: LearnedOutcome) -> None:
    one = known(speed, topdress_untilearly=judged(), topdress_untillate=judged())
    assert verdict(one, SAND, 20).separable == "yes"
    few = verdict(one, SAND, 5)
    assert few.separable == "partly" and "5 days only" in few.reason


def test_a_height_that_never_changed_cannot_be_told(speed: LearnedOutcome) -> None:
    one = known(speed, mow=judged())
    found = verdict(one, SHAPE["mow", "green_speed"], 90)
    assert found.separable == "cannot tell" and "changed on 0 days" in found.reason


def test_what_was_not_learned_says_so_and_counts() -> None:
    assert "2 days" in unlearned(2).reason and "not in the record" in unlearned(0).reason
    assert unlearned(2).separable == "cannot tell"


def test_alarms_are_few_on_a_world_it_is_meant_for(speed: LearnedOutcome) -> None:
    assert misfits(speed.plain, first=FIRST, greens=speed.greens) == ()
    every = misfits(speed.plain, first=FIRST, greens=speed.greens, alarm=-9.0)
    assert len(every) >= 3 and [abs(m.score) for m in every] == sorted(
        (abs(m.score) for m in every), reverse=True
    )
    for one in every:
        assert one.words.endswith(".") and one.words[0].isupper()


def test_a_wild_reading_is_named() -> None:
    record = rolled_course()
    wild = replace(record.readings[100], value=record.readings[100].value + 1.2)
    rows = (*record.readings[:100], wild, *record.readings[101:])
    one = learn(replace(record, readings=rows), seed=1).outcomes["green_speed", ""]
    named = {m.name: m.words for m in one.misfits}
    assert "tails" in named
    assert f"green {wild.green} on {wild.date.day} {wild.date:%B %Y}" in named["tails"]


def test_how_a_roll_was_learned(speed: LearnedOutcome) -> None:
    drawn = responses(rolled_course(), seed=1, n_draws=50)
    effect = drawn.effect("roll", "green_speed")
    found = told(ROLL, effect, effect, speed, needs=True)
    assert found.compared is not None and found.plain is not None
    rows = speed.plain.layout.rows
    dosed = speed.felt["roll"][rows.unit, rows.day] > 0
    # by hand: means of the sets with and without a roll on their morning
    gap = rows.value[dosed].mean() - rows.value[~dosed].mean()
    assert found.plain.value == pytest.approx(gap) and found.plain.basis == "readings"
    assert found.compared.with_n > 50 and found.compared.without_n > 50
    assert found.compared.overlap is not None and 0.5 < found.compared.overlap <= 1.0
    before = (found.compared.before_with, found.compared.before_without)
    assert before[0] is not None and before[1] is not None
    # a coin does not look at the surface: before the roll both kinds of mornings are alike
    assert abs(before[0].value - before[1].value) < 0.08
    assert [n.strength for n in found.need] == [0.0, 2.0]
    assert all("played" in n.words for n in found.need)


def test_a_curve_ends_when_next_to_nothing_is_left(speed: LearnedOutcome) -> None:
    drawn = responses(rolled_course(), seed=1, n_draws=50)
    effect = drawn.effect("roll", "green_speed")
    days = [p.day for p in told(ROLL, effect, effect, None, needs=False).curve]
    assert days == [0, 1, 2, 3]
    core = drawn.effect("core", "firmness")
    points = told(core.shape, core, core, None, needs=False).curve
    assert points[0].here.value == pytest.approx(1.0) and points[0].here.unit == "1"
    assert np.all(np.diff([p.day for p in points]) > 0) and points[-1].day == 28


def test_a_height_s_curve_is_now_and_in_a_week(speed: LearnedOutcome) -> None:
    effect = responses(rolled_course(), seed=1, n_draws=50).effect("mow", "green_speed")
    assert [p.day for p in told(effect.shape, effect, effect, speed, needs=False).curve] == [0, 7]
