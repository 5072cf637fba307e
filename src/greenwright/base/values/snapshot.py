"""The record as it was known on a day: what every science room is given."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date as Date

from greenwright.base.values.observed import (
    Feedback,
    LabResult,
    Putts,
    Reading,
    Rounds,
    WeatherDay,
    Work,
)
from greenwright.base.values.place import Course, Green, Station, greens_named
from greenwright.base.values.planned import CalendarEntry, CrewRow, Limit, Material, Target


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """Everything known of one course on `as_of`; greens stand in playing order."""

    course: Course
    as_of: Date
    greens: tuple[Green, ...] = ()
    stations: tuple[Station, ...] = ()
    readings: tuple[Reading, ...] = ()
    work: tuple[Work, ...] = ()
    weather: tuple[WeatherDay, ...] = ()
    lab: tuple[LabResult, ...] = ()
    materials: tuple[Material, ...] = ()
    rounds: tuple[Rounds, ...] = ()
    feedback: tuple[Feedback, ...] = ()
    putts: tuple[Putts, ...] = ()
    calendar: tuple[CalendarEntry, ...] = ()
    targets: tuple[Target, ...] = ()
    crew: tuple[CrewRow, ...] = ()
    limits: tuple[Limit, ...] = ()

    def greens_of(self, text: str) -> tuple[str, ...]:
        """Return the keys of the greens that a cell names, in playing order."""
        return greens_named(text, self.greens)

    @property
    def groups(self) -> dict[str, tuple[str, ...]]:
        """Return the greens in play by group (a green without one is its own group)."""
        grouped: dict[str, list[str]] = {}
        for green in self.greens:
            if green.in_play:
                grouped.setdefault(green.group or green.green, []).append(green.green)
        return {key: tuple(keys) for key, keys in grouped.items()}
