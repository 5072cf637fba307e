"""From schedules to work: the pieces that a crew does, and the path that they make."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from greenwright.advise.fixed import ACTS, Fixed
from greenwright.advise.unit import (
    BRUSH,
    CUTS,
    FREE,
    ROLLS,
    SAND,
    STEP,
    VERTICUT,
    Ints,
    Unit,
    height_places,
)
from greenwright.advise.units import PRACTICE, Setting, planned_of
from greenwright.advise.world import START, World
from greenwright.base.tables import practices
from greenwright.base.values import Work
from greenwright.respond import WorkPath
from greenwright.respond.path import carried


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of work on one unit (or one planned row that the plan does not decide).

    Args:
        day: place among the days ahead; column: of the schedule, FREE for other planned work.
        greens, group, practice: where and what.
        amount: height [mm] or sand [L/m2], None where there is none; passes: repeats.
        labour_h, cost: hours and currency.
        row: the planned row it stands for.
        step_mm: change of the height in force by this cut.
    """

    day: int
    column: int
    greens: tuple[str, ...]
    group: str
    practice: str
    amount: float | None
    passes: float
    labour_h: float
    cost: float
    row: Fixed | None = None
    step_mm: float = 0.0


def pieces(setting: Setting, units: Sequence[Unit], plans: Sequence[Ints]) -> tuple[Piece, ...]:
    """Return all work of a plan over the whole horizon, by day."""
    found: list[Piece] = []
    for unit, plan in zip(units, plans, strict=True):
        found += _unit_pieces(setting, unit, plan)
    found += [_other(row) for row in setting.fixed if row.work.practice not in ACTS]
    return tuple(sorted(found, key=lambda p: (p.day, p.column if p.column >= 0 else 9)))


def plan_path(world: World, done: Iterable[Piece]) -> WorkPath:
    """Return the past path with pieces of work written on the days ahead."""
    path = world.path
    doses = {act: dose.copy() for act, dose in path.doses.items()}
    mown, set_mm = path.mown.copy(), np.full(path.bench_mm.shape, np.nan)
    set_mm[:, :START] = path.bench_mm[:, :START]
    for piece in done:
        rows, day = [world.greens.index(g) for g in piece.greens], START + piece.day
        if piece.column == CUTS:
            mown[rows, day] = True
            doses["double_cut"][rows, day] += piece.passes - 1
            if piece.amount is not None:
                set_mm[rows, day] = piece.amount
        elif piece.column != FREE:
            dose = piece.amount if piece.column == SAND else piece.passes
            doses[piece.practice][rows, day] += float(dose or 0.0)
    bench = carried(set_mm, path.bench_mm[:, 0])
    return replace(path, doses=doses, mown=mown, bench_mm=bench)


def as_work(setting: Setting, piece: Piece, material: str) -> Work:
    """Return a piece as a planned row of the record."""
    held = practices()[piece.practice]
    return Work(
        date=setting.snapshot.as_of + timedelta(days=piece.day + 1),
        green=";".join(piece.greens),
        practice=piece.practice,
        status="planned",
        amount=piece.amount,
        unit=held.unit if piece.amount is not None else "",
        passes=piece.passes,
        material=material,
        labour_h=piece.labour_h,
        cost=piece.cost,
    )


def _unit_pieces(setting: Setting, unit: Unit, plan: Ints) -> list[Piece]:
    place, found = height_places(unit, plan[None])[0], []
    for day in range(unit.n_days):
        for column in (CUTS, ROLLS, SAND, VERTICUT, BRUSH):
            if plan[day, column]:
                found.append(_piece(setting, unit, (day, column), plan=plan, place=int(place[day])))
    return found


def _piece(
    setting: Setting, unit: Unit, where: tuple[int, int], *, plan: Ints, place: int
) -> Piece:
    day, column = where
    choice, practice = int(plan[day, column]), PRACTICE[column]
    passes = 1.0 if column == SAND else float(choice)
    row = _row_of(setting, unit, day, practice)
    job = setting.crew.job(practice, unit.greens, passes) if row is None else row.job
    areas = {g.green: g.area_m2 or 0.0 for g in setting.snapshot.greens}
    dose = unit.sand_doses[choice] if column == SAND else 0.0
    sand = setting.sand_price * dose * sum(areas[g] for g in unit.greens)
    height = float(unit.heights[place])
    step = height - float(unit.heights[place - int(plan[day, STEP])]) if plan[day, STEP] else 0.0
    amount = {CUTS: None if np.isnan(height) else height, SAND: dose}.get(column)
    if row is not None and amount is None:
        amount = row.work.amount
    return Piece(
        day,
        column,
        unit.greens,
        unit.group,
        practice,
        amount,
        passes,
        job.hours,
        job.cost + sand,
        row,
        step,
    )


def _row_of(setting: Setting, unit: Unit, day: int, practice: str) -> Fixed | None:
    rows = planned_of(setting, unit.greens)
    return next((r for r in rows if (r.day, r.work.practice) == (day, practice)), None)


def _other(row: Fixed) -> Piece:
    work = row.work
    return Piece(
        row.day,
        FREE,
        row.greens,
        "",
        work.practice,
        work.amount,
        work.passes,
        row.job.hours,
        row.job.cost,
        row,
    )
