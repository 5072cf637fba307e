"""Judging a plan on the draws: its loss, what is in target, complaints, hours and cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from greenwright.advise.ahead import PLAN_DAYS
from greenwright.advise.loss import complaints, in_band, surface_loss
from greenwright.advise.result import DayResult, PlanLine, PlanResult
from greenwright.advise.unit import CUTS, ROLLS, Floats
from greenwright.advise.units import Setting
from greenwright.advise.work import Piece, plan_path
from greenwright.advise.world import World
from greenwright.base.estimate import Estimate, draws_estimate


def levels_of(world: World, done: Sequence[Piece]) -> dict[str, Floats]:
    """Return the level of every targeted quantity under a plan (draws, greens, days)."""
    path = plan_path(world, done)
    return {quantity: world.levels(path, quantity) for quantity in world.base}


def work_loss(setting: Setting, done: Sequence[Piece]) -> Floats:
    """Return the loss of work by day (days,): wear pro rata by greens, and cost."""
    out = np.zeros(len(setting.world.days))
    for piece in done:
        worn = 0.0
        if piece.column == ROLLS:
            worn = setting.wear.per_pass * piece.passes * len(piece.greens)
        elif piece.column == CUTS:
            worn = setting.wear.per_cut * (piece.passes - 1) * len(piece.greens)
        out[piece.day] += worn + setting.wear.per_cost * piece.cost
    return out


def judged(setting: Setting, done: Sequence[Piece], lines: Sequence[PlanLine] = ()) -> PlanResult:
    """Return what a plan comes to on the draws.

    Args:
        setting: the world and the prices of work.
        done: all its work over the horizon.
        lines: the same as the crew reads it, on the plan's days.
    """
    world, week = setting.world, slice(0, PLAN_DAYS)
    levels = levels_of(world, done)
    loss = surface_loss(levels, world.bands, world.days) + work_loss(setting, done)
    said = complaints(levels, world.days)
    inside = in_band(levels, world.bands)
    hours, cost = _by_day(done, len(world.days))
    days = tuple(
        DayResult(
            day.date,
            float(loss[i]),
            float(hours[i]),
            float(cost[i]),
            float(said[i]),
            _known(inside, i),
            course_levels(world, levels, i),
        )
        for i, day in enumerate(world.days[week])
    )
    shares = [d.in_target for d in days if d.in_target is not None]
    return PlanResult(
        lines=tuple(lines),
        in_target=float(np.mean(shares)) if shares else None,
        complaints=float(said[week].sum()),
        labour_h=float(hours[week].sum()),
        cost=float(cost[week].sum()),
        loss=float(loss.sum()),
        loss_plan_days=float(loss[week].sum()),
        by_day=days,
    )


def course_levels(world: World, levels: Mapping[str, Floats], day: int) -> dict[str, Estimate]:
    """Return the mean of the greens in play on a day, by quantity."""
    return {
        quantity: draws_estimate(level[:, :, day].mean(axis=1), world.surfaces[quantity].unit)
        for quantity, level in levels.items()
    }


def _by_day(done: Sequence[Piece], n_days: int) -> tuple[Floats, Floats]:
    hours, cost = np.zeros(n_days), np.zeros(n_days)
    for piece in done:
        hours[piece.day] += piece.labour_h
        cost[piece.day] += piece.cost
    return hours, cost


def _known(inside: Floats, day: int) -> float | None:
    return float(inside[day]) if len(inside) and np.isfinite(inside[day]) else None
