"""The clock: the only place where the program asks what day and time it is."""

from __future__ import annotations

from datetime import UTC, date, datetime
from time import perf_counter
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from greenwright.base.errors import BadInput


def now() -> datetime:
    """Return the present moment in UTC."""
    return datetime.now(UTC)


def today(timezone: str = "UTC") -> date:
    """Return today's date where the course is.

    Args:
        timezone: name in the IANA time zone database.

    Raises:
        BadInput: no such time zone.
    """
    try:
        zone = ZoneInfo(timezone or "UTC")
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadInput(
            f"{timezone!r} is not a time zone",
            where="course.csv, timezone",
            expected="a name such as Europe/London",
            do="Correct the course's timezone",
        ) from None
    return now().astimezone(zone).date()


def stopwatch() -> float:
    """Return a running count of seconds; the difference of two calls is the time between."""
    return perf_counter()
