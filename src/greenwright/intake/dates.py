"""Dates, times and date-times: ISO 8601 only, everything else refused with advice."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from greenwright.intake.faults import bad

EARLIEST = date(1900, 1, 1)

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_TIME = re.compile(r"\d{2}:\d{2}(?::\d{2})?", re.ASCII)
_DATETIME = re.compile(
    r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?(?:Z|[+-]\d{2}:\d{2})?", re.ASCII
)
_OTHER_ORDER = re.compile(r"\d{1,2}([./ -])\d{1,2}\1\d{2,4}", re.ASCII)
_SERIAL = re.compile(r"\d{5}(?:\.\d+)?", re.ASCII)


def read_date(text: str) -> date:
    """Return an ISO date.

    Raises:
        BadInput: another order, a spreadsheet's day number, or no such day.

    >>> read_date("2026-06-03")
    datetime.date(2026, 6, 3)
    """
    if not _DATE.fullmatch(text):
        _explain_date(text)
    try:
        day = date.fromisoformat(text)
    except ValueError:
        bad(f"there is no date {text}", "correct the year, month or day")
    if day < EARLIEST:
        bad(f"{text} is before {EARLIEST}", "correct the year")
    return day


def _explain_date(text: str) -> None:
    if _SERIAL.fullmatch(text):
        bad(
            f"{text} looks like a spreadsheet's day number: is it {_as_serial(text)}?",
            "give the column the format YYYY-MM-DD and save again",
        )
    if _OTHER_ORDER.fullmatch(text):
        bad(
            f"{text!r} may be day first or month first",
            "write dates as year-month-day, for example 2026-06-03",
        )
    if _DATETIME.fullmatch(text):
        bad(f"{text!r} holds a time too", "write the date alone; the time has its own column")
    bad(f"{text!r} is not a date", "write it as year-month-day, for example 2026-06-03")


def _as_serial(text: str) -> str:
    days = int(float(text))
    from_1900 = date(1899, 12, 30) + timedelta(days=days)
    from_1904 = date(1904, 1, 1) + timedelta(days=days)
    return f"{from_1900} (1900 system) or {from_1904} (1904 system)"


def read_time(text: str) -> time:
    """Return a local time of day.

    Raises:
        BadInput: another writing, a time zone, or no such time.

    >>> read_time("07:15")
    datetime.time(7, 15)
    """
    if not _TIME.fullmatch(text):
        bad(f"{text!r} is not a time", "write local time with two digits each, as 07:15")
    try:
        return time.fromisoformat(text)
    except ValueError:
        bad(f"there is no time {text}", "write local time from 00:00 to 23:59")


def read_datetime(text: str) -> datetime:
    """Return an ISO date-time, with its offset where one is written.

    Raises:
        BadInput: another writing, or no such moment.
    """
    if not _DATETIME.fullmatch(text):
        bad(f"{text!r} is not a date and time", "write it as 2026-06-03T07:15")
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        bad(f"there is no moment {text}", "correct the date or the time")
