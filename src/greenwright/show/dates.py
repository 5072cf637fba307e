"""Dates the way people say them, the same in every language setting of the machine."""

from __future__ import annotations

from datetime import date

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def long_date(day: date) -> str:
    """Return weekday, day, month and year.

    >>> long_date(date(2026, 6, 5))
    'Friday 5 June 2026'
    """
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def week_date(day: date) -> str:
    """Return weekday, day and month.

    >>> week_date(date(2026, 6, 5))
    'Friday 5 June'
    """
    return long_date(day).rsplit(" ", 1)[0]


def short_date(day: date) -> str:
    """Return day and short month.

    >>> short_date(date(2026, 9, 5))
    '5 Sep'
    """
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def brief_day(day: date) -> str:
    """Return short weekday and day of the month.

    >>> brief_day(date(2026, 6, 5))
    'Fri 5'
    """
    return f"{WEEKDAYS[day.weekday()][:3]} {day.day}"


def ago(day: date, today: date) -> str:
    """Return how long ago a day was, in words.

    >>> ago(date(2026, 6, 4), date(2026, 6, 5)), ago(date(2026, 5, 29), date(2026, 6, 5))
    ('yesterday', '7 days ago')
    """
    days = (today - day).days
    if days <= 0:
        return "today"
    if days == 1:
        return "yesterday"
    return f"{days} days ago" if days < 60 else f"on {long_date(day)}"


def after(days: float) -> str:
    """Return a horizon in words.

    >>> after(0), after(1), after(14)
    ('the same day', 'next day', 'after 14 days')
    """
    whole = round(days)
    return {0: "the same day", 1: "next day"}.get(whole, f"after {whole} days")
