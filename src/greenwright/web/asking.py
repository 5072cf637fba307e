"""Which course, which day: what every page is asked with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request

from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.base.values import Course
from greenwright.desk import books
from greenwright.web.shelf import Shelf

COOKIE = "course"


@dataclass(frozen=True, slots=True)
class Asked:
    """A course, a day, and what there is to switch to."""

    course: Course
    on: date
    today: date
    courses: tuple[Course, ...]
    dated: bool

    def link(self, path: str, **more: Any) -> str:
        """Return a path that keeps the course and the day, with further parameters."""
        held: dict[str, Any] = {"on": self.on.isoformat()} if self.dated else {}
        if len(self.courses) > 1:
            held["course"] = self.course.course
        held |= {k: v for k, v in more.items() if v not in ("", None)}
        return f"{path}?{urlencode(held, doseq=True)}" if held else path


class Room:
    """What the pages work with: the open record, its shelf of answers, and the date."""

    def __init__(self, path: Path, today: Callable[[], date] | None) -> None:
        self.path = path
        self.store = books.open_book(path, create=True)
        self.shelf = Shelf(self.store)
        self._today = today

    def close(self) -> None:
        """Let go of the record."""
        self.shelf.close()
        self.store.close()

    def today(self, course: str | None = None) -> date:
        """Return today's date where the course is."""
        return self._today() if self._today else books.today(self.store, course)

    @property
    def live(self) -> bool:
        """Tell whether today is really today."""
        return self._today is None

    def asked(self, request: Request) -> Asked:
        """Return the course and day of a request.

        Raises:
            CannotAnswer: no course in the record yet. BadInput: a day or course that is none.
        """
        courses = books.courses(self.store)
        if not courses:
            raise CannotAnswer(
                "There is no course in this record yet",
                expected="a folder of record files: course.csv, greens.csv, readings.csv, …",
                do="Load your files under Record, Load files",
            )
        course = _course(courses, request)
        today = self.today(course.course)
        text = request.query_params.get("on", "")
        on = _day(text) if text else today
        return Asked(course, on, today, courses, dated=on != today)


def room_of(request: Request) -> Room:
    """Return the room of a request."""
    return request.app.state.room


def _course(courses: tuple[Course, ...], request: Request) -> Course:
    named = request.query_params.get("course", "")
    found = [one for one in courses if one.course == (named or request.cookies.get(COOKIE, ""))]
    if named and not found:
        raise BadInput(
            f"There is no course {named[:40]!r} in this record",
            expected=", ".join(one.course for one in courses),
        )
    return found[0] if found else courses[0]


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(
            f"{text[:40]!r} is not a date", where="on", expected="a date as 2026-06-05"
        ) from None
