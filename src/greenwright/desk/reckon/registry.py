"""The calculators by name, and the one function that runs any of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import as_source, look_up
from greenwright.desk.reckon.acidity import ACIDITY
from greenwright.desk.reckon.display import displayed
from greenwright.desk.reckon.feeding import RATE, SOIL_NEED
from greenwright.desk.reckon.nutrition import (
    CLIPPINGS_NITROGEN,
    NITROGEN_PLAN,
    OXIDE,
    PRODUCT_FOR,
    SOIL_INDEX,
)
from greenwright.desk.reckon.putting import HOLING, TRUENESS
from greenwright.desk.reckon.reading import read_inputs
from greenwright.desk.reckon.risk import ANTHRACNOSE, BROWN_PATCH, DOLLAR_SPOT
from greenwright.desk.reckon.rolling import BREAK, CAPTURE, PUTT_SPEED, RAMP_SLOPE
from greenwright.desk.reckon.sampling import COMPARE_SAMPLE, SPEED_SAMPLE
from greenwright.desk.reckon.shape import Calculator, Inputs, Outcome
from greenwright.desk.reckon.spreading import CORE_AREA, OM_DILUTION, SAND, SPRAYER, TANK
from greenwright.desk.reckon.surface import GROWTH_POTENTIAL, TWO_WAY_SPEED
from greenwright.desk.reckon.watering import (
    DEGREE_DAYS,
    REFERENCE_ET,
    REGULATOR_LEFT,
    WATER_STORE,
)

_CALCULATORS = MappingProxyType(
    {
        c.name: c
        for c in (
            TWO_WAY_SPEED,
            RAMP_SLOPE,
            PUTT_SPEED,
            BREAK,
            CAPTURE,
            HOLING,
            TRUENESS,
            SPEED_SAMPLE,
            COMPARE_SAMPLE,
            GROWTH_POTENTIAL,
            NITROGEN_PLAN,
            CLIPPINGS_NITROGEN,
            SOIL_NEED,
            SOIL_INDEX,
            RATE,
            OXIDE,
            PRODUCT_FOR,
            ACIDITY,
            SPRAYER,
            TANK,
            SAND,
            CORE_AREA,
            OM_DILUTION,
            REFERENCE_ET,
            WATER_STORE,
            DEGREE_DAYS,
            REGULATOR_LEFT,
            DOLLAR_SPOT,
            BROWN_PATCH,
            ANTHRACNOSE,
        )
    }
)


@dataclass(frozen=True, slots=True)
class ReckonResult:
    """What a calculator gave: inputs and results in canonical units, and in display units."""

    calculator: Calculator
    inputs: Inputs
    result: Inputs
    display: Mapping[str, str]
    notes: tuple[str, ...]
    sources: tuple[Mapping[str, Any], ...]

    def as_dict(self) -> dict[str, Any]:
        """Return plain JSON values with stable keys."""
        return {
            "reckon": self.calculator.name,
            "inputs": _rows(self.inputs),
            "result": _rows(self.result),
            "display": dict(self.display),
            "valid": True,
            "notes": list(self.notes),
            "sources": [dict(source) for source in self.sources],
        }


def calculators() -> Mapping[str, Calculator]:
    """Return every calculator by name, in the order of a menu."""
    return _CALCULATORS


def calculator(name: str) -> Calculator:
    """Return the calculator of that name.

    Raises:
        UnknownKey: there is none; names them all.
    """
    if name in _CALCULATORS:
        return _CALCULATORS[name]
    near = get_close_matches(name, _CALCULATORS, n=1)
    raise UnknownKey(
        f"no calculation named {name!r}",
        expected=", ".join(_CALCULATORS),
        do=f"Did you mean {near[0]}?" if near else "",
    )


def reckon(
    name: str,
    inputs: Mapping[str, str | float],
    *,
    display_units: str = "metric",
    speed_units: str = "ft",
) -> ReckonResult:
    """Run one calculator on inputs as a person types them.

    Args:
        name: a key of `calculators()`.
        inputs: argument -> text with any unit of the right dimension, or a number.
        display_units: metric | us; speed_units: ft | m.

    Raises:
        UnknownKey: no such calculator or argument. BadInput: an input that cannot be read or
            that lies outside the range of the formula, or a result outside its range.
    """
    chosen = calculator(name)
    given, assumed = read_inputs(chosen, inputs)
    result = chosen.compute(given)
    for outcome in chosen.outcomes:
        _check(outcome, result)
    keys = (*chosen.evidence, *chosen.more_evidence(given))
    return ReckonResult(
        calculator=chosen,
        inputs=given,
        result=result,
        display=displayed(chosen, result, display_units=display_units, speed_units=speed_units),
        notes=(*assumed, *chosen.remarks(given, result)),
        sources=tuple(as_source(look_up(key)) for key in keys),
    )


def _check(outcome: Outcome, result: Inputs) -> None:
    low, high, number = outcome.low, outcome.high, result[outcome.key].number
    if (low is not None and number < low) or (high is not None and number > high):
        raise BadInput(
            f"{outcome.label.lower()} comes to {number:.3g} {outcome.unit}",
            expected=f"{low:g} to {high:g} {outcome.unit}",
            do=outcome.beyond,
        )


def _rows(values: Inputs) -> dict[str, dict[str, Any]]:
    return {
        name: {
            "value": list(given.value) if isinstance(given.value, tuple) else given.value,
            "unit": given.unit,
        }
        for name, given in values.items()
    }
