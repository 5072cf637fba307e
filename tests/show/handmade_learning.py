"""Answers about learning, written by hand for an invented course; every number is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate, normal_estimate
from tests.show import handmade
from tests.show.handmade import GREENS, MADE, ON, RECORD, SCORE_BAND, SPEED_BAND

INCH = 0.0254
BEGAN = ON - timedelta(days=14)
PARTS = {
    "work:roll": (3.0, 0.8),
    "work:mow": (1.5, 0.6),
    "weather": (-0.6, 0.9),
    "growth": (-1.2, 0.5),
    "green": (0.0, 0.0),
    "unexplained": (0.8, 1.4),
}
"""Parts of a change of speed [in] and their spread; by hand they add up to 3.5 in."""


def speed_part(inches: float, sd: float) -> Estimate:
    """Return a change of green speed from inches."""
    return normal_estimate(inches * INCH, sd * INCH, "m", basis="draws")


def why_row(part: str, held: Estimate, **extra: Any) -> dict[str, Any]:
    """Return one finding of why."""
    return {
        "green": "course",
        "quantity": "green_speed",
        "method": "",
        "from": BEGAN,
        "to": ON,
        "part": part,
        "estimate": held,
        **extra,
    }


def why(green: str = "course", against: str = "") -> Answer:
    """Return a change of speed between two days, or between two greens, split into parts."""
    held = [why_row(part, speed_part(*size), green=green) for part, size in PARTS.items()]
    held.append(why_row("total", speed_part(3.5, 1.1), green=green))
    start = 9.1 * 12 * INCH
    ends = [(BEGAN, start), (ON, start + 3.5 * INCH)]
    if against:
        ends = [(ON, start)]
    levels = [_level(green, day, value) for day, value in ends]
    if against:
        levels = [_level(against, ON, start), _level(green, ON, start + 3.5 * INCH)]
    worked = [_work(ON - timedelta(days=d), "roll", "done") for d in (1, 3, 5, 9)]
    more = {"levels": levels, "greens": GREENS, "against": against, "work": worked}
    return Answer("why", ON, RECORD, findings=tuple(held), made_by=MADE, more=more)


def _level(green: str, day: date, value: float) -> dict[str, Any]:
    held = normal_estimate(value, 1.2 * INCH, "m")
    return {
        "green": green,
        "quantity": "green_speed",
        "method": "",
        "date": day,
        "estimate": held,
    }


def _work(day: date, practice: str, status: str) -> dict[str, Any]:
    return {"date": day, "practice": practice, "greens": ["all"], "status": status}


def _seen(value: float, sd: float, unit: str) -> tuple[Estimate, dict[str, float]]:
    from statistics import NormalDist

    shares = (0.05, 0.25, 0.5, 0.75, 0.95)
    told = {str(share): NormalDist(value, sd).inv_cdf(share) for share in shares}
    return normal_estimate(value, sd, unit, basis="draws"), told


def ahead_rows(green: str, days: int, *, quantity: str = "green_speed") -> list[dict[str, Any]]:
    """Return the days ahead of one green or the course: slowing, the band widening."""
    unit, start, slope, sd = {
        "green_speed": ("m", 9.4 * 12 * INCH, -0.3 * INCH, 1.6 * INCH),
        "smoothness": ("score", 7.4, -0.02, 0.22),
    }[quantity]
    start += 0.0 if green == "course" else (int(green) % 5 - 2) * sd / 2
    made = []
    for k in range(1, days + 1):
        held, told = _seen(start + slope * k, sd * (1 + k / 9), unit)
        made.append(
            {
                "green": green,
                "quantity": quantity,
                "method": "",
                "date": ON + timedelta(days=k),
                "estimate": held,
                "quantiles": told,
            }
        )
    return made


def _past(days: int = 21) -> list[dict[str, Any]]:
    made = []
    for k in range(-days, 1):
        wave = 2.2 * INCH * ((k * 7) % 5 - 2) / 2
        row = _level("course", ON + timedelta(days=k), 9.4 * 12 * INCH + wave)
        made.append(row)
        score = normal_estimate(7.4 + 0.1 * ((k * 3) % 4 - 2), 0.2, "score")
        made.append({**row, "quantity": "smoothness", "estimate": score})
    return made


def forecast(days: int = 14, *, event: bool = False, greens: tuple[str, ...] = GREENS) -> Answer:
    """Return an answer of forecast with a past, readings, work and targets."""
    held = [
        row
        for quantity in ("green_speed", "smoothness")
        for green in ("course", *greens)
        for row in ahead_rows(green, days, quantity=quantity)
    ]
    day = ON + timedelta(days=9)
    if event:
        held = [{**row, **({"in_target": 0.62} if row["date"] == day else {})} for row in held]
    read = [
        {"green": str(k), "quantity": "green_speed", "method": "", "date": ON - timedelta(days=k)}
        | {"value": (9.2 + 0.05 * k) * 12 * INCH}
        for k in range(0, 20, 3)
    ]
    worked = [_work(ON - timedelta(days=d), "roll", "done") for d in (1, 3, 5, 9, 12)]
    worked += [_work(ON - timedelta(days=8), "topdress", "done")]
    worked += [_work(ON + timedelta(days=d), "roll", "planned") for d in (2, 4, 9)]
    more = {
        "greens": greens,
        "days": days,
        "plan": "record",
        "weather": {"forecast": 5, "typical": days - 5, "unknown": 0},
        "past": _past(),
        "read": read,
        "work": worked,
        "targets": {"green_speed": SPEED_BAND, "smoothness": SCORE_BAND},
        "event": {"name": "Club day", "date": day} if event else None,
    }
    return Answer("forecast", ON, RECORD, findings=tuple(held), made_by=MADE, more=more)


def track_row(what: str, value: float, **extra: Any) -> dict[str, Any]:
    """Return one finding of track."""
    return {
        "what": what,
        "quantity": "green_speed",
        "horizon_days": None,
        "level": None,
        "value": value,
        "n": 240,
        **extra,
    }


SHARES = {0.5: 0.47, 0.8: 0.78, 0.9: 0.88, 0.95: 0.95}
SKILL = {
    1: {"persistence": 0.31, "climatology": 0.44, "seasonal-naive": 0.5},
    3: {"persistence": 0.26, "climatology": 0.3, "seasonal-naive": 0.42},
    7: {"persistence": 0.19, "climatology": 0.17, "seasonal-naive": 0.33},
    14: {"persistence": 0.21, "climatology": -0.04, "seasonal-naive": 0.2},
}


def track() -> Answer:
    """Return an answer of track with everything judged."""
    held = [track_row("coverage", share, level=level) for level, share in SHARES.items()]
    held += [
        track_row("coverage", share + 0.02, level=level, quantity="smoothness", n=90)
        for level, share in SHARES.items()
    ]
    for days, rules in SKILL.items():
        for rule, value in {**rules, "last-reading-plus-trend": 0.38}.items():
            held.append(track_row("skill", value, horizon_days=days, against=rule, n=60))
    held += [track_row("mean_error", -0.4 * INCH * d, horizon_days=d, n=60) for d in SKILL]
    held.append(track_row("gain_slope", 0.8, n=11, quantity="green_speed"))
    return Answer("track", ON, RECORD, findings=tuple(held), made_by=MADE)


def untracked(**more: Any) -> Answer:
    """Return an answer of track before anything came due."""
    return Answer("track", ON, RECORD, made_by=MADE, more=more)


def _rolled(horizon: float, inches: float, sd: float) -> Estimate:
    return normal_estimate(inches * INCH * 0.5**horizon, sd * INCH * 0.6**horizon, "m")


def effects() -> Answer:
    """Return an answer of effects in which rolling was learned and sanding was not."""
    rows = []
    for horizon in (0, 1, 2):
        told = {"share_local": 0.82, "separable": "yes", "n_events": 96, "half_life_days": 1.0}
        told["reason"] = "the crew rolled or not on mornings that looked alike"
        here, before = _rolled(horizon, 6.2, 0.9), _rolled(horizon, 8.0, 2.4)
        rows.append(handmade.effect("roll", "green_speed", horizon, before, here=here, **told))
    for place, green in enumerate(GREENS):
        here = _rolled(0, 6.2 + 0.5 * (place % 5 - 2) + (4.0 if green == "7" else 0.0), 1.4)
        told = {"share_local": 0.6, "separable": "yes", "n_events": 40}
        row = handmade.effect("roll", "green_speed", 0, _rolled(0, 8.0, 2.4), here=here, **told)
        rows.append({**row, "green": green, "half_life_days": 1.0})
    mow = {"dose": {"value": -0.25, "unit": "mm"}, "half_life_days": None, "n_events": 12}
    mow |= {"share_local": 0.4, "separable": "partly"}
    mow["reason"] = "height was changed in few steps, and each in another season"
    before = normal_estimate(3.5 * INCH, INCH, "m")
    lower = normal_estimate(2.9 * INCH, 0.7 * INCH, "m")
    rows.append(handmade.effect("mow", "green_speed", 7, before, here=lower, **mow))
    sand = {"dose": {"value": 0.5, "unit": "L/m2"}, "half_life_days": None, "n_events": 2}
    sand["reason"] = "it was done twice, on all greens at once"
    held = normal_estimate(0.6, 0.3, "score")
    rows.append(handmade.effect("topdress", "smoothness", 14, held, **sand))
    core = {"dose": {"value": 5.0, "unit": "%"}, "n_events": 0, "half_life_days": None}
    core["reason"] = "it is not in the record"
    slow = normal_estimate(-6 * INCH, 3 * INCH, "m")
    rows.append(handmade.effect("core", "green_speed", 7, slow, **core))
    more = {"greens": GREENS, "learned": [LEARNED_ROLL, LEARNED_SAND]}
    return Answer("effects", ON, RECORD, findings=tuple(rows), made_by=MADE, more=more)


LEARNED_ROLL = {
    "practice": "roll",
    "outcome": "green_speed",
    "dose": {"value": 1.0, "unit": "pass"},
    "curve": [
        {"day": d, "prior": _rolled(d, 8.0, 2.4), "here": _rolled(d, 6.2, 0.9)} for d in range(6)
    ],
    "compared": {
        "with_n": 812,
        "without_n": 2410,
        "before_with": normal_estimate(-2.4 * INCH, 0.3 * INCH, "m"),
        "before_without": normal_estimate(0.8 * INCH, 0.2 * INCH, "m"),
        "overlap": 0.4,
        "coin_flips": 118.0,
    },
    "plain": normal_estimate(2.6 * INCH, 0.5 * INCH, "m"),
    "readings_alone": normal_estimate(4.6 * INCH, 0.7 * INCH, "m"),
    "need": [
        {"strength": s, "words": w, "estimate": normal_estimate(e * INCH, 0.9 * INCH, "m")}
        for s, w, e in (
            (0.0, "had the look of the surface played no part", 4.6),
            (0.5, "had it played half the part it seems to", 5.4),
            (2.0, "had it played twice the part it seems to", 7.7),
        )
    ],
    "trial": None,
}
LEARNED_SAND = {
    "practice": "topdress",
    "outcome": "smoothness",
    "dose": {"value": 0.5, "unit": "L/m2"},
    "trial": {
        "greens": ["2", "5", "8"],
        "days": 3,
        "readings": 108,
        "minutes": 90,
        "surface_cost": normal_estimate(-0.4, 0.2, "score"),
    },
}


def today_with_ahead(days: int = 14) -> Answer:
    """Return today with the forecast that was given today."""
    told = [
        row
        for quantity in ("green_speed", "smoothness")
        for row in ahead_rows("course", days, quantity=quantity)
    ]
    held = handmade.today()
    return replace(held, more={**held.more, "ahead": told})
