"""Four invented courses: four grasses, each under a weather of its own.

Names and numbers are invented; the climates have the order of magnitude of cool inland, mild
coast, warm and humid, and dry with cold winters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from greenwright.simulate.practices import RESPONSES, Response
from greenwright.simulate.world import Climate, Place, Surface, World


def _scaled(**factors: float) -> tuple[Response, ...]:
    """Give the usual responses with those of some practices made larger or smaller."""
    return tuple(replace(r, peak=r.peak * factors.get(r.practice, 1.0)) for r in RESPONSES)


def _based(**levels: float) -> Mapping[str, float]:
    return dict(Surface().base) | levels


PLACES: Mapping[str, World] = MappingProxyType(
    {
        "larkmoss": World(),
        "saltwick": World(
            place=Place("saltwick", "Saltwick Warren", "-9.2", "11", "Europe/Dublin", "EUR",
                        "annual bluegrass"),
            climate=Climate(latitude_deg=53.4, t_mean_c=11.0, t_swing_c=4.6, t_spread_c=2.0,
                            t_range_c=6.5, dry_above=0.15, rain_mean_mm=5.0, rh_mean_pct=83.0,
                            wind_m_s=4.2),
            surface=Surface(base=_based(green_speed=2.72, smoothness=6.9), growth_best_c=18.0,
                            full_growth_mm_d=0.6, speed_per_moisture_pct=-0.009),
            responses=_scaled(roll=1.2, verticut=0.8),
        ),
        "emberlin": World(
            place=Place("emberlin", "Emberlin Pines", "-93.4", "62", "America/Chicago", "USD",
                        "ultradwarf bermudagrass"),
            climate=Climate(latitude_deg=30.6, t_mean_c=20.2, t_swing_c=8.4, hottest_day=205,
                            t_spread_c=2.8, t_range_c=10.5, dry_above=0.5, rain_mean_mm=9.0,
                            rh_mean_pct=76.0, wind_m_s=2.2),
            surface=Surface(base=_based(green_speed=2.95, smoothness=7.5), growth_best_c=30.0,
                            growth_width_c=7.0, full_growth_mm_d=0.7,
                            speed_per_growth_mm_d=-0.26),
            responses=_scaled(roll=0.75, topdress=0.8, verticut=1.3),
        ),
        "drumsallow": World(
            place=Place("drumsallow", "Drumsallow Flats", "-105.1", "1490", "America/Denver",
                        "USD", "bentgrass-bluegrass mix"),
            climate=Climate(latitude_deg=40.6, t_mean_c=10.2, t_swing_c=12.2, t_spread_c=3.6,
                            t_range_c=14.0, dry_above=0.95, rain_mean_mm=5.5, rh_mean_pct=55.0,
                            wind_m_s=3.1),
            surface=Surface(base=_based(green_speed=2.88, firmness=104.0), growth_best_c=20.5,
                            growth_width_c=6.5, full_growth_mm_d=0.5),
            responses=_scaled(roll=0.9, core=1.2),
        ),
    }
)  # fmt: skip
"""By key; the first is the demo's. Make one your own with ``dataclasses.replace``."""
