"""Targets, limits and laboratory values -> canonical units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from greenwright.base.errors import BadInput
from greenwright.base.tables import firmness_methods, kinds, quantities, vocabulary
from greenwright.base.units import to_unit
from greenwright.intake.amounts import (
    AtColumn,
    Columns,
    Wish,
    canonical,
    each_distinct,
    method_key,
)
from greenwright.intake.faults import bad

LIMIT_UNITS = {
    "labour_h_day": "h",
    "rolls_week": "count",
    "min_height_mm": "mm",
    "max_height_step_mm": "mm",
    "min_step_interval_d": "d",
    "n_year_g_m2": "g/m2",
    "n_month_g_m2": "g/m2",
    "n_application_g_m2": "g/m2",
    "p_allowed": "",
    "no_feed": "",
    "buffer_m": "m",
    "no_core_days_before_event": "d",
    "no_work": "",
    "water_mm_day": "mm",
}
"""Canonical unit of each limit; the name of a limit says it too."""

DATED_LIMITS = ("no_feed", "no_work")
WITHOUT_UNIT = ("pH", "SAR")
MASS_SHARES = frozenset(vocabulary("analyte")) - {"pH", "OM", "CEC", "EC", "SAR"}
"""Analytes of soil that are kept in mg/kg."""


@dataclass(frozen=True, slots=True)
class End:
    """One end of a target band [unit]."""

    value: float
    unit: str
    method: str


def settle_targets(columns: Columns) -> None:
    """Turn both ends of each target into the quantity's canonical unit, in place."""
    given = dict(columns)
    for name in ("low", "high"):
        ends = each_distinct(_end, given, (name, "unit", "quantity", "method"), home=name)
        columns[name] = [e.value if isinstance(e, End) else e for e in ends]
        for field in ("unit", "method"):
            columns[field] = [
                getattr(end, field) or None if isinstance(end, End) else was
                for end, was in zip(ends, columns[field], strict=True)
            ]


def _end(row: tuple[str, str | None, str, str | None]) -> End:
    text, unit, quantity, method = row
    wish, key = _target_wish(quantity, method)
    return End(canonical(text, unit, wish), wish.unit, key)


def _target_wish(quantity: str, method: str | None) -> tuple[Wish, str]:
    """Return the window of a target: that of the kind of reading which bears its name."""
    name = "path_wander" if quantity == "trueness" else quantity
    spec = kinds().get(name)
    if spec is None:
        wide = quantities()[name]
        return Wish(wide.unit, wide.low, wide.high), method or ""
    key = method_key(spec, method)
    unit = firmness_methods()[key].unit if name == "firmness" else spec.unit
    return Wish(unit, spec.low, spec.high, spec.unit_required), key


def settle_limits(columns: Columns) -> None:
    """Turn the value of each limit into the unit its name says, in place."""
    values = each_distinct(_limit, columns, ("limit", "value", "unit"), home="value")
    _lay(values, columns)


def _limit(row: tuple[str, float | None, str | None]) -> tuple[float | None, str]:
    limit, value, unit = row
    wanted = LIMIT_UNITS[limit]
    if value is None:
        if limit in DATED_LIMITS:
            return None, ""
        raise AtColumn("value", f"{limit} needs a value", f"write it in {wanted or '1 or 0'}")
    if limit == "p_allowed" and value not in (0.0, 1.0):
        raise AtColumn("value", "p_allowed is 1 (yes) or 0 (no)", "write 1 or 0")
    if not wanted or unit is None or unit == wanted:
        return value, wanted
    if wanted == "count" and unit in ("pass", "passes", "rolls"):
        return value, wanted
    return _converted(value, unit, wanted), wanted


def _converted(value: float, unit: str, wanted: str) -> float:
    try:
        return to_unit(value, unit, wanted)
    except BadInput as error:
        raise AtColumn("unit", error.what, f"write it in {wanted}") from None


def settle_lab(columns: Columns) -> None:
    """Turn nutrients of soil into mg/kg and check that every value has its unit, in place."""
    values = each_distinct(_lab, columns, ("value", "unit", "medium", "analyte"), home="value")
    _lay(values, columns)


def _lay(values: Sequence[Any], columns: Columns) -> None:
    """Lay (value, unit) pairs into their columns; faults and gaps stay in value."""
    columns["value"] = [v[0] if isinstance(v, tuple) else v for v in values]
    columns["unit"] = [v[1] or None if isinstance(v, tuple) else None for v in values]


def _lab(row: tuple[float, str | None, str, str]) -> tuple[float, str]:
    value, unit, medium, analyte = row
    if analyte == "pH" and value > 14:
        bad(f"a pH of {value:g} is outside 0 to 14", "correct the value")
    if unit is None:
        if analyte in WITHOUT_UNIT:
            return value, ""
        raise AtColumn("unit", f"{analyte} needs a unit", "write the laboratory's unit, as mg/kg")
    if medium == "soil" and analyte in MASS_SHARES and unit != "mg/kg":
        return _converted(value, unit, "mg/kg"), "mg/kg"
    return value, unit
