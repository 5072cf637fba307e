"""Sand and organic matter: how much sand growth asks for, what dilutes, what holes take out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value

_SHARE = 100.0


@dataclass(frozen=True, slots=True)
class Holes:
    """What holes do: area affected [%], holes a square metre, and sand that fills them."""

    area_pct: float
    per_m2: float
    fill_l_m2: float
    fill_kg_m2: float


@dataclass(frozen=True, slots=True)
class Dressing:
    """Sand of one month: month 1..12, depth [mm = L/m2], light dressings it comes to."""

    month: int
    sand_mm: float
    times: int


def layer_density(om_pct: float) -> float:
    """Return the density of a surface layer [kg/m3] from its organic matter [%].

    100 / (OM / organic + (100 - OM) / mineral density); evidence keys om.density_*.

    Raises:
        BadInput: organic matter outside 0..100 %.

    >>> round(layer_density(4.0))
    1254
    """
    _check_om(om_pct)
    light, heavy = value("om.density_organic"), value("om.density_mineral")
    return _SHARE / (om_pct / light + (_SHARE - om_pct) / heavy)


def combined_om(layers: Sequence[tuple[float, float]]) -> float:
    """Return the organic matter of layers taken together [%], each (OM [%], thickness), by mass.

    >>> round(combined_om([(4.8, 20.0), (3.1, 20.0)]), 2)
    3.91
    """
    masses = [layer_density(om) * thick for om, thick in layers]
    if not masses or sum(masses) <= 0:
        raise BadInput("layers need a thickness", expected="at least one layer with some depth")
    return sum(om * mass for (om, _), mass in zip(layers, masses, strict=True)) / sum(masses)


def om_after(om_pct: float, depth_mm: float, sand_mm: float) -> float:
    """Return the organic matter [%] of the top depth after sand was worked in.

    OM' = OM rho (D - t) / [rho (D - t) + mineral density t], re-sampling the top D.

    Args:
        om_pct: before, by loss on ignition [%].
        depth_mm: depth sampled, above 0 [mm].
        sand_mm: sand put on, 0..depth [mm].

    Raises:
        BadInput: a number outside its range.

    >>> round(om_after(8.0, 20.0, 1.0), 2)
    7.42
    """
    _check_om(om_pct)
    if depth_mm <= 0 or not 0 <= sand_mm <= depth_mm:
        raise BadInput(
            f"{sand_mm:g} mm of sand on a sample of {depth_mm:g} mm",
            expected="a depth above 0 and sand of at most that depth",
        )
    soil = layer_density(om_pct) * (depth_mm - sand_mm)
    return om_pct * soil / (soil + value("om.density_mineral") * sand_mm)


def sand_to_reach(om_pct: float, depth_mm: float, wanted_pct: float) -> float:
    """Return the sand [mm] that dilutes organic matter to a wanted share; nought if it is there.

    Solved from `om_after`: what it gives, put back, comes to the wanted share.

    Raises:
        BadInput: a wanted share not above 0.

    >>> round(om_after(6.0, 20.0, sand_to_reach(6.0, 20.0, 4.0)), 6)
    4.0
    """
    if wanted_pct <= 0:
        raise BadInput(f"organic matter of {wanted_pct:g} %", expected="a share above 0")
    if om_pct <= wanted_pct:
        return 0.0
    # om rho (D - t) = wanted [rho (D - t) + heavy t], linear in t.
    rho, heavy = layer_density(om_pct), value("om.density_mineral")
    spare = rho * (om_pct - wanted_pct)
    return depth_mm * spare / (spare + wanted_pct * heavy)


def sand_by_growth(growth: Sequence[float]) -> tuple[Dressing, ...]:
    """Return sand by month for monthly growth potentials, January first.

    The most in a month (evidence key sand.monthly_maximum) times growth potential, in light
    dressings (sand.dusting).

    Raises:
        BadInput: a growth potential outside 0..1.

    >>> sand_by_growth([0.0] * 5 + [1.0])[5].sand_mm
    0.5
    """
    if any(not 0 <= g <= 1 for g in growth):
        raise BadInput("a growth potential outside its range", expected="0 to 1")
    most, one = value("sand.monthly_maximum"), value("sand.dusting")
    return tuple(
        Dressing(month, most * g, round(most * g / one)) for month, g in enumerate(growth, 1)
    )


def holes(
    diameter_mm: float, spacing_mm: float, spacing2_mm: float, *, depth_mm: float = 0.0
) -> Holes:
    """Return what holes of a diameter on a grid do to the surface.

    Args:
        diameter_mm: bore of the hole, above 0 [mm]; inner and outer diameter of a tine differ.
        spacing_mm, spacing2_mm: of the grid, at least the diameter [mm].
        depth_mm: of the holes, at least 0 [mm].

    Raises:
        BadInput: holes that overlap, or a number below its range.

    >>> round(holes(12, 50, 50, depth_mm=60).area_pct, 2)
    4.52
    """
    if diameter_mm <= 0 or min(spacing_mm, spacing2_mm) < diameter_mm or depth_mm < 0:
        raise BadInput(
            f"holes of {diameter_mm:g} mm at {spacing_mm:g} x {spacing2_mm:g} mm",
            expected="a diameter above 0, not wider than the spacings",
        )
    share = pi * diameter_mm**2 / (4 * spacing_mm * spacing2_mm)
    litres = share * depth_mm
    return Holes(
        _SHARE * share,
        1e6 / (spacing_mm * spacing2_mm),
        litres,
        litres * value("sand.bulk_density") / 1000,
    )


def _check_om(om_pct: float) -> None:
    if not 0 <= om_pct <= _SHARE:
        raise BadInput(f"organic matter of {om_pct:g} %", expected="0 to 100 %")
