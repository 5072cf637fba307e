"""The plainest possible planner: every schedule, every sum written out, for tiny problems.

It takes the draws of the world as given and shares nothing else with the search.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from greenwright.advise.units import Setting
from greenwright.advise.world import START

Floats = np.ndarray
Day = tuple[int, int, int]
"""Cuts, steps of height (in the fixed step), rolling passes."""


@dataclass(frozen=True)
class Tiny:
    """A group on its own: rows among the greens in play, height now, step and lowest [mm]."""

    rows: tuple[int, ...]
    height: float
    step: float
    lowest: float


def schedules(group: Tiny, n_days: int, *, rolls_week: int, interval: int) -> Iterator[list[Day]]:
    """Yield every schedule of a group that keeps its own limits."""
    steps = (0,) if np.isnan(group.height) else (-1, 0, 1)
    choices = [(0, 0, r) for r in range(3)]
    choices += [(c, s, r) for c in (1, 2) for s in steps for r in range(3)]
    for plan in product(choices, repeat=n_days):
        changes = [d for d, (_, s, _) in enumerate(plan) if s]
        apart = all(b - a >= interval for a, b in pairwise(changes))
        heights = np.cumsum([s for _, s, _ in plan]) * group.step + group.height
        low = np.any(heights < group.lowest - 1e-9)
        if apart and not low and sum(r for *_, r in plan) <= rolls_week:
            yield list(plan)


def expected_loss(setting: Setting, group: Tiny, plan: list[Day]) -> float:
    """Return the loss of one group under a schedule, sum over days."""
    world = setting.world
    total = 0.0
    for day in range(len(plan)):
        for quantity in world.base:
            level = naive_level(setting, group, plan, day=day, quantity=quantity)
            total += day_loss(setting, group, level, day=day, quantity=quantity)
    return total + work_loss(setting, group, plan)


def naive_level(
    setting: Setting, group: Tiny, plan: list[Day], *, day: int, quantity: str
) -> Floats:
    """Return the level (draws, greens) of a day, act by act."""
    world = setting.world
    effects = world.responses.effects
    rows = list(group.rows)
    level = world.base[quantity][:, rows, day].copy()
    for act, path in (("roll", world.path.doses["roll"]),):
        effect = effects[act, quantity]
        for ago in range(4):
            past = START + day - ago
            if past < START:
                size = effect.size * 2 ** (-ago / effect.half_life_d)
                level += size * path[rows, past][None, :]
    for sooner in range(day + 1):
        cuts, _, rolls = plan[sooner]
        ago = day - sooner
        if ago <= 3:
            for act, n in (("roll", rolls), ("double_cut", max(cuts - 1, 0))):
                effect = effects[act, quantity]
                worth = n if act == "double_cut" or n < 2 else 1 + world.responses.second_pass_share
                if n:
                    level = level + worth * effect.size * 2 ** (-ago / effect.half_life_d)
    bench = 0.0 if np.isnan(group.height) else group.height
    bench += group.step * sum(s for _, s, _ in plan[: day + 1])
    cut_days = [d for d in range(day + 1) if plan[d][0]]
    since = range(cut_days[-1] + 1, day + 1) if cut_days else range(day + 1)
    grown = sum(world.path.growth[rows, START + d] for d in since)
    leaf = world.responses.leaf_mm_d * np.asarray(grown)
    slope = effects["mow", quantity].size / -0.25  # published sizes are per 0.25 mm lower
    return level + slope * (bench + leaf)


def day_loss(setting: Setting, group: Tiny, level: Floats, *, day: int, quantity: str) -> float:
    """Return the band loss and complaints of one day on one group."""
    world, rows, n = setting.world, list(group.rows), len(setting.world.greens)
    band, held = world.bands[quantity], world.days[day]
    window = {"green_speed": (0.6, 10.0), "smoothness": (0.0, 10.0)}[quantity]
    level = np.clip(level, *window)
    total = 0.0
    for place, row in enumerate(rows):
        for x in level[:, place]:
            low, high, half = band.low[row, day], band.high[row, day], band.half[row, day]
            outside = low - x if x < low else x - high if x > high else 0.0
            loss = min((outside / half) ** 2, 4.0) * band.weight[row, day] * held.weight
            if quantity == "smoothness" and x < 8.0:
                rule = 2 ** (8.0 - x) / 200  # one in 200 at 8, doubling; at most one in 20
                loss += 0.1 * held.rounds / (rule**-2 + 20.0**2) ** 0.5
            total += loss / len(level) / n
    return total


def work_loss(setting: Setting, group: Tiny, plan: list[Day]) -> float:
    """Return wear and cost of a schedule: 0.10 a pass, 0.03 an extra cut, cost at a tenth."""
    n, share = len(setting.world.greens), len(group.rows) / len(setting.world.greens)
    wage = setting.crew.cost_per_h
    total = 0.0
    for cuts, _, rolls in plan:
        hours = hours_of(setting, group, (cuts, 0, rolls))
        total += 0.10 * rolls * share + 0.03 * max(cuts - 1, 0) * share
        total += 0.1 * hours * wage / (4.5 * n / 18 * wage)
    return total


def hours_of(setting: Setting, group: Tiny, day: Day) -> float:
    """Return the crew hours of one day's cuts and rolls on a group."""
    name = setting.crew.group_of[setting.world.greens[group.rows[0]]]
    cut = setting.crew.rows["mow", name].minutes or 0.0
    roll = setting.crew.rows["roll", name].minutes or 0.0
    return (day[0] * cut + day[2] * roll) / 60


def best_of_all(
    setting: Setting, groups: list[Tiny], *, rolls_week: int, interval: int, hours: Floats
) -> float:
    """Return the least loss over every mix of schedules within the hours of each day."""
    n_days = len(setting.world.days)
    tables = []
    for group in groups:
        plans = list(schedules(group, n_days, rolls_week=rolls_week, interval=interval))
        loss = np.array([expected_loss(setting, group, p) for p in plans])
        use = np.array([[hours_of(setting, group, d) for d in p] for p in plans])
        tables.append((loss, use))
    if len(tables) == 1:
        loss, use = tables[0]
        return float(loss[np.all(use <= hours + 1e-6, axis=1)].min())
    (one, first), (two, second) = tables
    least = np.inf
    for loss, use in zip(one, first, strict=True):
        fits = np.all(second + use <= hours + 1e-6, axis=1)
        if fits.any():
            least = min(least, loss + two[fits].min())
    return float(least)
