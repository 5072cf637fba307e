"""What every page is built with: its head, what it rests on, what is not known."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import knowing, terms
from greenwright.show.page import Page, Section


def joined(
    answer: Answer,
    course: Course,
    *,
    how: Sequence[str],
    brief: Sequence[Section] = (),
    **parts: Any,
) -> Page:
    """Return a page: what is common to all of them, with the parts of one.

    Args:
        answer, course: as everywhere.
        how: how we know, without the sentences that every page ends with.
        brief: sections that stand for the page's own where there is little room.
        parts: lead, figures, days, groups, stops, sections.
    """
    told = (*how, knowing.RANGE_MEANS, knowing.made_by(answer))
    return Page(
        question=answer.question,
        heading=terms.heading(answer.question),
        course=course.name,
        as_of=answer.as_of,
        context=knowing.context(answer),
        cautions=knowing.cautions(answer, course),
        how_we_know=tuple(text for text in told if text),
        dont_know=knowing.dont_know(answer, course),
        sources=knowing.sources(answer),
        short=knowing.short(answer, course, brief),
        **parts,
    )
