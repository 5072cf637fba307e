"""Sentences of an answer in the reader's units: the answer itself speaks in canonical ones."""

from __future__ import annotations

import re
from datetime import date
from math import floor, log10

from greenwright.base.lengths import INCH_M
from greenwright.base.values import Course
from greenwright.show import terms
from greenwright.show.dates import long_date
from greenwright.show.formats import MINUS, Scale, number, plain, point, scale_for

_MEASURE = re.compile(
    r"(?<![\w./])(?P<sign>[-−+]?)(?P<number>\d+(?:\.(?P<places>\d+))?) "
    r"(?P<unit>mm/m|mm|mL/m2|L/m2|g/m2|degC|m2|m)(?![\w/²])"
)
_LOOSE_MINUS = re.compile(r"(?<![\w.−-])-(?=\d)")
_SIGNED_NOTHING = re.compile(r"[−+](0(?:\.0+)?)(?![\d.])")
_ISO_DAY = re.compile(r"(?<![\w-])\d{4}-\d\d-\d\d(?![\w-])")
_GREENS = re.compile(r"greens (\d+(?:, \d+)+(?: and \d+)?)(?!\w|\.\d| and|, )")
_LIMIT = re.compile(rf"\b(?:{'|'.join(terms.LIMITS)})\b")
_HAND = 0.6
"""A length under this [m] is told in inches where speeds are told in feet."""


def prose(text: str, course: Course) -> str:
    """Return a sentence with its measures in the course's units, true minus signs and plain dates.

    A number keeps about as many digits as it was written with; greens in a row become a run.

    >>> prose("0.5 L/m2 of sand, from -2 degC, by 2026-06-05", Course(course="fen", name="Fen"))
    '0.5 L/m² of sand, from −2 °C, by 5 June 2026'
    >>> prose("on greens 1, 2, 3 and 9", Course(course="fen", name="Fen"))
    'on greens 1–3 and 9'
    """
    told = _LIMIT.sub(lambda found: terms.LIMITS[found[0]], text)
    told = _GREENS.sub(lambda found: terms.greens(re.findall(r"\d+", found[1])), told)
    told = _MEASURE.sub(lambda found: _measure(found, course), told)
    told = _SIGNED_NOTHING.sub(r"\1", _LOOSE_MINUS.sub(MINUS, told))
    return _ISO_DAY.sub(lambda found: _day(found[0]), told)


def _day(iso: str) -> str:
    try:
        return long_date(date.fromisoformat(iso)).split(" ", 1)[1]
    except ValueError:
        return iso


def _measure(found: re.Match[str], course: Course) -> str:
    unit, size = found["unit"], float(found["number"])
    signed = -size if found["sign"] in (MINUS, "-") else size
    plus = "+" if found["sign"] == "+" else ""
    places = len(found["places"] or "")
    if unit == "m" and course.speed_units == "ft":
        return plus + _length(signed, course)
    scale = scale_for("", unit, course)
    shown = scale.shown(signed)
    text = number(shown, places)
    if shown != signed:
        text = plain(shown, _places(shown, found["number"], scale))
    return f"{plus}{text} {scale.unit}"


def _places(shown: float, written: str, scale: Scale) -> int:
    digits = max(2, len(written.replace(".", "").lstrip("0")))
    size = floor(log10(abs(shown))) if shown else 0
    return min(max(digits - 1 - size, 0), max(scale.decimals, 2))


def _length(metres: float, course: Course) -> str:
    if abs(metres) < _HAND:
        return f"{number(metres / INCH_M)} in"
    return point(metres, "m", "green_speed", course)
