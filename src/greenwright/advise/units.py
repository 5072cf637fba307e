"""Building the units: what each set of greens worked alike may do, day by day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from greenwright.advise.fixed import ACTS, Fixed, joined, last_done, use_of
from greenwright.advise.heights import height_choices
from greenwright.advise.labour import Crew
from greenwright.advise.limits import Rules
from greenwright.advise.loss import Wear
from greenwright.advise.resources import Resources
from greenwright.advise.stops import Morning
from greenwright.advise.targets import quality_floor
from greenwright.advise.unit import (
    BRUSH,
    COLUMNS,
    CUTS,
    EXTRAS,
    FREE,
    NEVER,
    ROLLS,
    SAND,
    STEP,
    VERTICUT,
    Floats,
    Ints,
    Unit,
)
from greenwright.advise.world import QUALITY, START, World
from greenwright.base.evidence import value
from greenwright.base.tables import practices
from greenwright.base.values import Snapshot
from greenwright.respond.shapes import HELD

PRACTICE = {CUTS: "mow", ROLLS: "roll", SAND: "topdress", VERTICUT: "verticut", BRUSH: "brush"}
COLUMN = {practice: column for column, practice in PRACTICE.items()}
UNREAD_QUALITY_KEY = "measure.quality.level"
UNIT_KEYS = (
    "limits.default.max_cuts_day",
    "limits.default.max_rolls_day",
    "limits.leaf_share_per_cut",
    "limits.double_cut_days",
    "limits.topdress_interval_d",
    "limits.verticut_interval_d",
    "limits.brush_interval_d",
    "limits.growth_for_verticut",
)


@dataclass(frozen=True, slots=True)
class Setting:
    """Everything outside the units that building them needs."""

    snapshot: Snapshot
    world: World
    rules: Rules
    crew: Crew
    room: Resources
    mornings: tuple[Morning, ...]
    fixed: tuple[Fixed, ...]
    wear: Wear
    sand_price: float


def build_units(setting: Setting) -> tuple[Unit, ...]:
    """Return the units: the groups, split where heights or planned rows differ inside one."""
    parts: dict[tuple[object, ...], list[str]] = {}
    for group, greens in setting.snapshot.groups.items():
        for green in greens:
            parts.setdefault((group, *_state(setting, green)), []).append(green)
    return tuple(_unit(setting, str(key[0]), tuple(greens)) for key, greens in parts.items())


def other_use(setting: Setting) -> Floats:
    """Return what planned rows that the plan does not decide take (days, resources)."""
    used = np.zeros_like(setting.room.room)
    for row in setting.fixed:
        if row.work.practice not in ACTS:
            used[row.day] += use_of(row, setting.crew, setting.room)
    return used


def _state(setting: Setting, green: str) -> tuple[object, ...]:
    place = setting.world.greens.index(green)
    bench = setting.world.path.bench_mm[place]
    planned = tuple(
        i
        for i, row in enumerate(setting.fixed)
        if green in row.greens and row.work.practice in ACTS
    )
    return (float(np.nan_to_num(bench[START - 1])), last_change(bench[:START]), planned)


def last_change(bench_mm: Floats) -> int:
    """Return the day of the last change of height, counted from tomorrow as 0 (so negative)."""
    known = ~np.isnan(bench_mm[1:]) & ~np.isnan(bench_mm[:-1])
    changed = np.flatnonzero(known & (np.abs(np.diff(bench_mm)) > 1e-9)) + 1
    return int(changed[-1]) - len(bench_mm) if len(changed) else NEVER


def _unit(setting: Setting, group: str, greens: tuple[str, ...]) -> Unit:
    world, rules = setting.world, setting.rules
    rows = np.array([world.greens.index(g) for g in greens])
    planned = planned_of(setting, greens)
    bench = world.path.bench_mm[rows[0]]
    now = float(bench[START - 1])
    step = float(rules.max_step_mm[rows].min())
    lowest = rules.min_height_mm[rows].max(axis=0)
    anchors = [r.work.amount for r in planned if _sets_height(r)]
    heights, start, reach = height_choices(
        now, step, lowest=float(lowest.min()), anchors=[a for a in anchors if a is not None]
    )
    doses = _sand_doses(planned)
    least, most = _choices(setting, greens, planned=planned, doses=doses, reach=reach)
    use, price = _tables(setting, greens, planned=planned, doses=doses, most=most)
    leaf, leaf_now = _leaf(world, rows)
    return Unit(
        group=group,
        greens=greens,
        rows=rows,
        heights=heights,
        start=start,
        last_change=last_change(bench[:START]),
        least=least,
        most=most,
        height_fixed=_fixed_places(planned, heights, len(world.days)),
        height_ok=_height_ok(setting, greens, heights, lowest=lowest),
        step_mm=step,
        step_interval_d=float(rules.step_interval_d[rows].max()),
        roll_room=_roll_room(setting, rows),
        double_run=_double_run(world, rows),
        double_limit=int(value("limits.double_cut_days")),
        intervals=_intervals(),
        last_extra=_last_extras(setting, greens),
        leaf_mm=leaf,
        leaf_now_mm=leaf_now,
        leaf_share=value("limits.leaf_share_per_cut"),
        sand_doses=doses,
        use=use,
        price=price,
        room=setting.room.room - other_use(setting),
    )


def planned_of(setting: Setting, greens: Sequence[str]) -> tuple[Fixed, ...]:
    """Return the planned rows that a unit's schedule holds, one for each day and practice."""
    rows: dict[tuple[int, str], list[Fixed]] = {}
    for row in setting.fixed:
        if greens[0] in row.greens and row.work.practice in ACTS:
            rows.setdefault((row.day, row.work.practice), []).append(row)
    one_each = (joined(held, greens, setting.crew) for held in rows.values())
    return tuple(row for row in one_each if row is not None)


