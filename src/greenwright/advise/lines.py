"""The lines of a plan: what, where, why, what it changes, and what would change the advice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from greenwright.advise.ahead import PLAN_DAYS
from greenwright.advise.judge import levels_of
from greenwright.advise.loss import band_loss
from greenwright.advise.result import LineEffect, PlanLine
from greenwright.advise.targets import Band
from greenwright.advise.unit import FREE, Floats
from greenwright.advise.units import Setting
from greenwright.advise.usual import last_material
from greenwright.advise.wording import (
    Standing,
    act_text,
    effect_text,
    level_text,
    standing_text,
)
from greenwright.advise.work import Piece, plan_path
from greenwright.advise.world import START, World, of_greens
from greenwright.base.estimate import draws_estimate
from greenwright.base.evidence import look_up
from greenwright.base.tables import practices, quantities
from greenwright.respond import HORIZONS, WorkPath, keys_of, shift

GROUNDED = ("published", "reported", "common practice", "derived")
"""Grades of an effect's size on which advice may say `act`; a judgement or a memory says `try`."""


@dataclass(frozen=True, slots=True)
class _Plan:
    """A plan with its path and levels, to take single pieces out of."""

    setting: Setting
    done: tuple[Piece, ...]
    path: WorkPath
    levels: Mapping[str, Floats]


def plan_lines(setting: Setting, done: Sequence[Piece]) -> tuple[PlanLine, ...]:
    """Return the lines of the plan's days, each with its reason and effects."""
    week = merged(p for p in done if p.day < PLAN_DAYS)
    plan = _Plan(setting, tuple(done), plan_path(setting.world, done), {})
    plan = replace(plan, levels=levels_of(setting.world, done))
    return tuple(_line(plan, piece) for piece in week)


def bare_lines(setting: Setting, done: Sequence[Piece]) -> tuple[PlanLine, ...]:
    """Return the lines of the plan's days without reasons, for the plans beside the advice."""
    return tuple(_bare(setting, piece) for piece in merged(p for p in done if p.day < PLAN_DAYS))


def merged(done: Iterable[Piece]) -> list[Piece]:
    """Return pieces with those of one group, day and setting joined into one."""
    joined: dict[tuple[object, ...], Piece] = {}
    for p in done:
        row = id(p.row) if p.column == FREE else p.row is not None
        key = (p.day, p.group, p.practice, p.amount, p.passes, round(p.step_mm, 6), row)
        held = joined.get(key)
        if held is None:
            joined[key] = p
            continue
        joined[key] = replace(
            held,
            greens=held.greens + p.greens,
            labour_h=held.labour_h + p.labour_h,
            cost=held.cost + p.cost,
        )
    return list(joined.values())


def _bare(setting: Setting, piece: Piece) -> PlanLine:
    held = practices()[piece.practice]
    day = setting.world.days[piece.day].date
    material = piece.row.work.material if piece.row else ""
    if not material and held.needs_material:
        material = last_material(setting.snapshot, piece.practice, piece.greens)
    return PlanLine(
        date=day,
        greens=piece.greens,
        group=piece.group,
        practice=piece.practice,
        amount=piece.amount,
        unit=held.unit if piece.amount is not None else "",
        passes=piece.passes,
        material=material,
        labour_h=piece.labour_h,
        cost=piece.cost,
        fixed=piece.row is not None,
    )


def _line(plan: _Plan, piece: Piece) -> PlanLine:
    bare = _bare(plan.setting, piece)
    stops = plan.setting.mornings[piece.day].stops(piece.practice)
    if piece.column == FREE:
        reason = "Planned in the record; its effect on the surface is not modelled."
        return replace(
            bare,
            reason=reason,
            stops=stops,
            confidence="try",
            changes_mind="Whatever changes the planned work itself.",
        )
    without = _without(plan, piece)
    effects = _effects(plan, piece, without)
    lead = _lead(plan, piece, without)
    return replace(
        bare,
        reason=_reason(plan, piece, effects, lead),
        effects=effects,
        confidence=_confidence(plan.setting.world, piece, effects, lead),
        changes_mind=_changes_mind(plan, piece, effects, lead),
        stops=stops,
    )


def _without(plan: _Plan, piece: Piece) -> WorkPath:
    rest = [
        p
        for p in plan.done
        if not (
            p.day == piece.day
            and p.practice == piece.practice
            and set(p.greens) <= set(piece.greens)
        )
    ]
    return of_greens(plan_path(plan.setting.world, rest), piece.greens)


def _effects(plan: _Plan, piece: Piece, without: WorkPath) -> tuple[LineEffect, ...]:
    responses, found = plan.setting.world.responses, []
    path = of_greens(plan.path, piece.greens)
    last = len(plan.setting.world.days) - 1
    for outcome in ("green_speed", "smoothness"):
        moved = shift(responses, path, outcome) - shift(responses, without, outcome)
        for horizon in HORIZONS.get(piece.practice, (0, 1)):
            if piece.day + horizon <= last:
                draws = moved[:, :, START + piece.day + horizon].mean(axis=1)
                unit = quantities()[outcome].unit
                found.append(LineEffect(outcome, horizon, draws_estimate(draws, unit)))
    return tuple(found)


