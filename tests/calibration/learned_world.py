"""Invented courses as records to learn from: written as files and read back, no more known."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from greenwright import simulate
from greenwright.base import values
from greenwright.intake import read_paths

TODAY = date(2026, 10, 1)
TRUE_ROLL = 0.16
"""Gain of one roll on its morning [m]: the peak of `simulate`'s response."""

KINDS = {
    "readings": values.Reading,
    "work": values.Work,
    "weather": values.WeatherDay,
    "rounds": values.Rounds,
    "greens": values.Green,
    "stations": values.Station,
    "materials": values.Material,
    "calendar": values.CalendarEntry,
    "limits": values.Limit,
    "course": values.Course,
}


def record_of(made: simulate.Simulated, today: date = TODAY) -> values.Snapshot:
    """Return what the invented crew wrote down, read back from its files."""
    with TemporaryDirectory() as folder:
        simulate.write_record(made, Path(folder))
        parsed, _ = read_paths([Path(folder)], today=today)
    refused = [fault for file in parsed for fault in file.refusals]
    assert not refused, refused[:3]
    rows = {
        file.name: tuple(KINDS[file.name](**dict(row.fields)) for row in file.rows)
        for file in parsed
        if file.name in KINDS
    }
    (course,) = rows.pop("course")
    return values.Snapshot(course=course, as_of=today, **rows)


def record(seed: int, manager: simulate.Manager, *, days: int, greens: int) -> values.Snapshot:
    """Return the record of an invented course."""
    world = simulate.World(greens=greens, days=days, manager=manager)
    return record_of(simulate.course(seed, today=TODAY, world=world))
