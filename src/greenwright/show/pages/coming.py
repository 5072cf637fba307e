"""The days ahead on Today: the band of the forecast given today, or the way to it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import rows
from greenwright.show.dates import week_date
from greenwright.show.figures.ahead import ahead_figure
from greenwright.show.page import Section
from greenwright.show.ways import Way, ways_of

TITLE = "The days ahead"
DAYS = 7
"""Days that the band on Today reaches."""
LOOKS = "Forecast looks two weeks ahead, under the work that is planned."
NONE_YET = "No forecast was given today yet: opening Forecast gives one, and then it stands here."
NEWER = "From the forecast given {}; Forecast itself takes in what was read since."


def ahead_sections(
    answer: Answer, course: Course, whole: Sequence[rows.Row]
) -> tuple[Section, ...]:
    """Return a section with a band for speed and one for smoothness, or the way to Forecast.

    Args:
        answer: of today; its `ahead` holds the forecast given last, if any.
        course: decides the units.
        whole: the rows of the course.
    """
    if not whole:
        return ()
    held = [way for way in coming(answer, whole) if way.quantity in rows.FIRST]
    if not held:
        told = NONE_YET if "ahead" in answer.more else LOOKS
        return (Section(TITLE, (told,), see="forecast"),)
    figures = [ahead_figure(way, course, small=True) for way in held]
    made = [Section(figure.title, figure=figure) for figure in figures]
    last = figures[-1]
    return (*made[:-1], Section(last.title, figure=last, notes=(_newer(answer),), see="forecast"))


def _newer(answer: Answer) -> str:
    made_on = rows.day(answer.more.get("ahead_made_on"))
    today = made_on is None or made_on == answer.as_of
    return NEWER.format("today" if today else f"on {week_date(made_on)}")


def coming(answer: Answer, whole: Sequence[rows.Row]) -> tuple[Way, ...]:
    """Return the ways of the days ahead, each beginning at today's level."""
    last = answer.as_of + timedelta(days=DAYS)
    found = [row for row in answer.more.get("ahead") or () if rows.day(row["date"]) <= last]
    more = {
        "past": [{**row, "date": answer.as_of} for row in whole],
        "targets": {row["quantity"]: row.get("target") for row in whole},
    }
    return ways_of(found, more, on=answer.as_of)
