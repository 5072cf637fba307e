"""What is not known of the weather, and what to mind."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from greenwright.base.evidence import look_up, value
from greenwright.base.values import Snapshot
from greenwright.desk import cautions, gaps
from greenwright.desk.answering import Row
from greenwright.desk.weathering.wet import UNGIVEN_D, given_lately
from greenwright.weather.daily import RiskDays
from greenwright.weather.given import GivenDay
from greenwright.weather.greens import GreenWater

TOLD = frozenset(["t_min_c", "t_max_c", "rain_mm", "rh_mean_pct", "wind_m_s", "solar_mj_m2"])
"""Numbers whose absence from a day is worth a word."""
NEAR_D = 30
STALE_D = 3
_WORDS = {
    "rh_mean_pct": "humidity",
    "rh90_h": "the hours over 90 % humidity",
    "leaf_wet_h": "leaf wetness",
    "t_min_c": "the lowest temperature",
    "t_max_c": "the highest temperature",
    "t_mean_c": "temperature",
}


def gaps_of(
    snapshot: Snapshot,
    days: Sequence[GivenDay],
    water: GreenWater | None,
    risks: Sequence[RiskDays],
) -> tuple[Row, ...]:
    """Return what is not known, most useful first."""
    rows = [*_ahead(days, snapshot.as_of), *_place(snapshot), *_dry(snapshot, water)]
    if water is not None:
        rows += [*_ungiven(snapshot, water), *_unread(snapshot, water), *_common(water)]
    return (*rows, *_unanswered(days, snapshot.as_of, risks))


def _gap(about: str, text: str, why: str, reading: Row | None = None) -> Row:
    return {"about": about, "text": text, "why": why, "reading": reading}


def _ahead(days: Sequence[GivenDay], on: date) -> list[Row]:
    coming = [day for day in days if day.weather.date > on]
    typical = sum(day.weather.kind == "typical" and day.known for day in coming)
    unknown = sum(not day.known for day in coming)
    why = "water use, risk days and growth ahead hang on it"
    made = []
    if typical:
        which = "one day" if typical == 1 else f"{typical} of the days"
        made.append(
            _gap(
                "forecast",
                f"No forecast is in the record for {which} ahead: days usual for the season here "
                "stand in, with a wider range, and say nothing of disease.",
                why,
            )
        )
    if unknown:
        made.append(
            _gap(
                "forecast",
                f"Of {unknown} days ahead nothing is known: no forecast, and too few days seen in "
                "this season.",
                why,
            )
        )
    return made


def _place(snapshot: Snapshot) -> list[Row]:
    if snapshot.course.latitude is not None:
        return []
    text = "The course's latitude is not in the record, so water use cannot be worked out."
    return [_gap("latitude", text, "the height of the sun decides what the grass uses")]


def _dry(snapshot: Snapshot, water: GreenWater | None) -> list[Row]:
    if water is not None or snapshot.course.latitude is None:
        return []
    text = "The record holds no rain, or no weather up to today: no water balance can be drawn up."
    return [_gap("rain", text, "a balance needs what came and what went")]


def _ungiven(snapshot: Snapshot, water: GreenWater) -> list[Row]:
    """Return the gap of a record that says of no water given while the greens dry out."""
    on = min(water.at(snapshot.as_of), len(water.days) - 1)
    dry = water.balance.deficit[on].mean() >= water.balance.refill[on].mean()
    if not dry or given_lately(water, snapshot.as_of) > 0:
        return []
    days = min(on + 1, UNGIVEN_D)
    return [
        _gap(
            "watering",
            f"No watering is in the record for the last {days} days: the balance takes it that "
            "none was given.",
            "what was given and not written down looks like drought",
        )
    ]


def _unread(snapshot: Snapshot, water: GreenWater) -> list[Row]:
    """Return the gap of greens whose moisture was not read lately, with the loosest of them."""
    on = min(water.at(snapshot.as_of), len(water.days) - 1)
    recent = water.read[max(on - STALE_D + 1, 0) : on + 1].any(axis=0)
    old = [key for key, seen in zip(water.zones.greens, recent, strict=True) if not seen]
    if not old:
        return []
    spread = dict(zip(water.zones.greens, water.balance.sd[on], strict=True))
    loosest = max(old, key=lambda key: spread[key])
    every = len(old) == len(water.zones.greens)
    which = "any green" if every else f"{len(old)} of the greens"
    return [
        _gap(
            "moisture",
            f"Moisture was not read on {which} in the last {STALE_D} days: the balance there runs "
            "on weather alone.",
            "a reading puts the balance right",
            gaps.reading("moisture", loosest),
        )
    ]


def _common(water: GreenWater) -> list[Row]:
    zones = water.zones
    made = []
    if "common" in zones.depth_from:
        deep = 1000 * value("soil.root_depth_default")
        made.append(
            _gap(
                "root_depth",
                f"Root depth was never read on some greens: {deep:g} mm stands in.",
                "it decides how many days of water the grass has",
                {"kind": "root_depth", "green": _first(zones.depth_from, zones.greens), "n": 1},
            )
        )
    if "common" in zones.capacity_from:
        made.append(
            _gap(
                "field_capacity",
                "What the root zone holds when full was neither entered nor seen after soakings: "
                "common figures stand in.",
                "deficits are counted from there",
                gaps.reading("moisture", _first(zones.capacity_from, zones.greens)),
            )
        )
    if not all(zones.own_coefficient):
        made.append(
            _gap(
                "default:crop_coefficient",
                "No crop coefficient was entered for some greens: the mean of turf stands in.",
                "a local one would narrow water use",
            )
        )
    return made


def _first(sources: Sequence[str], greens: Sequence[str]) -> str:
    return greens[sources.index("common")]


def _unanswered(days: Sequence[GivenDay], on: date, risks: Sequence[RiskDays]) -> list[Row]:
    """Return the models that had no answer near today for want of a reading."""
    near = np.array([abs((d.weather.date - on).days) <= NEAR_D for d in days])
    made = []
    for one in risks:
        if np.isfinite(one.index[near]).any():
            continue
        lacking = [
            _WORDS.get(name, name)
            for name in one.model.needs
            if not any(_held(d, name) for d, close in zip(days, near, strict=True) if close)
        ]
        text = f"{one.model.label}: no answer within its range in these weeks"
        if lacking:
            text = f"{one.model.label}: no answer without {' and '.join(lacking)}"
        made.append(_gap(f"risk:{one.model.name}", f"{text}.", "nothing is guessed for a disease"))
    return made


def _held(day: GivenDay, name: str) -> bool:
    return getattr(day.weather, name) is not None and name not in day.filled


def cautions_of(
    snapshot: Snapshot,
    told: Sequence[GivenDay],
    water: GreenWater | None,
    unread: Sequence[str],
) -> tuple[Row, ...]:
    """Return what to mind: stand-ins, frost ahead, rain in another unit, rows not read."""
    texts = [*_filled(told, snapshot.as_of), *_rain_year(snapshot)]
    if water is not None and water.unknown_amounts:
        n = water.unknown_amounts
        texts.append(f"{n} rows of water given hold no amount and were left out of the balance.")
    texts += [f"The laboratory's {one} could not be read and was left out." for one in unread]
    return (*_frost(told, snapshot.as_of), *cautions.data(texts))


def _frost(told: Sequence[GivenDay], on: date) -> list[Row]:
    edge = value("limits.frost_air_c")
    cold = [
        d.weather.date
        for d in told
        if d.weather.date > on
        and d.weather.kind == "forecast"
        and d.weather.t_min_c is not None
        and d.weather.t_min_c <= edge
    ]
    if not cold:
        return []
    more = f" and on {len(cold) - 1} more days" if len(cold) > 1 else ""
    text = (
        f"Air of {edge:g} °C or less is forecast on {cold[0].isoformat()}{more}: look for frost "
        "before anybody walks or works on the greens."
    )
    return [{"kind": "weather", "text": text}]


def _filled(told: Sequence[GivenDay], on: date) -> list[str]:
    behind = [d for d in told if d.weather.date <= on]
    gap = [d for d in behind if set(d.filled) & TOLD]
    if not gap:
        return []
    days = "one of the last" if len(gap) == 1 else f"{len(gap)} of the last"
    return [
        f"On {days} {len(behind)} days some weather was not read: neighbouring days or the season "
        "stand in, and widen the ranges."
    ]


def _rain_year(snapshot: Snapshot) -> list[str]:
    """Return a word where a year's rain looks as if it were in another unit."""
    ends: dict[str, float] = look_up("weather.rain_year").value  # type: ignore[assignment]
    last = snapshot.as_of
    first = last - timedelta(days=364)
    rain = {
        row.date: row.rain_mm
        for row in snapshot.weather
        if row.kind == "observed" and row.rain_mm is not None and first <= row.date <= last
    }
    total = sum(rain.values())
    if len(rain) < 330 or ends["low"] <= total <= ends["high"]:
        return []
    return [
        f"The rain of the last year adds up to {total:.0f} mm: is it in another unit (tenths of a "
        "mm, inches)?"
    ]
