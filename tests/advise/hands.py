"""Invented courses made by hand for the tests of the plan: every number here is made up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from greenwright.base.estimate import normal_estimate
from greenwright.base.values import (
    CalendarEntry,
    Course,
    CrewRow,
    Green,
    Limit,
    Snapshot,
    WeatherDay,
    Work,
)
from greenwright.measure import Belief, Surface
from greenwright.respond import Responses

TODAY = date(2026, 6, 5)  # a Friday
UNITS = {"green_speed": "m", "smoothness": "score", "quality": "rating"}


def course_of(groups: Mapping[str, int], *, height: float | None = 3.6, **more: object) -> Snapshot:
    """Return a record with greens in groups, cut daily up to today, and a mild forecast."""
    greens, number = [], 0
    for group, size in groups.items():
        for _ in range(size):
            number += 1
            greens.append(
                Green(green=str(number), group=group, area_m2=450.0, grass="creeping bentgrass")
            )
    work = tuple(
        Work(date=TODAY - timedelta(days=i), green="all", practice="mow", amount=height)
        for i in range(10)
    )
    held: dict[str, object] = {"work": work, "weather": mild(), **more}
    course = Course(course="lark", name="Lark Mere", setting="member", speed_units="m")
    return Snapshot(course=course, as_of=TODAY, greens=tuple(greens), **held)  # type: ignore[arg-type]


def mild(
    t_min_c: float = 10.0, t_max_c: float = 21.0, rain_mm: float = 0.0
) -> tuple[WeatherDay, ...]:
    """Return thirty days seen and fourteen forecast, all alike."""
    return tuple(
        WeatherDay(
            date=TODAY + timedelta(days=i),
            kind="forecast" if i > 0 else "observed",
            issued=TODAY if i > 0 else None,
            t_min_c=t_min_c,
            t_max_c=t_max_c,
            rain_mm=rain_mm,
        )
        for i in range(-30, 15)
    )


def crew(groups: Sequence[str], **minutes: float) -> tuple[CrewRow, ...]:
    """Return one row of labour for each practice and group: practice=minutes, one person."""
    return tuple(
        CrewRow(practice=p, group=g, minutes=m, people=1.0, machine=p, cost_per_h=20.0)
        for g in groups
        for p, m in minutes.items()
    )


def limit(name: str, value: float | None, **more: object) -> Limit:
    """Return one limit."""
    return Limit(limit=name, value=value, **more)  # type: ignore[arg-type]


def event(days_ahead: int, weight: float = 3.0) -> CalendarEntry:
    """Return an event so many days after today."""
    when = TODAY + timedelta(days=days_ahead)
    return CalendarEntry(start=when, name="Reed Cup", kind="event", weight=weight, rounds=120)


def surface_of(
    snapshot: Snapshot,
    quantity: str,
    mean: Sequence[float],
    *,
    sd: float = 0.08,
    day_sd: float = 0.1,
    last: date = TODAY,
) -> Surface:
    """Return a surface with independent beliefs about each green."""
    unit, greens = UNITS[quantity], tuple(g.green for g in snapshot.greens)
    levels, cov = np.array(mean, dtype=float), np.eye(len(greens)) * sd**2
    each = tuple(normal_estimate(m, sd, unit) for m in levels)
    course = normal_estimate(float(levels.mean()), sd / len(greens) ** 0.5, unit)
    nought = normal_estimate(0.0, sd, unit)
    return Surface(
        quantity=quantity,
        method="",
        unit=unit,
        on=snapshot.as_of,
        scale="plain",
        greens=greens,
        in_play=tuple(g.in_play for g in snapshot.greens),
        mean=levels,
        cov=cov,
        belief=Belief(levels, cov, "plain", (0.0, 10.0), unit),
        joint=Belief(np.tile(levels, 4), np.kron(np.eye(4), cov), "plain", (0.0, 10.0), unit),
        per_green=each,
        course=course,
        between_greens_sd=normal_estimate(sd, sd / 4, unit),
        change_7d=tuple(nought for _ in greens),
        course_change_7d=nought,
        last_read=tuple(last for _ in greens),
        course_last_read=last,
        n_readings=len(greens),
        n_per_green=tuple(1 for _ in greens),
        odd_greens=(),
        odd=(),
        observers=(),
        contributions=(),
        misfit="",
        day_sd=day_sd,
        green_day_sd=day_sd / 2,
        correlation_days=3.0,
        green_correlation_days=1.5,
        slow_sd=day_sd / 4,
        slow_days=40.0,
        cautions=(),
        evidence=(),
    )


def surfaces_of(snapshot: Snapshot, speed: float, score: float) -> dict[str, Surface]:
    """Return surfaces of speed and smoothness, the same on every green."""
    n = len(snapshot.greens)
    return {
        "green_speed": surface_of(snapshot, "green_speed", [speed] * n),
        "smoothness": surface_of(snapshot, "smoothness", [score] * n, sd=0.5, day_sd=0.4),
    }


def without_effect(responses: Responses) -> Responses:
    """Return responses in which no work changes anything and no leaf grows."""
    still = {
        key: replace(e, size=e.size * 0, late=None if e.late is None else e.late * 0)
        for key, e in responses.effects.items()
    }
    return replace(responses, effects=still, leaf_mm_d=responses.leaf_mm_d * 0)
