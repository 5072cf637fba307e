"""What should we do this week?"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from greenwright.advise import WeekPlan, plan_week
from greenwright.advise.targets import wanted as quantities_wanted
from greenwright.base.answer import Answer
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
from greenwright.desk.defaults import told_defaults
from greenwright.desk.learning import learn_kept
from greenwright.desk.planned import choice_row, plan_row
from greenwright.desk.quiet import settle_solver
from greenwright.desk.targets import wanted
from greenwright.measure import Surface, quantities_read, surface
from greenwright.record import Store, keep_answer, snapshot
from greenwright.respond import plannable
from greenwright.respond.learning import Learned, learned_responses

MODEL = "plan 2 (effects learned from the record)"
LEARNED = ("green_speed", "smoothness", "quality")
"""Outcomes whose effects are learned for the plan; the others' stay as reported."""
SPEED = ("roll_distance", "green_speed")
ALWAYS = ("green_speed", "smoothness", "quality")
"""Quantities that a plan starts from or keeps, target or not."""
PLANS = ("advised", "nothing", "usual")
TRUENESS = "trueness"
"""Its target is in mm/m at the day's speed, of which the planner knows nothing."""

Surfaces = Mapping[tuple[str, str], Surface]


def answer(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return the plan of the seven days after a day, and keep the advice in the record.

    Args:
        store, on, course, progress: as in the question today.

    Raises:
        CannotAnswer: several courses and none named, no green in play, or no green speed yet.
    """
    started, tell = clock.stopwatch(), progress or silent
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    require_greens(record)
    require_readings(record, SPEED)
    learned = learn_kept(store, record, tell=tell, share=(0.02, 0.3), quantities=LEARNED)
    given = of_record(record, learned, tell=tell, started=started)
    # Asked again of the same record and day the advice is the same, and is kept once.
    keep_answer(store, given, course=record.course.course, now=clock.now())
    return given


def of_record(
    record: Snapshot, learned: Learned, *, tell: Progress = silent, started: float
) -> Answer:
    """Return the same from a record that is already read and learned from; nothing is kept."""
    require_greens(record)
    require_readings(record, SPEED)
    tell("Working out the greens", 0.3)
    surfaces = _surfaces(record)
    tell("Drawing what the work may do", 0.4)
    settle_solver()
    plan = plan_week(
        record,
        {f"{quantity}:{method}".rstrip(":"): one for (quantity, method), one in surfaces.items()},
        plannable(learned_responses(learned, record, seed=SEED)),
        seed=SEED,
        progress=lambda text, share: tell(text, 0.45 + 0.55 * share),
    )
    tell("Done", 1.0)
    return finish("week", record, _made(record, surfaces, plan), started=started)


def _surfaces(record: Snapshot) -> Surfaces:
    targeted = {quantity for quantity, _ in quantities_wanted(record)} | set(ALWAYS)
    targeted -= {TRUENESS}
    found = {
        (quantity, method): surface(record, quantity, method=method)
        for quantity, method in quantities_read(record)
        if quantity in targeted
    }
    return {key: one for key, one in found.items() if one is not None}


def _made(record: Snapshot, surfaces: Surfaces, plan: WeekPlan) -> Made:
    unknown = _gaps(record, surfaces, plan)
    starts = frozenset(key for one in surfaces.values() for key in one.evidence)
    return Made(
        model=MODEL,
        choices=tuple(choice_row(line) for line in plan.advised.lines),
        gaps=unknown,
        cautions=(
            *cautions.data(_notes(plan)),
            *cautions.old_record(last_reading(record), record.as_of),
            *cautions.safety(),
        ),
        used=starts | frozenset(plan.evidence) | gaps.time_keys(unknown),
        more=_more(record, surfaces, plan),
    )


def _notes(plan: WeekPlan) -> tuple[str, ...]:
    return tuple(dict.fromkeys(note for note in (plan.no_plan, *plan.notes) if note))


def _more(record: Snapshot, surfaces: Surfaces, plan: WeekPlan) -> Row:
    held = {one.quantity: wanted(record, one).common for one in surfaces.values()}
    return {
        "plans": {name: plan_row(getattr(plan, name)) for name in PLANS},
        "leave_outs": (),
        "targets": {
            quantity: {"low": band.low, "high": band.high, "default": band.default}
            for quantity, band in held.items()
            if band is not None
        },
        "no_plan": plan.no_plan,
        "optimum": {"proven": plan.proven, "gap": plan.gap},
    }


def _gaps(record: Snapshot, surfaces: Surfaces, plan: WeekPlan) -> tuple[Row, ...]:
    greens = require_greens(record)
    read = {quantity for quantity, _ in surfaces}
    missing = [quantity for quantity, _ in plan.missing]
    never = [*gaps.CORE, *(quantity for quantity in missing if quantity != TRUENESS)]
    rows = [gaps.never_read(q, greens[0]) for q in dict.fromkeys(never) if q not in read]
    old = [gaps.stale(one, on=record.as_of) for one in surfaces.values()]
    left_out = [_not_planned()] if TRUENESS in missing else []
    return (*rows, *left_out, *(row for row in old if row), *told_defaults(plan.defaults))


def _not_planned() -> Row:
    return {
        "about": f"target:{TRUENESS}",
        "text": "The target of trueness is left out of the plan: it is kept in mm/m at the day's "
        "speed, and what work does to it is not reckoned with yet.",
        "why": "today tells whether it is kept",
        "reading": None,
    }
