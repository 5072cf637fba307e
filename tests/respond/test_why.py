"""Changes and differences taken apart: parts that add up, in the quantity's own unit."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.respond.learning import LearnedOutcome
from greenwright.respond.why import COURSE, Reasons, why
from greenwright.stats.dynamic import contrast, effects, levels
from tests.respond.handmade import DAYS, FIRST, GREENS, TODAY, outcome

WEEK_AGO = TODAY - timedelta(days=7)


@pytest.fixture(scope="module")
def learned() -> LearnedOutcome:
    return outcome()


@pytest.fixture(scope="module")
def clip() -> LearnedOutcome:
    return outcome(quantity="clippings", log=True, level=2.0)


def sizes(found: Reasons) -> dict[str, float]:
    return {part.name: part.size.value for part in found.parts}


def day(ahead: int) -> date:
    return FIRST + timedelta(days=ahead)


@pytest.mark.parametrize("green", [None, "2"])
def test_parts_add_up_to_the_change_of_the_levels(learned: LearnedOutcome, green: str) -> None:
    found = why(learned, frm=WEEK_AGO, until=TODAY, green=green)
    held = sizes(found)
    total = held.pop("total")
    assert sum(held.values()) == pytest.approx(total, abs=1e-12)
    then, now = (end.level.value for end in found.ends)
    assert total == pytest.approx(now - then, abs=1e-9)
    assert list(held) == ["work:roll", "weather", "growth", "green", "unexplained"]


def test_the_spread_of_the_total_is_joint_not_summed(learned: LearnedOutcome) -> None:
    found = why(learned, frm=WEEK_AGO, until=TODAY, green="1")
    total = next(p.size for p in found.parts if p.name == "total")
    unit, when = np.array([0, 0]), np.array([DAYS - 8, DAYS - 1])
    joint = levels(learned.fit, unit, when).cov
    # by the definition of a difference's variance
    assert total.sd**2 == pytest.approx(joint[0, 0] + joint[1, 1] - 2 * joint[0, 1], rel=1e-9)


def test_a_roll_between_two_days_is_told_as_work(learned: LearnedOutcome) -> None:
    dose = learned.fit.layout.model.terms[0].dose
    green, when = next(
        (g, d)
        for g in range(3)
        for d in range(10, DAYS)
        if dose[g, d] == 1 and dose[g, d - 6 : d].sum() == 0
    )
    found = why(learned, frm=day(when - 1), until=day(when), green=GREENS[green])
    size = effects(learned.fit).at("roll")[0]
    # by hand: a fresh roll after six days without one, whose trace is under 2^-6
    assert sizes(found)["work:roll"] == pytest.approx(size, abs=0.02)
    assert sizes(found)["green"] == pytest.approx(0.0, abs=1e-12)


def test_two_greens_differ_by_themselves_and_their_work(learned: LearnedOutcome) -> None:
    found = why(learned, frm=TODAY, until=TODAY, green="3", against="1")
    held = sizes(found)
    assert found.green == "3" and found.against == "1"
    assert held["weather"] == pytest.approx(0.0, abs=1e-12)
    # 0.2 m lie between greens 1 and 3 of the invented course
    assert held["green"] == pytest.approx(0.2, abs=0.07)
    back = sizes(why(learned, frm=TODAY, until=TODAY, green="1", against="3"))
    assert back["total"] == pytest.approx(-held["total"], abs=1e-12)


def test_the_course_may_stand_against_a_green(learned: LearnedOutcome) -> None:
    found = why(learned, frm=TODAY, until=TODAY, against="1")
    one, two = (
        sizes(why(learned, frm=TODAY, until=TODAY, green=g, against="1"))["total"] for g in "23"
    )
    assert found.green == COURSE
    # a mean of three, one of them the green itself
    assert sizes(found)["total"] == pytest.approx((one + two) / 3, abs=1e-9)


def test_only_greens_in_play_make_the_course(learned: LearnedOutcome) -> None:
    found = why(learned, frm=WEEK_AGO, until=TODAY, playing=("1", "2"))
    single = [sizes(why(learned, frm=WEEK_AGO, until=TODAY, green=g))["total"] for g in "12"]
    assert sizes(found)["total"] == pytest.approx(np.mean(single), abs=1e-9)


def test_parts_of_a_log_outcome_add_up_in_its_unit(clip: LearnedOutcome) -> None:
    found = why(clip, frm=WEEK_AGO, until=TODAY, green="1")
    held = sizes(found)
    total = held.pop("total")
    middle = levels(clip.fit, np.array([0, 0]), np.array([DAYS - 8, DAYS - 1])).mean
    # a change of middle levels, exp of the mean log
    assert total == pytest.approx(np.exp(middle[1]) - np.exp(middle[0]), rel=1e-6)
    assert sum(held.values()) == pytest.approx(total, abs=1e-12)
    logs = contrast(
        clip.fit, np.array([0, 0]), np.array([DAYS - 8, DAYS - 1]), np.array([-1.0, 1.0])
    )
    share = logs.mean[0] / logs.total[0]
    assert held["work:roll"] / total == pytest.approx(share, rel=1e-6)


def test_the_course_of_a_log_outcome_is_the_mean_of_its_greens(clip: LearnedOutcome) -> None:
    whole = sizes(why(clip, frm=WEEK_AGO, until=TODAY))
    each = [sizes(why(clip, frm=WEEK_AGO, until=TODAY, green=g)) for g in GREENS]
    for part in whole:
        assert whole[part] == pytest.approx(np.mean([e[part] for e in each]), abs=1e-9)


def test_the_course_of_a_log_outcome_against_a_green(clip: LearnedOutcome) -> None:
    found = sizes(why(clip, frm=TODAY, until=TODAY, against="2"))
    pairs = [sizes(why(clip, frm=TODAY, until=TODAY, green=g, against="2")) for g in "13"]
    assert found["total"] == pytest.approx(sum(p["total"] for p in pairs) / 3, abs=1e-9)


@pytest.mark.parametrize(
    ("asked", "match"),
    [
        ({"frm": FIRST - timedelta(days=1), "until": TODAY}, "outside"),
        ({"frm": WEEK_AGO, "until": TODAY + timedelta(days=1)}, "outside"),
        ({"frm": TODAY, "until": WEEK_AGO}, "backwards"),
        ({"frm": TODAY, "until": TODAY}, "two days"),
        ({"frm": TODAY, "until": TODAY, "green": "2", "against": "2"}, "two greens"),
        ({"frm": WEEK_AGO, "until": TODAY, "green": "19"}, "no green"),
    ],
)
def test_what_cannot_be_asked_is_refused(learned: LearnedOutcome, asked: dict, match: str) -> None:
    with pytest.raises(BadInput, match=match):
        why(learned, **asked)
