"""Reading what was typed: any unit of the right dimension, within the formula's range."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from types import MappingProxyType

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.units import split_quantity
from greenwright.desk.reckon.fitting import (
    ANGLE,
    COUNT,
    FRACTION,
    canonical_for,
    ends_text,
    turned,
)
from greenwright.desk.reckon.shape import Argument, Calculator, Given, Inputs

LONGEST_LIST = 1000

_SAMPLES = MappingProxyType({FRACTION: "2.5%", COUNT: "3", ANGLE: "30deg"})
_READ_AS = MappingProxyType({FRACTION: "a fraction, not percent"})


def read_inputs(
    calculator: Calculator, typed: Mapping[str, str | float]
) -> tuple[Inputs, tuple[str, ...]]:
    """Return the inputs in canonical units, and what had to be assumed.

    Args:
        calculator: whose arguments are read.
        typed: argument -> text with a unit, or a bare number.

    Raises:
        UnknownKey: an argument it does not have. BadInput: one is missing, cannot be read, has
            a unit of another dimension, or is outside its range.
    """
    _refuse_strangers(calculator, typed)
    given: dict[str, Given] = {}
    notes: list[str] = []
    for argument in calculator.arguments:
        typed_text = str(typed.get(argument.name, "")).strip()
        if text := typed_text or _left_out(argument):
            given[argument.name] = _read(argument, text)
        if typed_text and (bare := _bare(argument, typed_text)):
            notes.append(bare)
    return given, tuple(notes)


def _refuse_strangers(calculator: Calculator, typed: Mapping[str, str | float]) -> None:
    names = [a.name for a in calculator.arguments]
    for name in typed:
        if name not in names:
            near = get_close_matches(name, names, n=1)
            raise UnknownKey(
                f"{calculator.name} has no argument {name!r}",
                expected=", ".join(names),
                do=f"Did you mean {near[0]}?" if near else "",
            )


def _left_out(argument: Argument) -> str:
    if argument.required:
        raise BadInput(
            f"{argument.name} is missing",
            expected=f"{argument.label.lower()}: {argument.help}",
            do=f"Add {argument.name}={_sample(argument)}",
        )
    return argument.default or ""


def _sample(argument: Argument) -> str:
    if argument.kind == "choice":
        return argument.choices[0]
    if argument.kind == "list":
        return "12,-5,8mm"
    unit = argument.units[0] if argument.units else ""
    return _SAMPLES.get(unit, f"2.5{argument.bare or unit}")


def _read(argument: Argument, text: str) -> Given:
    if argument.kind == "choice":
        return Given(_chosen(argument, text))
    if argument.kind == "unit":
        return Given(text)
    if argument.kind == "list":
        return _list(argument, text)
    return _in_range(argument, _quantity(argument, text), text)


def _chosen(argument: Argument, text: str) -> str:
    by_fold = {choice.casefold(): choice for choice in argument.choices}
    if text.casefold() not in by_fold:
        raise BadInput(
            f"{text!r} is not a {argument.label.lower()}",
            where=argument.name,
            expected=" | ".join(argument.choices),
        )
    return by_fold[text.casefold()]


def _list(argument: Argument, text: str) -> Given:
    parts = list_parts(text)
    if len(parts) > LONGEST_LIST:
        raise BadInput(
            f"{len(parts)} numbers are too many",
            where=argument.name,
            expected=f"at most {LONGEST_LIST} with commas between",
        )
    held = [_in_range(argument, _quantity(argument, part), part) for part in parts]
    return Given(tuple(one.number for one in held), argument.units[0])


def list_parts(text: str) -> list[str]:
    """Return the parts of a comma list; a unit after the last alone holds for all.

    >>> list_parts("12, -5, 8 mm")
    ['12 mm', '-5 mm', '8 mm']
    >>> list_parts("12 mm, 0.5")
    ['12 mm', '0.5']
    """
    parts = [part.strip() for part in text.split(",")]
    units = [_unit_of(part) for part in parts]
    if len(parts) > 1 and units[-1] and not any(units[:-1]):
        return [*(f"{part} {units[-1]}" for part in parts[:-1]), parts[-1]]
    return parts


def _unit_of(part: str) -> str:
    try:
        return split_quantity(part)[1]
    except BadInput:
        return ""


def _quantity(argument: Argument, text: str) -> Given:
    try:
        number, written = split_quantity(text)
        unit = written or argument.bare
        canonical = canonical_for(unit, argument.units) if unit else None
        if canonical:
            return Given(turned(number, unit, canonical), canonical)
    except BadInput as fault:
        raise BadInput(
            fault.what, where=argument.name, expected=f"like {_sample(argument)}", do=fault.do
        ) from None
    raise BadInput(
        f"{text!r} has no unit" if not unit else f"{unit!r} is no unit of this",
        where=argument.name,
        expected=argument.help if not unit else f"a unit that turns into {_either(argument)}",
        do="Write the unit after the number" if not unit else "Correct the unit",
    )


def _either(argument: Argument) -> str:
    named = {FRACTION: "a fraction (as 2 %)", ANGLE: "an angle (as 30 deg)"}
    return " or ".join(named.get(unit, unit) for unit in argument.units)


def _in_range(argument: Argument, given: Given, text: str) -> Given:
    low, high = argument.low, argument.high
    too_low = low is not None and given.number < low
    if too_low or (high is not None and given.number > high):
        raise BadInput(
            f"{text} is outside the range of this formula",
            where=argument.name,
            expected=_range(argument, given.unit),
            do=argument.beyond,
        )
    if argument.whole and given.number != int(given.number):
        raise BadInput(
            f"{text} is not a whole number", where=argument.name, expected="a count, as 3"
        )
    return given


def _range(argument: Argument, unit: str) -> str:
    low = 0.0 if argument.low is None else argument.low
    return ends_text(low, float("inf") if argument.high is None else argument.high, unit)


def _bare(argument: Argument, text: str) -> str:
    """Return what a number without a unit was read as; nought is nought in any unit."""
    if argument.whole or argument.kind not in ("quantity", "list"):
        return ""
    parts = list_parts(text) if argument.kind == "list" else [text]
    bare = [number for number, unit in map(split_quantity, parts) if not unit and number]
    if not bare:
        return ""
    told = _READ_AS.get(argument.bare, argument.bare)
    return f"{argument.name}: {text if len(parts) == 1 else 'numbers alone'} read as {told}"
