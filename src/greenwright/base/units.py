"""Units at the edge: what a person wrote, turned into the canonical unit and back.

Inside the program numbers are plain floats in canonical units; only this module asks the unit
registry. A unit is read by a small grammar of its own (``lb/1000 ft2``, ``kg ha-1``), so that no
text of a user is ever evaluated.
"""

from __future__ import annotations

import re
from functools import lru_cache
from math import isfinite

import pint

from greenwright.base.errors import BadInput
from greenwright.base.lengths import parse_feet_inches
from greenwright.base.unit_table import unit_table

LB_PER_1000FT2_G_M2 = 453.59237 / (1000 * 0.3048**2)
"""One pound on 1000 square feet [g/m2], by the international pound and foot."""

LONGEST_UNIT = 40

_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_ATOM = re.compile(
    r"(?P<number>\d+(?:\.\d+)?)|(?P<name>[A-Za-zµμ%_'\"]+)(?:\^?(?P<power>-?[1-9]))?", re.ASCII
)
_PLAIN = str.maketrans("²³⁻¹·⋅×*’′”″", "23-1    ''\"\"")


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry:
    registry = pint.UnitRegistry()
    for line in unit_table()["own"]:
        registry.define(line)
    return registry


def number(text: str) -> float:
    """Return a finite number written with a decimal point.

    Raises:
        BadInput: a word (``nan``, ``inf``, ``True`` and ``None`` are words), a decimal comma,
            or a number too large to hold.

    >>> number("2.5")
    2.5
    """
    written = text.strip()
    if _NUMBER.fullmatch(written):
        value = float(written)
        if isfinite(value):
            return value
    raise BadInput(
        f"{written!r} is not a number", expected="a number such as 2.5", do=_advice(written)
    )


def _advice(written: str) -> str:
    if re.fullmatch(r"[+-]?\d+,\d+", written):
        return "write a decimal point, not a comma"
    if written.lower() in ("na", "n/a", "nan", "none", "null", "inf", "-inf", "-", "?"):
        return "leave the cell empty when there is no value"
    return "correct the cell, or leave it empty"


def split_quantity(text: str) -> tuple[float, str]:
    """Return the number and the unit that stand in one cell; no unit gives ``""``.

    Feet and inches (``9'6"``, ``9-6``, ``9 ft 6 in``) come back in metres with unit ``m``.

    Raises:
        BadInput: there is no number, or there are 12 or more inches.

    >>> split_quantity("0.1 lb/1000ft2")
    (0.1, 'lb/1000ft2')
    """
    written = text.strip()
    metres = parse_feet_inches(written)
    if metres is not None:
        return metres, "m"
    match = _NUMBER.match(written)
    unit = written[match.end() :].strip() if match else ""
    if match and (not unit or not unit[0].isdigit()) and _reads_as_unit(unit):
        return number(match[0]), unit
    return number(written), ""


def _reads_as_unit(unit: str) -> bool:
    return not unit or unit[0].isalpha() or unit[0] in "%°'\"”″’′µ"


def quantity(text: str, *, default_unit: str, wanted: str) -> float:
    """Return a written quantity in the wanted unit; a plain number is in default_unit.

    Raises:
        BadInput: no number, an unknown unit, or a unit of another dimension.

    >>> round(quantity("9'6\\"", default_unit="m", wanted="m"), 4)
    2.8956
    >>> quantity("2.4", default_unit="m", wanted="mm")
    2400.0
    """
    value, unit = split_quantity(text)
    return to_unit(value, unit or default_unit, wanted)


def to_unit(value: float, given: str, wanted: str) -> float:
    """Return value [given] in the unit wanted; temperatures by their true zero points.

    Depth of water or sand and volume on an area are one thing: 1 L/m2 = 1 mm.

    Raises:
        BadInput: value is not a finite number, a unit is unknown, or they differ in dimension.

    >>> round(to_unit(1.0, "lb/1000 ft2", "g/m2"), 4)
    4.8824
    >>> to_unit(3.0, "mm", "L/m2")
    3.0
    """
    if isinstance(value, bool) or not isfinite(value):
        raise BadInput(f"{value!r} is not a finite number")
    if given == wanted:
        return float(value)
    slope, shift = _line(given, wanted)
    return value * slope + shift


