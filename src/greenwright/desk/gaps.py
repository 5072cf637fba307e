"""What is not known, why it matters, and the cheapest reading that would tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import Any

from greenwright.base.evidence import value
from greenwright.base.tables import quantities
from greenwright.desk.answering import Row
from greenwright.measure import Surface

_WHY = MappingProxyType(
    {
        "green_speed": "speed is what the week's work is planned by",
        "smoothness": "players see and say roughness before they notice a change of speed",
    }
)
CORE: tuple[str, ...] = tuple(_WHY)
"""Quantities without which the answers lose their footing."""


@dataclass(frozen=True, slots=True)
class _Cheapest:
    kind: str
    n: int


_READ = MappingProxyType(
    {
        "green_speed": _Cheapest("roll_distance", 6),
        "smoothness": _Cheapest("roll_score", 1),
        "trueness_score": _Cheapest("trueness_score", 1),
        "trueness": _Cheapest("end_offset", 10),
        "firmness": _Cheapest("firmness", 5),
        "moisture": _Cheapest("moisture", 5),
        "clippings": _Cheapest("clippings", 1),
        "height_of_cut": _Cheapest("height_of_cut", 1),
        "quality": _Cheapest("quality", 1),
    }
)


def reading(quantity: str, green: str) -> Row | None:
    """Return the cheapest reading of a quantity on a green: kind, green, n, minutes."""
    cheapest = _READ.get(quantity)
    if cheapest is None:
        return None
    minutes = value(f"reading_time.{cheapest.kind}")
    return {"kind": cheapest.kind, "green": green, "n": cheapest.n, "minutes": minutes}


def label(quantity: str, method: str = "") -> str:
    """Return what a quantity is called, with its method where it has one."""
    known = quantities()[quantity].label
    return f"{known} ({method})" if method else known


def never_read(quantity: str, green: str) -> Row:
    """Return the gap of a quantity that was never read here."""
    label = quantities()[quantity].label
    return {
        "about": quantity,
        "text": f"{label} has never been read here.",
        "why": _WHY.get(quantity, "without a reading nothing can be said of it"),
        "reading": reading(quantity, green),
    }


def stale(one: Surface, *, on: date) -> Row | None:
    """Return the gap of the greens in play whose last reading no longer says much, or None.

    Args:
        one: what is believed of a quantity.
        on: the day of the question.
    """
    known = quantities()[one.quantity]
    oldest = on - timedelta(days=known.goes_stale_d)
    rows = zip(one.greens, one.in_play, one.last_read, one.per_green, strict=True)
    playing = [(green, day, held) for green, in_play, day, held in rows if in_play]
    old = [(green, held.sd) for green, day, held in playing if day is None or day < oldest]
    if not old:
        return None
    label = f"{known.label} ({one.method})" if one.method else known.label
    which = _greens([green for green, _ in old], len(playing))
    return {
        "about": one.quantity,
        "text": f"{label}: no reading within {known.goes_stale_d} days on {which}.",
        "why": _WHY.get(one.quantity, "what is said there leans on other greens and old readings"),
        "reading": reading(one.quantity, max(old, key=lambda pair: pair[1])[0]),
    }


def no_target(quantity: str, *, default: bool) -> Row:
    """Return the gap of a quantity for which no target was entered."""
    label = quantities()[quantity].label.lower()
    text = (
        f"No target for {label} was entered: a common band for courses like this one is used."
        if default
        else f"No target for {label} was entered, so nothing is said of being inside it."
    )
    return {
        "about": f"target:{quantity}",
        "text": text,
        "why": "a target is the course's own choice",
        "reading": None,
    }


def _greens(old: Sequence[str], every: int) -> str:
    if len(old) == every:
        return "any green"
    if len(old) == 1:
        return f"green {old[0]}"
    return f"greens {', '.join(old[:-1])} and {old[-1]}"


def time_keys(gaps: Sequence[dict[str, Any] | Row]) -> frozenset[str]:
    """Return the evidence keys behind the minutes of the gaps' readings."""
    kinds = {gap["reading"]["kind"] for gap in gaps if gap.get("reading")}
    return frozenset(f"reading_time.{kind}" for kind in kinds)
