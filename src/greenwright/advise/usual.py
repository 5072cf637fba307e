"""The usual work: what this course does on each weekday, made to fit the same limits."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from statistics import median

import numpy as np

from greenwright.advise.fixed import last_done
from greenwright.advise.resources import SLACK
from greenwright.advise.unit import (
    COLUMNS,
    CUTS,
    EXTRAS,
    FREE,
    ROLLS,
    SAND,
    STEP,
    Floats,
    Ints,
    Unit,
    allowed,
    day_use,
    height_places,
)
from greenwright.advise.units import PRACTICE, Setting
from greenwright.base.values import Snapshot, Work
from greenwright.respond.path import done_work, dose_of

WEEKS = 8

GIVE_UP_ORDER = (*reversed(EXTRAS), ROLLS, CUTS)
"""What the usual work drops first where hours or limits are short."""


def usual_plans(setting: Setting, units: Sequence[Unit]) -> tuple[tuple[Ints, ...], bool]:
    """Return the usual schedules (days, 6) by unit, within all limits, and whether learned.

    A practice is usual on a weekday when, in the last eight weeks and since it was first done, it
    was done on at least half of those weekdays, once among several not counting. A weekday not met
    since then goes by all days. Without any work in the record: a cut every day.
    """
    learned = any(w.status == "done" for w in setting.snapshot.work)
    wanted = [_wanted(setting, unit, learned) for unit in units]
    fitted = [_within(unit, plan) for unit, plan in zip(units, wanted, strict=True)]
    return tuple(_shared(setting, units, fitted)), learned


def usual_dose(snapshot: Snapshot, green: str, practice: str, when: date) -> float:
    """Return the usual passes (or sand [L/m2]) on the weekday of a date; 0 where not usual."""
    since = snapshot.as_of - timedelta(days=7 * WEEKS - 1)
    rows = [w for w in done_work(snapshot, since, practice) if green in snapshot.greens_of(w.green)]
    if not rows:
        return 0.0
    first = rows[0].date
    seen = [first + timedelta(days=i) for i in range((snapshot.as_of - first).days + 1)]
    same = [d for d in seen if d.weekday() == when.weekday()]
    done = [w for w in rows if w.date.weekday() == when.weekday()] if same else rows
    times, chances = len({w.date for w in done}), len(same or seen)
    once = times == 1 and chances > 1
    if once or times < chances / 2:
        return 0.0
    return _typical(done)


def _typical(rows: Sequence[Work]) -> float:
    """Return the median dose of a day."""
    by_day: dict[date, float] = {}
    for work in rows:
        by_day[work.date] = by_day.get(work.date, 0.0) + dose_of(work)
    return float(median(by_day.values()))


def _wanted(setting: Setting, unit: Unit, learned: bool) -> Ints:
    plan = np.zeros((unit.n_days, COLUMNS), dtype=np.int64)
    for day, when in enumerate(setting.world.dates):
        for column, practice in PRACTICE.items():
            dose = usual_dose(setting.snapshot, unit.greens[0], practice, when)
            if not learned:
                dose = 1.0 if column == CUTS else 0.0
            plan[day, column] = _choice(unit, column, dose)
    return np.clip(plan, unit.least, unit.most)


def _choice(unit: Unit, column: int, dose: float) -> int:
    if column == SAND:
        return int(np.argmin(np.abs(np.array(unit.sand_doses) - dose)))
    return round(dose)


def _within(unit: Unit, plan: Ints) -> Ints:
    """Return the plan with what breaks the unit's own limits dropped, earlier days first kept."""
    held = unit.rest()[0]
    for day in range(unit.n_days):
        for column in reversed(GIVE_UP_ORDER):
            for choice in range(int(plan[day, column]), int(held[day, column]), -1):
                tried = held.copy()
                tried[day, column] = choice
                tried = to_planned_height(unit, tried)
                if _fits_so_far(unit, tried, day):
                    held = tried
                    break
    return held


def to_planned_height(unit: Unit, plan: Ints) -> Ints:
    """Return the plan with steps of height on the cuts that lead to a planned height."""
    out = plan.copy()
    for day in np.flatnonzero(unit.height_fixed != FREE):
        place = height_places(unit, out[None])[0]
        gap = int(unit.height_fixed[day] - place[day])
        if gap:
            out[day, STEP] += gap
    return out


def _fits_so_far(unit: Unit, plan: Ints, day: int) -> bool:
    tried = plan.copy()
    tried[day + 1 :] = unit.rest()[0][day + 1 :]
    return bool(allowed(unit, tried[None])[0])


def _shared(setting: Setting, units: Sequence[Unit], plans: list[Ints]) -> list[Ints]:
    """Return the plans with work dropped, unit by unit, until the day's hours and machines do."""
    plans = [p.copy() for p in plans]
    for day in range(len(setting.world.days)):
        room = units[0].room[day] if units else np.zeros(0)
        order = ((c, i) for c in GIVE_UP_ORDER for i in reversed(range(len(units))))
        for column, i in order:
            while (
                _over(units, plans, day, room)
                and plans[i][day, column] > units[i].least[day, column]
            ):
                plans[i] = _less(units[i], plans[i], day, column)
    return plans


def _less(unit: Unit, plan: Ints, day: int, column: int) -> Ints:
    out = plan.copy()
    out[day, column] -= 1
    if out[day, CUTS] == 0:
        out[day, STEP] = 0
    return out


def _over(units: Sequence[Unit], plans: Sequence[Ints], day: int, room: Floats) -> bool:
    used = sum(day_use(u, p[None])[0, day] for u, p in zip(units, plans, strict=True))
    return bool(np.any(used > room + SLACK))


def last_material(snapshot: Snapshot, practice: str, greens: Sequence[str]) -> str:
    """Return the material used last for a practice on some greens, else sand for topdressing."""
    when = [d for g in greens if (d := last_done(snapshot, practice, g)) is not None]
    rows = [w for w in snapshot.work if w.practice == practice and w.date in when and w.material]
    default = "sand" if practice == "topdress" else ""
    return rows[-1].material if rows else default
