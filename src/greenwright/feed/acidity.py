"""What a material does to the soil's acidity, by the charges it brings (Pierre's rule)."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import evidence, value

_CHARGED = MappingProxyType(
    # Standard atomic weight [g/mol], valence, and whether the charge makes sour (+1) or sweet (-1).
    {
        "N": (14.007, 1, 1),
        "S": (32.06, 2, 1),
        "P": (30.974, 1, 1),
        "Cl": (35.45, 1, 1),
        "Ca": (40.078, 2, -1),
        "Mg": (24.305, 2, -1),
        "K": (39.098, 1, -1),
        "Na": (22.990, 1, -1),
    }
)
CHARGED: tuple[str, ...] = tuple(_CHARGED)
"""Elements that the rule counts."""
KEYS = ("acidity.caco3_per_meq", "acidity.nitrogen_share", "acidity.phosphorus_valence")


def caco3_per_100kg(shares_pct: Mapping[str, float]) -> float:
    """Return the acidity of a material [kg CaCO3 per 100 kg]; negative = it acidifies.

    -0.050045 x [1/2 N + S + P + Cl - Ca - Mg - K - Na], each in meq per 100 g; phosphorus counts
    at valence one.

    Args:
        shares_pct: element -> share by mass [%], elements (not oxides), 0..100.

    Valid for: materials taken up as the rule assumes; leaching and slow sulfur are not in it.

    Raises:
        BadInput: an element the rule does not know, a share outside 0..100, or a sum over 100.

    >>> round(caco3_per_100kg({"N": 46.0}), 1)
    -82.2
    """
    _check(shares_pct)
    charge = sum(_charge(element, share) for element, share in shares_pct.items())
    return -value("acidity.caco3_per_meq") * charge or 0.0


def _charge(element: str, share_pct: float) -> float:
    """Return the sour charge of an element [meq per 100 g]."""
    mass, valence, side = _CHARGED[element]
    counted = {"N": value("acidity.nitrogen_share"), "P": value("acidity.phosphorus_valence")}
    return side * share_pct * 1000 * valence * counted.get(element, 1.0) / mass


def _check(shares_pct: Mapping[str, float]) -> None:
    for element, share in shares_pct.items():
        if element not in _CHARGED:
            raise BadInput(f"{element} is not in the rule", expected=", ".join(CHARGED))
        if not 0 <= share <= 100:
            raise BadInput(f"{share:g} % of {element}", expected="0 to 100 %")
    if sum(shares_pct.values()) > 100:
        raise BadInput(
            f"the parts add up to {sum(shares_pct.values()):g} %", expected="at most 100 %"
        )


def generic_names() -> tuple[str, ...]:
    """Return the names of the plain materials that the evidence table knows."""
    ends = ".grade"
    held = [k for k in evidence() if k.startswith("materials.") and k.endswith(ends)]
    return tuple(k.removeprefix("materials.").removesuffix(ends).replace("_", " ") for k in held)


def published_acidity(material: str) -> tuple[float, str]:
    """Return the published acidity of a plain material [kg CaCO3 per 100 kg] and its key.

    Raises:
        UnknownKey: the table has none for it.

    >>> published_acidity("ammonium sulfate")[0]
    -110.0
    """
    key = f"materials.{material.strip().lower().replace(' ', '_')}.caco3_equivalent"
    if key not in evidence():
        raise UnknownKey(f"no acidity is known for {material!r}", expected=", ".join(_with()))
    return value(key), key


def _with() -> list[str]:
    return [
        name
        for name in generic_names()
        if f"materials.{name.replace(' ', '_')}.caco3_equivalent" in evidence()
    ]
