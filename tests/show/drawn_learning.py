"""Answers about learning drawn at random: any shape that may come, every number invented."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.tables import practices, quantities
from tests.show.drawn import CAUTIONS, DAYS, ENDS, GAPS, MADE, NAMES, bands, effect_rows, estimates

PRACTICES = st.sampled_from(list(practices()))
QUANTITIES = st.sampled_from(list(quantities().values()))
RULES = st.sampled_from(
    ["persistence", "climatology", "seasonal-naive", "last-reading-plus-trend", "best"]
)


def _answer(question: str, on: date, found: list[dict], more: dict, *, rest: tuple) -> Answer:
    record = {"course": "fen", "name": "Fen", "readings": 3, "last_reading": on}
    gaps, cautions = rest
    return Answer(
        question, on, record, findings=tuple(found), gaps=gaps, cautions=cautions,
        made_by=MADE, more=more,
    )  # fmt: skip


REST = st.tuples(GAPS, CAUTIONS)


@st.composite
def worked(draw: st.DrawFn, on: date, greens: list[str]) -> dict[str, Any]:
    """Draw work on a day, done or planned."""
    days = draw(st.integers(-25, 15))
    return {
        "date": on + timedelta(days=days),
        "practice": draw(PRACTICES),
        "greens": draw(st.lists(st.sampled_from(greens), min_size=1, unique=True)),
        "status": "planned" if days > 0 else "done",
    }


@st.composite
def whys(draw: st.DrawFn) -> Answer:
    """Draw a change, or a difference, split into parts."""
    on = draw(DAYS)
    greens = draw(st.lists(NAMES, min_size=2, max_size=4, unique=True))
    against = draw(st.sampled_from(["", greens[1]]))
    green = draw(st.sampled_from([greens[0], *([] if against else ["course"])]))
    frm = on if against else on - timedelta(days=draw(st.integers(1, 90)))
    known = draw(st.lists(QUANTITIES, max_size=3, unique_by=lambda q: q.key))
    parts = draw(st.lists(PRACTICES, max_size=5, unique=True))
    keys = [f"work:{p}" for p in parts] + ["weather", "growth", "green", "unexplained", "total"]
    found, levels = [], []
    for one in known:
        row = {"green": green, "quantity": one.key, "method": "", "from": frm, "to": on}
        found += [
            {**row, "part": k, "estimate": draw(estimates(one.unit, signed=True))} for k in keys
        ]
        ends = [(against or green, frm), (green, on)]
        if draw(st.booleans()):
            levels += [
                {"green": g, "quantity": one.key, "method": "", "date": d}
                | {"estimate": draw(estimates(one.unit))}
                for g, d in ends
            ]
    more = {"greens": greens, "green": green, "against": against, "levels": levels}
    more |= {"from": frm, "until": on}
    more["work"] = draw(st.lists(worked(on, greens), max_size=4))
    return _answer("why", on, found, more, rest=draw(REST))


@st.composite
def steps(draw: st.DrawFn, unit: str) -> dict[str, Any]:
    """Draw one day ahead, its quantiles in order."""
    low, *inner, high = sorted(draw(st.tuples(*[st.floats(0, ENDS.get(unit, 300.0))] * 5)))
    told = dict(zip(("0.05", "0.25", "0.5", "0.75", "0.95"), (low, *inner, high), strict=True))
    made = Estimate(inner[1], unit, (high - low) / 3, low, high)
    return {"estimate": made, "quantiles": told}


@st.composite
def forecasts(draw: st.DrawFn) -> Answer:
    """Draw days ahead of the course and of greens, with a past and work or without."""
    on = draw(DAYS)
    greens = draw(st.lists(NAMES, min_size=1, max_size=3, unique=True))
    days = draw(st.integers(1, 14))
    known = draw(st.lists(QUANTITIES, max_size=2, unique_by=lambda q: q.key))
    chance = draw(st.none() | st.floats(0, 1))
    found, past = [], []
    for one in known:
        row = {"quantity": one.key, "method": ""}
        for green in ("course", *greens):
            for k in range(1, days + 1):
                mine = {**row, "green": green, "date": on + timedelta(days=k)}
                mine |= draw(steps(one.unit))
                found.append(mine if chance is None else {**mine, "in_target": chance})
        if draw(st.booleans()):
            now = {**row, "green": "course", "date": on, "estimate": draw(estimates(one.unit))}
            past.append(now)
    event = draw(st.none() | st.just({"name": "Cup", "date": on + timedelta(days=days)}))
    more = {
        "greens": greens,
        "days": days,
        "plan": draw(st.sampled_from(["record", "usual", "both", "none"])),
        "weather": {"forecast": draw(st.integers(0, 14)), "typical": 1, "unknown": 0},
        "past": past,
        "read": [],
        "work": draw(st.lists(worked(on, greens), max_size=4)),
        "targets": {one.key: draw(bands(one.unit)) for one in known},
        "event": event,
    }
    return _answer("forecast", on, found, more, rest=draw(REST))


@st.composite
def tracks(draw: st.DrawFn) -> Answer:
    """Draw what was judged, in any mixture."""
    on = draw(DAYS)
    row = st.fixed_dictionaries(
        {
            "what": st.sampled_from(["coverage", "mean_error", "skill", "gain_slope"]),
            "quantity": st.sampled_from(["green_speed", "smoothness", "moisture"]),
            "method": st.just(""),
            "horizon_days": st.sampled_from([None, 1, 3, 7, 14]),
            "level": st.sampled_from([None, 0.5, 0.8, 0.9, 0.95]),
            "value": st.none() | st.floats(-1.5, 1.0),
            "n": st.integers(0, 4000),
            "against": RULES,
        }
    )
    found = draw(st.lists(row, max_size=12))
    held = [{**r, "value": abs(r["value"] or 0.0)} if r["what"] == "coverage" else r for r in found]
    more = {
        "mode": draw(st.sampled_from(["stored", "backtest"])),
        "n_forecasts": draw(st.integers(0, 99_999)),
        "n_judged": draw(st.integers(0, 9_999)),
        "n_afterwards": draw(st.integers(0, 99)),
        "made_on": draw(st.integers(0, 400)),
        "first_due": draw(st.none() | st.just(on + timedelta(days=1))),
        "first": draw(st.none() | st.just(on - timedelta(days=9))),
        "last": draw(st.none() | st.just(on - timedelta(days=1))),
        "fills": draw(st.none() | st.just("Nothing has come due.")),
        "greens": draw(st.lists(NAMES, max_size=3, unique=True)),
        "pairs": [],
        "reliability": [],
        "gains": [],
        "references": {},
    }
    return _answer("track", on, held, more, rest=draw(REST))


@st.composite
def learned_effects(draw: st.DrawFn) -> Answer:
    """Draw effects of which some are told how they were learned."""
    on = draw(DAYS)
    rows = draw(
        st.lists(effect_rows(), max_size=5, unique_by=lambda r: (r["practice"], r["horizon_days"]))
    )
    told = [draw(_told(row)) for row in rows if draw(st.booleans())]
    greens = draw(st.lists(NAMES, min_size=1, max_size=3, unique=True))
    found = [*rows, *({**row, "green": greens[0]} for row in rows[:1])]
    return _answer("effects", on, found, {"greens": greens, "learned": told}, rest=draw(REST))


@st.composite
def _told(draw: st.DrawFn, row: dict[str, Any]) -> dict[str, Any]:
    unit = draw(st.sampled_from([row["here"].unit, "1"]))
    held = st.none() | estimates(unit, signed=True)
    both = st.fixed_dictionaries({"prior": estimates(unit, signed=True), "here": estimates(unit)})
    points = draw(st.lists(both, max_size=4))
    need = draw(st.lists(st.sampled_from([0.0, 0.5, 0.3, 2.0]), max_size=3, unique=True))
    compared = {
        "with_n": draw(st.integers(0, 2000)),
        "without_n": draw(st.integers(0, 2000)),
        "before_with": draw(held),
        "before_without": draw(held),
        "overlap": draw(st.none() | st.floats(0, 1)),
        "coin_flips": draw(st.none() | st.floats(0, 5000) | st.just(float("nan"))),
    }
    return {
        **{key: row[key] for key in ("practice", "outcome", "dose")},
        "curve": [{"day": d, **p} for d, p in enumerate(points)],
        "compared": draw(st.none() | st.just(compared)),
        "plain": draw(held),
        "readings_alone": draw(held),
        "need": [{"strength": s, "estimate": draw(estimates(unit, signed=True))} for s in need],
        "trial": draw(st.none() | trials(unit)),
    }


@st.composite
def trials(draw: st.DrawFn, unit: str) -> dict[str, Any]:
    """Draw the smallest comparison that would tell."""
    return {
        "greens": draw(st.lists(NAMES, min_size=1, max_size=3, unique=True)),
        "days": draw(st.integers(1, 9)),
        "readings": draw(st.none() | st.integers(1, 500)),
        "minutes": draw(st.none() | st.integers(1, 900)),
        "surface_cost": draw(st.none() | estimates(unit, signed=True)),
        "text": draw(st.sampled_from(["", "leave greens 1, 2 and 3 out on 4 mornings"])),
    }


LEARNING = st.one_of(whys(), forecasts(), tracks(), learned_effects())
