"""What the user must know beside the plan: assumptions, defaults, gaps, clashes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from greenwright.advise.ahead import ROUNDS_KEY, rounds_assumed
from greenwright.advise.labour import COST_KEY
from greenwright.advise.resources import WINDOW_KEY
from greenwright.advise.targets import FLOOR_KEY, quality_floor
from greenwright.advise.unit import Unit
from greenwright.advise.units import PRACTICE, UNREAD_QUALITY_KEY, Setting
from greenwright.advise.world import START
from greenwright.base.evidence import value
from greenwright.base.values import Snapshot

STOP_DEFAULTS = ("limits.heat_air_c", "limits.saturating_rain_mm", "limits.stop_chance")


def notes_of(setting: Setting, *, learned: bool) -> tuple[str, ...]:
    """Return the sentences on what the plan assumes."""
    return tuple(text for text in _notes(setting, learned) if text)


def defaults_of(setting: Setting, evidence: Sequence[str]) -> tuple[str, ...]:
    """Return those evidence keys that stand in for something the course could enter."""
    targets = {k for b in setting.world.bands.values() for k in b.evidence_keys}
    entered_floor = not _floor_is_default(setting)
    own = {
        *targets,
        *setting.rules.defaults,
        *STOP_DEFAULTS,
        WINDOW_KEY,
        ROUNDS_KEY,
        UNREAD_QUALITY_KEY,
        COST_KEY,
        *(() if entered_floor else (FLOOR_KEY,)),
    }
    return tuple(k for k in evidence if k in own or k.startswith("labour."))


def sand_price(snapshot: Snapshot) -> float:
    """Return the price of a litre of sand [currency/L], 0 where the record has none."""
    for material in snapshot.materials:
        if "sand" in material.material.lower() and material.price is not None:
            if material.price_unit == "per L":
                return material.price
            if material.density_kg_l is not None:
                return material.price * material.density_kg_l
    return 0.0


def no_work_reason(setting: Setting, units: Sequence[Unit]) -> str:
    """Return why a plan is empty, naming the limits that leave no room for any work."""
    shut = [i for i in range(len(setting.world.days)) if not any(_any_choice(u, i) for u in units)]
    if len(shut) < len(setting.world.days):
        return ""
    causes = []
    room = setting.room.room
    hours = room[:, : len(setting.room.scopes)]
    if hours.size and np.all(hours.min(axis=1) <= 0):
        causes.append("labour_h_day is 0 on every day")
    if setting.rules.no_work.all():
        causes.append("no_work holds on every day")
    if all(d.closed for d in setting.world.days):
        causes.append("the calendar closes the course on every day")
    if all(m.no_work for m in setting.mornings):
        causes.append("frost or saturated greens are too likely on every morning")
    return "The limits leave no work: " + (
        "; ".join(causes) or "hours, machines, dates and weather together rule out each piece"
    )


def _any_choice(unit: Unit, day: int) -> bool:
    return any(
        np.all(unit.use[c][day, k] <= unit.room[day] + 1e-6)
        for c in PRACTICE
        for k in range(1, int(unit.most[day, c]) + 1)
    )


def _notes(setting: Setting, learned: bool) -> list[str]:
    world, snapshot = setting.world, setting.snapshot
    unknown = [m for m in setting.mornings if m.frost is None]
    unseen = [m for m in setting.mornings if not m.known]
    bench = world.path.bench_mm[:, START - 1]
    price = setting.sand_price
    return [
        _unless(setting.crew.entered, "No crew table is entered: common-practice hours are used."),
        _unless(learned, "The record holds no work: usual work is taken as a cut every day."),
        _unless(
            not world.path.assumed_mown,
            "No cut is recorded on greens "
            f"{', '.join(world.path.assumed_mown)}: they are taken as cut daily until today.",
        ),
        _unless(
            not np.isnan(bench).any(),
            "The height of cut of some greens is not known: no change of it is advised there.",
        ),
        _unless(
            not np.isnan(world.quality).any(),
            f"Turf quality was never read on some greens: {value(UNREAD_QUALITY_KEY):g} is "
            "assumed where the floor is checked.",
        ),
        _unless(
            not rounds_assumed(snapshot),
            f"No rounds are counted: {value(ROUNDS_KEY):g} a day are assumed.",
        ),
        _unless(
            price > 0 or not setting.crew.can("topdress", world.greens),
            "No price of sand is entered: sand is counted as free.",
        ),
        _unless(not unknown, "The weather is not known on some days: look for frost yourself."),
        _unless(
            bool(unknown) or not unseen,
            f"No forecast covers {len(unseen)} of the days ahead: typical weather stands in, "
            "with a wider spread.",
        ),
        _below_lowest(setting),
        "No threshold for wilt, saturation or heat is entered: the evidence table's stand in, and "
        "the chance of each is held to "
        f"{value('limits.stop_chance'):.0%}. Lightning is never modelled: it always stops work.",
    ]


def _below_lowest(setting: Setting) -> str:
    bench = setting.world.path.bench_mm[:, START - 1]
    lowest = setting.rules.min_height_mm[:, 0]
    with np.errstate(invalid="ignore"):
        low = bench < lowest - 1e-9
    if not low.any():
        return ""
    greens = ", ".join(g for g, b in zip(setting.world.greens, low, strict=True) if b)
    return (
        f"Limits clash on greens {greens}: the height in force is under min_height_mm, and "
        "max_height_step_mm allows it back only step by step. No cut under the lowest height is "
        "planned: raise it by hand or correct the limit."
    )


def _floor_is_default(setting: Setting) -> bool:
    dates, greens = setting.world.dates, setting.world.greens
    return any(quality_floor(setting.snapshot, g, d)[1] for g in greens for d in dates)


def _unless(fine: bool, text: str) -> str:
    return "" if fine else text
