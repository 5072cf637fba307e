"""Salt in the newest samples of irrigation water and soil, units read at this edge."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from greenwright.base.errors import BadInput
from greenwright.base.units import to_unit
from greenwright.base.values import LabResult, Snapshot
from greenwright.desk.answering import Row
from greenwright.weather.salts import EQUIVALENT_MG, Salt, soil_check, water_checks

_EQUIVALENTS = ("meq/l", "me/l", "mmolc/l", "mmol(c)/l")
_LITRE = {"ppm": "mg/L", "": "mg/L"}


def salt_rows(snapshot: Snapshot) -> tuple[list[Row], list[str]]:
    """Return the checks of the newest water and soil samples, and what could not be read.

    Args:
        snapshot: its lab rows; soil salinity counts when extracted with water.
    """
    rows, unread = [], []
    for (_, day), sample in _samples(snapshot.lab, "water").items():
        held, odd = _canonical(sample)
        unread += odd
        rows += [_row(salt, "water", day, sample[0].green) for salt in water_checks(held)]
    grasses = {g.green: g.grass for g in snapshot.greens}
    for (green, day), sample in _samples(snapshot.lab, "soil").items():
        salinity = [r for r in sample if r.analyte == "EC" and r.extractant == "water"]
        held, odd = _canonical(salinity)
        unread += odd
        first = next(iter(grasses.values()), "")
        found = soil_check(held["EC"], grasses.get(green, first)) if "EC" in held else None
        rows += [_row(found, "soil", day, green)] if found else []
    return rows, unread


def evidence_of(rows: Iterable[Row]) -> frozenset[str]:
    """Return the evidence keys behind the checks."""
    return frozenset(str(row["evidence_key"]) for row in rows)


def _samples(lab: Iterable[LabResult], medium: str) -> dict[tuple[str, date], list[LabResult]]:
    """Return the newest sample of each place, its rows together."""
    held: dict[tuple[str, date], list[LabResult]] = {}
    newest: dict[str, date] = {}
    for one in lab:
        if one.medium == medium:
            held.setdefault((one.green, one.date), []).append(one)
            newest[one.green] = max(one.date, newest.get(one.green, one.date))
    return {key: rows for key, rows in held.items() if newest[key[0]] == key[1]}


def _canonical(sample: Iterable[LabResult]) -> tuple[dict[str, float], list[str]]:
    made: dict[str, float] = {}
    unread = []
    for one in sample:
        if one.analyte not in ("EC", "Na", "Ca", "Mg", "HCO3", "SAR", "pH"):
            continue
        try:
            made[one.analyte] = _turned(one)
        except BadInput:
            unread.append(f"{one.analyte} of {one.date} in {one.unit!r}")
    return made, unread


def _turned(one: LabResult) -> float:
    if one.analyte in ("SAR", "pH"):
        return one.value
    if one.analyte == "EC":
        return to_unit(one.value, one.unit or "dS/m", "dS/m")
    unit = one.unit.replace(" ", "")
    if unit.lower() in _EQUIVALENTS:
        return one.value * EQUIVALENT_MG[one.analyte]
    return to_unit(one.value, _LITRE.get(unit, unit), "mg/L")


def _row(salt: Salt, medium: str, day: date, green: str) -> Row:
    return {
        "what": salt.what,
        "medium": medium,
        "green": green,
        "date": day,
        "value": salt.value,
        "unit": salt.unit,
        "verdict": salt.verdict,
        "watch": salt.watch,
        "severe": salt.severe,
        "lower_is_worse": salt.lower_is_worse,
        "evidence_key": salt.evidence_key,
    }