def _lead(plan: _Plan, piece: Piece, without: WorkPath) -> Standing | None:
    """Return the quantity that the piece helps most over the days ahead, and where it stands."""
    world, best = plan.setting.world, (0.0, None)
    rows = [world.greens.index(g) for g in piece.greens]
    for quantity, levels in plan.levels.items():
        b = world.bands[quantity]
        if not np.isfinite(_ends(b, rows, piece.day)).any():
            continue
        band = [part[rows] for part in (b.low, b.high, b.half)]
        other = (
            world.base[quantity][:, rows] + shift(world.responses, without, quantity)[:, :, START:]
        )
        saved = band_loss(other, *band).mean(axis=0) - band_loss(levels[:, rows], *band).mean(
            axis=0
        )
        weight = np.array([d.weight for d in world.days]) * b.weight[rows]
        gain = float((saved * weight).sum())
        if best[1] is None or gain > best[0]:
            best = (gain, quantity)
    if best[1] is None:
        return None
    quantity = best[1]
    surface, b = world.surfaces[quantity], world.bands[quantity]
    today = np.mean([surface.mean[surface.greens.index(g)] for g in piece.greens])
    planned = plan.levels[quantity][:, rows, piece.day].mean()
    return Standing(quantity, float(today), float(planned), *_ends(b, rows, piece.day))


def _ends(band: Band, rows: Sequence[int], day: int) -> tuple[float, float]:
    """Return the band that all of some greens share on a day; infinite where open."""
    return float(band.low[rows, day].max()), float(band.high[rows, day].min())


def _reason(plan: _Plan, piece: Piece, effects: Sequence[LineEffect], lead: Standing | None) -> str:
    course, when = plan.setting.snapshot.course, plan.setting.world.days[piece.day].date
    unit = practices()[piece.practice].unit
    what = act_text(
        piece.practice,
        amount=piece.amount,
        passes=piece.passes,
        unit=unit,
        step_mm=piece.step_mm,
    )
    group = f"group {piece.group}" if piece.group else "these greens"
    stands = f"{standing_text(lead, group, when, course)} " if lead else ""
    shown = [e for e in effects if lead is None or e.quantity == lead.quantity]
    shown = [e for e in shown if e.horizon_days == 0 or e.estimate.sd > 0] or list(effects[:1])
    told = "; ".join(effect_text(e.quantity, e.horizon_days, e.estimate, course) for e in shown)
    planned = "Planned in the record. " if piece.row else ""
    against = (
        "against leaving the leaf uncut that day"
        if piece.practice == "mow"
        else ("against leaving it out")
    )
    return f"{planned}{stands}{what} gives, {against}, {told}."


def _confidence(
    world: World, piece: Piece, effects: Sequence[LineEffect], lead: Standing | None
) -> str:
    if lead is None or _unsure(world, lead.quantity):
        return "read first"
    clear = {e.quantity for e in effects if e.estimate.low > 0 or e.estimate.high < 0}
    return "act" if any(_grounded(world, piece, q) for q in clear) else "try"


def _unsure(world: World, quantity: str) -> bool:
    """Return whether today's surface is too old or too wide to act on."""
    surface, half = world.surfaces[quantity], world.bands[quantity].half
    age = (world.days[0].date - surface.course_last_read).days - 1
    spread = np.mean([e.sd for e in surface.per_green])
    return age > quantities()[quantity].goes_stale_d or bool(spread > half.mean())


def _grounded(world: World, piece: Piece, quantity: str) -> bool:
    for (act, outcome), effect in world.responses.effects.items():
        if outcome == quantity and effect.shape.practice == piece.practice:
            local = world.responses.share_local.get((act, outcome), 0.0) >= 0.5
            if local or look_up(keys_of(effect.shape)[0]).grade in GROUNDED:
                return True
    return False


def _changes_mind(
    plan: _Plan, piece: Piece, effects: Sequence[LineEffect], lead: Standing | None
) -> str:
    if lead is None:
        return "A first reading of green speed and smoothness."
    first = next((e.estimate.value for e in effects if e.quantity == lead.quantity), 0.0)
    course, label = plan.setting.snapshot.course, quantities()[lead.quantity].label.lower()
    ends = (lead.high - max(first, 0.0), lead.low - min(first, 0.0))
    if first > 0 and np.isfinite(ends[0]) and lead.quantity == "green_speed":
        edge = level_text(lead.quantity, ends[0], course)
        return f"A reading of {label} of {edge} or more before it: then leave it out."
    if np.isfinite(lead.low):
        edge = level_text(lead.quantity, lead.low, course)
        return f"A reading of {label} of {edge} or more before it: then it is not needed."
    return f"A reading of {label} well inside its band."
