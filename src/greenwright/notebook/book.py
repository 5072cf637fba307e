"""An open record in a notebook: one method for each question, each giving a Result."""

from __future__ import annotations

from datetime import date, datetime
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from greenwright import desk
from greenwright.base.errors import BadInput, StoreError
from greenwright.base.values import Course
from greenwright.desk import books
from greenwright.desk import reckon as reckoner
from greenwright.notebook.result import Result

if TYPE_CHECKING:
    from types import TracebackType

Day = date | str | None


def open(path: str | PathLike[str], *, course: str | None = None) -> Book:
    """Open a record for asking; nothing in it is changed but the advice that is kept.

    Args:
        path: the record file.
        course: key of the course; None = the only one.

    Raises:
        StoreError: there is no record of that name. CannotAnswer: which course is unclear.
    """
    store = books.open_book(Path(path))
    try:
        return Book(store, books.course_of(store, course))
    except BaseException:
        store.close()
        raise


class Book:
    """An open record of one course; close it, or use it with `with`."""

    def __init__(self, store: Any, course: Course) -> None:
        self._store = store
        self._closed = False
        self.course = course

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def __repr__(self) -> str:
        return f"Book of {self.course.name}"

    def close(self) -> None:
        """Let go of the file; a closed book answers no more."""
        self._store.close()
        self._closed = True

    def ask(self, question: str, *, on: Day = None, **options: Any) -> Result:
        """Return the answer to a named question as the record was known on a day.

        Args:
            question: today | golfers | why | effects | forecast | week | track |
                weather | feed | trial.
            on: a date or ISO text; None = today where the course is.
            options: of the question, SI units (see `golfers`, `why`, `forecast`,
                `weather`).

        Raises:
            StoreError: the book is closed. BadInput: no such day. CannotAnswer: see the desk.
        """
        if self._closed:
            raise StoreError("this book is closed", where=repr(self), do="Open the record again")
        key = self.course.course
        day = _day(on) or books.today(self._store, key)
        answer = desk.ask(question, self._store, on=day, course=key, **options)
        return Result(answer, self.course)

    def today(self, *, on: Day = None) -> Result:
        """Return how the greens are, each and together."""
        return self.ask("today", on=on)

    def golfers(self, *, on: Day = None, **options: Any) -> Result:
        """Return what golfers will notice, say and miss.

        Args:
            on: the day.
            options: rounds; speed_m [m], smoothness [0..10], trueness_t [m] or
                sideways_mm_per_m [mm/m] in place of the estimates; green, player, distance_m
                [m] and heights (a file) of the putts to picture.
        """
        return self.ask("golfers", on=on, **options)

    def effects(self, *, on: Day = None) -> Result:
        """Return what each practice does here."""
        return self.ask("effects", on=on)

    def why(
        self,
        *,
        on: Day = None,
        frm: Day = None,
        until: Day = None,
        green: str | None = None,
        against: str | None = None,
    ) -> Result:
        """Return what a change, or a difference between two greens, is made of.

        Args:
            on: the day.
            frm, until: the days of the change; None = seven days before, and the day.
            green: its key; None = the course.
            against: another green: the difference on `until` instead of a change.
        """
        days = {"from": _day(frm), "until": _day(until), "green": green, "against": against}
        return self.ask("why", on=on, **{k: v for k, v in days.items() if v is not None})

    def forecast(self, *, on: Day = None, days: int = 14, event: str | None = None) -> Result:
        """Return where the greens will be under the planned work.

        Args:
            on: the day.
            days: how many days ahead, 1 to 14.
            event: name in the calendar, whose day gets the chance of being in target.
        """
        more = {"event": event} if event else {}
        return self.ask("forecast", on=on, days=days, **more)

    def week(self, *, on: Day = None) -> Result:
        """Return what to do in the seven days after a day."""
        return self.ask("week", on=on)

    def weather(self, *, on: Day = None, days: int = 14, **options: Any) -> Result:
        """Return growth, water, regulator state and disease-risk days.

        Args:
            on: the day.
            days: how many days ahead, 1 to 14.
            options: threshold (text as "dollar_spot=0.3"), crop_coefficient, root_depth_m [m].
        """
        return self.ask("weather", on=on, days=days, **options)

    def track(self, *, on: Day = None) -> Result:
        """Return how good the forecasts of the past were."""
        return self.ask("track", on=on)

    def feed(self, *, on: Day = None, year: int | None = None) -> Result:
        """Return what the greens need to eat in a year, and the plain materials that meet it."""
        more = {} if year is None else {"year": year}
        return self.ask("feed", on=on, **more)

    def trial(self, *, on: Day = None, **options: Any) -> Result:
        """Return a comparison laid out by lot, how far it is, and what it found.

        Args:
            on: the day.
            options: name, layout, treatments, greens, never (comma lists), kind, from, days,
                periods, seed, difference, sd.
        """
        return self.ask("trial", on=on, **options)

    def reckon(self, name: str, **inputs: str | float) -> reckoner.ReckonResult:
        """Return an envelope calculation, shown in the course's units.

        Args:
            name: as two-way-speed.
            inputs: as up="8ft", down=2.9.
        """
        return reckoner.reckon(
            name,
            inputs,
            display_units=self.course.display_units,
            speed_units=self.course.speed_units,
        )


def _day(on: Day) -> date | None:
    if on is None:
        return None
    if isinstance(on, datetime):
        return on.date()
    try:
        return on if isinstance(on, date) else date.fromisoformat(on)
    except (TypeError, ValueError):
        raise BadInput(
            f"{on!r} is not a day", where="on", expected="a date, or text as 2026-06-05"
        ) from None
