"""A calculator's results as a person reads them, in the units the course speaks."""

from __future__ import annotations

from collections.abc import Mapping
from math import floor, log10

from greenwright.base.lengths import feet_inches
from greenwright.base.units import to_unit
from greenwright.desk.reckon.shape import Calculator, Given, Inputs, Outcome

_DIGITS = 3
"""Digits that carry a rate: more than any spreader or scale can tell."""
_CUSTOMARY = {"g/m2": "lb/1000 ft2", "mL/m2": "floz/1000 ft2"}


def displayed(
    calculator: Calculator, result: Inputs, *, display_units: str, speed_units: str
) -> Mapping[str, str]:
    """Return each result as text in display units, by key.

    Args:
        calculator, result: what was reckoned, in canonical units.
        display_units: metric | us.
        speed_units: ft | m.
    """
    return {
        outcome.key: _text(
            outcome, result[outcome.key], feet=speed_units == "ft", customary=display_units == "us"
        )
        for outcome in calculator.outcomes
    }


def _text(outcome: Outcome, given: Given, *, feet: bool, customary: bool) -> str:
    number = given.number
    if outcome.display == "speed":
        return feet_inches(number) if feet else f"{number:.2f} m"
    if outcome.display == "slope":
        return f"{_signed(100 * number, 1)} %"
    if outcome.display == "share":
        return f"{number:.2f}"
    return _rate(_in_customary(given) if outcome.unit and customary else given)


def _in_customary(given: Given) -> Given:
    wanted = _CUSTOMARY.get(given.unit, given.unit)
    return Given(to_unit(given.number, given.unit, wanted), wanted)


def _rate(given: Given) -> str:
    size = floor(log10(abs(given.number))) if given.number else 0
    text = _signed(given.number, max(_DIGITS - 1 - size, 0))
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{text} {given.unit}".strip()


def _signed(value: float, places: int) -> str:
    """Return a number with a true minus sign, and none before a zero."""
    text = f"{abs(value):.{places}f}"
    return f"−{text}" if value < 0 and float(text) else text
