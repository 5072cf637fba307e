"""A number and its unit -> the canonical unit, for readings and work.

Both depend on several cells at once (value, unit, kind, method, n), so they are read after the
single cells; each distinct combination is read once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value as evidence_value
from greenwright.base.lengths import parse_feet_inches
from greenwright.base.tables import Kind, Practice, firmness_methods, kinds, practices
from greenwright.base.units import same_dimension, slips, split_quantity, to_unit
from greenwright.intake.faults import Fault, bad, fault_of, nearest
from greenwright.intake.remembered import Remembered

Columns = dict[str, list[Any]]

EXACT_UNITS = ("g", "score", "rating", "count")
"""Units that nothing else is turned into: a deceleration in g is not a mass in grams."""

FEET = ("ft", "feet", "foot", "ft in", "ft-in")
"""Words of the unit column that may stand beside a length in feet and inches."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A value in its canonical unit, as it was given, and the key of its method."""

    value: float
    unit: str
    given: str
    method: str = ""


@dataclass(frozen=True, slots=True)
class Wish:
    """What a number is to be turned into, and the window in which it is plausible there."""

    unit: str
    low: float
    high: float
    unit_required: bool = False


class AtColumn(BadInput):
    """A fault that belongs to another column than the number itself."""

    def __init__(self, column: str, why: str, do: str = "") -> None:
        super().__init__(why, do=do)
        self.column = column


def canonical(text: str, unit: str | None, wish: Wish) -> float:
    """Return the value in the wished unit.

    Args:
        text: the number, which may carry its own unit (``8 ft``, ``9'6"``).
        unit: text of the unit column, None where it is empty.
        wish: canonical unit and window.

    Raises:
        BadInput: no number, no unit where one is needed, the wrong kind of unit, implausible.
    """
    number, inside = _number_and_unit(text, unit)
    given = inside or unit or ""
    if not given and wish.unit_required:
        raise AtColumn("unit", "a unit is needed here", f"write the unit, for example {wish.unit}")
    value = _turned(number, given, wish.unit, inside=bool(inside)) if given else number
    if wish.low <= value <= wish.high:
        return value
    written = text.strip() if inside else f"{number:g} {given}".strip()
    raise BadInput(_implausible(written, value, wish), do=_question(text, given, wish))


def _number_and_unit(text: str, unit: str | None) -> tuple[float, str]:
    """Return the number and the unit inside its own cell, which may not contradict the column."""
    number, inside = split_quantity(text)
    feet = parse_feet_inches(text) is not None
    agrees = unit in (None, inside) if not feet else unit is None or unit.lower() in FEET
    if inside and not agrees:
        raise AtColumn("unit", f"{text!r} and the unit {unit!r} disagree", "keep one of them")
    return number, inside


def _turned(number: float, given: str, wanted: str, *, inside: bool) -> float:
    try:
        if wanted in EXACT_UNITS and given.lower() != wanted:
            bad(f"{given!r} is not {wanted}", f"write {wanted}")
        return number if wanted in EXACT_UNITS else to_unit(number, given, wanted)
    except BadInput as error:
        if inside:
            raise
        raise AtColumn("unit", error.what, error.do) from None


def _implausible(written: str, value: float, wish: Wish) -> str:
    understood = f"{value:.4g} {wish.unit}"
    shown = understood if written in (understood, f"{value:g}") else f"{written} = {understood}"
    return f"{shown} is implausible: outside {wish.low:g} to {wish.high:g} {wish.unit}"


def _question(text: str, given: str, wish: Wish) -> str:
    """Ask for the unit that would make the number plausible, where there is one."""
    if parse_feet_inches(text) is not None:
        return "correct the value"
    number, _ = split_quantity(text)
    turned = {u: to_unit(number, u, wish.unit) for u in slips(wish.unit) if u != given}
    fits = [
        f"{number:g} {unit} = {value:.3g} {wish.unit}"
        for unit, value in turned.items()
        if wish.low <= value <= wish.high
    ]
    if not fits:
        return "correct the value or its unit"
    return f"is it {' or '.join(fits)}? Then write that unit"


def each_distinct(
    read: Callable[..., Any], columns: Columns, names: Sequence[str], *, home: str
) -> list[Any]:
    """Return read(row) of the named cells of each row; what is refused comes back as a Fault.

    A row whose first cell is empty gives None, one with a refused cell that Fault. home is the
    column to which a fault belongs that names none itself.
    """
    rows = zip(*(columns[name] for name in names), strict=True)
    return Remembered(partial(_read_one, read=read, names=names, home=home)).each(rows)


