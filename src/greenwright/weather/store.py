"""The store of water in the root zone: how much it holds, and how much the grass takes easily."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.base.evidence import look_up, value
from greenwright.weather.growth import curve_of

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RootZone:
    """The root zones of greens, one number a green.

    Args:
        field_capacity, wilting_point: water they hold, as a share of their volume.
        depth_m: of the roots [m].
        depletion: share of the store taken easily at an evapotranspiration of 5 mm/d.
    """

    field_capacity: Array
    wilting_point: Array
    depth_m: Array
    depletion: Array

    def __post_init__(self) -> None:
        if np.any(self.field_capacity <= self.wilting_point):
            raise BadInput(
                "a root zone holds no more at field capacity than when wilting",
                where="field_capacity",
                expected="more than wilting_point",
            )
        if np.any(self.depth_m <= 0):
            raise BadInput("roots without depth", where="depth", expected="more than 0 m")

    @property
    def total_available(self) -> Array:
        """Return the water between field capacity and wilting [mm]: 1000 (fc - wp) depth."""
        return 1000 * (self.field_capacity - self.wilting_point) * self.depth_m

    def readily_available(self, etc_mm: ArrayLike | None = None) -> Array:
        """Return the water taken without stress [mm], for an evapotranspiration [mm/d] or 5."""
        return depletion_share(self.depletion, etc_mm) * self.total_available

    def deficit_of(self, moisture_pct: ArrayLike) -> Array:
        """Return what a moisture reading [%] says is missing to field capacity [mm]."""
        held = np.asarray(moisture_pct, dtype=float) / 100
        return 1000 * (self.field_capacity - held) * self.depth_m


def depletion_share(p: ArrayLike, etc_mm: ArrayLike | None = None) -> Array:
    """Return the share of the store taken without stress: p + 0.04 (5 - ETc), 0.1 to 0.8.

    Args:
        p: the share at 5 mm/d.
        etc_mm: crop evapotranspiration [mm/d]; None leaves p as it is.

    Source keys: water.depletion_slope, water.depletion_reference, water.depletion_bounds.

    >>> round(float(depletion_share(0.4, 6.0)), 2)
    0.36
    """
    held = np.asarray(p, dtype=float)
    if etc_mm is None:
        return held
    slower = value("water.depletion_reference") - np.asarray(etc_mm, dtype=float)
    ends: dict[str, float] = look_up("water.depletion_bounds").value  # type: ignore[assignment]
    return np.clip(held + value("water.depletion_slope") * slower, ends["low"], ends["high"])


def depletion_of(grass: str) -> tuple[float, str]:
    """Return the share of the store that a grass takes easily at 5 mm/d, and its evidence key."""
    kind = "c4" if curve_of(grass).key.startswith("c4") else "c3"
    key = f"water.depletion_fraction.{kind}"
    return value(key), key


def days_to(deficit_mm: float, refill_mm: float, uses_mm: ArrayLike) -> float | None:
    """Return the days until a deficit reaches the refill line, as the coming days use water.

    Args:
        deficit_mm: missing to field capacity now [mm].
        refill_mm: the line [mm].
        uses_mm: net water lost on each coming day [mm]; the last day's mean goes on after them.

    Returns:
        days, 0 where it is there already; None where nothing dries.

    >>> days_to(0.0, 19.2, [4.0] * 14)
    4.8
    """
    left = refill_mm - deficit_mm
    if left <= 0:
        return 0.0
    uses = np.asarray(uses_mm, dtype=float)
    gone = 0.0
    for day, use in enumerate(uses):
        if gone + use >= left > gone and use > 0:
            return day + (left - gone) / float(use)
        gone = max(gone + float(use), -deficit_mm)
    mean = float(uses.mean()) if uses.size else 0.0
    return None if mean <= 0 else uses.size + (left - gone) / mean
