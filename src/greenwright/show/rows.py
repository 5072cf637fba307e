"""Reading an answer's rows: estimates, days, bands, the greens and quantities it speaks of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import sqrt
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.show import terms

COURSE = "course"
WHOLE = (COURSE, "all")
"""How a row says that it speaks of every green at once."""
FIRST = ("green_speed", "smoothness")
"""What a ball does comes first; the rest stands in the order of the answer."""
TRUE = "trueness"
_ORDER = (*FIRST, TRUE)

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Band:
    """A target band in canonical units; default = nobody entered one."""

    low: float | None
    high: float | None
    default: bool = False

    def side(self, value: float) -> int:
        """Return -1 under the band, 0 inside, 1 over it."""
        if self.low is not None and value < self.low:
            return -1
        return 1 if self.high is not None and value > self.high else 0


def estimate(held: Any) -> Estimate | None:
    """Return an Estimate from an Estimate, its JSON shape, or nothing."""
    if held is None or isinstance(held, Estimate):
        return held
    return Estimate(**held)


def day(held: Any) -> date | None:
    """Return a date from a date or ISO text, or nothing."""
    if held is None or isinstance(held, date):
        return held
    return date.fromisoformat(str(held)[:10])


def band(row: Row) -> Band | None:
    """Return the target band that a row carries, if any."""
    held = row.get("target")
    if not held or (held.get("low") is None and held.get("high") is None):
        return None
    return Band(held.get("low"), held.get("high"), bool(held.get("default", False)))


def course_rows(answer: Answer) -> tuple[Row, ...]:
    """Return the rows that speak of the whole course, speed and smoothness first."""
    found = [as_read(row) for row in answer.findings if row["green"] == COURSE]
    return tuple(sorted(found, key=lambda row: _place(row["quantity"])))


def _place(quantity: str) -> int:
    return _ORDER.index(quantity) if quantity in _ORDER else len(_ORDER)


def as_read(row: Row) -> Row:
    """Return the row of trueness in millimetres sideways per metre, others as they are.

    The index goes with the square of what a ball does, at one speed; its change is told at
    today's speed, so that a faster green alone is no change of trueness.
    """
    beside = estimate(row.get("sideways_mm_per_m"))
    if row.get("quantity") != TRUE or beside is None:
        return row
    moved = estimate(row.get("change_7d"))
    index = estimate(row["estimate"]).value
    told = None if moved is None else _moved(moved, index, beside)
    return {**row, "estimate": beside, "change_7d": told}


def _moved(moved: Estimate, index: float, beside: Estimate) -> Estimate | None:
    """Return a change of the index T as one of sideways, today's level held."""
    if index <= 0:
        return None
    ends = (moved.value, moved.low, moved.high)
    value, low, high = (beside.value * (1 - sqrt(max(1 - d / index, 0.0))) for d in ends)
    return replace(moved, value=value, low=low, high=high, unit=beside.unit, quantiles=None)


def green_rows(answer: Answer, quantity: str, method: str = "") -> tuple[Row, ...]:
    """Return one row per green for a quantity, in the answer's (playing) order."""
    return tuple(
        as_read(row)
        for row in answer.findings
        if row["green"] != COURSE
        and not row["green"].startswith("group:")
        and row["quantity"] == quantity
        and (row.get("method") or "") == method
    )


def greens_of(answer: Answer) -> tuple[str, ...]:
    """Return the green keys that an answer speaks of, in playing order as far as it is told."""
    named = answer.more.get("greens")
    if named:
        return tuple(str(g["green"] if isinstance(g, Mapping) else g) for g in named)
    keys = [row["green"] for row in answer.findings if "green" in row]
    keys += [g for row in answer.choices for g in row.get("greens", ())]
    found = {k for k in keys if k != COURSE and not k.startswith("group:")}
    return tuple(sorted(found, key=terms.played))


def by_day(rows: Sequence[Row]) -> dict[date, list[Row]]:
    """Return rows under their date, dates ascending."""
    grouped: dict[date, list[Row]] = {}
    for row in sorted(rows, key=lambda r: str(day(r["date"]))):
        found = day(row["date"])
        if found is not None:
            grouped.setdefault(found, []).append(row)
    return grouped
