"""Answers written by hand for an invented course; every number here is invented."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate, draws_estimate, normal_estimate
from greenwright.base.values import Course

ON = date(2026, 6, 5)
GREENS = tuple(str(n) for n in range(1, 19))
FEET = Course(course="heron", name="Heron Fen", currency="EUR", setting="member")
METRES = Course(course="heron", name="Heron Fen", speed_units="m", currency="EUR")
US = Course(course="marsh", name="Marsh End", display_units="us", currency="USD")
RECORD = {"course": "heron", "name": "Heron Fen", "readings": 812, "last_reading": "2026-06-04"}
MADE = {"program": "greenwright 0.1", "model": "first-floor 1", "seconds": 0.2}
SPEED_BAND = {"low": 2.75, "high": 3.05, "default": False}
SCORE_BAND = {"low": 8.0, "high": 10.0, "default": True}


def speed(feet: float, sd_in: float, n: int = 12) -> Estimate:
    """Return an estimate of green speed from feet and inches of spread."""
    return normal_estimate(feet * 0.3048, sd_in * 0.0254, "m", n=n)


def today_row(green: str, quantity: str, estimate: Estimate, **extra: Any) -> dict[str, Any]:
    """Return one finding of today."""
    return {
        "green": green,
        "quantity": quantity,
        "method": "",
        "estimate": estimate,
        "in_target": 0.6,
        "last_read": "2026-06-04",
        "change_7d": normal_estimate(0.05, 0.05, estimate.unit),
        **extra,
    }


def _speed_of(green: str) -> Estimate:
    return speed(9.3 + 0.06 * (int(green) % 7) - (1.0 if green == "7" else 0.0), 2.4)


def today(greens: tuple[str, ...] = GREENS) -> Answer:
    """Return a full answer of today; green 7 is slow."""
    course = {"between_greens_sd": normal_estimate(0.08, 0.02, "m"), "odd_greens": ["7"]}
    rows = [today_row("course", "green_speed", speed(9.42, 2.0), target=SPEED_BAND, **course)]
    rows += [today_row(g, "green_speed", _speed_of(g), target=SPEED_BAND) for g in greens]
    score = normal_estimate(7.4, 0.25, "score", n=9)
    calm = {"between_greens_sd": None, "odd_greens": []}
    rows.append(
        today_row("course", "smoothness", score, target=SCORE_BAND, **{**calm, "in_target": 0.02})
    )
    rows += [
        today_row(g, "smoothness", normal_estimate(7.0 + int(g) % 4 / 3, 0.4, "score"))
        | {"target": SCORE_BAND, "in_target": 0.1}
        for g in greens
    ]
    wet = normal_estimate(21.0, 1.2, "%", n=6)
    rows.append(today_row("course", "moisture", wet, in_target=None, change_7d=None, **calm))
    return Answer(
        question="today",
        as_of=ON,
        record=RECORD,
        findings=tuple(rows),
        gaps=(
            {
                "about": "firmness",
                "text": "Firmness has never been read here.",
                "why": "without a reading nothing can be said of it",
                "reading": {"kind": "firmness", "green": "7", "n": 5, "minutes": 4.0},
            },
        ),
        cautions=({"kind": "observer", "observer": "ana", "text": "ana reads lower"},),
        sources=(
            {
                "key": "measure.green_speed.day_sd",
                "value": 0.08,
                "unit": "m",
                "grade": "elicited",
                "citation": "",
            },
        ),
        made_by=MADE,
        more={"greens": greens},
    )


def effect(practice: str, outcome: str, horizon: float, held: Estimate, **extra: Any) -> dict:
    """Return one finding of effects; here equals elsewhere unless told."""
    return {
        "green": "course",
        "practice": practice,
        "outcome": outcome,
        "method": "",
        "dose": {"value": 1.0, "unit": "pass"},
        "horizon_days": horizon,
        "prior": held,
        "here": held,
        "share_local": 0.0,
        "separable": "cannot tell",
        "reason": "no effect is learned from this record yet",
        "n_events": 14,
        "half_life_days": 1.0,
        **extra,
    }


def effects() -> Answer:
    """Return an answer of effects with outside numbers only."""
    inch = 0.0254
    rolls = [normal_estimate(m * inch, 2.2 * inch, "m", basis="prior") for m in (8, 4, 2)]
    rows = [effect("roll", "green_speed", h, e) for h, e in enumerate(rolls)]
    rows.append(effect("roll", "smoothness", 1, normal_estimate(0.3, 0.2, "score", basis="prior")))
    mow = {"dose": {"value": -0.25, "unit": "mm"}, "half_life_days": None}
    rows.append(effect("mow", "green_speed", 7, normal_estimate(3.5 * inch, inch, "m"), **mow))
    sand = {"dose": {"value": 0.5, "unit": "L/m2"}, "half_life_days": None, "n_events": 2}
    for horizon, moved in ((2, -4.0), (7, 0.5), (14, 1.5)):
        held = normal_estimate(moved * inch, 1.6 * inch, "m")
        rows.append(effect("topdress", "green_speed", horizon, held, **sand))
    for horizon, moved in ((2, -0.6), (7, 0.2), (14, 0.6)):
        held = normal_estimate(moved, 0.25, "score")
        rows.append(effect("topdress", "smoothness", horizon, held, **sand))
    return Answer(question="effects", as_of=ON, record=RECORD, findings=tuple(rows), made_by=MADE)


def job(day: int, practice: str, greens: tuple[str, ...], **extra: Any) -> dict[str, Any]:
    """Return one choice of the week, `day` days after ON."""
    gain = draws_estimate([0.08, 0.10, 0.12, 0.15, 0.18, 0.2], "m")
    return {
        "date": ON + timedelta(days=day),
        "greens": greens,
        "practice": practice,
        "amount": None,
        "unit": "",
        "passes": 1.0,
        "material": "",
        "labour_h": 0.42,
        "reason": "speed is under the target and a pass lasts over the weekend",
        "effects": [{"quantity": "green_speed", "horizon_days": 1, "estimate": gain}],
        "confidence": "act",
        "changes_mind": "a speed reading over 9'0\" on Thursday evening",
        "stops": ["frost on the leaf", "standing water"],
        **extra,
    }


def _by_day(start_ft: float, per_day_ft: float) -> list[dict[str, Any]]:
    made = []
    for k in range(1, 8):
        day = ON + timedelta(days=k)
        made.append(
            {
                "date": day,
                "quantity": "green_speed",
                "estimate": speed(start_ft + per_day_ft * k, 2.5 + 0.4 * k),
            }
        )
        score = normal_estimate(7.4 + 0.05 * per_day_ft * 10 * k, 0.3, "score")
        made.append({"date": day, "quantity": "smoothness", "estimate": score})
    return made


def week() -> Answer:
    """Return an answer of week with mowing, rolling and one topdressing."""
    half = GREENS[:6]
    choices = [job(d, "mow", GREENS, amount=3.4, unit="mm", labour_h=2.5) for d in range(1, 8)]
    choices += [job(d, "roll", half, group="A") for d in (2, 4, 6)]
    choices.append(
        job(3, "topdress", half, amount=0.3, unit="L/m2", material="dry-sand", labour_h=3.0)
        | {"confidence": "try", "group": "A"}
    )
    plans = {
        "advised": {"in_target": 0.62, "complaints": 1.2, "labour_h": 21.8, "cost": 480.0},
        "usual": {"in_target": 0.55, "complaints": 1.4, "labour_h": 22.5, "cost": 495.0},
        "nothing": {"in_target": 0.08, "complaints": 4.6, "labour_h": 0.0, "cost": 0.0},
    }
    losses = {"advised": 6.1, "usual": 7.9, "nothing": 24.3}
    paths = {"advised": (9.3, 0.06), "usual": (9.3, 0.02), "nothing": (9.2, -0.12)}
    plans = {k: {**v, "loss": losses[k], "by_day": _by_day(*paths[k])} for k, v in plans.items()}
    return Answer(
        question="week",
        as_of=ON,
        record=RECORD,
        choices=tuple(choices),
        gaps=({"text": "No hours of the crew were entered; usual hours are used."},),
        cautions=({"kind": "safety", "text": "Machines: guards on."},),
        made_by=MADE,
        more={
            "plans": plans,
            "leave_outs": [],
            "greens": GREENS,
            "targets": {"green_speed": SPEED_BAND, "smoothness": SCORE_BAND},
        },
    )
