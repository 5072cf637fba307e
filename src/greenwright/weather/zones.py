"""The root zones of a course's greens: entered, learned from soakings, or common practice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median, stdev

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.base.evidence import look_up, value
from greenwright.base.values import Green, Reading, Snapshot
from greenwright.weather.crop import crop_coefficient
from greenwright.weather.store import RootZone, depletion_of

Array = NDArray[np.float64]
OWN_COLUMNS: tuple[str, ...] = (
    "field_capacity_pct",
    "wilting_point_pct",
    "root_depth_mm",
    "crop_coefficient",
)
"""Further columns of greens.csv that a course may enter for the water balance."""
_DRY_SHARE = 0.5
"""A wilting point over this share of a field capacity that was read is drawn down to it."""


@dataclass(frozen=True, slots=True)
class Zones:
    """What is taken for each green.

    Args:
        greens: keys in playing order.
        zone: root zones.
        capacity_sd: spread of each field capacity, as a share of volume.
        capacity_from, depth_from: entered | read | common, for each green.
        coefficient, coefficient_sd: crop coefficients.
        own_coefficient: whether each was entered.
        evidence_keys: what stands in.
    """

    greens: tuple[str, ...]
    zone: RootZone
    capacity_sd: Array
    capacity_from: tuple[str, ...]
    depth_from: tuple[str, ...]
    coefficient: Array
    coefficient_sd: Array
    own_coefficient: tuple[bool, ...]
    evidence_keys: frozenset[str]


@dataclass(frozen=True, slots=True)
class Own:
    """What a course asks to be put in place of everything else; None = nothing."""

    crop_coefficient: float | None = None
    root_depth_m: float | None = None


def zones_of(snapshot: Snapshot, soaked: Sequence[date], own: Own | None = None) -> Zones:
    """Return the root zones of the greens in play.

    Field capacity is what greens.csv says, else the middle of the moisture readings on mornings
    after soakings (six at least on the green, else on its kind of root zone), else common
    practice. Root depth is what greens.csv says, else the last reading, else a usual one.

    Args:
        snapshot: the record as known on its `as_of`.
        soaked: days whose next morning found the root zones full.
        own: in place of everything else, for every green.

    Raises:
        BadInput: an entered number that no green has.
    """
    own = own or Own()
    held = [green for green in snapshot.greens if green.in_play]
    read = _after(snapshot, frozenset(soaked))
    depths = _depths(snapshot)
    capacity = [_capacity(green, held, read) for green in held]
    depth = [_depth(green, depths, own) for green in held]
    wilting = [_wilting(green, full) for green, (full, _, _, _) in zip(held, capacity, strict=True)]
    crops = [
        crop_coefficient(g.grass, own.crop_coefficient or _entered(g, "crop_coefficient"))
        for g in held
    ]
    shares = [depletion_of(green.grass) for green in held]
    keys = {key for *_, key in capacity} | {key for *_, key in depth} | {key for _, key in wilting}
    keys |= {key for _, key in shares} | {key for crop in crops for key in crop.evidence_keys}
    return Zones(
        tuple(green.green for green in held),
        RootZone(
            np.array([full for full, *_ in capacity]),
            np.array([dry for dry, _ in wilting]),
            np.array([deep for deep, *_ in depth]),
            np.array([share for share, _ in shares]),
        ),
        np.array([sd for _, sd, _, _ in capacity]),
        tuple(source for _, _, source, _ in capacity),
        tuple(source for _, source, _ in depth),
        np.array([crop.value for crop in crops]),
        np.array([crop.sd for crop in crops]),
        tuple(crop.own for crop in crops),
        frozenset(key for key in keys if key),
    )


def _after(snapshot: Snapshot, soaked: frozenset[date]) -> dict[str, list[float]]:
    """Return the moisture of mornings after soakings by green, one mean a day [%]."""
    found: dict[tuple[str, date], list[float]] = {}
    for one in snapshot.readings:
        if one.kind == "moisture" and one.date - timedelta(days=1) in soaked:
            found.setdefault((one.green, one.date), []).append(one.value)
    by_green: dict[str, list[float]] = {}
    for (green, _), values in found.items():
        by_green.setdefault(green, []).append(sum(values) / len(values))
    return by_green


def _capacity(
    green: Green, greens: Sequence[Green], read: Mapping[str, list[float]]
) -> tuple[float, float, str, str]:
    """Return field capacity, its sd, where it comes from and the evidence key that stands in."""
    entered = _entered(green, "field_capacity_pct")
    if entered is not None:
        return _share(entered, "field_capacity_pct"), 0.01, "entered", ""
    enough = int(value("water.soaking_readings"))
    alike = [g.green for g in greens if g.rootzone == green.rootzone]
    for seen in (read.get(green.green, []), [x for key in alike for x in read.get(key, [])]):
        if len(seen) >= enough and 3 <= median(seen) <= 65:
            own_sd = stdev(seen) / len(seen) ** 0.5
            return median(seen) / 100, max(own_sd / 100, 0.005), "read", "water.soaking"
    key = f"soil.{_soil(green)}.field_capacity"
    common = look_up(key)
    spread = ((common.high or 0.0) - (common.low or 0.0)) / (2 * 1.645)
    return float(common.value), spread, "common", key  # type: ignore[arg-type]


def _wilting(green: Green, full: float) -> tuple[float, str]:
    entered = _entered(green, "wilting_point_pct")
    if entered is not None:
        return _share(entered, "wilting_point_pct"), ""
    key = f"soil.{_soil(green)}.wilting_point"
    return min(value(key), _DRY_SHARE * full), key


def _depth(green: Green, read: Mapping[str, float], own: Own) -> tuple[float, str, str]:
    entered = _entered(green, "root_depth_mm")
    if own.root_depth_m is not None or entered is not None:
        metres = own.root_depth_m if own.root_depth_m is not None else (entered or 0.0) / 1000
        if not 0.02 <= metres <= 1.5:
            raise BadInput(f"roots of {metres:g} m", where="root_depth", expected="0.02 to 1.5 m")
        return metres, "entered", ""
    if green.green in read and read[green.green] >= 20:
        return read[green.green] / 1000, "read", ""
    return value("soil.root_depth_default"), "common", "soil.root_depth_default"


def _depths(snapshot: Snapshot) -> dict[str, float]:
    """Return the root depth read last on each green [mm], its mean of that day."""
    rows: list[Reading] = [r for r in snapshot.readings if r.kind == "root_depth"]
    last = {}
    for row in rows:
        last[row.green] = max(row.date, last.get(row.green, row.date))
    made = {}
    for green, day in last.items():
        seen = [r.value for r in rows if r.green == green and r.date == day]
        made[green] = sum(seen) / len(seen)
    return made


def _soil(green: Green) -> str:
    return "soil" if green.rootzone == "soil" else "sand"


def _share(percent: float, where: str) -> float:
    if not 1 <= percent <= 70:
        raise BadInput(f"{percent:g} % of water", where=where, expected="1 to 70 %")
    return percent / 100


def _entered(green: Green, column: str) -> float | None:
    text = str(green.other.get(column, "")).strip()
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        raise BadInput(
            f"{text!r} is not a number",
            where=f"greens.csv, {column} of green {green.green}",
            expected="a number with a decimal point",
        ) from None
