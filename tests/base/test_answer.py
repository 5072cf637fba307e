"""Answers: the published schema refuses what it should, and the shape is stable."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import jsonschema
import pytest

from greenwright.base.answer import QUESTIONS, Answer, answer_schema, plain
from greenwright.base.estimate import draws_estimate, normal_estimate

DAY = date(2026, 6, 5)


def today_finding(**changes: Any) -> dict[str, Any]:
    row = {
        "green": "1",
        "quantity": "green_speed",
        "method": "",
        "estimate": normal_estimate(2.5, 0.1, "m", n=6),
        "in_target": 0.1,
        "last_read": DAY,
        "change_7d": None,
    }
    return row | changes


def answer(question: str = "today", **changes: Any) -> Answer:
    parts: dict[str, Any] = {
        "record": {"course": "fen", "name": "Fen", "readings": 3, "last_reading": DAY},
        "made_by": {"program": "greenwright 0", "model": "1", "seconds": 0.1},
    }
    return Answer(question, DAY, **(parts | changes))


def problems(made: Answer) -> list[str]:
    validator = jsonschema.Draft202012Validator(answer_schema())
    return [error.message for error in validator.iter_errors(made.as_dict())]


def test_the_schema_is_itself_valid() -> None:
    jsonschema.Draft202012Validator.check_schema(answer_schema())
    assert answer_schema()["properties"]["question"]["enum"] == list(QUESTIONS)


def test_a_right_answer_passes() -> None:
    assert problems(answer(findings=(today_finding(),))) == []


@pytest.mark.parametrize(
    "finding",
    [
        today_finding(in_target=1.2),
        today_finding(last_read="5 June"),
        today_finding(estimate=2.5),
        {k: v for k, v in today_finding().items() if k != "change_7d"},
        today_finding(green="course"),  # a course row needs its spread and its odd greens
    ],
)
def test_a_wrong_finding_is_seen(finding: dict[str, Any]) -> None:
    assert problems(answer(findings=(finding,)))


def test_a_published_number_needs_its_citation() -> None:
    row = {"key": "k", "value": 1, "unit": "m", "grade": "published", "citation": ""}
    assert problems(answer(sources=(row,)))
    assert problems(answer(sources=(row | {"citation": "A title, a venue, 1995"},))) == []
    assert problems(answer(sources=(row | {"grade": "elicited"},))) == []


def test_a_week_needs_its_three_plans() -> None:
    assert problems(answer("week"))
    plan = {"in_target": 0.5, "complaints": 1.0, "labour_h": 2.0, "cost": 10.0, "loss": 3.0}
    plans = {"advised": plan, "nothing": plan, "usual": plan}
    assert problems(answer("week", more={"plans": plans, "leave_outs": ()})) == []


def test_an_observer_caution_names_the_observer() -> None:
    caution = {"kind": "observer", "text": "scores high"}
    assert problems(answer(cautions=(caution,)))
    assert problems(answer(cautions=(caution | {"observer": "ana"},))) == []


def test_draws_carry_quantiles_into_json() -> None:
    text = answer(findings=(today_finding(estimate=draws_estimate([1.0, 2.0], "m")),)).as_json()
    assert json.loads(text)["findings"][0]["estimate"]["quantiles"]["0.5"] == 1.5


def test_plain_keeps_text_whole_and_turns_tuples_into_lists() -> None:
    assert plain({"a": ("x", DAY), "b": "text"}) == {"a": ["x", "2026-06-05"], "b": "text"}
    assert list(answer().as_dict())[:3] == ["question", "as_of", "record"]
