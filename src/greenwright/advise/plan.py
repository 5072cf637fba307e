"""The week's plan: advised, beside doing nothing and the usual work, on the same draws."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from greenwright.advise.ahead import HORIZON_DAYS, PLAN_DAYS, ROUNDS_KEY, rounds_assumed
from greenwright.advise.fixed import planned_rows
from greenwright.advise.improve import ALL_PLANS, Found, find_plan
from greenwright.advise.judge import judged
from greenwright.advise.labour import crew_of
from greenwright.advise.limits import rules
from greenwright.advise.lines import bare_lines, plan_lines
from greenwright.advise.loss import LOSS_KEYS, wear
from greenwright.advise.model import UnitModel, shift_without_height, unit_model
from greenwright.advise.resources import WINDOW_KEY, resources
from greenwright.advise.result import WeekPlan
from greenwright.advise.stops import STOP_KEYS, mornings
from greenwright.advise.targets import FLOOR_KEY
from greenwright.advise.telling import defaults_of, no_work_reason, notes_of, sand_price
from greenwright.advise.unit import FREE, Ints, Unit, allowed
from greenwright.advise.units import (
    UNIT_KEYS,
    UNREAD_QUALITY_KEY,
    Setting,
    build_units,
    other_use,
    practices_offered,
)
from greenwright.advise.usual import usual_plans
from greenwright.advise.work import pieces
from greenwright.advise.world import START, World, build_world
from greenwright.base.errors import CannotAnswer
from greenwright.base.values import Snapshot
from greenwright.measure import Surface
from greenwright.respond import Responses

ROUGH_LEVELS = 900
"""Draws times greens on which schedules are walked; what is kept is judged on all draws."""


@dataclass(frozen=True, slots=True)
class _Search:
    units: tuple[Unit, ...]
    models: tuple[UnitModel, ...]
    found: Found
    usual: tuple[Ints, ...]
    learned: bool
    notes: tuple[str, ...]


def plan_week(
    snapshot: Snapshot,
    surfaces: Mapping[str, Surface],
    responses: Responses,
    *,
    seed: int,
    progress: Callable[[str, float], None] | None = None,
    horizon: int = HORIZON_DAYS,
    all_plans: int = ALL_PLANS,
) -> WeekPlan:
    """Return the plan for the seven days after the record's, optimised over fourteen.

    Args:
        snapshot: the record as known on its `as_of`.
        surfaces: today's surfaces; those with a target are planned for.
        responses: effects as draws (at least 100 for a plan to lean on).
        seed: fixes the scenarios.
        progress: told a text and a share 0..1 while searching.
        horizon: days optimised over, at least the plan's seven.
        all_plans: schedules of a unit up to which none is left out.

    Raises:
        CannotAnswer: no green is in play, or nothing with a target was ever read.
    """
    setting, refused = settle(snapshot, surfaces, responses, seed=seed, horizon=horizon)
    search = _search(setting, progress, all_plans)
    advised = pieces(setting, search.units, search.found.plans)
    usual = pieces(setting, search.units, search.usual)
    evidence = _evidence(setting)
    no_plan = "" if advised else no_work_reason(setting, search.units)
    return WeekPlan(
        advised=judged(setting, advised, plan_lines(setting, advised)),
        nothing=judged(setting, ()),
        usual=judged(setting, usual, bare_lines(setting, usual)),
        gap=None if search.found.proven else _gap(search.found),
        proven=search.found.proven,
        notes=(*refused, *search.notes, *notes_of(setting, learned=search.learned)),
        missing=setting.world.missing,
        evidence=evidence,
        defaults=defaults_of(setting, evidence),
        no_plan=no_plan,
    )


def settle(
    snapshot: Snapshot,
    surfaces: Mapping[str, Surface],
    responses: Responses,
    *,
    seed: int,
    horizon: int = HORIZON_DAYS,
) -> tuple[Setting, tuple[str, ...]]:
    """Return the setting of a plan, and a sentence for each planned row that does not stand."""
    if not any(green.in_play for green in snapshot.greens):
        raise CannotAnswer("no green is in play", where="greens.csv", do="set in_play to yes")
    world = build_world(snapshot, surfaces, responses, seed=seed, horizon=horizon)
    if not world.base:
        raise CannotAnswer(
            "nothing that has a target was ever read",
            where="readings",
            expected="green speed or smoothness of a few greens",
            do="read green speed on three greens and score the roll",
        )
    crew = crew_of(snapshot)
    world = _uncut_greens(world, [g for g in world.greens if not crew.can("mow", [g])])
    limits = rules(snapshot, world.greens, world.dates)
    room = resources(limits, crew, horizon)
    held = mornings(snapshot, world.dates)
    fixed, refused = planned_rows(snapshot, world, limits, crew=crew, room=room, mornings=held)
    setting = Setting(
        snapshot=snapshot,
        world=world,
        rules=limits,
        crew=crew,
        room=room,
        mornings=held,
        fixed=fixed,
        wear=wear(len(world.greens), crew.cost_per_h),
        sand_price=sand_price(snapshot),
    )
    return setting, refused


def _uncut_greens(world: World, greens: Sequence[str]) -> World:
    """Return the world with no growth ahead on greens whose cut is not this crew's to decide."""
    if not greens:
        return world
    growth = world.path.growth.copy()
    growth[[world.greens.index(g) for g in greens], START:] = 0.0
    return replace(world, path=replace(world.path, growth=growth))


