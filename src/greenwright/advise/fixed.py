"""Planned rows of the record: kept as they stand, or refused with the reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np

from greenwright.advise.ahead import events_of
from greenwright.advise.labour import PER_GREENS, Crew, Job, default_hours
from greenwright.advise.limits import Rules
from greenwright.advise.resources import Resources, fits
from greenwright.advise.stops import Morning
from greenwright.advise.world import START, World
from greenwright.base.values import Snapshot, Work
from greenwright.respond.path import DOSED, dose_of

ACTS = ("mow", *(act for act in DOSED if act != "double_cut"))
"""Practices that the plan itself decides on."""

_CORES = ("core",)


@dataclass(frozen=True, slots=True)
class Fixed:
    """One planned row that stands.

    Args:
        work: the row; day: its place ahead; greens: those in play that it names.
        job: its labour.
        free_height: a cut whose planned height breaks a limit and is left to the plan.
        why: what was changed, in plain words.
    """

    work: Work
    day: int
    greens: tuple[str, ...]
    job: Job
    free_height: bool = False
    why: str = ""


@dataclass(slots=True)
class _Tally:
    """Running use by the rows kept so far."""

    used: np.ndarray
    rolls: np.ndarray
    kept: list[Fixed] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def planned_rows(
    snapshot: Snapshot,
    world: World,
    rules: Rules,
    *,
    crew: Crew,
    room: Resources,
    mornings: Sequence[Morning],
) -> tuple[tuple[Fixed, ...], tuple[str, ...]]:
    """Return the planned rows ahead that stand, and a sentence for each that does not.

    A row is refused when it breaks a limit that the plan may not break; a cut whose height does
    is kept and its height left to the plan.
    """
    tally = _Tally(np.zeros_like(room.room), world.path.doses["roll"].copy())
    rows = [w for w in snapshot.work if w.status == "planned" and w.date in world.dates]
    for work in sorted(rows, key=lambda w: (w.date, w.practice)):
        day = world.dates.index(work.date)
        greens = tuple(g for g in snapshot.greens_of(work.green) if g in world.greens)
        job = job_of(work, greens, crew)
        where = [world.greens.index(g) for g in greens]
        use = use_of(Fixed(work, day, greens, job), crew, room)
        why = (
            _closed(world, rules, day, where=where, morning=mornings[day])
            or _core_too_late(snapshot, rules, work)
            or _too_many_rolls(tally, rules, work, where=where, day=day)
            or _no_room(tally, room, day, use=use)
        )
        if why:
            tally.notes.append(_sentence(work, f"is left out: {why}"))
            continue
        fault = _height_fault(rules, work, day, where=where)
        if fault:
            tally.notes.append(_sentence(work, f"keeps its day but not its height: {fault}"))
        tally.used[day] += use
        if work.practice == "roll":
            tally.rolls[where, START + day] += work.passes
        tally.kept.append(Fixed(work, day, greens, job, bool(fault), fault))
    return tuple(tally.kept), tuple(tally.notes)


def joined(rows: Sequence[Fixed], greens: Sequence[str], crew: Crew) -> Fixed | None:
    """Return rows of one practice and day on the same greens as one: passes and labour summed.

    Args:
        rows: in the order of the record; the last height set holds.
        greens: the greens asked about, all of them named by each row; labour is theirs alone: as
            the crew table says, else their share of the hours that a row gives.
    """
    if not rows:
        return None
    jobs = [_share(row, greens, crew) for row in rows]
    last = rows[-1]
    summed = last.work.practice == "topdress"
    given = [r.work.amount for r in rows if r.work.amount is not None]
    work = replace(
        last.work,
        passes=1.0 if summed else sum(r.work.passes for r in rows),
        amount=sum(dose_of(r.work) for r in rows) if summed else (given or [None])[-1],
    )
    job = Job(
        sum(j.hours for j in jobs),
        sum(j.cost for j in jobs),
        jobs[-1].machine,
        sum(j.minutes for j in jobs),
    )
    return Fixed(work, last.day, tuple(greens), job, any(r.free_height for r in rows), last.why)


def _share(row: Fixed, greens: Sequence[str], crew: Crew) -> Job:
    if row.work.labour_h is None and row.work.cost is None:
        return job_of(row.work, greens, crew)
    share = len(greens) / len(row.greens)
    own = crew.job(row.work.practice, greens, row.work.passes)
    return Job(share * row.job.hours, share * row.job.cost, own.machine, own.minutes)


def use_of(row: Fixed, crew: Crew, room: Resources) -> np.ndarray:
    """Return what a planned row takes of each resource: its hours, and each group's own machine."""
    groups: dict[str, list[str]] = {}
    for green in row.greens:
        groups.setdefault(crew.group_of.get(green, ""), []).append(green)
    use = room.use(replace(row.job, machine=""), row.greens)
    for greens in groups.values():
        own = crew.job(row.work.practice, greens, row.work.passes)
        use += room.use(replace(own, hours=0.0), greens)
    return use


