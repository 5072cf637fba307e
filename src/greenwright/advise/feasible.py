"""A second pair of eyes: checks a plan against the record's limits, line by line.

Written on the lines and the record alone; it shares no code with the search for the plan.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from greenwright.advise.result import PlanLine
from greenwright.base.evidence import value
from greenwright.base.values import CrewRow, Limit, Snapshot

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
HAIR = 1e-6


@dataclass(frozen=True, slots=True)
class Breach:
    """One limit that a plan breaks."""

    limit: str
    date: date
    greens: tuple[str, ...]
    what: str


def breaches(snapshot: Snapshot, lines: Sequence[PlanLine]) -> tuple[Breach, ...]:
    """Return every deterministic limit of the record that these lines break; empty = none.

    Checks hours by day and scope, machine minutes, rolls in 7 days with history, lowest height,
    height step and interval with history, closures and no-work dates, coring before events, and
    practices that the crew does not do (planned rows of the record excepted).
    """
    found = [*_hours(snapshot, lines), *_machines(snapshot, lines), *_crew(snapshot, lines)]
    for green in (g.green for g in snapshot.greens if g.in_play):
        mine = sorted((x for x in lines if green in x.greens), key=lambda x: x.date)
        found += _rolls(snapshot, green, mine)
        found += _heights(snapshot, green, mine)
        found += _dates(snapshot, green, mine)
    return tuple(found)


def strictest(
    snapshot: Snapshot, limit: str, green: str, when: date, *, least: bool
) -> float | None:
    """Return the strictest entered value of a limit for a green on a date; None = not entered."""
    held = [
        row.value
        for row in snapshot.limits
        if row.limit == limit
        and row.value is not None
        and green in snapshot.greens_of(row.green)
        and _speaks(row, when)
    ]
    return None if not held else min(held) if least else max(held)


def _speaks(row: Limit, when: date) -> bool:
    early = row.from_ is not None and when < row.from_
    late = row.until is not None and when > row.until
    other = bool(row.weekday) and row.weekday != DAYS[when.weekday()]
    return not (early or late or other)


def _hours(snapshot: Snapshot, lines: Sequence[PlanLine]) -> list[Breach]:
    found = []
    for row in (r for r in snapshot.limits if r.limit == "labour_h_day" and r.value is not None):
        scope = set(snapshot.greens_of(row.green))
        for when in sorted({x.date for x in lines if _speaks(row, x.date)}):
            spent = sum(
                x.labour_h * len(scope & set(x.greens)) / max(len(x.greens), 1)
                for x in lines
                if x.date == when
            )
            if spent > float(row.value or 0.0) + HAIR:
                text = f"{spent:.2f} h of {row.value:g} h"
                found.append(Breach("labour_h_day", when, tuple(sorted(scope)), text))
    return found


def _machines(snapshot: Snapshot, lines: Sequence[PlanLine]) -> list[Breach]:
    counted = [r for r in snapshot.crew if r.machine and not r.practice and r.count is not None]
    counts = {r.machine: r.count for r in counted}
    window = value("limits.machine_window_min")
    spent: dict[tuple[date, str], float] = {}
    for line in lines:
        for green in line.greens:
            row, size = _row_for(snapshot, line.practice, green)
            if row is not None and row.machine:
                key = (line.date, row.machine)
                minutes = float(row.minutes or 0.0) * line.passes / size
                spent[key] = spent.get(key, 0.0) + minutes
    return [
        Breach("machine", when, (), f"{minutes:.0f} min of the {machine}")
        for (when, machine), minutes in spent.items()
        if minutes > counts.get(machine, 1) * window + HAIR
    ]


def _row_for(snapshot: Snapshot, practice: str, green: str) -> tuple[CrewRow | None, int]:
    """Return the crew's row for a green, its group's before the course's, and the greens in it."""
    rows = [r for r in snapshot.crew if r.practice == practice and r.minutes is not None]
    for row in rows:
        if green in snapshot.groups.get(row.group, ()):
            return row, len(snapshot.groups[row.group])
    whole = [r for r in rows if r.group in ("", "all")]
    return (whole[-1] if whole else None), sum(map(len, snapshot.groups.values()))


