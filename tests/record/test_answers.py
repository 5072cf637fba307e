"""Answers are kept when they are given, once, and never changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from greenwright import record
from greenwright.base.answer import Answer
from greenwright.base.estimate import normal_estimate
from tests.record.made import DAY, NOW, course, load


def made_answer(speed_m: float = 2.5, on: date = DAY, seconds: float = 0.2) -> Answer:
    return Answer(
        "today",
        on,
        {"course": "heron"},
        findings=({"green": "1", "estimate": normal_estimate(speed_m, 0.1, "m")},),
        made_by={"program_version": "0.1.0", "seconds": seconds},
    )


def keep(store: record.Store, answer: Answer, hour: int = 7) -> int:
    return record.keep_answer(store, answer, course=None, now=NOW.replace(hour=hour))


def test_an_answer_comes_back_as_its_json(store: record.Store) -> None:
    number = keep(store, made_answer())
    kept = record.kept_answers(store, course=None, question="today")
    assert [(k.id, k.as_of, k.made_at) for k in kept] == [
        (number, "2026-06-05", "2026-06-05T07:00:00")
    ]
    assert kept[0].answer == made_answer().as_dict()
    assert kept[0].version == "0.1.0"


def test_the_same_answer_on_the_same_day_is_kept_once(store: record.Store) -> None:
    number = keep(store, made_answer())
    assert keep(store, made_answer(seconds=9.9), hour=9) == number
    assert len(record.kept_answers(store, course=None)) == 1


def test_another_answer_or_another_day_is_kept_too(store: record.Store) -> None:
    numbers = [
        keep(store, made_answer()),
        keep(store, made_answer(2.6)),
        keep(store, made_answer(on=date(2026, 6, 6))),
        keep(store, replace(made_answer(), question="week")),
    ]
    assert len(set(numbers)) == 4
    assert len(record.kept_answers(store, course=None, question="today")) == 3
    assert len(record.kept_answers(store, course=None, question="week")) == 1
    assert record.kept_answers(store, course=None, question="feed") == ()


def test_answers_of_courses_are_apart(store: record.Store) -> None:
    load(store, course("otter"))
    record.keep_answer(store, made_answer(), course="heron", now=datetime(2026, 6, 5))
    assert record.kept_answers(store, course="otter") == ()
