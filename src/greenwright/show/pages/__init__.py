"""One page per question; the questions not named here have none yet."""

from __future__ import annotations

from greenwright.base.answer import Answer
from greenwright.base.errors import UnknownKey
from greenwright.base.values import Course
from greenwright.show.page import Page
from greenwright.show.pages.effects import effects_page
from greenwright.show.pages.feed import feed_page
from greenwright.show.pages.forecast import forecast_page
from greenwright.show.pages.golfers import golfers_page
from greenwright.show.pages.today import today_page
from greenwright.show.pages.track import track_page
from greenwright.show.pages.trials import trial_page
from greenwright.show.pages.weather import weather_page
from greenwright.show.pages.week import week_page
from greenwright.show.pages.why import why_page

PAGES = {
    "today": today_page,
    "golfers": golfers_page,
    "effects": effects_page,
    "why": why_page,
    "forecast": forecast_page,
    "week": week_page,
    "track": track_page,
    "trial": trial_page,
    "weather": weather_page,
    "feed": feed_page,
}


def page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of an answer.

    Args:
        answer: the answer to show.
        course: decides the units.
        pictures: draw the figures (a second of work the first time).

    Raises:
        UnknownKey: no page for that question yet.
    """
    make = PAGES.get(answer.question)
    if make is None:
        raise UnknownKey(f"no page for {answer.question!r} yet", expected=" | ".join(PAGES))
    return make(answer, course, pictures=pictures)
