"""A record with something wrong in it is told so, in words that name the green and the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from greenwright.base.values import Reading, Snapshot
from greenwright.respond.learning import LearnedOutcome, Misfit, learn
from greenwright.respond.learning.misfits import ALARM
from tests.respond.learning_records import FIRST, rolled_course

TURN = FIRST + timedelta(days=44)


def lifted(record: Snapshot, by: float, *greens: str) -> Snapshot:
    """The record with the readings of some greens (none named = all) higher from TURN on."""

    def moved(row: Reading) -> Reading:
        mine = row.date >= TURN and (not greens or row.green in greens)
        return replace(row, value=row.value + by) if mine else row

    return replace(record, readings=tuple(moved(row) for row in record.readings))


def found(record: Snapshot) -> dict[str, Misfit]:
    one: LearnedOutcome = learn(record, seed=1).outcomes["green_speed", ""]
    return {m.name: m for m in one.misfits}


def dated(words: str) -> date:
    """The date in a sentence that begins with 'Around 14 May 2026 ...'."""
    day, month, year = words.split()[1:4]
    months = {"April": 4, "May": 5, "June": 6}
    return date(int(year), months[month], int(day))


def test_one_green_that_changed_is_named_with_its_day() -> None:
    told = found(lifted(rolled_course(), 0.4, "3"))["unit step"]
    assert told.score > ALARM
    assert "green 3 changed its level" in told.words
    assert abs((dated(told.words) - TURN).days) <= 4  # read every other day


def test_greens_that_changed_with_it_are_counted() -> None:
    told = found(lifted(rolled_course(), 0.4, "3", "5"))["unit step"]
    assert "(and 1 other with it)" in told.words
    assert any(f"green {green} " in told.words for green in ("3", "5"))


def test_a_course_that_changed_is_dated() -> None:
    told = found(lifted(rolled_course(), 0.5))
    assert "unit step" not in told
    assert "the whole course changed its level and kept it" in told["step"].words
    assert abs((dated(told["step"].words) - TURN).days) <= 4


@pytest.mark.parametrize("seed", [4, 5, 6, 7])
def test_a_record_that_the_model_is_meant_for_raises_none(seed: int) -> None:
    assert found(rolled_course(seed)) == {}


def test_the_strongest_comes_first_and_no_words_twice() -> None:
    record = lifted(rolled_course(), 0.5, "3")
    wild = replace(record.readings[150], value=record.readings[150].value + 1.5)
    rows = (*record.readings[:150], wild, *record.readings[151:])
    told = list(found(replace(record, readings=rows)).values())
    assert {"tails", "unit step"} <= {m.name for m in told}
    assert [abs(m.score) for m in told] == sorted((abs(m.score) for m in told), reverse=True)
    assert len({m.words for m in told}) == len(told)
