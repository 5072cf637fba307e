"""What the greens need to eat: by need, and no more."""

from greenwright.feed.acidity import (
    CHARGED,
    caco3_per_100kg,
    generic_names,
    published_acidity,
)
from greenwright.feed.acidity import KEYS as ACIDITY_KEYS
from greenwright.feed.demand import (
    CEILING_GRASSES,
    clippings_nitrogen,
    dry_mass_key,
    growth_ratio,
    month_need,
    nitrogen_by_month,
    nitrogen_ceiling,
)
from greenwright.feed.need import ElementNeed, SoilTest, element_need, group_content
from greenwright.feed.rates import nozzle_flow, product_rate, tank_load
from greenwright.feed.sand import (
    combined_om,
    holes,
    layer_density,
    om_after,
    sand_by_growth,
    sand_to_reach,
)
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
from greenwright.feed.thresholds import leaf_range, outside_guideline, ratio_warning, thresholds

__all__ = [
    "ACIDITY_KEYS",
    "CEILING_GRASSES",
    "CHARGED",
    "ELEMENTS",
    "ElementNeed",
    "SoilNeed",
    "SoilTest",
    "caco3_per_100kg",
    "clippings_nitrogen",
    "combined_om",
    "dry_mass_key",
    "element_need",
    "generic_names",
    "group_content",
    "growth_ratio",
    "holes",
    "layer_density",
    "leaf_range",
    "mehlich_minimum",
    "month_need",
    "nitrogen_by_month",
    "nitrogen_ceiling",
    "nozzle_flow",
    "om_after",
    "outside_guideline",
    "oxide_factor",
    "oxide_name",
    "per_area",
    "per_mass",
    "product_rate",
    "published_acidity",
    "ratio_warning",
    "sand_by_growth",
    "sand_to_reach",
    "soil_index",
    "soil_need",
    "tank_load",
    "thresholds",
]
