"""Invented readings for the tests of measure: short ways to write a record down."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time, timedelta

from greenwright.base.values import Course, Green, Reading, Snapshot, Station

DAY = date(2026, 6, 1)


def day(n: int) -> date:
    """Return the n-th day after DAY."""
    return DAY + timedelta(days=n)


def reading(kind: str, value: float, **more: object) -> Reading:
    """Return a reading of green 1 on DAY by ana, unless told otherwise."""
    units = {"roll_distance": "m", "green_speed": "m", "moisture": "%", "clippings": "mL/m2"}
    filled = {"date": DAY, "green": "1", "observer": "ana", "unit": units.get(kind, "score")}
    return Reading(kind=kind, value=value, **(filled | more))


def balls(a: Sequence[float], b: Sequence[float] = (), **more: object) -> list[Reading]:
    """Return one ball for each distance [m] in direction a and b."""
    ways = [("a", v) for v in a] + [("b", v) for v in b]
    return [reading("roll_distance", v, direction=way, **more) for way, v in ways]


def record(
    readings: Sequence[Reading],
    *,
    greens: Sequence[str] = ("1", "2", "3"),
    resting: Sequence[str] = (),
    stations: Sequence[Station] = (),
    on: date = DAY,
) -> Snapshot:
    """Return a snapshot of an invented course."""
    return Snapshot(
        course=Course(course="invented", name="Invented"),
        as_of=on,
        greens=tuple(Green(green=g, in_play=g not in resting) for g in greens),
        stations=tuple(stations),
        readings=tuple(readings),
    )


def at(hour: int, minute: int = 0) -> time:
    """Return a time of day."""
    return time(hour, minute)
