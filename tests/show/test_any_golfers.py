"""Whatever golfers answers: clean print, valid shape, drawings that stay on their paper."""

from __future__ import annotations

import re

import jsonschema
from hypothesis import HealthCheck, given, settings

from greenwright.base.answer import Answer, answer_schema
from greenwright.base.values import Course
from greenwright.show import page, words
from greenwright.show.figures import frame
from greenwright.show.figures.putts import putts_figure
from tests.show.drawn import COURSES
from tests.show.drawn_golfers import golfers
from tests.show.test_any_answer import FORBIDDEN, SLIPS, everything

QUICK = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
ENDS = r'(?:cx|cy|x|y)="(-?[\d.]+)"|[M](-?[\d.]+),(-?[\d.]+)'


@QUICK
@given(golfers(), COURSES)
def test_no_slip_and_no_forbidden_word_is_ever_printed(answer: Answer, course: Course) -> None:
    text = everything(page(answer, course, pictures=False))
    assert SLIPS.findall(text) == [] and FORBIDDEN.findall(text) == []


@QUICK
@given(golfers(), COURSES)
def test_drawn_answers_are_answers_with_three_leads(answer: Answer, course: Course) -> None:
    jsonschema.validate(answer.as_dict(), answer_schema())
    made = page(answer, course, pictures=False)
    assert [line.split(":")[0] for line in made.lead] == [
        "To the eye",
        "In the talk",
        "On the card",
    ]
    told = [*made.lead, *(t for s in made.sections for t in (*s.sentences, *s.notes))]
    assert all(line.endswith(".") for line in told)
    assert all(table.columns[0] and all(table.columns) for table in made.tables)


@QUICK
@given(golfers(), COURSES)
def test_a_what_if_is_said_exactly_where_one_was_asked(answer: Answer, course: Course) -> None:
    asked = bool(answer.more["what_if"]["given"])
    made = page(answer, course, pictures=False)
    assert bool(made.as_if) == asked
    assert made.as_if in re.sub(r"\s+", " ", words(answer, course=course))


@QUICK
@given(golfers(), COURSES)
def test_drawings_of_putts_stay_on_their_paper(answer: Answer, course: Course) -> None:
    figure = putts_figure(answer, course)
    assert figure is not None and figure.finding.endswith(".")
    for svg in (figure.svg, figure.svg_narrow):
        width, height = map(float, re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg).groups())
        assert width in (frame.WIDE.width, frame.NARROW.width) and 0 < height < 1200
        for found in re.finditer(ENDS, svg):
            numbers = [float(n) for n in found.groups() if n]
            assert all(-8 <= n <= max(width, height) + 8 for n in numbers)
