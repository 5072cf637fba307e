"""A stored row as the text of its columns, as it would be typed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any

from greenwright.base.tables import record_files


def as_cells(file: str, fields: Mapping[str, Any]) -> dict[str, str]:
    """Return column -> text of one row; columns without a value are absent.

    A quantity is written as it was given, with its unit, not as it was converted.

    Args:
        file: record file name, as readings.
        fields: field -> value.

    >>> as_cells("readings", {"kind": "moisture", "value": 24.0, "pass_": "along"})
    {'kind': 'moisture', 'value': '24', 'pass': 'along'}
    """
    columns = record_files()[file].columns
    cells = {c.name: _text(fields[c.field]) for c in columns if _held(fields.get(c.field))}
    if fields.get("given"):
        quantity = next((c.name for c in columns if c.type == "quantity"), "")
        cells[quantity] = str(fields["given"])
        cells["unit"] = str(fields.get("given_unit") or "")
    cells.update({str(k): str(v) for k, v in (fields.get("other") or {}).items()})
    return {name: text for name, text in cells.items() if text}


def _held(value: Any) -> bool:
    return value is not None and value != ""


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, time):
        return value.strftime("%H:%M") if not value.second else value.isoformat()
    return value.isoformat() if isinstance(value, date) else str(value)
