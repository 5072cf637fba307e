"""What should we do this week?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from greenwright.advise import PlanLine, PlanResult, WeekPlan, plan_week
from greenwright.base.answer import Answer
from greenwright.base.errors import CannotAnswer
from greenwright.base.values import Snapshot
from greenwright.desk import cautions, clock, gaps
from greenwright.desk.answering import (
    SEED,
    Made,
    Progress,
    Row,
    finish,
    last_reading,
    require_greens,
    require_readings,
    silent,
)
from greenwright.desk.questions.today import measure_keys
from greenwright.measure import Surface, quantities_read, surface
from greenwright.record import Store, keep_answer, snapshot
from greenwright.respond import responses

MODEL = "plan 1 (reported effects)"
PLANNED = ("green_speed", "smoothness", "quality", "height_of_cut")
"""Quantities that a plan starts from, where they were read."""


def answer(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return the plan of the seven days after a day, and keep the advice in the record.

    Args:
        store, on, course, progress: as in the question today.

    Raises:
        CannotAnswer: several courses and none named, no green in play, no green speed read yet,
            or limits that leave no plan.
    """
    started, tell = clock.stopwatch(), progress or silent
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    require_greens(record)
    require_readings(record, ("roll_distance", "green_speed"))
    surfaces = _surfaces(record)
    tell("Drawing what the work may do", 0.15)
    plan = plan_week(
        record, surfaces, responses(record, seed=SEED), seed=SEED, progress=_within(tell, 0.25)
    )
    if plan.no_plan:
        raise CannotAnswer(
            plan.no_plan,
            where=record.course.name,
            expected="limits that leave at least one plan",
            do="Loosen one of these limits, or take the planned work out of the record",
        )
    given = finish("week", record, _made(record, surfaces, plan), started=started)
    keep_answer(store, given, course=record.course.course, now=clock.now())
    return given


def _surfaces(record: Snapshot) -> Mapping[str, Surface]:
    read = {quantity for quantity, _ in quantities_read(record)}
    found = {q: surface(record, q) for q in PLANNED if q in read}
    return {quantity: one for quantity, one in found.items() if one is not None}


def _within(tell: Progress, start: float) -> Progress:
    return lambda text, share: tell(text, start + (1 - start) * share)


def _made(record: Snapshot, surfaces: Mapping[str, Surface], plan: WeekPlan) -> Made:
    unknown = _gaps(record, surfaces, plan)
    return Made(
        model=MODEL,
        choices=tuple(_choice(line) for line in plan.advised.lines),
        gaps=unknown,
        cautions=(
            *cautions.data(plan.notes),
            *cautions.old_record(last_reading(record), record.as_of),
            *cautions.safety(),
        ),
        used=frozenset(plan.used)
        | measure_keys(tuple(surfaces.values()))
        | gaps.time_keys(unknown),
        more={
            "plans": {name: _plan(getattr(plan, name)) for name in ("advised", "nothing", "usual")},
            "leave_outs": (),
        },
    )


def _choice(line: PlanLine) -> Row:
    return {
        "date": line.date,
        "greens": list(line.greens),
        "group": line.group,
        "practice": line.practice,
        "amount": line.amount,
        "unit": line.unit,
        "passes": line.passes,
        "material": line.material,
        "labour_h": line.labour_h,
        "cost": line.cost,
        "reason": line.reason,
        "effects": [
            {"quantity": quantity, "horizon_days": days, "estimate": estimate}
            for quantity, days, estimate in line.effects
        ],
        "confidence": line.confidence,
        "changes_mind": line.changes_mind,
        "stops": list(line.stops),
        "fixed": line.fixed,
    }


def _plan(result: PlanResult) -> dict[str, Any]:
    return {
        "in_target": result.in_target,
        "complaints": result.complaints,
        "labour_h": result.labour_h,
        "cost": result.cost,
        "loss": result.loss,
        "by_day": result.by_day,
        "lines": [
            {
                "date": line.date,
                "greens": list(line.greens),
                "practice": line.practice,
                "amount": line.amount,
                "unit": line.unit,
                "passes": line.passes,
                "labour_h": line.labour_h,
            }
            for line in result.lines
        ],
    }


def _gaps(record: Snapshot, surfaces: Mapping[str, Surface], plan: WeekPlan) -> tuple[Row, ...]:
    greens = surfaces["green_speed"].greens
    rows = [gaps.never_read(core, greens[0]) for core in gaps.CORE if core not in surfaces]
    for one in surfaces.values():
        old = gaps.stale(one, on=record.as_of)
        rows += [old] if old else []
    return (*rows, *_defaults(plan.defaults))


def _defaults(texts: Sequence[str]) -> tuple[Row, ...]:
    return tuple(
        {
            "about": "default",
            "text": text,
            "why": "the plan leans on it; the course's own figure belongs in the record",
            "reading": None,
        }
        for text in texts
    )
