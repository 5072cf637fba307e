"""Readings -> estimates: what the greens are like today, with honest uncertainty."""

from greenwright.measure.belief import Belief
from greenwright.measure.sets import SpeedSet, set_cautions, speed_sets
from greenwright.measure.soundings import first_day_needed, quantities_read
from greenwright.measure.surface import (
    BandShare,
    ObserverShift,
    OddGreen,
    Surface,
    share_in_band,
    surface,
)

__all__ = [
    "BandShare",
    "Belief",
    "ObserverShift",
    "OddGreen",
    "SpeedSet",
    "Surface",
    "first_day_needed",
    "quantities_read",
    "set_cautions",
    "share_in_band",
    "speed_sets",
    "surface",
]
