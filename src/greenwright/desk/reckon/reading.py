"""Reading what was typed: any unit of the right dimension, within the formula's range."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.units import same_dimension, split_quantity, to_unit
from greenwright.desk.reckon.shape import Argument, Calculator, Given, Inputs


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
        text = str(typed.get(argument.name, "")).strip()
        if not text:
            text = _left_out(argument)
        if text:
            given[argument.name] = _read(argument, text)
            if bare := _bare(argument, text):
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
    return f"2.5{argument.bare or argument.units[0]}"


def _read(argument: Argument, text: str) -> Given:
    if argument.kind == "choice":
        return Given(_chosen(argument, text))
    if argument.kind == "unit":
        return Given(text)
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


def _quantity(argument: Argument, text: str) -> Given:
    try:
        number, written = split_quantity(text)
        unit = written or argument.bare
        if unit:
            canonical = next((c for c in argument.units if same_dimension(unit, c)), None)
            if canonical:
                return Given(to_unit(number, unit, canonical), canonical)
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
    return " or ".join(argument.units)


def _in_range(argument: Argument, given: Given, text: str) -> Given:
    low, high = argument.low, argument.high
    too_low = low is not None and given.number < low
    if too_low or (high is not None and given.number > high):
        raise BadInput(
            f"{text} is outside the range of this formula",
            where=argument.name,
            expected=f"{low:g} to {high:g} {given.unit}",
            do="Check the number and its unit",
        )
    return given


def _bare(argument: Argument, text: str) -> str:
    if argument.kind != "quantity" or split_quantity(text)[1]:
        return ""
    return f"{argument.name}: {text} read as {argument.bare}"
