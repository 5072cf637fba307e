"""A row of the record in words: what stands in a list, in a message, in a history."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any

from greenwright.base.tables import record_files
from greenwright.show import terms
from greenwright.show.dates import short_date

LISTED = {
    "readings": ("date", "green", "kind", "value", "observer"),
    "work": ("date", "green", "practice", "amount", "status"),
    "weather": ("date", "kind", "t_min_c", "t_max_c", "rain_mm"),
    "greens": ("green", "group", "area_m2", "grass", "rootzone"),
    "course": ("course", "name", "setting", "timezone", "speed_units"),
    "crew": ("practice", "group", "minutes", "people", "machine"),
    "lab": ("date", "green", "analyte", "value", "extractant"),
}
"""Columns of a list, few enough for a phone; other files show their first five."""


BARE = ("score", "rating", "count")
"""Units that a number does not need."""


def columns(file: str) -> tuple[str, ...]:
    """Return the columns that a list of a file's rows shows."""
    return LISTED.get(file) or tuple(c.name for c in record_files()[file].columns[:5])


def cell(file: str, name: str, fields: Mapping[str, Any], *, year: int) -> str:
    """Return one cell of a list in words; dates of that year go without it."""
    held = fields.get({"from": "from_", "pass": "pass_"}.get(name, name))
    if name in ("value", "amount"):
        return amount(held, fields)
    if name == "kind" and file == "readings":
        return terms.kind(str(held)) + _detail(fields)
    if name == "practice" and held:
        return terms.practice(str(held)) + _passes(fields)
    if isinstance(held, date) and held.year == year:
        return short_date(held)
    return plain(held)


def plain(held: Any) -> str:
    """Return a stored value as short text."""
    if held is None or held == "":
        return ""
    if isinstance(held, bool):
        return "yes" if held else "no"
    if isinstance(held, datetime | time):
        return held.isoformat(timespec="minutes")
    if isinstance(held, date):
        return f"{short_date(held)} {held.year}"
    return f"{held:g}" if isinstance(held, float) else str(held)


def amount(held: Any, fields: Mapping[str, Any]) -> str:
    """Return a quantity as it was written, else in its canonical unit."""
    if fields.get("given"):
        written = str(fields.get("given_unit") or "")
        unit = "" if written in BARE else written
        return f"{fields['given']} {unit or _unit(fields)}".strip()
    return f"{plain(held)} {_unit(fields)}".strip() if held is not None else ""


def _unit(fields: Mapping[str, Any]) -> str:
    unit = str(fields.get("unit") or "")
    if unit == "count" and fields.get("n"):
        return f"of {fields['n']}"
    written = "'" in str(fields.get("given") or "")
    return "" if written or unit in BARE else unit


def _detail(fields: Mapping[str, Any]) -> str:
    way = {"a": ", one way", "b": ", back"}.get(str(fields.get("direction") or ""), "")
    method = f" ({fields['method']})" if fields.get("method") else ""
    return f"{method}{way}"


def _passes(fields: Mapping[str, Any]) -> str:
    passes = fields.get("passes") or 1
    return f" × {passes:g}" if passes != 1 else ""


def summary(file: str, cells: Mapping[str, str]) -> str:
    """Return a row in a few words, from its cells as text.

    >>> summary("readings", {"kind": "moisture", "green": "4", "value": "24"})
    'Soil moisture 24, green 4'
    """
    where = f"green {cells['green']}" if cells.get("green") else ""
    if file == "readings":
        what = f"{terms.kind(cells.get('kind', ''))} {cells.get('value', '')}"
        what = f"{what.strip()} {cells.get('unit', '')}".strip()
    elif file == "work":
        what = terms.practice(cells.get("practice", ""))
        where = cells.get("green", "all").replace(";", ", ")
        where = "all greens" if where == "all" else f"on {where}"
    else:
        what = terms.FILES.get(file, file)
    return ", ".join(part for part in (what, where) if part)