def _sets_height(row: Fixed) -> bool:
    return row.work.practice == "mow" and row.work.amount is not None and not row.free_height


def _fixed_places(planned: Sequence[Fixed], heights: Floats, n_days: int) -> Ints:
    places = np.full(n_days, FREE)
    for row in planned:
        if _sets_height(row) and not np.isnan(heights).any():
            places[row.day] = int(np.argmin(np.abs(heights - float(row.work.amount or 0.0))))
    return places


def _sand_doses(planned: Sequence[Fixed]) -> tuple[float, ...]:
    reference = practices()["topdress"].reference or 0.5
    rows = [r.work for r in planned if r.work.practice == "topdress"]
    given = [reference if w.amount is None else w.amount for w in rows]
    return tuple(sorted({0.0, reference / 2, reference, *given}))


def _choices(
    setting: Setting,
    greens: tuple[str, ...],
    *,
    planned: Sequence[Fixed],
    doses: Sequence[float],
    reach: int,
) -> tuple[Ints, Ints]:
    """Return the smallest and largest choice of each column by day."""
    n_days = len(setting.world.days)
    least, most = np.zeros((n_days, COLUMNS), dtype=int), np.zeros((n_days, COLUMNS), dtype=int)
    top = {
        CUTS: int(value("limits.default.max_cuts_day")),
        ROLLS: int(value("limits.default.max_rolls_day")),
        SAND: len(doses) - 1,
        VERTICUT: 1,
        BRUSH: 1,
    }
    open_, gentle = _open_days(setting, greens), [m.gentle_only for m in setting.mornings]
    growing = _growing(setting, greens)
    for column, choice in top.items():
        if setting.crew.can(PRACTICE[column], greens):
            hot = 1 if column == CUTS else 0
            most[:, column] = np.where(open_, np.where(gentle, min(hot, choice), choice), 0)
    most[:, VERTICUT] = np.where(growing, most[:, VERTICUT], 0)
    for row in planned:
        column = COLUMN[row.work.practice]
        dose = row.work.amount if column == SAND else row.work.passes
        choice = doses.index(dose) if column == SAND and dose in doses else round(dose or 1)
        least[row.day, column] = most[row.day, column] = max(int(choice), 1)
    least[:, STEP], most[:, STEP] = -reach, reach
    return least, most


def _open_days(setting: Setting, greens: tuple[str, ...]) -> np.ndarray:
    rows = [setting.world.greens.index(g) for g in greens]
    closed = np.array([d.closed for d in setting.world.days])
    stopped = np.array([bool(m.no_work) for m in setting.mornings])
    return ~(closed | stopped | setting.rules.no_work[rows].any(axis=0))


def _growing(setting: Setting, greens: tuple[str, ...]) -> np.ndarray:
    rows = [setting.world.greens.index(g) for g in greens]
    return setting.world.path.growth[rows, START:].min(axis=0) >= value(
        "limits.growth_for_verticut"
    )