def job_of(work: Work, greens: Sequence[str], crew: Crew) -> Job:
    """Return the labour of a planned row: its own hours, else the crew's, else common practice."""
    if crew.can(work.practice, greens):
        job = crew.job(work.practice, greens, work.passes)
    else:
        hours = default_hours(work.practice, work.passes) * len(greens) / PER_GREENS
        job = Job(hours, hours * crew.cost_per_h)
    if work.labour_h is not None:
        job = replace(job, hours=work.labour_h, cost=work.labour_h * crew.cost_per_h)
    return job if work.cost is None else replace(job, cost=work.cost)


def _closed(world: World, rules: Rules, day: int, *, where: Sequence[int], morning: Morning) -> str:
    if world.days[day].closed:
        return "the calendar closes the course that day"
    if where and rules.no_work[where, day].any():
        return "no work is allowed on that date"
    return morning.no_work


def _core_too_late(snapshot: Snapshot, rules: Rules, work: Work) -> str:
    if work.practice not in _CORES:
        return ""
    for event in events_of(snapshot):
        if 0 <= (event.start - work.date).days < rules.no_core_days:
            return f"{event.name} is nearer than {rules.no_core_days:g} days"
    return ""


def _too_many_rolls(
    tally: _Tally, rules: Rules, work: Work, *, where: Sequence[int], day: int
) -> str:
    if work.practice != "roll" or not where:
        return ""
    tried = tally.rolls.copy()
    tried[where, START + day] += work.passes
    for later in range(day, min(day + 7, rules.rolls_week.shape[1])):
        window = tried[where, START + later - 6 : START + later + 1].sum(axis=1)
        if np.any(window > rules.rolls_week[where, later]):
            limit = rules.rolls_week[where, later].min()
            return f"it would be more than {limit:g} rolling passes in 7 days"
    return ""


def _no_room(tally: _Tally, room: Resources, day: int, *, use: np.ndarray) -> str:
    now = tally.used[day] + use
    if fits(now, room.room[day]):
        return ""
    column = int(np.argmax(now - room.room[day]))
    return (
        f"planned work of that day needs {now[column]:.3g} {room.label(column)}, "
        f"the limit is {room.room[day][column]:.3g}"
    )


def _height_fault(rules: Rules, work: Work, day: int, *, where: Sequence[int]) -> str:
    if work.practice != "mow" or work.amount is None or not where:
        return ""
    lowest = rules.min_height_mm[where, day].max()
    if work.amount < lowest - 1e-9:
        return f"{work.amount:g} mm is under the lowest height of {lowest:g} mm"
    return ""


def _sentence(work: Work, rest: str) -> str:
    what = f"Planned {work.practice} on {work.green or 'all'} for {work.date.isoformat()}"
    return f"{what} {rest}."


def last_done(snapshot: Snapshot, practice: str, green: str) -> date | None:
    """Return the last date on which a practice was done on a green."""
    done = [
        w.date
        for w in snapshot.work
        if w.practice == practice and w.status == "done" and green in snapshot.greens_of(w.green)
    ]
    return max(done, default=None)
