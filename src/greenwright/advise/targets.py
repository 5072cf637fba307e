"""The bands wanted by quantity, green and day, and what they are when none is entered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from greenwright.base.evidence import evidence, look_up, value
from greenwright.base.values import Snapshot, Target

WITH_DEFAULT = ("green_speed", "smoothness")
FLOOR_KEY = "limits.quality_floor"


@dataclass(frozen=True, slots=True)
class Band:
    """The band of one quantity over greens and days, arrays (greens, days) [unit].

    `half` is the half width that a distance outside is measured by; weight 0 = no target there.
    """

    quantity: str
    method: str
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    half: NDArray[np.float64]
    weight: NDArray[np.float64]
    evidence_keys: tuple[str, ...] = ()
    default: bool = False


def wanted(snapshot: Snapshot) -> tuple[tuple[str, str], ...]:
    """Return the (quantity, method) that have a target, entered or default; quality is a floor."""
    entered = [(t.quantity, t.method) for t in snapshot.targets if t.quantity != "quality"]
    return tuple(dict.fromkeys([*entered, *((q, "") for q in WITH_DEFAULT)]))


def band(
    snapshot: Snapshot, quantity: str, *, method: str, greens: Sequence[str], days: Sequence[date]
) -> Band:
    """Return the band of a quantity for each green and day.

    Of several targets that fit, the one over the fewest days holds, then the one for the fewest
    greens, then the last entered. Where none fits, green speed and smoothness have a default by
    the course's setting; other quantities have no target there.
    """
    shape = (len(greens), len(days))
    low, high = np.full(shape, -np.inf), np.full(shape, np.inf)
    half, weight = np.ones(shape), np.zeros(shape)
    used: list[str] = []
    rows = [t for t in snapshot.targets if (t.quantity, t.method) == (quantity, method)]
    scopes = {id(t): snapshot.greens_of(t.green) for t in rows}
    for i, green in enumerate(greens):
        for j, when in enumerate(days):
            target = _fitting(rows, scopes, green, when)
            ends = _ends(target) if target else _default_ends(snapshot, quantity, used)
            if ends is None:
                continue
            low[i, j], high[i, j] = ends
            half[i, j] = _half_width(ends, quantity, method, used)
            weight[i, j] = 1.0 if target is None or target.weight is None else target.weight
    keys = tuple(dict.fromkeys(used))
    default = any(not k.endswith("half_width") for k in keys)
    return Band(quantity, method, low, high, half, weight, keys, default)


def quality_floor(snapshot: Snapshot, green: str, when: date) -> tuple[float, bool]:
    """Return the quality that a plan may not go under, and whether it is a default."""
    rows = [t for t in snapshot.targets if t.quantity == "quality" and t.low is not None]
    target = _fitting(rows, {id(t): snapshot.greens_of(t.green) for t in rows}, green, when)
    if target is not None and target.low is not None:
        return target.low, False
    return value(FLOOR_KEY), True


def _fitting(
    rows: Sequence[Target], scopes: Mapping[int, tuple[str, ...]], green: str, when: date
) -> Target | None:
    fits = [
        (_length(t), len(scopes[id(t)]), -place, t)
        for place, t in enumerate(rows)
        if green in scopes[id(t)]
        and (t.from_ is None or t.from_ <= when)
        and (t.until is None or when <= t.until)
    ]
    return min(fits, key=lambda fit: fit[:3])[3] if fits else None


def _length(target: Target) -> int:
    first, last = target.from_ or date.min, target.until or date.max
    return (last - first).days


def _ends(target: Target) -> tuple[float, float]:
    low = -np.inf if target.low is None else target.low
    return low, np.inf if target.high is None else target.high


def _default_ends(snapshot: Snapshot, quantity: str, used: list[str]) -> tuple[float, float] | None:
    if quantity not in WITH_DEFAULT:
        return None
    own = f"targets.default.{snapshot.course.setting}.{quantity}"
    key = own if own in evidence() else f"targets.default.{quantity}"
    if key not in evidence():
        key = f"targets.default.other.{quantity}"
    used.append(key)
    ends: Mapping[str, float] = look_up(key).value  # type: ignore[assignment]
    return ends["low"], ends["high"]


def _half_width(ends: tuple[float, float], quantity: str, method: str, used: list[str]) -> float:
    width = ends[1] - ends[0]
    if np.isfinite(width) and width > 0:
        return width / 2
    words = method.split("(")[0].strip().replace(" ", "_").replace("-", "_")
    key = f"targets.default.{quantity}.{words}.half_width" if words else ""
    if key not in evidence():
        key = f"targets.default.{quantity}.half_width"
    used.append(key)
    return value(key)
