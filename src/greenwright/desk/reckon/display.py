"""A calculator's results as a person reads them, in the units the course speaks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import floor, log10
from types import MappingProxyType

from greenwright.base.lengths import FOOT_M, INCH_M, feet_inches
from greenwright.base.units import to_unit
from greenwright.desk.reckon.shape import Calculator, Given, Inputs, Outcome

_DIGITS = 3
"""Digits that carry a rate: more than any spreader or scale can tell."""
_CUSTOMARY = {"g/m2": "lb/1000 ft2", "mL/m2": "floz/1000 ft2"}
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


@dataclass(frozen=True, slots=True)
class _Spoken:
    """Whether the course speaks of green speed in feet, and of rates in customary units."""

    feet: bool
    customary: bool


def displayed(
    calculator: Calculator, result: Inputs, *, display_units: str, speed_units: str
) -> Mapping[str, str]:
    """Return each result as text in display units, by key.

    Args:
        calculator, result: what was reckoned, in canonical units.
        display_units: metric | us.
        speed_units: ft | m.
    """
    spoken = _Spoken(speed_units == "ft", display_units == "us")
    return {
        outcome.key: _text(outcome, result[outcome.key], spoken) for outcome in calculator.outcomes
    }


def _text(outcome: Outcome, given: Given, spoken: _Spoken) -> str:
    write = _WRITERS.get(outcome.display)
    if write is not None:
        return write(given.number, spoken)
    return _rate(_in_customary(given) if outcome.unit and spoken.customary else given)


def _length(metres: float, spoken: _Spoken) -> str:
    if spoken.feet:
        return feet_inches(metres).replace("-", "" if abs(metres) < INCH_M / 2 else "−")
    return f"{_signed(metres, 2)} m"


def _spread(metres: float, spoken: _Spoken) -> str:
    return f"{metres / INCH_M:.1f} in" if spoken.feet else f"{100 * metres:.1f} cm"


def _velocity(metres_a_second: float, spoken: _Spoken) -> str:
    if spoken.customary:
        return f"{metres_a_second / FOOT_M:.2f} ft/s"
    return f"{metres_a_second:.2f} m/s"


def _index(metres: float, _: _Spoken) -> str:
    """Return a very small length with its power of ten, as 2.0 × 10⁻⁶ m.

    >>> _index(8.15e-5, _Spoken(True, False))
    '8.2 × 10⁻⁵ m'
    """
    if metres == 0:
        return "0 m"
    digits, power = f"{metres:.1e}".split("e")
    return f"{digits} × 10{str(int(power)).translate(_RAISED)} m"


_WRITERS: Mapping[str, Callable[[float, _Spoken], str]] = MappingProxyType(
    {
        "speed": _length,
        "length": _length,
        "spread": _spread,
        "velocity": _velocity,
        "time": lambda seconds, _: f"{seconds:.1f} s",
        "slope": lambda share, _: f"{_signed(100 * share, 1)} %",
        "wander": lambda share, _: f"{1000 * share:.1f} mm/m",
        "index": _index,
        "share": lambda share, _: f"{share:.2f}",
        "chance": lambda share, _: f"{100 * share:.1f} %",
        "count": lambda number, _: f"{number:.0f}",
    }
)


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