def _read_one(
    row: tuple[Any, ...], *, read: Callable[..., Any], names: Sequence[str], home: str
) -> Any:
    fault = next((cell for cell in row if isinstance(cell, Fault)), None)
    if fault is not None or row[0] is None:
        return fault
    try:
        return read(row)
    except BadInput as error:
        column = error.column if isinstance(error, AtColumn) else home
        written = dict(zip(names, row, strict=True)).get(column)
        return fault_of(error, column, "" if written is None else str(written))


def settle_readings(columns: Columns) -> None:
    """Turn value and unit of readings into canonical ones, in place."""
    names = ("value", "unit", "kind", "method", "n")
    amounts = each_distinct(_reading, columns, names, home="value")
    columns["method"] = [a.method or None if isinstance(a, Amount) else None for a in amounts]
    _spread(amounts, columns, "value")


def settle_work(columns: Columns) -> None:
    """Turn amount and unit of work into canonical ones, in place."""
    amounts = each_distinct(_work, columns, ("amount", "unit", "practice"), home="amount")
    _spread(amounts, columns, "amount")


def _spread(amounts: list[Any], columns: Columns, column: str) -> None:
    """Lay the parts of each amount into their columns; faults and gaps stay in its own."""
    columns[column] = [a.value if isinstance(a, Amount) else a for a in amounts]
    columns["given"] = [a.given if isinstance(a, Amount) else None for a in amounts]
    columns["given_unit"] = columns["unit"]
    columns["unit"] = [a.unit or None if isinstance(a, Amount) else None for a in amounts]


def _reading(row: tuple[str, str | None, str, str | None, int | None]) -> Amount:
    text, unit, kind, method, n = row
    spec = kinds()[kind]
    key = method_key(spec, method)
    wish = _reading_wish(spec, key, unit, text)
    value = canonical(text, unit, wish)
    if spec.of_n:
        _check_count(value, n)
    return Amount(value, wish.unit, text, key)


def method_key(kind: Kind, method: str | None) -> str:
    """Return the key of a method: one of its table where the kind has one, else free text.

    Raises:
        AtColumn: firmness without a method, or a word that is not in the table.
    """
    known = tuple(firmness_methods()) if kind.key == "firmness" else kind.methods
    if not known:
        return method or ""
    if method is None and kind.key == "firmness":
        raise AtColumn("method", "firmness needs its method", nearest("", known))
    short = (method or "").split("(")[0].strip()
    if method is not None and short not in known:
        raise AtColumn("method", f"{method!r} is not a method of {kind.key}", nearest("", known))
    return short


def _reading_wish(kind: Kind, method: str, unit: str | None, text: str) -> Wish:
    if kind.key == "firmness":
        return Wish(firmness_methods()[method].unit, kind.low, kind.high)
    if kind.unit == "own":
        own = unit or split_quantity(text)[1]
        return Wish(own, kind.low, kind.high, unit_required=not own)
    return Wish(kind.unit, kind.low, kind.high, kind.unit_required)


def _check_count(value: float, n: int | None) -> None:
    if n is None:
        raise AtColumn("n", "of how many rolls?", "write the number of rolls in n")
    if value != int(value):
        bad(f"{value:g} is not a whole number", "count whole rolls")
    if value > n:
        bad(f"{value:g} of {n} rolls", "correct the count or n")


def _work(row: tuple[str, str | None, str]) -> Amount:
    text, unit, practice = row
    spec = practices()[practice]
    if not spec.unit:
        bad(f"{practice} has no amount", "empty the cell; repeats go in passes, words in detail")
    given = unit or split_quantity(text)[1]
    if given and _is_mass_of_sand(spec, given):
        mass = canonical(text, unit, Wish("kg/m2", spec.low, spec.high))
        return Amount(_sand_depth(mass), spec.unit, text)
    wish = Wish(_work_unit(spec, given), spec.low, spec.high)
    return Amount(canonical(text, unit, wish), wish.unit, text)


def _work_unit(spec: Practice, given: str) -> str:
    """Return g/m2 or mL/m2, whichever the given unit can become, for products; else the unit."""
    products = [u for u in ("mL/m2", "g/m2") if u in spec.units]
    if given and len(products) == 2:
        return next((u for u in products if _fits(given, u)), spec.unit)
    return spec.unit


def _fits(given: str, wanted: str) -> bool:
    try:
        return same_dimension(given, wanted)
    except BadInput:
        return False


def _is_mass_of_sand(spec: Practice, given: str) -> bool:
    return spec.unit == "L/m2" and "kg/m2" in spec.units and _fits(given, "kg/m2")


def _sand_depth(mass_kg_m2: float) -> float:
    """Return the depth [mm = L/m2] of a mass of sand by its bulk density in the evidence table."""
    return mass_kg_m2 / evidence_value("sand.bulk_density") * 1000
