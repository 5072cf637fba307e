"""Answers about weather, written by hand for an invented course; every number is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import normal_estimate
from tests.show.handmade import MADE, ON, RECORD

BENT = "creeping bentgrass"
GREENS = ("1", "2", "3")
AHEAD = 6
APPLIED = ON - timedelta(days=9)


def day(k: int) -> date:
    """Return the day k days after ON."""
    return ON + timedelta(days=k)


def kind(k: int) -> str:
    """Return how a day is known: seen, four days forecast, then usual."""
    return "observed" if k <= 0 else "forecast" if k <= 4 else "typical"


def finding(k: int, quantity: str, value: float, unit: str, **more: Any) -> dict[str, Any]:
    """Return one finding of weather."""
    return {
        "date": day(k),
        "kind": kind(k),
        "quantity": quantity,
        "value": value,
        "unit": unit,
        "above_threshold": None,
        "green": "course",
        "filled": k > 4,
        **more,
    }


def deficit(k: int) -> float:
    """Return what is missing at the end of a day [mm]: two more each day, soaked on the -4th."""
    return 2.0 * (k + 4) if k >= -4 else 3.0


def findings() -> list[dict[str, Any]]:
    """Return the days from ten before to six after ON."""
    made = []
    for k in range(-10, AHEAD + 1):
        made.append(finding(k, "growth_potential", 0.8, "1", grass=BENT))
        made.append(finding(k, "degree_days", 15.0, "degC.d", total=900.0 + 15 * k))
        made.append(finding(k, "eto", 4.0, "mm/d", low=3.2, high=4.8))
        level = deficit(k)
        more = {"above_threshold": level >= 16, "low": max(level - 3, 0), "high": level + 3}
        made.append(finding(k, "deficit", level, "mm", **more))
        if k >= -9:
            gdd = 20.0 * (k + 9)
            left = 0.5 ** (gdd / 145)
            more = {"low": left - 0.03, "high": left + 0.03, "state": state(gdd), "total": gdd}
            row = finding(k, "regulator_left", left, "1", above_threshold=gdd >= 200, **more)
            made.append(row | {"green": ";".join(GREENS), "active": "trinexapac-ethyl"})
        if k <= 4:
            risky = k in (2, 3)
            value = 0.31 if risky else 0.12
            made.append(finding(k, "risk:dollar_spot", value, "1", above_threshold=risky))
            made.append(finding(k, "risk:pythium", 0.0, "rule", above_threshold=False))
    return made


def state(gdd: float) -> str:
    """Return the state at so many degree days, as published for bentgrass."""
    return "suppressed" if gdd < 200 else "fading" if gdd < 250 else "rebound risk"


def left(value: float | None, low: float | None, high: float | None) -> dict[str, Any]:
    """Return days left."""
    return {"value": value, "low": low, "high": high}


def water(**changes: Any) -> dict[str, Any]:
    """Return the water of three greens; refill line 16 mm, store 40 mm."""
    daily = [
        {
            "date": day(k), "kind": kind(k), "filled": k > 4, "rain": 12.0 if k == -4 else 0.0,
            "given": 4.0 if k == -7 else 0.0, "use": 2.0, "drained": 0.0, "corrected": 0.0,
            "read": 2 if k == -2 else 0, "deficit": deficit(k),
            "low": max(deficit(k) - 3, 0.0), "high": deficit(k) + 3,
        }
        for k in range(-10, AHEAD + 1)
    ]  # fmt: skip
    held = normal_estimate(8.0, 1.8, "mm", basis="model")
    greens = [
        {
            "green": g, "deficit": held, "refill_mm": 16.0, "store_mm": 40.0,
            "field_capacity_pct": 22.0, "capacity_from": "read", "root_depth_mm": 150.0,
            "depth_from": "common" if g == "3" else "read", "crop_coefficient": 0.8,
            "own_coefficient": False, "last_read": None if g == "3" else day(-2),
            "days_left": left(4.0, 2.4, None if g == "3" else 6.1),
        }
        for g in GREENS
    ]  # fmt: skip
    course = {"deficit": held, "days_left": left(4.0, 2.4, 6.1)}
    made = {"refill_mm": 16.0, "store_mm": 40.0, "watered": True, "daily": daily,
            "greens": greens, "course": course}  # fmt: skip
    return made | changes


def year(usual: bool = True) -> list[dict[str, Any]]:
    """Return the weeks of the year: this week 0.80, usual 0.55."""
    made = []
    first = date(ON.year, 1, 1)
    for week in range(0, 364, 7):
        start = first + timedelta(days=week)
        seen = start + timedelta(days=6) <= ON
        coming = not seen and start <= day(4)
        level = 0.8 if seen or coming else 0.55
        common = {"low": 0.3, "value": 0.55, "high": 0.9} if usual else None
        made.append(
            {
                "date": start,
                "until": start + timedelta(days=6),
                "grass": BENT,
                "value": level,
                "kind": "observed" if seen else "forecast" if coming else "typical",
                "usual": common,
            }
        )
    return made


def use(**changes: Any) -> dict[str, Any]:
    """Return one use of a regulator: 180 degree days ago, fading tomorrow."""
    made = {
        "greens": list(GREENS), "material": "shield", "active": "trinexapac-ethyl", "grass": BENT,
        "applied": APPLIED, "amount": 0.04, "unit": "mL/m2", "base_c": 0.0, "degree_days": 180.0,
        "state": "suppressed", "left": {"value": 0.42, "low": 0.34, "high": 0.49},
        "half_life": 145.5, "reapply_gdd": 200.0, "rebound_gdd": 250.0, "fades": day(1),
        "rebounds": day(4), "top_up": 0.0232,
    }  # fmt: skip
    return made | changes


def risk(name: str, host: str, ahead: tuple[int, int], **changes: Any) -> dict[str, Any]:
    """Return what is told of a disease model: risk days of known days ahead."""
    made = {
        "name": name, "label": name, "host": host, "host_here": True, "threshold": 0.2,
        "own_threshold": False, "unit": "1", "needs": ["rh_mean_pct"], "missing": [],
        "back": {"days": 30, "known": 11, "risk": 0},
        "ahead": {"days": AHEAD, "known": ahead[1], "risk": ahead[0]},
    }  # fmt: skip
    return made | changes


RISKS = (
    risk("dollar_spot", BENT, (2, 4)),
    risk("anthracnose", "annual bluegrass", (0, 0), host_here=False, missing=["leaf_wet_h"],
         back={"days": 30, "known": 0, "risk": 0}),
    risk("pythium", "cool-season turf", (0, 4)),
)  # fmt: skip


def salt(what: str, value: float, unit: str, verdict: str, **changes: Any) -> dict[str, Any]:
    """Return one check of water."""
    made = {
        "what": what, "medium": "water", "green": "", "date": date(2026, 3, 2), "value": value,
        "unit": unit, "verdict": verdict, "watch": 0.7, "severe": 3.0, "lower_is_worse": False,
        "evidence_key": "water_quality.ec",
    }  # fmt: skip
    return made | changes


def weather(**changes: Any) -> Answer:
    """Return a full answer; `changes` go over its `more`."""
    more = {
        "days": AHEAD,
        "greens": list(GREENS),
        "weather": {"forecast": 4, "typical": 2, "unknown": 0, "behind": 11, "observed": 10,
                    "filled": 1, "issued": ON},
        "year": year(),
        "growing_days": [{"grass": BENT, "sum": 40.0, "days": 156, "stood_in": 1}],
        "water": water(),
        "regulators": [use()],
        "risks": list(RISKS),
        "salts": [salt("EC", 0.9, "dS/m", "watch")],
    }  # fmt: skip
    return Answer(
        "weather", ON, RECORD, findings=tuple(findings()), made_by=MADE, more=more | changes
    )


def bare() -> Answer:
    """Return an answer of a record with next to no weather: nothing but a gap."""
    answer = weather(year=[], water=None, regulators=[], risks=[], salts=[], growing_days=[])
    gap = {"about": "forecast", "text": "Of 6 days ahead nothing is known.", "why": "",
           "reading": None}  # fmt: skip
    return replace(answer, findings=(), gaps=(gap,))