def _crew(snapshot: Snapshot, lines: Sequence[PlanLine]) -> list[Breach]:
    table = [r for r in snapshot.crew if r.practice and r.minutes is not None]
    if not table:
        return []
    can = {
        (r.practice, g)
        for r in table
        for g in (
            [g.green for g in snapshot.greens]
            if r.group in ("", "all")
            else snapshot.groups.get(r.group, ())
        )
    }
    return [
        Breach("crew", x.date, x.greens, f"the crew does no {x.practice} there")
        for x in lines
        if not x.fixed and any((x.practice, g) not in can for g in x.greens)
    ]


def _rolls(snapshot: Snapshot, green: str, lines: Sequence[PlanLine]) -> list[Breach]:
    passes: dict[date, float] = {}
    for work in snapshot.work:
        if (
            work.practice == "roll"
            and work.status == "done"
            and green in snapshot.greens_of(work.green)
        ):
            passes[work.date] = passes.get(work.date, 0.0) + work.passes
    rolled = [x for x in lines if x.practice == "roll"]
    for line in rolled:
        passes[line.date] = passes.get(line.date, 0.0) + line.passes
    found = []
    for when in {x.date + timedelta(days=i) for x in rolled for i in range(7)}:
        limit = strictest(snapshot, "rolls_week", green, when, least=True)
        total = sum(passes.get(when - timedelta(days=i), 0.0) for i in range(7))
        ahead = any(when - timedelta(days=6) <= x.date <= when for x in rolled)
        if limit is not None and ahead and total > limit + HAIR:
            found.append(Breach("rolls_week", when, (green,), f"{total:g} of {limit:g}"))
    return found


def _heights(snapshot: Snapshot, green: str, lines: Sequence[PlanLine]) -> list[Breach]:
    mows = sorted(
        (w.date, w.amount)
        for w in snapshot.work
        if w.practice == "mow"
        and w.status == "done"
        and w.amount is not None
        and green in snapshot.greens_of(w.green)
    )
    height, changed = None, None
    for when, amount in mows:
        changed = when if height is not None and abs(amount - height) > 1e-9 else changed
        height = amount
    found: list[Breach] = []
    for line in (x for x in lines if x.practice == "mow" and x.amount is not None):
        amount = float(line.amount or 0.0)
        lowest = strictest(snapshot, "min_height_mm", green, line.date, least=False)
        if lowest is not None and amount < lowest - 1e-9:
            found.append(Breach("min_height_mm", line.date, (green,), f"{amount:g} mm"))
        if height is not None and abs(amount - height) > 1e-9:
            found += _step(snapshot, green, line.date, step=abs(amount - height), since=changed)
            changed = line.date
        height = amount
    return found


def _step(
    snapshot: Snapshot, green: str, when: date, *, step: float, since: date | None
) -> list[Breach]:
    found = []
    most = strictest(snapshot, "max_height_step_mm", green, when, least=True)
    most = value("limits.default.max_height_step_mm") if most is None else most
    days = strictest(snapshot, "min_step_interval_d", green, when, least=False)
    days = value("limits.default.min_step_interval_d") if days is None else days
    if step > most + 1e-9:
        found.append(Breach("max_height_step_mm", when, (green,), f"{step:.3f} mm"))
    if since is not None and (when - since).days < days:
        text = f"{(when - since).days} days after the last change"
        found.append(Breach("min_step_interval_d", when, (green,), text))
    return found


def _dates(snapshot: Snapshot, green: str, lines: Sequence[PlanLine]) -> list[Breach]:
    found = []
    for line in lines:
        shut = [
            e
            for e in snapshot.calendar
            if e.kind in ("closure", "renovation") and e.start <= line.date <= (e.end or e.start)
        ]
        barred = [
            r
            for r in snapshot.limits
            if r.limit == "no_work"
            and green in snapshot.greens_of(r.green)
            and _speaks(r, line.date)
        ]
        if shut or barred:
            found.append(Breach("no_work", line.date, (green,), line.practice))
        if line.practice == "core":
            found += _near_event(snapshot, green, line.date)
    return found


def _near_event(snapshot: Snapshot, green: str, when: date) -> list[Breach]:
    limit = strictest(snapshot, "no_core_days_before_event", green, when, least=False)
    days = value("limits.default.no_core_days_before_event") if limit is None else limit
    return [
        Breach("no_core_days_before_event", when, (green,), e.name)
        for e in snapshot.calendar
        if e.kind == "event" and 0 <= (e.start - when).days < days
    ]
