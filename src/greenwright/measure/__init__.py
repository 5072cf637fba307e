"""Readings -> estimates: what the greens are like today, with honest uncertainty."""

from greenwright.measure.belief import Belief
from greenwright.measure.comparisons import Comparisons, Consistency, compared, comparisons
from greenwright.measure.observers import ObserverShift
from greenwright.measure.sets import SpeedSet, set_cautions, speed_sets
from greenwright.measure.soundings import first_day_needed, quantities_read
from greenwright.measure.surface import (
    BandShare,
    Contribution,
    OddGreen,
    Surface,
    share_in_band,
)
from greenwright.measure.surveying import surface

__all__ = [
    "BandShare",
    "Belief",
    "Comparisons",
    "Consistency",
    "Contribution",
    "ObserverShift",
    "OddGreen",
    "SpeedSet",
    "Surface",
    "compared",
    "comparisons",
    "first_day_needed",
    "quantities_read",
    "set_cautions",
    "share_in_band",
    "speed_sets",
    "surface",
]
