"""What is known of nutrition and disease, at its true strength, where a plan touches it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from greenwright.base.evidence import look_up

LOW_NITROGEN = 10.0
"""Yearly nitrogen [g/m2] of the poorer plots where low nitrogen raised anthracnose."""
_BLUEGRASS = ("annual bluegrass", "bentgrass-bluegrass mix")
_BENTGRASS = ("creeping bentgrass", "bentgrass-bluegrass mix")


@dataclass(frozen=True, slots=True)
class Touch:
    """What a plan does that a claim speaks of.

    Args:
        grasses: of the greens.
        elements: brought by the plan.
        materials: names, lower case.
        nitrogen_year: over the year [g/m2].
        acid: whether a material of the plan acidifies.
        potassium_mg_kg: lowest soil test of potassium, None = not tested.
    """

    grasses: frozenset[str]
    elements: frozenset[str]
    materials: frozenset[str]
    nitrogen_year: float
    acid: bool
    potassium_mg_kg: float | None


@dataclass(frozen=True, slots=True)
class Claim:
    """One claim: what it says, how strong, on what grass and studies, what speaks against it."""

    key: str
    text: str
    strength: str
    grass: str
    study: str
    conflict: str
    here: str


def touched(touch: Touch) -> tuple[Claim, ...]:
    """Return the claims that a plan touches, each with what touches it; the others stay away."""
    return tuple(
        _claim(key, reason) for key, rule in _RULES.items() if (reason := rule(touch)) is not None
    )


def every_claim() -> tuple[str, ...]:
    """Return the evidence keys of all claims that can be touched."""
    return tuple(_RULES)


def _claim(key: str, reason: str) -> Claim:
    entry = look_up(key)
    held = entry.value
    assert isinstance(held, Mapping)
    parts = {name: str(held[name]) for name in ("strength", "grass", "study", "conflict")}
    return Claim(key, entry.label, here=reason, **parts)


def _on(touch: Touch, grasses: tuple[str, ...]) -> bool:
    return bool(touch.grasses & set(grasses))


def _snow_mould(touch: Touch) -> str | None:
    given = "K" in touch.elements and _on(touch, _BENTGRASS)
    return "the plan gives potassium to bentgrass" if given else None


def _snow_mould_bluegrass(touch: Touch) -> str | None:
    given = "K" in touch.elements and _on(touch, _BLUEGRASS)
    return "the plan gives potassium to annual bluegrass" if given else None


def _low_potassium(touch: Touch) -> str | None:
    held = touch.potassium_mg_kg
    ends = look_up("soil.anthracnose_k")
    if not _on(touch, _BLUEGRASS) or held is None or held >= (ends.high or 0.0):
        return None
    return f"a soil test shows {held:.0f} mg/kg of potassium under annual bluegrass"


def _low_nitrogen(touch: Touch) -> str | None:
    if not _on(touch, _BLUEGRASS) or "N" not in touch.elements:
        return None
    if touch.nitrogen_year <= LOW_NITROGEN:
        return f"the year comes to {touch.nitrogen_year:.1f} g/m2 of nitrogen on annual bluegrass"
    return "the plan gives nitrogen to annual bluegrass"


def _form(touch: Touch) -> str | None:
    named = sorted(touch.materials & {"potassium nitrate", "ammonium sulfate"})
    return f"the plan uses {' and '.join(named)}" if named else None


def _dollar_spot(touch: Touch) -> str | None:
    return "the plan gives nitrogen, at a lower rate" if "N" in touch.elements else None


def _summer_patch(touch: Touch) -> str | None:
    return "the plan uses nitrogen that acidifies" if touch.acid else None


def _take_all(touch: Touch) -> str | None:
    named = sorted(touch.materials & {"manganese sulfate", "ammonium sulfate"})
    return f"the plan uses {' and '.join(named)}" if named else None


_RULES: Mapping[str, Callable[[Touch], str | None]] = MappingProxyType(
    {
        "claims.potassium_snow_mould": _snow_mould,
        "claims.potassium_snow_mould_bluegrass": _snow_mould_bluegrass,
        "claims.low_potassium_anthracnose": _low_potassium,
        "claims.low_nitrogen_anthracnose": _low_nitrogen,
        "claims.nitrogen_form_anthracnose": _form,
        "claims.nitrogen_dollar_spot": _dollar_spot,
        "claims.acidifying_nitrogen_summer_patch": _summer_patch,
        "claims.manganese_take_all": _take_all,
    }
)
