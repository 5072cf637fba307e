"""What does the weather do?"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from greenwright.base.answer import Answer
from greenwright.base.errors import CannotAnswer
from greenwright.base.values import Snapshot
from greenwright.desk import cautions
from greenwright.desk.answering import Made, Progress, Row, finish, require_greens, silent
from greenwright.desk.clock import stopwatch
from greenwright.desk.weathering import growing, held_back, mind, risks, salty, wet
from greenwright.desk.weathering.asked import LONGEST, Asked, asked_of
from greenwright.record import Store, snapshot
from greenwright.weather.applied import Applied, applied_of
from greenwright.weather.daily import RiskDays, reference_days
from greenwright.weather.evapotranspiration import CONSTANTS, Place
from greenwright.weather.given import GivenDay, given_days
from greenwright.weather.greens import GreenWater, water_of

MODEL = "weather 1"
BACK_D = 60
"""Days behind that findings are given for."""
HISTORY_D = 400
"""Days behind that regulators and the balance are followed from."""


@dataclass(frozen=True, slots=True)
class _Known:
    """Everything worked out before it is told."""

    record: Snapshot
    asked: Asked
    days: tuple[GivenDay, ...]
    told: tuple[GivenDay, ...]
    grasses: tuple[str, ...]
    place: Place | None
    water: GreenWater | None
    uses: tuple[Applied, ...]
    risks: Sequence[RiskDays]
    salts: Sequence[Row]
    unread: Sequence[str]


def answer(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    days: float | str = LONGEST,
    threshold: str = "",
    crop_coefficient: float | None = None,
    root_depth_m: float | None = None,
) -> Answer:
    """Return growth, warmth, water, regulator state and disease-risk days, behind and ahead.

    Args:
        store, on, course, progress: as in the question today.
        days: how many days ahead, 1 to 14.
        threshold: of disease models in place of the published ones, as ``dollar_spot=0.3``.
        crop_coefficient, root_depth_m: of every green, in place of what the record says.

    Raises:
        CannotAnswer: several courses and none named, no green in play, or no weather at all.
        BadInput: an option that cannot be.
    """
    started, tell = stopwatch(), progress or silent
    wanted = asked_of(
        days=days,
        threshold=threshold,
        crop_coefficient=crop_coefficient,
        root_depth_m=root_depth_m,
    )
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    require_greens(record)
    _require_weather(record)
    tell("Working out water and growth", 0.4)
    made = _made(_known(record, wanted))
    tell("Done", 1.0)
    return finish("weather", record, made, started=started)


def _require_weather(record: Snapshot) -> None:
    seen = any(row.t_min_c is not None and row.t_max_c is not None for row in record.weather)
    if not seen:
        raise CannotAnswer(
            f"the record holds no temperature of a day on or before {record.as_of}",
            where=record.course.name,
            expected="a weather.csv with date, t_min_c, t_max_c and rain_mm, or a GHCN-Daily file",
            do="Load the days that there are, or ask for a later day",
        )


def _known(record: Snapshot, asked: Asked) -> _Known:
    on = record.as_of
    first, last = on - timedelta(days=HISTORY_D), on + timedelta(days=asked.days)
    days = _begun(given_days(record, first, last))
    told = tuple(d for d in days if d.weather.date > on - timedelta(days=BACK_D))
    place = place_of(record)
    salts, unread = salty.salt_rows(record)
    return _Known(
        record,
        asked,
        days,
        told,
        growing.grasses_of(record),
        place,
        water_of(record, days, place, own=asked.own) if place else None,
        applied_of(record, days),
        risks.risks_of(days, asked.models),
        salts,
        unread,
    )


def _begun(days: tuple[GivenDay, ...]) -> tuple[GivenDay, ...]:
    """Return the days from the first that the record tells of: none stands in before it."""
    first = next((i for i, d in enumerate(days) if d.weather.kind != "typical"), 0)
    return days[first:]


def place_of(record: Snapshot) -> Place | None:
    """Return where the course is, or None where its latitude is not in the record."""
    held = record.course
    return None if held.latitude is None else Place(held.latitude, held.elevation_m or 0.0)


def _made(known: _Known) -> Made:
    on = known.record.as_of
    return Made(
        model=MODEL,
        findings=tuple(_findings(known)),
        gaps=mind.gaps_of(known.record, known.days, known.water, known.risks),
        cautions=(
            *mind.cautions_of(known.record, known.told, known.water, known.unread),
            *cautions.safety(),
        ),
        used=_used(known),
        more={
            "days": known.asked.days,
            "greens": list(require_greens(known.record)),
            "weather": _counts(known.days, on),
            "year": _year(known),
            "growing_days": _growing_days(known),
            "water": _water(known),
            "regulators": held_back.use_rows(known.uses, on),
            "risks": risks.told_risks(
                known.record, known.risks, known.days, tuple(known.asked.thresholds)
            ),
            "salts": list(known.salts),
        },
    )


def _findings(known: _Known) -> list[Row]:
    rows = growing.growth_rows(known.told, known.grasses)
    rows += growing.warmth_rows(known.told, _of_year(known))
    if known.place:
        held = [day for day in known.told if day.known]
        found, sd = reference_days(held, known.place)
        rows += wet.eto_rows(held, found.eto, sd)
    if known.water:
        rows += wet.deficit_rows(known.water, known.told)
    rows += held_back.left_rows(known.uses, known.told)
    return rows + risks.risk_rows(known.risks, known.days, known.told[0].weather.date)


def _of_year(known: _Known) -> list[GivenDay]:
    """Return the days that warmth is added up over: from 1 January, or where the record begins."""
    first = growing.first_of_year(known.record.as_of)
    return [day for day in known.days if day.weather.date >= first]


def _water(known: _Known) -> Row | None:
    if known.water is None:
        return None
    last = known.told[-1].weather.date
    return wet.water_row(known.record, known.water, known.told, last)


def _year(known: _Known) -> list[Row]:
    """Return the weeks of the year; what is usual comes from earlier years alone."""
    on = known.record.as_of
    begun = growing.first_of_year(on)
    year = given_days(known.record, begun, growing.last_of_year(on))
    first = min((w.date for w in known.record.weather if w.kind == "observed"), default=begun)
    before = given_days(known.record, first, begun - timedelta(days=1)) if first < begun else ()
    held = tuple(day for day in before if day.weather.kind == "observed")
    return growing.year_rows(held, year, known.grasses)


def _growing_days(known: _Known) -> list[Row]:
    days = _of_year(known)
    return [growing.growing_days(days, grass, known.record.as_of) for grass in known.grasses]


def _counts(days: Sequence[GivenDay], on: date) -> Row:
    """Return how the days ahead are known, how many behind stood in, and the forecast's day."""
    ahead = [day for day in days if day.weather.date > on]
    kinds = Counter(day.weather.kind if day.known else "unknown" for day in ahead)
    behind = [d for d in days if on - timedelta(days=BACK_D) < d.weather.date <= on]
    issued = [d.weather.issued for d in ahead if d.weather.issued is not None]
    return {
        "forecast": kinds["forecast"],
        "typical": kinds["typical"],
        "unknown": kinds["unknown"],
        "behind": len(behind),
        "observed": sum(d.weather.kind == "observed" for d in behind),
        "filled": sum(bool(set(d.filled) & mind.TOLD) for d in behind),
        "issued": max(issued, default=None),
    }


def _used(known: _Known) -> frozenset[str]:
    used = growing.evidence_of(known.grasses) | held_back.evidence_of(known.uses)
    told = [one.model for one in known.risks if np.isfinite(one.index).any()]
    used |= risks.evidence_of(told) | salty.evidence_of(known.salts)
    if known.place:
        used |= {*CONSTANTS, "water.eto_sd", "water.eto_sd_missing"}
    if known.water:
        used |= wet.evidence_of(known.water)
    return used
