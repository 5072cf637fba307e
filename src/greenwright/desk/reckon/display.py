"""A calculator's results as a person reads them, in the units the course speaks."""

from __future__ import annotations

from collections.abc import Mapping

from greenwright.base.lengths import feet_inches
from greenwright.base.units import to_unit
from greenwright.desk.reckon.shape import Calculator, Given, Inputs, Outcome

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
        return f"{100 * number:.1f} %"
    if outcome.display == "share":
        return f"{number:.2f}"
    return _rate(given) if outcome.unit == "" or not customary else _rate(_in_customary(given))


def _in_customary(given: Given) -> Given:
    wanted = _CUSTOMARY.get(given.unit, given.unit)
    return Given(to_unit(given.number, given.unit, wanted), wanted)


def _rate(given: Given) -> str:
    number = f"{given.number:.3g}"
    plain = f"{given.number:.0f}" if "e" in number else number
    return f"{plain} {given.unit}".strip()
