"""One row of a finding of the question weather."""

from __future__ import annotations

from math import isfinite
from typing import Any

from greenwright.base.estimate import Z90
from greenwright.desk.answering import Row
from greenwright.weather.given import GivenDay

COURSE = "course"


def row(day: GivenDay, quantity: str, value: float, unit: str, **more: Any) -> Row:
    """Return a finding: date, kind, quantity, value, unit, above_threshold, and what is beside it.

    Args:
        day: whose kind and stand-ins it carries.
        quantity, value, unit: what was worked out.
        more: above_threshold, low, high, green, grass, total.
    """
    return {
        "date": day.weather.date,
        "kind": day.weather.kind,
        "quantity": quantity,
        "value": value,
        "unit": unit,
        "above_threshold": None,
        "green": COURSE,
        "filled": bool(day.filled),
        **more,
    }


def ends(value: float, sd: float, *, low: float = 0.0, high: float | None = None) -> dict[str, Any]:
    """Return the 90 % range about a value, drawn back into what can be."""
    if not isfinite(sd):
        return {}
    above = value + Z90 * sd
    return {
        "low": min(max(value - Z90 * sd, low), value),
        "high": above if high is None else max(min(above, high), value),
    }
