"""Weather rows and records made up for tests; every number is invented."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from greenwright.base.values import Course, Snapshot, WeatherDay

DAY = date(2026, 6, 10)


def seen(k: int, **numbers: Any) -> WeatherDay:
    """Return an observed day, k days after DAY."""
    return WeatherDay(date=DAY + timedelta(days=k), **numbers)


def ahead(k: int, issued: int = 0, **numbers: Any) -> WeatherDay:
    """Return a forecast for k days after DAY, issued so many days after it."""
    made = {"kind": "forecast", "issued": DAY + timedelta(days=issued)} | numbers
    return WeatherDay(date=DAY + timedelta(days=k), **made)


def record(*rows: WeatherDay, on: date = DAY) -> Snapshot:
    """Return a record of weather alone, known on a day."""
    return Snapshot(course=Course(course="fen", name="Fen"), as_of=on, weather=rows)
