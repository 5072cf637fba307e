"""Materials as what they bring: elements by mass, price, acidity, salt, and the label's limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from greenwright.base.evidence import evidence, look_up
from greenwright.base.units import to_unit
from greenwright.base.values import Material
from greenwright.feed.soil import oxide_factor

PLANNED: tuple[str, ...] = ("N", "P", "K", "Ca", "Mg", "S")
"""Elements that a plan provides."""
TRACE = 0.002
"""Grams in a gram under which nobody buys a material for an element."""
_BY_ELEMENT = MappingProxyType(
    {"N": "n_pct", "Ca": "ca_pct", "Mg": "mg_pct", "S": "s_pct", "Fe": "fe_pct", "Mn": "mn_pct"}
)
_BY_OXIDE = MappingProxyType({"P": "p2o5_pct", "K": "k2o_pct"})
_SOUR = ("S", "P")


@dataclass(frozen=True, slots=True)
class Feedstuff:
    """A material of the plan.

    Args:
        name: as in the record.
        shares: element -> grams in a gram, elements (not oxides).
        price_kg: of a kilogram, in the course's currency.
        soluble: sprayed and left on the leaf unless watered in.
        caco3: kg CaCO3 per 100 kg, negative acidifies; salt_index: sodium nitrate = 100.
        max_rate, max_year: the label's, product [g/m2]; interval_d: its days between passes.
        stock_kg, pack_kg: what is there, and what one buys at once.
        density_kg_l: for what is measured out by volume.
    """

    name: str
    shares: Mapping[str, float]
    price_kg: float
    soluble: bool = True
    caco3: float | None = None
    salt_index: float = 0.0
    max_rate: float | None = None
    max_year: float | None = None
    interval_d: float = 0.0
    stock_kg: float = 0.0
    pack_kg: float | None = None
    density_kg_l: float | None = None

    def share(self, element: str) -> float:
        """Return grams of an element in a gram; a trace is no source."""
        held = self.shares.get(element, 0.0)
        return held if held >= TRACE else 0.0

    @property
    def clashes(self) -> str:
        """Return which side of a tank it may not share: calcium, or sulfate and phosphate."""
        if self.share("Ca") > 0:
            return "calcium"
        return "sulfate" if any(self.share(e) > 0 for e in _SOUR) else ""


def shares_of(material: Material) -> Mapping[str, float]:
    """Return grams of each element in a gram of a material; oxides turned into elements.

    >>> round(shares_of(Material(material="x", k2o_pct=50.0))["K"], 4)
    0.4151
    """
    held = {e: getattr(material, field) or 0.0 for e, field in _BY_ELEMENT.items()}
    held |= {
        e: (getattr(material, field) or 0.0) / oxide_factor(e) for e, field in _BY_OXIDE.items()
    }
    return {element: pct / 100 for element, pct in held.items() if pct > 0}


def feedstuffs(materials: Sequence[Material]) -> tuple[tuple[Feedstuff, ...], tuple[str, ...]]:
    """Return the materials that a plan can use, and the names of those without a usable price.

    A price per litre needs the density. What brings no element of the plan is left out.
    """
    used: list[Feedstuff] = []
    unpriced: list[str] = []
    for one in materials:
        shares = shares_of(one)
        if not any(shares.get(e, 0.0) >= TRACE for e in PLANNED):
            continue
        price = _per_kg(one, one.price)
        if price is None:
            unpriced.append(one.material)
        else:
            used.append(_feedstuff(one, shares, price))
    return tuple(used), tuple(unpriced)


def _feedstuff(one: Material, shares: Mapping[str, float], price: float) -> Feedstuff:
    acid = one.caco3_equivalent
    return Feedstuff(
        name=one.material,
        shares=shares,
        price_kg=price,
        soluble=one.form != "granular",
        caco3=acid if acid is not None else _published(one.material, "caco3_equivalent"),
        salt_index=one.salt_index or _published(one.material, "salt_index") or 0.0,
        max_rate=_grams(one, one.max_rate),
        max_year=_grams(one, one.max_per_year),
        interval_d=one.min_interval_d or 0.0,
        stock_kg=_mass(one, one.stock) or 0.0,
        pack_kg=_mass(one, one.pack),
        density_kg_l=one.density_kg_l,
    )


def _published(name: str, what: str) -> float | None:
    key = f"materials.{name.strip().lower().replace(' ', '_')}.{what}"
    held = look_up(key).value if key in evidence() else None
    return held if isinstance(held, float) else None


def _per_kg(one: Material, price: float | None) -> float | None:
    if price is None or one.price_unit != "per L":
        return price
    return price / one.density_kg_l if one.density_kg_l else None


def _mass(one: Material, amount: float | None) -> float | None:
    """Return an amount of the store in kg: what is priced by the litre is kept by the litre."""
    if amount is None or one.price_unit != "per L":
        return amount
    return amount * (one.density_kg_l or 1.0)


def _grams(one: Material, rate: float | None) -> float | None:
    """Return a rate of the label as g/m2 of product; a volume needs the density."""
    if rate is None:
        return None
    unit = one.max_rate_unit or "g/m2"
    if "L" in unit.split("/")[0] or unit.startswith(("floz", "gal")):
        return to_unit(rate, unit, "mL/m2") * (one.density_kg_l or 1.0)
    return to_unit(rate, unit, "g/m2")


def supplied(material: Feedstuff, rate_g_m2: float) -> dict[str, float]:
    """Return what a rate of a material brings [g/m2 of each element]."""
    return {element: rate_g_m2 * share for element, share in material.shares.items()}
