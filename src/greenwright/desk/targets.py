"""The band wanted of a surface on its day: by the planner's own rule, so that the two agree."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Protocol

from greenwright.advise.targets import band as planned_band
from greenwright.base.values import Snapshot


class Aimed(Protocol):
    """A quantity of some greens on a day: a surface, or one that is looked ahead at."""

    @property
    def quantity(self) -> str: ...
    @property
    def method(self) -> str: ...
    @property
    def greens(self) -> tuple[str, ...]: ...
    @property
    def on(self) -> date: ...


@dataclass(frozen=True, slots=True)
class Band:
    """A band in the quantity's canonical unit, None = open; default = nobody entered it."""

    low: float | None
    high: float | None
    default: bool = False


@dataclass(frozen=True, slots=True)
class Wanted:
    """The band of each green of a surface (None = no target), and the defaults behind them."""

    bands: tuple[Band | None, ...]
    keys: tuple[str, ...] = ()

    @property
    def common(self) -> Band | None:
        """Return the one band that holds on every green, if there is one."""
        return self.bands[0] if len(set(self.bands)) == 1 else None


def wanted(snapshot: Snapshot, one: Aimed) -> Wanted:
    """Return the band wanted on each green of a surface on its day.

    A target without a method holds for any method of the height of cut, never of firmness.
    """
    methods = (one.method, "") if one.quantity == "height_of_cut" else (one.method,)
    found = [_wanted(snapshot, one, method) for method in methods]
    return next((held for held in found if any(held.bands)), found[0])


def _wanted(snapshot: Snapshot, one: Aimed, method: str) -> Wanted:
    held = planned_band(snapshot, one.quantity, method=method, greens=one.greens, days=(one.on,))
    ends = zip(held.low[:, 0], held.high[:, 0], strict=True)
    bands = tuple(_band((low, high), default=held.default) for low, high in ends)
    keys = tuple(key for key in held.evidence_keys if not key.endswith("half_width"))
    return Wanted(bands, keys)


def _band(ends: Sequence[float], *, default: bool) -> Band | None:
    low, high = (float(end) if isfinite(end) else None for end in ends)
    return None if low is None and high is None else Band(low, high, default)
