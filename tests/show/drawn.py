"""Answers drawn at random: any shape that the published schema allows, every number invented."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.tables import practices, quantities
from greenwright.base.values import Course

NAMES = st.sampled_from(
    ["1", "2", "3", "10", "18", "practice", "Övre", "第九", "²", "short game", "g" * 60]
)
COURSES = st.builds(
    Course,
    course=st.just("fen"),
    name=st.sampled_from(["Fen", "Sjöängen", "A course of a very long name " * 4]),
    display_units=st.sampled_from(["metric", "us"]),
    speed_units=st.sampled_from(["ft", "m"]),
    currency=st.sampled_from(["", "EUR", "USD", "SEK"]),
)
DAYS = st.dates(date(2020, 1, 1), date(2030, 12, 31))
HORIZONS = st.sampled_from([0, 1, 2, 7, 14])
CONFIDENCE = st.sampled_from(["act", "try", "read first"])
ENDS = {"m": 6.0, "score": 10.0, "rating": 9.0, "%": 100.0, "mm": 25.0, "": 10.0}


@st.composite
def estimates(draw: st.DrawFn, unit: str, *, signed: bool = False) -> Estimate:
    """Draw a belief whose mean may lie outside its range, as that of a lopsided one does."""
    top = ENDS.get(unit, 300.0)
    low, high = sorted(draw(st.tuples(*[st.floats(-top if signed else 0, top)] * 2)))
    value = low + draw(st.floats(-0.1, 1.1)) * (high - low)
    return Estimate(value, unit, draw(st.floats(0, top)), low, high)


@st.composite
def bands(draw: st.DrawFn, unit: str) -> dict[str, Any] | None:
    """Draw a target: none, one-ended or whole."""
    low, high = sorted(draw(st.tuples(*[st.floats(0, ENDS.get(unit, 300.0))] * 2)))
    shape = draw(st.sampled_from(["none", "low", "high", "both"]))
    if shape == "none":
        return None
    return {
        "low": low if shape != "high" else None,
        "high": high if shape != "low" else None,
        "default": draw(st.booleans()),
    }


@st.composite
def today_rows(draw: st.DrawFn, greens: list[str], on: date) -> list[dict[str, Any]]:
    """Draw the findings of one quantity: the course's and each green's."""
    known = draw(st.sampled_from(list(quantities().values())))
    target = draw(bands(known.unit))
    moved = draw(st.booleans())
    rows = []
    for green in ("course", *greens):
        rows.append(
            {
                "green": green,
                "quantity": known.key,
                "method": draw(st.sampled_from(["", "bench"])) if green == "course" else "",
                "estimate": draw(estimates(known.unit)),
                "in_target": draw(st.floats(0, 1)) if target else None,
                "last_read": draw(st.none() | st.just(on - timedelta(days=3))),
                "change_7d": draw(estimates(known.unit, signed=True)) if moved else None,
                "target": target,
            }
        )
    method = rows[0]["method"]
    rows = [{**row, "method": method} for row in rows]
    odd = draw(st.lists(st.sampled_from(greens), unique=True, max_size=2))
    return [{**rows[0], "between_greens_sd": None, "odd_greens": odd}, *rows[1:]]


@st.composite
def todays(draw: st.DrawFn) -> Answer:
    """Draw an answer of today."""
    on = draw(DAYS)
    greens = draw(st.lists(NAMES, min_size=1, max_size=5, unique=True))
    found = draw(st.lists(today_rows(greens, on), max_size=2, unique_by=lambda r: r[0]["quantity"]))
    return Answer(
        "today",
        on,
        {"course": "fen", "name": "Fen", "readings": len(found), "last_reading": on},
        findings=tuple(row for rows in found for row in rows),
        gaps=draw(GAPS),
        cautions=draw(CAUTIONS),
        made_by=MADE,
        more={"greens": greens},
    )


@st.composite
def choices(draw: st.DrawFn, greens: list[str], on: date) -> dict[str, Any]:
    """Draw one line of a plan."""
    known = draw(st.sampled_from(list(practices().values())))
    amount = draw(st.none() | st.floats(0.01, 20)) if known.unit else None
    effect = st.builds(
        lambda q, h, e: {"quantity": q, "horizon_days": h, "estimate": e},
        st.just("green_speed"),
        HORIZONS,
        estimates("m", signed=True),
    )
    return {
        "date": on + timedelta(days=draw(st.integers(1, 7))),
        "greens": draw(st.lists(st.sampled_from(greens), min_size=1, unique=True)),
        "group": draw(st.sampled_from(["", "A", "B", "förgreen"])),
        "practice": known.key,
        "amount": amount,
        "unit": known.unit if amount is not None else "",
        "passes": draw(st.sampled_from([1.0, 2.0, 3.0])),
        "material": draw(st.sampled_from(["", "dry-sand"])),
        "labour_h": draw(st.floats(0, 12)),
        "reason": draw(st.sampled_from(REASONS)),
        "effects": draw(st.lists(effect, max_size=2)),
        "confidence": draw(CONFIDENCE),
        "changes_mind": "rain",
        "stops": draw(st.sampled_from([[], ["frost on the leaf"]])),
        "fixed": draw(st.booleans()),
    }


REASONS = (
    "Green speed in group A is 8'0\" today; 9'0\" to 10'0\" is wanted on 6 June.",
    "Planned in the record; its effect on the surface is not modelled.",
    "0.25 L/m2 gives -0.0 smoothness (between -0.5 and +0.5).",
)


@st.composite
def weeks(draw: st.DrawFn) -> Answer:
    """Draw an answer of week."""
    on = draw(DAYS)
    greens = draw(st.lists(NAMES, min_size=1, max_size=5, unique=True))
    return Answer(
        "week",
        on,
        {"course": "fen", "name": "Fen", "readings": 3, "last_reading": on},
        choices=tuple(draw(st.lists(choices(greens, on), max_size=6))),
        gaps=draw(GAPS),
        cautions=draw(CAUTIONS),
        made_by=MADE,
        more={
            "plans": {key: draw(plans()) for key in ("advised", "nothing", "usual")},
            "leave_outs": (),
            "greens": greens,
            "no_plan": draw(st.sampled_from(["", "", "The limits leave no work: no_work holds"])),
        },
    )


@st.composite
def plans(draw: st.DrawFn) -> dict[str, Any]:
    """Draw what a plan comes to."""
    return {
        "in_target": draw(st.none() | st.floats(0, 1)),
        "complaints": draw(st.floats(0, 200)),
        "labour_h": draw(st.floats(0, 90)),
        "cost": draw(st.floats(0, 5000)),
        "loss": draw(st.floats(0, 500)),
    }


@st.composite
def effect_rows(draw: st.DrawFn) -> dict[str, Any]:
    """Draw one effect, wherever its range lies."""
    practice = draw(st.sampled_from(["mow", "roll", "topdress", "verticut", "brush", "feed"]))
    outcome, unit = draw(st.sampled_from([("green_speed", "m"), ("smoothness", "score")]))
    return {
        "green": "course",
        "practice": practice,
        "outcome": outcome,
        "method": "",
        "dose": {"value": draw(st.sampled_from([1.0, -0.25, 0.5])), "unit": "mm"},
        "horizon_days": draw(HORIZONS),
        "prior": draw(estimates(unit, signed=True)),
        "here": draw(estimates(unit, signed=True)),
        "share_local": draw(st.sampled_from([0.0, 0.4, 1.0])),
        "separable": draw(st.sampled_from(["yes", "partly", "cannot tell"])),
        "reason": draw(st.sampled_from(["done once. Always before play", "done once."])),
        "n_events": draw(st.integers(0, 300)),
        "half_life_days": draw(st.none() | st.floats(0.01, 9)),
    }


@st.composite
def effects(draw: st.DrawFn) -> Answer:
    """Draw an answer of effects."""
    on = draw(DAYS)
    found = draw(
        st.lists(effect_rows(), max_size=8, unique_by=lambda r: (r["practice"], r["horizon_days"]))
    )
    record = {"course": "fen", "name": "Fen", "readings": 0, "last_reading": None}
    return Answer("effects", on, record, findings=tuple(found), gaps=draw(GAPS), made_by=MADE)


MADE = {"program": "greenwright 0", "model": "m 1", "seconds": 0.1}
GAPS = st.lists(
    st.sampled_from(
        [
            {"about": "firmness", "text": "Firmness has never been read here."},
            {"about": "default:limits", "text": "Not entered: heat (32 degC)."},
            {
                "about": "x",
                "text": "Speed: no reading on greens 1, 2, 3 and 4.",
                "why": "it matters",
                "reading": {"kind": "roll_distance", "green": "1", "n": 6, "minutes": 0.6},
            },
            {"about": "y", "text": "no text to speak of", "why": "", "reading": None},
        ]
    ),
    max_size=9,
).map(tuple)
CAUTIONS = st.lists(
    st.sampled_from(
        [
            {"kind": "safety", "text": "Machines: guards on."},
            {"kind": "data", "text": "green 2, 2026-06-01: balls stopped 0.23 m apart"},
            {"kind": "data", "text": "green short game, 2026-06-02: balls stopped 0.23 m apart"},
            {"kind": "weather", "text": "It may fall to -2 degC."},
        ]
    ),
    max_size=4,
).map(tuple)
ANSWERS = st.one_of(todays(), weeks(), effects())
