"""Whatever an answer about learning holds, its page is clean, whole and of its own numbers."""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st
from jsonschema.validators import validator_for

from greenwright.base.answer import Answer, answer_schema
from greenwright.base.values import Course
from greenwright.show import page, words
from tests.show.drawn import COURSES
from tests.show.drawn_learning import LEARNING, forecasts, tracks, whys
from tests.show.test_any_answer import FORBIDDEN, QUICK, SLIPS, everything

SHAPE = validator_for(answer_schema())(answer_schema())


@QUICK
@given(LEARNING, COURSES)
def test_no_slip_and_no_forbidden_word_is_ever_printed(answer: Answer, course: Course) -> None:
    made = page(answer, course, pictures=False)
    text = everything(made)
    assert SLIPS.findall(text) == [] and FORBIDDEN.findall(text) == []
    assert made.heading.endswith("?") and made.lead
    assert all(line.endswith(".") for line in (*made.lead, *made.cautions, *made.dont_know))
    assert all(told.endswith(".") for s in made.sections for _, told in s.asked)


@QUICK
@given(LEARNING)
def test_drawn_answers_are_answers(answer: Answer) -> None:
    if any(v != v for one in answer.more.get("learned", ()) for v in _coins(one)):
        return  # JSON knows no such number: the desk writes null
    SHAPE.validate(answer.as_dict())


def _coins(one: dict) -> list[float]:
    held = (one.get("compared") or {}).get("coin_flips")
    return [] if held is None else [held]


@QUICK
@given(LEARNING, COURSES, st.integers(40, 110))
def test_lines_keep_their_width_but_for_words_that_are_longer(
    answer: Answer, course: Course, width: int
) -> None:
    for line in words(answer, course=course, width=width, full=True).splitlines()[2:]:
        longest = max((len(word) for word in line.split()), default=0)
        assert len(line) <= max(width, longest + 6)


@QUICK
@given(LEARNING, COURSES)
def test_every_table_is_a_csv_of_its_own_shape(answer: Answer, course: Course) -> None:
    for table in page(answer, course, pictures=False).tables:
        rows = list(csv.reader(io.StringIO(table.as_csv())))
        assert rows[0] == list(table.columns)
        assert {len(row) for row in rows} == {len(table.columns)}
        assert max(table.numbers, default=0) < len(table.columns)


@QUICK
@given(whys(), COURSES)
def test_every_change_is_told_with_its_parts(answer: Answer, course: Course) -> None:
    made = page(answer, course, pictures=False)
    totals = [r for r in answer.findings if r["part"] == "total"]
    if not totals:
        assert made.lead[0].startswith("We cannot tell yet")
        return
    first = [r for r in totals if r["quantity"] in ("green_speed", "smoothness")] or totals[:1]
    assert len(made.lead) == 2 * len(first)


@QUICK
@given(forecasts(), COURSES)
def test_every_green_looked_at_has_its_row(answer: Answer, course: Course) -> None:
    made = page(answer, course, pictures=False)
    tables = [t for s in made.sections if s.title == "Green by green" for t in s.tables]
    if not answer.findings:
        assert tables == []
        return
    assert tables and all([row[0] for row in t.rows] == answer.more["greens"] for t in tables)


@QUICK
@given(tracks(), COURSES)
def test_nothing_is_said_to_have_held_before_it_was_judged(answer: Answer, course: Course) -> None:
    lead = page(answer, course, pictures=False).lead
    judged = any(
        r["what"] == "coverage" and r["level"] is not None and r["n"] for r in answer.findings
    )
    assert lead[0].startswith("We cannot tell yet") != judged
