"""Soil test and mass balance: what the grass will use, less what the soil can give."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import value

# Standard atomic weights, abridged, in g/mol.
_WEIGHT = MappingProxyType(
    {"O": 15.999, "P": 30.974, "K": 39.098, "Ca": 40.078, "Mg": 24.305, "S": 32.06}
)

# The oxide in which fertiliser labels state the element: atoms of the element, atoms of oxygen.
_OXIDE = MappingProxyType(
    {
        "K": ("K2O", 2, 1),
        "P": ("P2O5", 2, 5),
        "Ca": ("CaO", 1, 1),
        "Mg": ("MgO", 1, 1),
        "S": ("SO3", 1, 3),
    }
)

_WHOLE_MG_KG = 1e6

ELEMENTS: tuple[str, ...] = tuple(_OXIDE)
"""Elements for which a Mehlich-3 minimum is known."""


@dataclass(frozen=True, slots=True)
class SoilNeed:
    """The mass balance of one element, all in g/m2 of the sampled depth.

    Args:
        element: K | P | Ca | Mg | S.
        use: what the grass will take up in the period.
        reserve: what is to be left in the soil.
        present: what the test found.
        balance: use + reserve - present; below zero the soil holds more than is wanted.
        need: the balance, never below zero.
        need_oxide: need as the oxide on the label.
        oxide: name of that oxide.
    """

    element: str
    use: float
    reserve: float
    present: float
    balance: float
    need: float
    need_oxide: float
    oxide: str


def per_area(mg_kg: float, *, depth_m: float, density_kg_m3: float) -> float:
    """Return a soil content [mg/kg] as an amount on the ground [g/m2].

    Args:
        mg_kg: content of dry soil, at least 0 [mg/kg].
        depth_m: depth of the sampled layer, above 0 [m].
        density_kg_m3: dry bulk density, above 0 [kg/m3].

    Raises:
        BadInput: a number is not finite or outside its range.

    >>> round(per_area(50, depth_m=0.1, density_kg_m3=1500), 6)
    7.5
    """
    _check_content(mg_kg)
    return mg_kg * _layer_kg_m2(depth_m, density_kg_m3) / 1000


def per_mass(g_m2: float, *, depth_m: float, density_kg_m3: float) -> float:
    """Return an amount on the ground [g/m2] as a soil content [mg/kg].

    Args as in `per_area`; the two undo each other.

    >>> round(per_mass(7.5, depth_m=0.1, density_kg_m3=1500), 6)
    50.0
    """
    _check("amount", g_m2, zero=True)
    return g_m2 * 1000 / _layer_kg_m2(depth_m, density_kg_m3)


def mehlich_minimum(element: str) -> float:
    """Return the Mehlich-3 content below which the soil is not left [mg/kg].

    A statistical guideline for soils of pH 5.5 to 8.5, not a calibration trial; evidence key
    soil.mehlich3.ELEMENT.minimum.

    Raises:
        UnknownKey: no minimum is known for the element.
    """
    return value(f"soil.mehlich3.{_known(element)}.minimum")


def soil_index(element: str, test_mg_kg: float) -> float:
    """Return the share of well-performing soils that hold more than this one, 0..1.

    SI = 1 - x^k / (b^k + x^k), the upper tail of a log-logistic distribution; at the Mehlich-3
    minimum it is 0.9. Evidence keys soil.mehlich3.ELEMENT.scale (b) and .shape (k).

    Args:
        element: K | P | Ca | Mg | S.
        test_mg_kg: Mehlich-3 content, at least 0 [mg/kg].

    Raises:
        UnknownKey: element not in the table. BadInput: content negative or not finite.
    """
    _check_content(test_mg_kg)
    scale = value(f"soil.mehlich3.{_known(element)}.scale")
    shape = value(f"soil.mehlich3.{element}.shape")
    return 1 / (1 + (test_mg_kg / scale) ** shape)


def oxide_name(element: str) -> str:
    """Return the oxide in which labels state the element.

    >>> oxide_name("K")
    'K2O'
    """
    return _OXIDE[_known(element)][0]


def oxide_factor(element: str) -> float:
    """Return the mass of oxide that holds one unit of mass of the element.

    From standard atomic weights.

    >>> round(1 / oxide_factor("K"), 3)
    0.83
    """
    _, atoms, oxygens = _OXIDE[_known(element)]
    held = atoms * _WEIGHT[element]
    return (held + oxygens * _WEIGHT["O"]) / held


def soil_need(
    element: str,
    test_mg_kg: float,
    use_g_m2: float,
    *,
    depth_m: float,
    density_kg_m3: float,
    reserve_mg_kg: float | None = None,
) -> SoilNeed:
    """Return the mass balance of one element: use + reserve - present.

    Args:
        element: K | P | Ca | Mg | S.
        test_mg_kg: Mehlich-3 content of the layer [mg/kg].
        use_g_m2: what the grass will take up in the period [g/m2]; nitrogen rate times the
            leaf's ratio of the element to nitrogen is its upper bound.
        depth_m, density_kg_m3: layer that was sampled [m] and its dry bulk density [kg/m3].
        reserve_mg_kg: what is to be left [mg/kg]; None = the Mehlich-3 minimum.

    Raises:
        UnknownKey: element not in the table. BadInput: a number outside its range.
    """
    _check("use", use_g_m2, zero=True)
    left = mehlich_minimum(element) if reserve_mg_kg is None else reserve_mg_kg
    reserve = per_area(left, depth_m=depth_m, density_kg_m3=density_kg_m3)
    present = per_area(test_mg_kg, depth_m=depth_m, density_kg_m3=density_kg_m3)
    balance = use_g_m2 + reserve - present
    need = max(balance, 0.0)
    oxide, factor = oxide_name(element), oxide_factor(element)
    return SoilNeed(element, use_g_m2, reserve, present, balance, need, need * factor, oxide)


def _layer_kg_m2(depth_m: float, density_kg_m3: float) -> float:
    _check("depth", depth_m)
    _check("bulk density", density_kg_m3)
    return depth_m * density_kg_m3


def _known(element: str) -> str:
    if element not in _OXIDE:
        raise UnknownKey(f"no soil minimum for {element!r}", expected=" | ".join(ELEMENTS))
    return element


def _check_content(mg_kg: float) -> None:
    _check("soil content", mg_kg, zero=True)
    if mg_kg > _WHOLE_MG_KG:
        raise BadInput(
            f"soil content cannot be {mg_kg:g}", expected="at most 1,000,000 mg/kg, the soil itself"
        )


def _check(what: str, number: float, *, zero: bool = False) -> None:
    if not isfinite(number) or number < 0 or (number == 0 and not zero):
        raise BadInput(
            f"{what} cannot be {number}", expected="zero or more" if zero else "more than zero"
        )