def _tables(
    setting: Setting,
    greens: tuple[str, ...],
    *,
    planned: Sequence[Fixed],
    doses: Sequence[float],
    most: Ints,
) -> tuple[dict[int, Floats], dict[int, Floats]]:
    """Return what each choice of each column takes, and its loss, by day."""
    n_days, wear = len(setting.world.days), setting.wear
    use, price = {}, {}
    for column, practice in PRACTICE.items():
        n = int(most[:, column].max()) + 1
        use[column] = np.zeros((n_days, n, setting.room.room.shape[1]))
        price[column] = np.zeros((n_days, n))
        for choice in range(1, n):
            passes = 1.0 if column == SAND else float(choice)
            job = setting.crew.job(practice, greens, passes)
            sand = _sand_cost(setting, greens, doses[choice]) if column == SAND else 0.0
            worn = _worn(wear, column, choice) * len(greens)
            use[column][:, choice] = setting.room.use(job, greens)
            price[column][:, choice] = worn + wear.per_cost * (job.cost + sand)
    for row in planned:
        column = COLUMN[row.work.practice]
        choice = int(most[row.day, column])
        worn = _worn(wear, column, choice) * len(greens)
        sand = _sand_cost(setting, greens, doses[choice]) if column == SAND else 0.0
        use[column][row.day, choice] = setting.room.use(row.job, greens)
        price[column][row.day, choice] = worn + wear.per_cost * (row.job.cost + sand)
    return use, price


def _worn(wear: Wear, column: int, choice: int) -> float:
    if column == ROLLS:
        return wear.per_pass * choice
    return wear.per_cut * max(choice - 1, 0) if column == CUTS else 0.0


def _sand_cost(setting: Setting, greens: Sequence[str], dose: float) -> float:
    areas = {g.green: g.area_m2 or 0.0 for g in setting.snapshot.greens}
    return setting.sand_price * dose * sum(areas[g] for g in greens)


def _height_ok(
    setting: Setting, greens: tuple[str, ...], heights: Floats, *, lowest: Floats
) -> np.ndarray:
    world, n_days = setting.world, len(setting.world.days)
    if np.isnan(heights).any():
        return np.ones((n_days, 1), dtype=bool)
    ok = heights[None, :] >= lowest[:, None] - 1e-9
    for green in greens:
        row = world.greens.index(green)
        moved = _quality_slope(world, row) * (heights - world.path.bench_mm[row, START - 1])
        now = world.quality[row]
        now = value(UNREAD_QUALITY_KEY) if np.isnan(now) else now
        floors = [quality_floor(setting.snapshot, green, d)[0] for d in world.dates]
        floor = np.minimum(floors, now)[:, None]
        ok &= now + moved[None, :] >= floor - 1e-9
    return ok


def _quality_slope(world: World, row: int) -> float:
    """Return expected change of quality per mm of height."""
    key = ("mow", QUALITY)
    if key not in world.responses.effects or world.responses.effects[key].shape.form != HELD:
        return 0.0
    effect = world.responses.effects[key]
    column = 0 if effect.size.shape[1] == 1 else world.responses.greens.index(world.greens[row])
    return float(effect.size[:, column].mean() / effect.shape.reference)


def _roll_room(setting: Setting, rows: Ints) -> Floats:
    past = setting.world.path.doses["roll"][rows]
    rooms = []
    for day in range(len(setting.world.days)):
        end = START + day + 1
        spent = past[:, end - 7 : end].sum(axis=1)
        rooms.append((setting.rules.rolls_week[rows, day] - spent).min())
    return np.maximum(np.array(rooms), 0.0)


def _double_run(world: World, rows: Ints) -> int:
    double = (world.path.doses["double_cut"][rows, :START] > 0).any(axis=0)[::-1]
    return int(np.argmin(double)) if not double.all() else len(double)


def _intervals() -> Floats:
    out = np.zeros(COLUMNS)
    for column in EXTRAS:
        out[column] = value(f"limits.{PRACTICE[column]}_interval_d")
    return out


def _last_extras(setting: Setting, greens: Sequence[str]) -> Ints:
    out = np.full(COLUMNS, NEVER)
    tomorrow: date = setting.world.dates[0]
    for column in EXTRAS:
        days = [last_done(setting.snapshot, PRACTICE[column], g) for g in greens]
        known = [(d - tomorrow).days for d in days if d is not None]
        out[column] = max(known, default=NEVER)
    return out


def _leaf(world: World, rows: Ints) -> tuple[Floats, float]:
    """Return mean leaf grown by day, and since the last cut today, of the fastest green [mm]."""
    extension = world.responses.leaf_mm_d.mean(axis=0)
    pace = extension[[0] * len(rows)] if len(extension) == 1 else extension[_own(world, rows)]
    grown = pace[:, None] * np.cumsum(world.path.growth[rows, START:], axis=1)
    now = pace * world.path.growth_since_cut()[rows, START - 1]
    return grown.max(axis=0), float(now.max())


def _own(world: World, rows: Ints) -> list[int]:
    return [world.responses.greens.index(world.greens[r]) for r in rows]


def practices_offered(units: Sequence[Unit]) -> Mapping[str, bool]:
    """Return which practices the plan may choose on some day."""
    return {p: any(u.most[:, c].any() for u in units) for c, p in PRACTICE.items()}
