"""One function for each question, the reckoner and the books: store, clock and science meet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from importlib import import_module
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from greenwright.base.answer import QUESTIONS, Answer
from greenwright.base.errors import BadInput, UnknownKey
from greenwright.desk.answering import Progress

if TYPE_CHECKING:
    # The reckoner needs no store: it must not wait for the database to load.
    from greenwright.record import Store

__all__ = [
    "OPTIONS",
    "QUESTIONS_READY",
    "Progress",
    "ask",
    "check",
    "check_options",
    "effects",
    "feed",
    "forecast",
    "golfers",
    "today",
    "track",
    "trial",
    "weather",
    "week",
    "why",
]

FIRST_YEAR, LAST_YEAR = 1900, 2999
QUESTIONS_READY: tuple[str, ...] = (
    "today",
    "golfers",
    "why",
    "effects",
    "forecast",
    "week",
    "track",
    "weather",
    "feed",
    "trial",
)
"""Questions that this version answers."""

OPTIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "golfers": (
            "rounds",
            "speed_m",
            "smoothness",
            "trueness_t",
            "sideways_mm_per_m",
            "green",
            "player",
            "distance_m",
            "heights",
        ),
        "why": ("from", "until", "green", "against"),
        "forecast": ("days", "event"),
        "weather": ("days", "threshold", "crop_coefficient", "root_depth_m"),
        "feed": ("year",),
        "trial": (
            "name",
            "layout",
            "treatments",
            "greens",
            "never",
            "kind",
            "from",
            "days",
            "periods",
            "seed",
            "difference",
            "sd",
        ),
    }
)
"""Question -> the options it takes beside course and day."""


def ask(
    question: str,
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return the answer to a named question from the record as it was known on a day.

    Args:
        question: one of QUESTIONS_READY.
        store: an open record.
        on: the day.
        course: its key; None = the only one.
        progress: called with what is being done and the share done, 0..1.
        options: of the single questions, see OPTIONS.

    Raises:
        UnknownKey: no such question, not in this version, or an option it does not take.
        CannotAnswer: the record does not hold what the question needs.
        BadInput: a day so far off that no record speaks of it.
    """
    check(question)
    check_options(question, options)
    if not FIRST_YEAR <= on.year <= LAST_YEAR:
        raise BadInput(
            f"{on} is not a day that a record can speak of",
            expected=f"a day from {FIRST_YEAR} to {LAST_YEAR}",
            do="Correct the year",
        )
    # A question brings its own science: today must not wait for the planner to load.
    module = import_module(f"greenwright.desk.questions.{question}")
    return module.answer(store, on=on, course=course, progress=progress, **options)


def today(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return how the greens are, each and together."""
    return ask("today", store, on=on, course=course, progress=progress)


def golfers(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return what golfers will notice, say and miss; options as in OPTIONS."""
    return ask("golfers", store, on=on, course=course, progress=progress, **options)


def effects(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return what each practice does here."""
    return ask("effects", store, on=on, course=course, progress=progress)


def why(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return what a change or a difference is made of; options as in OPTIONS."""
    return ask("why", store, on=on, course=course, progress=progress, **options)


def forecast(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return where the greens will be under the planned work, and keep it; options: OPTIONS."""
    return ask("forecast", store, on=on, course=course, progress=progress, **options)


def week(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return what to do this week; the advice is kept in the record."""
    return ask("week", store, on=on, course=course, progress=progress)


def track(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return how good the forecasts of the past were."""
    return ask("track", store, on=on, course=course, progress=progress)


def weather(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return growth, water, regulator state and disease-risk days; options as in OPTIONS."""
    return ask("weather", store, on=on, course=course, progress=progress, **options)


def feed(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return what the greens need to eat; options as in OPTIONS."""
    return ask("feed", store, on=on, course=course, progress=progress, **options)


def trial(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return a comparison: its plan by lot, how far it is, what it found; options as in OPTIONS."""
    return ask("trial", store, on=on, course=course, progress=progress, **options)


def check(question: str) -> None:
    """Refuse a question that this version does not answer.

    Raises:
        UnknownKey: no such question, or not in this version; names those that are.
    """
    if question in QUESTIONS_READY:
        return
    known = question in QUESTIONS
    raise UnknownKey(
        f"the question {question!r} is not in this version"
        if known
        else f"no question named {question!r}",
        expected=", ".join(QUESTIONS_READY),
        do="Ask one of these",
    )


def check_options(question: str, options: Iterable[str]) -> None:
    """Refuse an option that a question does not take.

    Raises:
        UnknownKey: names the option, and those that the question takes.
    """
    taken = OPTIONS.get(question, ())
    for name in options:
        if name not in taken:
            raise UnknownKey(
                f"the question {question} takes no option {name!r}",
                expected=", ".join(taken) or "no option beside course and day",
                do="Leave it out",
            )