def same_dimension(given: str, wanted: str) -> bool:
    """Return whether a unit can be turned into another.

    Raises:
        BadInput: one of them is not a unit we know.
    """
    return _measure(given).dimensionality == _measure(wanted).dimensionality


@lru_cache(maxsize=1024)
def _line(given: str, wanted: str) -> tuple[float, float]:
    start, goal = _measure(given), _measure(wanted)
    try:
        shift = _registry().Quantity(0.0, start.units).to(goal.units).magnitude / goal.magnitude
        top = start.to(goal.units).magnitude / goal.magnitude
    except pint.PintError:
        raise BadInput(
            f"{given!r} cannot be turned into {wanted!r}",
            expected=f"a unit of the same kind as {wanted}",
            do="correct the unit",
        ) from None
    return _clean(top - shift), _clean(shift)


def _clean(factor: float) -> float:
    """Return a factor without the dust of its division: 1 L/m2 is 1 mm, not 0.9999999999999999."""
    return float(f"{factor:.15g}")


@lru_cache(maxsize=1024)
def _measure(text: str) -> pint.Quantity:
    """Return one of the unit as a registry quantity (1000 ft2 has magnitude 1000)."""
    scale, powers = 1.0, {}
    for place, part in enumerate(_spelled_out(text).split("/")):
        sign = -1 if place else 1
        for factor, name, power in _atoms(part, text):
            if name:
                powers[name] = powers.get(name, 0) + sign * power
            elif place:
                scale /= factor
            else:
                raise _unknown(text)
    registry = _registry()
    container = registry.UnitsContainer({name: p for name, p in powers.items() if p})
    return registry.Quantity(scale, registry.Unit(container))


def _spelled_out(text: str) -> str:
    if len(text) > LONGEST_UNIT:
        raise _unknown(text[:LONGEST_UNIT] + "…")
    plain = text.translate(_PLAIN).replace("''", '"')
    for pattern, word in unit_table()["phrases"].items():
        plain = re.sub(pattern, word, plain)
    return plain.strip()


def _atoms(part: str, text: str) -> list[tuple[float, str, int]]:
    found, place = [], 0
    for match in _ATOM.finditer(part):
        if part[place : match.start()].strip(" ."):
            raise _unknown(text)
        place = match.end()
        if match["number"]:
            found.append((float(match["number"]) or 1.0, "", 0))
        else:
            found.append((1.0, _registry_name(match["name"], text), int(match["power"] or 1)))
    if not found or part[place:].strip(" ."):
        raise _unknown(text)
    return found


@lru_cache(maxsize=1024)
def _registry_name(word: str, text: str) -> str:
    words = unit_table()["words"]
    for spelled in (word, word.lower()):
        name = words.get(spelled, spelled)
        try:
            (known,) = _registry().Unit(name)._units
        except (pint.PintError, ValueError, AttributeError, KeyError):
            continue
        return known
    raise _unknown(text)


def _unknown(text: str) -> BadInput:
    return BadInput(
        f"{text!r} is not a unit we know",
        expected="a unit such as m, ft, mm, %, mL/m2, g/m2 or lb/1000 ft2",
        do="correct the unit",
    )


def slips(unit: str) -> tuple[str, ...]:
    """Return the units that are likely meant where a bare number is implausible in unit."""
    return tuple(unit_table()["slips"].get(unit, ()))


def rate_display(g_per_m2: float, system: str) -> str:
    """Return a rate [g/m2] as a course writes it; system is ``metric`` or ``us``.

    >>> rate_display(4.88243, "us")
    '1 lb/1000 ft2'
    """
    if system == "us":
        return f"{g_per_m2 / LB_PER_1000FT2_G_M2:.3g} lb/1000 ft2"
    return f"{g_per_m2:.3g} g/m2"
