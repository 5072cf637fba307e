"""Feet and inches, read and written the way the trade does."""

from __future__ import annotations

import re
from math import floor

from greenwright.base.errors import BadInput

FOOT_M = 0.3048
INCH_M = 0.0254

# "1000 ft2" is an area, "20 ft3" a volume: no inches stand right behind ft without their mark.
_FEET_INCHES = re.compile(
    r"""^\s*(?P<feet>\d+(?:\.\d+)?)\s*
        (?:'|’|′|-(?=\s*\d)|\s*f(?:ee|oo)?t(?![23]\s*$)\.?\s*)\s*
        (?:(?P<inches>\d+(?:\.\d+)?)\s*(?:"|”|″|''|in(?:ch(?:es)?)?\.?)?)?\s*$""",
    re.VERBOSE | re.IGNORECASE,
)


def parse_feet_inches(text: str) -> float | None:
    """Return the length in metres of ``9'6"``, ``9-6`` or ``9 ft 6 in``, else None.

    A plain number, or one with another unit, is not feet and inches and gives None.

    Raises:
        BadInput: the inches are 12 or more.

    >>> round(parse_feet_inches("9'6\\""), 4)
    2.8956
    >>> parse_feet_inches("2.5") is None
    True
    """
    match = _FEET_INCHES.match(text)
    if match is None:
        return None
    inches = float(match["inches"] or 0)
    if inches >= 12:
        raise BadInput(f"{text!r} has 12 or more inches", expected="feet and inches like 9'6\"")
    return float(match["feet"]) * FOOT_M + inches * INCH_M


def feet_inches(metres: float) -> str:
    """Return a length in feet and whole inches.

    >>> feet_inches(2.8956)
    '9\\'6"'
    """
    sign = "-" if metres < 0 else ""
    inches = floor(abs(metres) / INCH_M + 0.5)
    return f"{sign}{inches // 12}'{inches % 12}\""


def inches(metres: float) -> str:
    """Return a short length or a difference in whole inches.

    >>> inches(-0.1016)
    '-4 in'
    """
    return f"{round(metres / INCH_M):d} in"
