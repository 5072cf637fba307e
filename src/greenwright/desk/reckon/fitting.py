"""Which canonical unit a written unit belongs to, and the number in it.

The unit registry counts angles, shares, slopes and contents as one kind, plain numbers, and a
depth of water as a length. On an envelope they differ: an angle in degrees is never a slope in
percent, and mL/m2 is no distance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from types import MappingProxyType

from greenwright.base.units import same_dimension, to_unit

FRACTION = "1"
ANGLE = "rad"
COUNT = "count"

_LENGTH = "m"
_FRACTIONS = MappingProxyType(
    {
        "1": 1.0,
        "%": 1e-2,
        "percent": 1e-2,
        "pct": 1e-2,
        "m/m": 1.0,
        "cm/m": 1e-2,
        "mm/m": 1e-3,
        "ft/ft": 1.0,
        "in/ft": 1 / 12,
    }
)
_ANGLES = MappingProxyType(
    {
        "deg": math.pi / 180,
        "degree": math.pi / 180,
        "degrees": math.pi / 180,
        "°": math.pi / 180,
        "rad": 1.0,
        "radian": 1.0,
        "radians": 1.0,
        "mrad": 1e-3,
    }
)


def fits(unit: str, canonical: str) -> bool:
    """Tell whether a written unit can be turned into a canonical one.

    Raises:
        BadInput: a unit nobody knows, where the kinds named above do not settle it.

    >>> fits("deg", "rad"), fits("deg", "1"), fits("%", "1")
    (True, False, True)
    """
    if canonical == ANGLE:
        return _word(unit) in _ANGLES
    if canonical == FRACTION:
        return _word(unit) in _FRACTIONS
    if _word(unit) in (FRACTION, *_ANGLES) or (canonical == _LENGTH and "/" in unit):
        return False
    return same_dimension(unit, canonical)


def canonical_for(unit: str, units: Sequence[str]) -> str | None:
    """Return the first of the canonical units that a written unit fits, or None."""
    return next((canonical for canonical in units if fits(unit, canonical)), None)


def turned(number: float, unit: str, canonical: str) -> float:
    """Return a number in the canonical unit that its own unit fits.

    >>> turned(180, "deg", "rad") == math.pi, turned(2, "%", "1")
    (True, 0.02)
    """
    if canonical == ANGLE:
        # Degrees go the way of the circle: 180 must be pi to the last digit.
        factor = _ANGLES[_word(unit)]
        return math.radians(number) if factor == math.pi / 180 else number * factor
    if canonical == FRACTION:
        # 99.9 % must be 0.999: a quotient rounds once, a product with 0.01 twice.
        factor = _FRACTIONS[_word(unit)]
        return number / round(1 / factor)
    return to_unit(number, unit, canonical)


def _word(unit: str) -> str:
    return unit.lower().replace(" ", "")


def ends_text(low: float, high: float, canonical: str) -> str:
    """Return a range in words a person types: fractions bare, angles in degrees.

    >>> ends_text(0, math.pi, "rad")
    '0 to 180 deg'
    """
    if canonical == FRACTION:
        return f"{low:g} to {high:g}"
    if canonical == ANGLE:
        return f"{math.degrees(low):g} to {math.degrees(high):g} deg"
    return f"{low:g} to {high:g} {canonical}"
