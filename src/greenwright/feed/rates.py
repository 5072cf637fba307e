"""Rates on the ground, in the tank and through the nozzle: plain sums, each the other's check."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value


@dataclass(frozen=True, slots=True)
class Tank:
    """What one tank holds: area it treats [m2], product in it [g or mL], share [g or mL per L]."""

    area_m2: float
    product: float
    per_litre: float


def product_rate(nutrient_g_m2: float, grade_pct: float) -> float:
    """Return the product [g/m2] that brings a nutrient [g/m2] at a grade [%].

    Raises:
        BadInput: a grade outside 0..100 % or a rate below nought.

    >>> round(product_rate(0.5, 46.0), 3)
    1.087
    """
    _check("rate", nutrient_g_m2, zero=True)
    if not 0 < grade_pct <= 100:
        raise BadInput(
            f"a grade of {grade_pct:g} %", where="grade", expected="over 0, at most 100 %"
        )
    return nutrient_g_m2 * 100 / grade_pct


def tank_load(tank_l: float, volume_l_ha: float, rate: float) -> Tank:
    """Return what one full tank treats and holds.

    Args:
        tank_l: its volume [L].
        volume_l_ha: water on the ground [L/ha].
        rate: product on the ground [g/m2 or mL/m2].

    Raises:
        BadInput: a number that is not above nought.

    >>> tank_load(400.0, 400.0, 1.0)
    Tank(area_m2=10000.0, product=10000.0, per_litre=25.0)
    """
    _check("tank", tank_l)
    _check("water volume", volume_l_ha)
    _check("rate", rate, zero=True)
    area = tank_l / volume_l_ha * 10_000
    return Tank(area, area * rate, area * rate / tank_l)


def nozzle_flow(volume_l_ha: float, speed_km_h: float, spacing_m: float) -> float:
    """Return the flow of each nozzle [L/min]: L/ha x km/h x m / 600.

    Raises:
        BadInput: a number that is not above nought.

    >>> nozzle_flow(400.0, 6.0, 0.5)
    2.0
    """
    for name, held in (("volume", volume_l_ha), ("speed", speed_km_h), ("spacing", spacing_m)):
        _check(name, held)
    return volume_l_ha * speed_km_h * spacing_m / value("sprayer.metric_constant")


def _check(what: str, number: float, *, zero: bool = False) -> None:
    if not isfinite(number) or number < 0 or (number == 0 and not zero):
        wanted = "zero or more" if zero else "more than zero"
        raise BadInput(f"{what} cannot be {number:g}", where=what, expected=wanted)
