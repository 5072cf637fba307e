"""What soil and leaf contents are held against: two named sources, each for one extractant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from greenwright.base.evidence import evidence, look_up, value
from greenwright.feed.soil import ELEMENTS

EXTRACTANT = "mehlich-3"
"""The one extractant for which thresholds were read."""
MINIMUM = "minimum guideline"
CLASSICAL = "classical sufficiency"
SAND = ("sand", "sand-topped soil")


@dataclass(frozen=True, slots=True)
class Threshold:
    """One source's verdict on an element: reserve to keep (low) and where plenty begins (high).

    Args:
        source: minimum guideline | classical sufficiency.
        low, high: contents [mg/kg]; high None where the source gives none.
        key: evidence key.
    """

    source: str
    low: float
    high: float | None
    key: str


@dataclass(frozen=True, slots=True)
class LeafRange:
    """Usual contents of an element in dry clippings, and the key they stand under."""

    low: float
    high: float
    unit: str
    key: str

    def verdict(self, content: float) -> str:
        """Return low | usual | high."""
        return "low" if content < self.low else "high" if content > self.high else "usual"


def thresholds(element: str, extractant: str, rootzone: str) -> tuple[Threshold, ...]:
    """Return what a soil content is held against; empty for an extractant without thresholds.

    A number of one extractant says nothing about another: no conversion is made.

    Args:
        element: K | P | Ca | Mg | S (others have no threshold).
        extractant: as in the record.
        rootzone: of the green; sand has its own classical range.

    >>> [t.low for t in thresholds("K", "mehlich-3", "sand")], thresholds("K", "olsen", "sand")
    ([37.0, 50.0], ())
    """
    if element not in ELEMENTS or extractant != EXTRACTANT:
        return ()
    soil = "sand" if rootzone in SAND else "other"
    keys = (f"soil.mehlich3.{element}.minimum", f"soil.sufficiency.{element}.{soil}")
    range_ = look_up(keys[1]).value
    assert isinstance(range_, Mapping)
    return (
        Threshold(MINIMUM, value(keys[0]), None, keys[0]),
        Threshold(CLASSICAL, range_["low"], range_["high"], keys[1]),  # type: ignore[arg-type]
    )


def leaf_range(element: str, grass: str) -> LeafRange | None:
    """Return the usual content of an element in the leaves of a grass, or None.

    The grass's own range where one is known, else a published one for turf, else a generic one.
    """
    own = grass.strip().lower().replace("-", "_").replace(" ", "_")
    for group in (own, "general", "generic"):
        key = f"leaf.{group}.{element}"
        if key in evidence():
            held = look_up(key)
            assert isinstance(held.value, Mapping)
            ends = (held.value["low"], held.value["high"])
            return LeafRange(*ends, held.unit, key)  # type: ignore[arg-type]
    return None


def outside_guideline(ph: float | None, cec_mmol_kg: float | None) -> str:
    """Return why the minimum guideline does not speak of a soil, or nothing.

    Args:
        ph: of the soil, None = not tested.
        cec_mmol_kg: exchange capacity [mmolc/kg], None = not tested.

    >>> outside_guideline(6.4, None), bool(outside_guideline(5.1, None))
    ('', True)
    """
    ends, most = look_up("soil.mehlich3.ph_range").value, value("soil.mehlich3.cec_max")
    low, high = (ends["low"], ends["high"]) if isinstance(ends, Mapping) else tuple(ends)  # type: ignore[arg-type]
    if ph is not None and not low <= ph <= high:
        return f"its pH of {ph:g} is outside the {low:g} to {high:g} of the soils behind it"
    if cec_mmol_kg is not None and cec_mmol_kg > most:
        return f"its exchange capacity is over the {most:g} mmol/kg of the soils behind it"
    return ""


def ratio_warning() -> tuple[str, str]:
    """Return why no ratio between cations is used, and the evidence key of it."""
    key = "soil.cation_ratio_warning"
    held = look_up(key).value
    assert isinstance(held, Mapping)
    return str(held["reason"]), key
