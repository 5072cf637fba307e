"""Describes an export as a Frictionless Data Package: fields, types, units and keys."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from greenwright.base.errors import GreenwrightError
from greenwright.base.tables import Column, vocabulary
from greenwright.base.unit_table import ucum
from greenwright.record.layout import Layout

FORMAT = 1
"""Version of the export; a change that an older reader would misread raises it."""

TYPES: Mapping[str, Mapping[str, Any]] = {
    "number": {"type": "number"},
    "quantity": {"type": "any"},
    "integer": {"type": "integer"},
    "yesno": {"type": "boolean", "trueValues": ["yes"], "falseValues": ["no"]},
    "date": {"type": "date"},
    "time": {"type": "time", "format": "any"},
    "datetime": {"type": "datetime", "format": "any"},
}
"""Column type -> type of the field; the others are strings."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One written file: its layout, header, rows of cells as text, and the CSV."""

    shape: Layout
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    text: str

    @property
    def name(self) -> str:
        """Name of the record file."""
        return self.shape.name


def describe(course: str, sheets: Sequence[Sheet]) -> dict[str, Any]:
    """Return the descriptor of an export; it holds no date, so equal content gives equal bytes."""
    slug = re.sub(r"[^a-z0-9]+", "-", course.lower()).strip("-") or "course"
    return {
        "name": f"record-of-{slug}",
        "profile": "tabular-data-package",
        "resources": [_resource(sheet) for sheet in sheets],
        "greenwright": {"format": FORMAT, "escaped": True, "course": course},
    }


def _resource(sheet: Sheet) -> dict[str, Any]:
    schema: dict[str, Any] = {
        "fields": [_field(name, sheet.shape.file.column(name)) for name in sheet.header],
        "missingValues": [""],
    }
    if key := _primary_key(sheet):
        schema["primaryKey"] = key
    return {
        "name": sheet.name,
        "path": f"{sheet.name}.csv",
        "profile": "tabular-data-resource",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "doubleQuote": True},
        "schema": schema,
    }


def _field(name: str, column: Column | None) -> dict[str, Any]:
    if column is None:
        return {"name": name, "type": "string"}
    field = {"name": name, **TYPES.get(column.type, {"type": "string"})}
    limits = _constraints(column)
    if limits:
        field["constraints"] = limits
    if code := _code(column.unit):
        field["unit"] = code
    return field


def _constraints(column: Column) -> dict[str, Any]:
    limits: dict[str, Any] = {}
    if column.required:
        limits["required"] = True
    if column.type == "choice":
        limits["enum"] = list(vocabulary(column.of))
    if column.type in ("number", "integer"):
        ends = {"minimum": column.low, "maximum": column.high}
        limits |= {name: end for name, end in ends.items() if end is not None}
    return limits


def _code(unit: str) -> str:
    """Return the UCUM code of a unit, empty where there is none."""
    try:
        return ucum(unit) if unit else ""
    except GreenwrightError:
        return ""


def _primary_key(sheet: Sheet) -> list[str]:
    """Return the identity where it is a key that a reader of tables would accept, else nothing."""
    key = [n for n in sheet.shape.file.identity if n in sheet.header]
    if len(key) < len(sheet.shape.file.identity):
        return []
    places = [sheet.header.index(name) for name in key]
    cells = [tuple(row[i] for i in places) for row in sheet.rows]
    whole = all(all(cell) for cell in cells) and len(set(cells)) == len(cells)
    return key if whole else []
