"""The options that put a level in place of an estimate, read in any unit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import typer

from greenwright.base.errors import BadInput

Rounds = Annotated[float | None, typer.Option(help="Golfers: rounds played that day.", metavar="N")]
Speed = Annotated[
    str | None,
    typer.Option(help="Golfers: as if the green speed were this.", metavar="LENGTH"),
]
Smoothness = Annotated[
    float | None, typer.Option(help="Golfers: as if smoothness were this (0 to 10).", metavar="N")
]
Trueness = Annotated[
    str | None,
    typer.Option(
        help="Golfers: as if trueness were this: 6 mm/m, or the index as 2e-6 m.", metavar="VALUE"
    ),
]


def given(named: Mapping[str, Any]) -> dict[str, Any]:
    """Return options as the question takes them: SI units, names with their unit.

    Args:
        named: option -> as typed; those left out are absent.

    Raises:
        BadInput: a length or a trueness that cannot be read.

    >>> given({"distance": "10ft", "trueness": "6 mm/m", "rounds": 90.0})
    {'distance_m': 3.048, 'sideways_mm_per_m': 6.0, 'rounds': 90.0}
    """
    made: dict[str, Any] = {}
    for name, typed in named.items():
        if name in ("speed", "distance", "root_depth"):
            made[f"{name}_m"] = length(typed, where=f"--{name.replace('_', '-')}")
        elif name == "trueness":
            key, number = _trueness(typed)
            made[key] = number
        else:
            made[name] = typed
    return made


def length(text: str, *, where: str) -> float:
    """Return a written length in metres; a number alone is metres.

    Raises:
        BadInput: not a length.
    """
    from greenwright.base.units import quantity

    try:
        return quantity(text, default_unit="m", wanted="m")
    except BadInput as fault:
        raise BadInput(fault.what, where=where, expected="a length as 10ft or 3 m") from None


def _trueness(text: str) -> tuple[str, float]:
    """Return the option that says it: the index in metres, or millimetres sideways per metre."""
    from greenwright.base.units import same_dimension, split_quantity, to_unit

    told = BadInput(
        f"{text!r} is no trueness",
        where="--trueness",
        expected="6 mm/m (at the day's speed), or the index as 2e-6 m",
        do="Write the unit after the number",
    )
    try:
        number, unit = split_quantity(text)
        if unit and same_dimension(unit, "m"):
            return "trueness_t", to_unit(number, unit, "m")
        if "/" in unit and same_dimension(unit, "mm/m"):
            return "sideways_mm_per_m", to_unit(number, unit, "mm/m")
    except BadInput:
        raise told from None
    raise told