def _search(
    setting: Setting, progress: Callable[[str, float], None] | None, all_plans: int
) -> _Search:
    units, notes = build_units(setting), ()
    found, models, usual = _find(setting, units, progress, all_plans)
    if found is None:
        units = tuple(_free_heights(u) for u in units)
        notes = ("The planned heights cannot be reached within the limits and are left free.",)
        found, models, usual = _find(setting, units, progress, all_plans)
    if found is None:
        raise CannotAnswer(
            "the planned work and the limits leave no plan",
            where="work.csv and limits.csv",
            do="take out or move the planned rows of the coming days",
        )
    return _Search(units, models, found, usual[0], usual[1], notes)


def _find(
    setting: Setting,
    units: tuple[Unit, ...],
    progress: Callable[[str, float], None] | None,
    all_plans: int,
) -> tuple[Found | None, tuple[UnitModel, ...], tuple[tuple[Ints, ...], bool]]:
    quiet = shift_without_height(setting.world)
    levels = setting.world.responses.n_draws * len(setting.world.greens)
    thin = max(levels // ROUGH_LEVELS, 1)
    models = tuple(unit_model(u, setting.world, quiet) for u in units)
    rough = models
    if thin > 1:
        rough = tuple(unit_model(u, setting.world, quiet, thin=thin) for u in units)
    usual = usual_plans(setting, units)
    starts = [_allowed(u, [p, u.rest()[0]]) for u, p in zip(units, usual[0], strict=True)]
    found = find_plan(
        models,
        setting.room.room - other_use(setting),
        rough=rough,
        starts=starts,
        progress=progress,
        all_plans=all_plans,
    )
    return found, models, usual


def _allowed(unit: Unit, plans: Sequence[Ints]) -> Ints:
    stack = np.array(plans)
    return stack[allowed(unit, stack)]


def _free_heights(unit: Unit) -> Unit:
    return replace(unit, height_fixed=np.full(unit.n_days, FREE))


def _gap(found: Found) -> float:
    return max(found.loss - found.bound, 0.0) / found.loss if found.loss > 0 else 0.0


def _evidence(setting: Setting) -> tuple[str, ...]:
    world, crew = setting.world, setting.crew
    offered = practices_offered(build_units(setting))
    keys = [
        *LOSS_KEYS,
        *world.responses.evidence_keys,
        *(key for band in world.bands.values() for key in band.evidence_keys),
        *setting.rules.defaults,
        *crew.evidence_keys(p for p, can in offered.items() if can),
        *STOP_KEYS,
        *UNIT_KEYS,
        FLOOR_KEY,
        *((UNREAD_QUALITY_KEY,) if np.isnan(world.quality).any() else ()),
        *((WINDOW_KEY,) if setting.room.machines else ()),
        *((ROUNDS_KEY,) if rounds_assumed(setting.snapshot) else ()),
    ]
    return tuple(dict.fromkeys(keys))


__all__ = ["PLAN_DAYS", "plan_week", "settle"]
