"""The door to every question: known ones open, the rest are named."""

from __future__ import annotations

import pytest

from greenwright import desk
from greenwright.base.answer import QUESTIONS
from greenwright.base.errors import UnknownKey
from greenwright.record import Store
from tests.desk.records import DAY


def test_questions_ready_are_questions() -> None:
    assert set(desk.QUESTIONS_READY) <= set(QUESTIONS)


@pytest.mark.parametrize("question", [q for q in QUESTIONS if q not in desk.QUESTIONS_READY])
def test_a_later_question_is_told_from_an_unknown_one(small: Store, question: str) -> None:
    with pytest.raises(UnknownKey, match="not in this version") as caught:
        desk.ask(question, small, on=DAY)
    assert caught.value.exit_code == 2 and ", ".join(desk.QUESTIONS_READY) in str(caught.value)


@pytest.mark.parametrize("question", ["", "Today", "tomorrow", "../today"])
def test_an_unknown_question_is_refused_with_the_list(small: Store, question: str) -> None:
    with pytest.raises(UnknownKey, match="no question named"):
        desk.ask(question, small, on=DAY)


def test_ask_and_the_named_function_agree(small: Store) -> None:
    assert desk.ask("today", small, on=DAY).findings == desk.today(small, on=DAY).findings
