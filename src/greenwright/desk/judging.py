"""Forecasts beside what was read on their days, as findings of the question track."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import hypot, isfinite, log, log1p, sqrt
from typing import Any

import numpy as np

from greenwright.base.values import Snapshot
from greenwright.desk.answering import Row
from greenwright.desk.keeping import COURSE
from greenwright.record import ForecastRow
from greenwright.respond.learning.sets import sets_of
from greenwright.verify.gains import Changes, changes, gain_slope
from greenwright.verify.references import HORIZONS, RULES, Readings
from greenwright.verify.scoring import (
    LEVELS,
    Forecasts,
    Judged,
    Skill,
    Told,
    coverage,
    hardest,
    mean_error,
    meet,
    rules_of,
    skills,
)

CURVE: tuple[float, ...] = (*(round(k / 10, 1) for k in range(1, 10)), 0.95)
"""Promises of the curve of reliability."""
SPANS: tuple[int | None, ...] = (None, *HORIZONS)
MOST_PAIRS, MOST_GAINS = 400, 200
NINE_OF_TEN = 1.6448536269514722
"""Standard deviations either side that hold 90 % of a normal."""

WHY_NOT = {
    "persistence": "no green had been read often enough before",
    "climatology": "too little was read before at this season",
    "seasonal-naive": "nothing was read about these days a year before",
    "last-reading-plus-trend": "too few days were read in the four weeks before",
}


@dataclass(frozen=True, slots=True)
class Given:
    """One forecast to be judged: what was said, and on which day."""

    row: ForecastRow
    made_on: date


@dataclass(frozen=True, slots=True)
class Case:
    """The judged forecasts of one quantity.

    Args:
        quantity, method, unit: of what.
        greens: keys, by the places that `judged` counts in.
        first: day 0 of its days.
        judged: forecasts and what came.
    """

    quantity: str
    method: str
    unit: str
    greens: tuple[str, ...]
    first: date
    judged: Judged
    readings: Readings

    def day(self, place: int) -> date:
        """Return a day as a date."""
        return self.first + timedelta(days=int(place))

    @property
    def named(self) -> Row:
        """Return quantity and method as a row begins."""
        return {"quantity": self.quantity, "method": self.method}


def cases(record: Snapshot, given: Iterable[Given]) -> tuple[Case, ...]:
    """Return the forecasts of single greens whose day has come and been read, by quantity."""
    sorted_out: dict[tuple[str, str], list[Given]] = defaultdict(list)
    for one in given:
        if one.row.green != COURSE and one.row.date <= record.as_of:
            sorted_out[one.row.quantity, one.row.method].append(one)
    made = (_case(record, *which, found) for which, found in sorted_out.items())
    return tuple(case for case in made if len(case.judged.day))


def _case(record: Snapshot, quantity: str, method: str, given: Sequence[Given]) -> Case:
    first = min(r.date for r in record.readings)
    sets = sets_of(record, quantity, method=method, first=first)
    greens = tuple(dict.fromkeys(g.green for g in record.greens))
    place = {green: k for k, green in enumerate(greens)}
    readings = Readings(
        np.array([place[s.green] for s in sets], dtype=np.intp),
        np.array([(s.date - first).days for s in sets], dtype=np.intp),
        np.array([s.value for s in sets], dtype=float),
    )
    known = [one for one in given if one.row.green in place]
    shown = [_shown(one.row) for one in known]
    forecasts = Forecasts(
        np.array([(one.made_on - first).days for one in known], dtype=np.intp),
        np.array([(one.row.date - first).days for one in known], dtype=np.intp),
        np.array([place[one.row.green] for one in known], dtype=np.intp),
        np.array([mean for mean, _ in shown], dtype=float),
        np.array([sd for _, sd in shown], dtype=float),
    )
    row = given[0].row
    return Case(
        quantity, method, row.unit, greens, first, meet(forecasts, readings, log=row.log), readings
    )


def _shown(row: ForecastRow) -> tuple[float, float]:
    """Return mean and sd of what one set would show, of the log where log."""
    if row.seen is not None and row.seen_sd is not None:
        return row.seen, row.seen_sd
    if not row.log:
        return row.mean, hypot(row.sd, row.reading_sd)
    spread = log1p((row.sd / row.mean) ** 2)
    return log(row.mean) - spread / 2, sqrt(spread + row.reading_sd**2)


def findings(case: Case) -> Iterator[Row]:
    """Yield what is found of one quantity: coverage, mean miss, skill, and the slope of gains."""
    judged = case.judged
    for horizon in SPANS:
        chosen, named = judged.within(horizon), {**case.named, "horizon_days": horizon}
        for level in LEVELS:
            told = coverage(judged, level, chosen)
            yield {"what": "coverage", **named, "level": level, **_told(told)}
        told = mean_error(judged, chosen)
        yield {"what": "mean_error", **named, "level": None, **_told(told), "unit": case.unit}
    yield from _skill_rows(case)
    told = gain_slope(changes(judged))
    named = {**case.named, "horizon_days": None, "level": None}
    yield {"what": "gain_slope", **named, **_told(told), "basis": "forecast"}


def _told(told: Told) -> dict[str, Any]:
    return {
        "value": _number(told.value),
        "low": _number(told.low),
        "high": _number(told.high),
        "sd": _number(told.se),
        "n": told.n,
        "n_days": told.n_days,
    }


def _number(value: float) -> float | None:
    return round(float(value), 6) if isfinite(value) else None


def _skill_rows(case: Case) -> Iterator[Row]:
    rules = rules_of(case.readings, case.judged)
    for horizon in HORIZONS:
        chosen = case.judged.within(horizon)
        if not chosen.any():
            continue
        found = skills(case.judged, rules, chosen)
        best = hardest(found) if found else None
        held = {one.against: one for one in found}
        for name in (*RULES, "best"):
            yield {
                "what": "skill",
                **case.named,
                "horizon_days": horizon,
                "level": None,
                "against": name,
                **_skill(held.get(name), name),
                "is_best": best if name == "best" else None,
            }


def _skill(one: Skill | None, name: str) -> Row:
    if one is None:
        nothing = {"value": None, "low": None, "high": None, "sd": None, "n": 0, "n_days": 0}
        why = WHY_NOT.get(name, "none of the simple rules could be made")
        return {**nothing, "crps": None, "crps_reference": None, "why": why}
    scores = {"crps": _number(one.ours), "crps_reference": _number(one.theirs)}
    return {**_told(one.told), **scores}


def pairs(case: Case) -> list[Row]:
    """Return each judged forecast beside its reading, in the quantity's unit, by date."""
    judged, scores = case.judged, case.judged.crps
    low, middle, high = (
        _natural(judged.mean + z * judged.sd, log=judged.log)
        for z in (-NINE_OF_TEN, 0.0, NINE_OF_TEN)
    )
    read = _natural(judged.value, log=judged.log)
    return [
        {
            **case.named,
            "green": case.greens[judged.green[k]],
            "made_on": case.day(judged.made_on[k]),
            "date": case.day(judged.day[k]),
            "horizon_days": int(judged.ahead[k]),
            "forecast": {"value": _number(middle[k]), "unit": case.unit},
            "low": _number(low[k]),
            "high": _number(high[k]),
            "reading": _number(read[k]),
            "crps": _number(scores[k]),
        }
        for k in np.lexsort((judged.green, judged.made_on, judged.day))
    ]


def _natural(values: np.ndarray, *, log: bool) -> np.ndarray:
    return np.exp(values) if log else values


def reliability(case: Case) -> list[Row]:
    """Return how often each promise of the curve was held, over all days ahead and by stretch."""
    made = []
    for horizon in SPANS:
        chosen = case.judged.within(horizon)
        for level in CURVE if chosen.any() else ():
            told = coverage(case.judged, level, chosen)
            kept = {k: v for k, v in _told(told).items() if k in ("value", "low", "high", "n")}
            made.append({**case.named, "horizon_days": horizon, "level": level, **kept})
    return made


def gains(case: Case) -> list[Row]:
    """Return what was said to change between two readings, and what changed, by date."""
    found: Changes = changes(case.judged)
    return [
        {
            "what": "forecast",
            **case.named,
            "green": case.greens[found.green[k]],
            "made_on": case.day(found.made_on[k]),
            "date": case.day(found.day[k]),
            "predicted": {
                "value": _number(found.predicted[k]),
                "sd": _number(found.predicted_sd[k]),
            },
            "realised": {"value": _number(found.realised[k]), "sd": None},
        }
        for k in np.lexsort((found.green, found.day))
    ]
