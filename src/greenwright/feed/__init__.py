"""What the greens need to eat: by need, and no more."""

from greenwright.feed.soil import (
    ELEMENTS,
    SoilNeed,
    mehlich_minimum,
    oxide_factor,
    oxide_name,
    per_area,
    per_mass,
    soil_index,
    soil_need,
)

__all__ = [
    "ELEMENTS",
    "SoilNeed",
    "mehlich_minimum",
    "oxide_factor",
    "oxide_name",
    "per_area",
    "per_mass",
    "soil_index",
    "soil_need",
]
