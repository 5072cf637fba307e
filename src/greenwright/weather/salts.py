"""Salt in irrigation water and soil: salinity, sodium against calcium, bicarbonate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

from greenwright.base.errors import BadInput
from greenwright.base.evidence import look_up

EQUIVALENT_MG: dict[str, float] = {"Na": 22.990, "Ca": 20.039, "Mg": 12.153, "HCO3": 61.017}
"""Milligrams of a milliequivalent: atomic or molecular mass over charge."""

VERDICTS: tuple[str, ...] = ("none", "watch", "severe")


@dataclass(frozen=True, slots=True)
class Salt:
    """One check of one sample.

    Args:
        what: EC | SAR | HCO3 | RSC | infiltration | pH | soil EC.
        value, unit: of the sample.
        verdict: none | watch | severe.
        watch, severe: where these begin; None where there is no such step.
        lower_is_worse: infiltration: water too pure for its sodium seals the soil.
        evidence_key: what the steps rest on.
    """

    what: str
    value: float
    unit: str
    verdict: str
    watch: float | None
    severe: float | None
    evidence_key: str
    lower_is_worse: bool = False


def sodium_adsorption_ratio(na_mg_l: float, ca_mg_l: float, mg_mg_l: float) -> float:
    """Return SAR = Na / sqrt((Ca + Mg) / 2), each in milliequivalents a litre.

    Args:
        na_mg_l, ca_mg_l, mg_mg_l: content of the water [mg/L].

    Raises:
        BadInput: a content under 0, or neither calcium nor magnesium.

    >>> round(sodium_adsorption_ratio(230.0, 63.8, 20.5), 2)
    6.41
    """
    na, ca, mg = (
        _equivalents(n, mg_l) for n, mg_l in (("Na", na_mg_l), ("Ca", ca_mg_l), ("Mg", mg_mg_l))
    )
    if ca + mg <= 0:
        raise BadInput("water without calcium and magnesium has no sodium adsorption ratio")
    return na / sqrt((ca + mg) / 2)


def residual_carbonate(hco3_mg_l: float, ca_mg_l: float, mg_mg_l: float) -> float:
    """Return bicarbonate less calcium and magnesium [meq/L]; under 0 none is left over.

    >>> round(residual_carbonate(305.0, 40.0, 12.0), 2)
    2.02
    """
    hardness = _equivalents("Ca", ca_mg_l) + _equivalents("Mg", mg_mg_l)
    return _equivalents("HCO3", hco3_mg_l) - hardness


def leaching_share(water_ec: float, soil_ec: float) -> float:
    """Return the share of water over need that keeps the root zone at a salinity.

    EC_w / (5 EC_e - EC_w): the rule of FAO Irrigation and Drainage Paper 29 [memory].

    Args:
        water_ec: of the irrigation water [dS/m].
        soil_ec: wanted in the soil, saturated paste [dS/m].

    Raises:
        BadInput: water so salty that no leaching holds the soil there.

    >>> round(leaching_share(1.5, 3.0), 3)
    0.111
    """
    if water_ec < 0 or soil_ec <= 0 or 5 * soil_ec <= water_ec:
        raise BadInput(
            f"water of {water_ec:g} dS/m cannot hold a soil at {soil_ec:g} dS/m",
            expected="water under five times the soil's salinity",
        )
    return min(water_ec / (5 * soil_ec - water_ec), 1.0)


def water_checks(sample: Mapping[str, float]) -> tuple[Salt, ...]:
    """Return the checks that a water sample allows.

    Args:
        sample: analyte -> content: EC [dS/m]; Na, Ca, Mg, HCO3 [mg/L]; SAR, pH [1].

    Valid for: irrigation water; the steps are those of field crops on soil, not of sand greens.

    Source keys: water_quality.*
    """
    held = dict(sample)
    sar = _sar(held)
    made: list[Salt] = []
    if "EC" in held:
        made.append(_stepped("EC", held["EC"], "dS/m", "water_quality.ec"))
    if sar is not None:
        made.append(_stepped("SAR", sar, "1", "water_quality.sar"))
        made += [_infiltration(held["EC"], sar)] if "EC" in held else []
    if "HCO3" in held:
        made.append(_stepped("HCO3", held["HCO3"], "mg/L", "water_quality.hco3"))
        if {"Ca", "Mg"} <= held.keys():
            rsc = residual_carbonate(held["HCO3"], held["Ca"], held["Mg"])
            made.append(_stepped("RSC", rsc, "mmol/L", "water_quality.rsc"))
    if "pH" in held:
        made.append(_ph(held["pH"]))
    return tuple(made)


def soil_check(ec: float, grass: str) -> Salt | None:
    """Return the check of a soil's salinity [dS/m, saturated paste], or None without a step.

    Source key: water_quality.soil_ec_watch.
    """
    key = "water_quality.soil_ec_watch"
    step = _steps(key).get(grass.replace(" ", "_").replace("-", "_"))
    if step is None:
        return None
    return Salt("soil EC", ec, "dS/m", "watch" if ec >= step else "none", step, None, key)


def _sar(held: Mapping[str, float]) -> float | None:
    if "SAR" in held:
        return held["SAR"]
    if not {"Na", "Ca", "Mg"} <= held.keys() or held["Ca"] + held["Mg"] <= 0:
        return None
    return sodium_adsorption_ratio(held["Na"], held["Ca"], held["Mg"])


def _stepped(what: str, number: float, unit: str, key: str) -> Salt:
    steps = _steps(key)
    watch, severe = steps["watch"], steps["severe"]
    verdict = "none" if number < watch else "watch" if number <= severe else "severe"
    return Salt(what, number, unit, verdict, watch, severe, key)


def _infiltration(ec: float, sar: float) -> Salt:
    """Return whether water seals soil: the purer it is for its sodium, the more."""
    key = "water_quality.infiltration"
    steps = _steps(key)
    row = next((end for end in (3, 6, 12, 20) if sar <= end), 40)
    watch, severe = steps[f"sar_{row}_watch"], steps[f"sar_{row}_severe"]
    verdict = "none" if ec > watch else "watch" if ec >= severe else "severe"
    return Salt("infiltration", ec, "dS/m", verdict, watch, severe, key, lower_is_worse=True)


def _ph(ph: float) -> Salt:
    key = "water_quality.ph"
    ends = _steps(key)
    inside = ends["low"] <= ph <= ends["high"]
    return Salt("pH", ph, "1", "none" if inside else "watch", ends["high"], None, key)


def _equivalents(ion: str, mg_l: float) -> float:
    if mg_l < 0:
        raise BadInput(f"{mg_l:g} mg/L of {ion}", expected="0 or more", where=ion)
    return mg_l / EQUIVALENT_MG[ion]


def _steps(key: str) -> dict[str, float]:
    return look_up(key).value  # type: ignore[return-value]
