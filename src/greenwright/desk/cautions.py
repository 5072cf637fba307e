"""What to beware of: an observer who reads apart, old readings, and what can hurt someone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from statistics import NormalDist

from greenwright.base.estimate import Estimate
from greenwright.base.lengths import inches
from greenwright.base.tables import quantities
from greenwright.base.values import Course
from greenwright.desk.answering import Row
from greenwright.measure import ObserverShift, Surface

_CLEAR = 0.99
"""How sure we must be that an observer reads apart before anyone is named."""

SAFETY: tuple[str, ...] = (
    "Products: the label stands above anything said here: rate, interval, re-entry time, "
    "protective clothing.",
    "Plant protection and growth regulators only by licensed applicators, and under the local "
    "code, which this program does not know.",
    "Lightning: at the first thunder everybody leaves machines and open ground until it is over.",
    "Heat: water, shade and rest for the crew; heavy work before the day is hot, and stop when "
    "somebody feels unwell.",
    "Machines: guards on, engine off before hands go near blades, tines or rollers.",
)


def safety() -> tuple[Row, ...]:
    """Return the cautions that stand beside any advice."""
    return tuple({"kind": "safety", "text": text} for text in SAFETY)


def observer(name: str, shift: Estimate, quantity: str, course: Course) -> Row | None:
    """Return the caution for an observer who clearly reads apart from the others, or None.

    Args:
        name: as in the record.
        shift: how far above the others the observer reads [unit of the quantity].
        quantity: what was read.
        course: whose units are spoken.
    """
    if shift.sd <= 0 or NormalDist().cdf(abs(shift.value) / shift.sd) < 0.5 + _CLEAR / 2:
        return None
    side = "higher" if shift.value > 0 else "lower"
    label = quantities()[quantity].label.lower()
    return {
        "kind": "observer",
        "observer": name,
        "quantity": quantity,
        "shift": shift,
        "text": f"{name} reads {label} about {_size(shift, course)} {side} than the others. "
        "The estimates allow for it; rolling together once would settle it.",
    }


def observers(one: Surface, course: Course) -> tuple[Row, ...]:
    """Return the cautions for observers of a surface who read apart, or have begun to drift."""
    rows: list[Row | None] = []
    for held in one.observers:
        rows += [observer(held.observer, held.shift, one.quantity, course)]
        rows += [drift(held, one.quantity, course)]
    return tuple(row for row in rows if row is not None)


def drift(held: ObserverShift, quantity: str, course: Course) -> Row | None:
    """Return the caution for an observer whose readings have moved against the others', or None.

    Args:
        held: the observer's shift, spread and drift.
        quantity: what was read.
        course: whose units are spoken.
    """
    if not held.drifts or held.drift is None:
        return None
    side = "higher" if held.drift.value > 0 else "lower"
    label = quantities()[quantity].label.lower()
    return {
        "kind": "observer",
        "observer": held.observer,
        "quantity": quantity,
        "drift": held.drift,
        "text": f"In the last 30 days {held.observer} has come to read {label} about "
        f"{_size(held.drift, course)} {side} than before, against the others. Read one green "
        "together, and check the instrument.",
    }


def misfit(one: Surface) -> tuple[Row, ...]:
    """Return the caution that the model does not fit the readings of a surface, where so."""
    if not one.misfit:
        return ()
    return ({"kind": "misfit", "quantity": one.quantity, "text": one.misfit},)


def old_record(last: date | None, on: date) -> tuple[Row, ...]:
    """Return the caution that the whole record is old, where it is."""
    days = (on - last).days if last else 0
    if days <= quantities()["green_speed"].goes_stale_d:
        return ()
    return (
        {
            "kind": "data",
            "text": f"The last reading of any kind is {days} days old: this says more about the "
            "season than about this morning.",
        },
    )


def data(texts: Sequence[str]) -> tuple[Row, ...]:
    """Return each text as a caution about the data."""
    return tuple({"kind": "data", "text": text} for text in texts)


def _size(shift: Estimate, course: Course) -> str:
    size = abs(shift.value)
    if shift.unit == "m":
        return inches(size) if course.speed_units == "ft" else f"{100 * size:.0f} cm"
    if shift.unit == "score":
        return f"{size:.1f} points"
    return f"{size:.2g} {shift.unit}"
