"""A unit: greens worked alike, with what may be done on each day and what it takes.

A schedule of a unit is an integer array (days, 6) with the columns named below; many schedules
are stacked along a first axis.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CUTS, STEP, ROLLS, SAND, VERTICUT, BRUSH = range(6)
COLUMNS = 6
EXTRAS = (SAND, VERTICUT, BRUSH)
NEVER = -(10**6)
FREE = -1

TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Unit:
    """Greens of one group in the same state, and their choices. Days run along first axes.

    Args:
        group, greens, rows: name, keys, places among the greens in play.
        heights: bench heights that may be set, low to high [mm]; one nan when not known.
        start: place of the height in force; last_change: day of the last change (negative).
        least, most: (days, 6) smallest and largest choice of each column.
        height_fixed: (days,) place of a planned height, FREE where there is none.
        height_ok: (days, heights) may be cut at, and keeps quality over its floor.
        step_mm, step_interval_d: largest change, least days between changes.
        roll_room: (days,) passes that the 7 days ending here still allow, never negative.
        double_run, double_limit: days of double cutting on end so far, and at most.
        intervals, last_extra: (6,) least days between, and day of the last (negative).
        leaf_mm: mean leaf grown by the end of each day since the record's day (days,) [mm].
        leaf_now_mm: leaf grown since the last cut, today [mm].
        leaf_share: largest share of the leaf in one cut.
        sand_doses: dose of each choice of sand [L/m2].
        use: column -> (days, choices, resources); price: column -> (days, choices) loss.
        room: (days, resources) that this unit could take at most.
    """

    group: str
    greens: tuple[str, ...]
    rows: Ints
    heights: Floats
    start: int
    last_change: int
    least: Ints
    most: Ints
    height_fixed: Ints
    height_ok: NDArray[np.bool_]
    step_mm: float
    step_interval_d: float
    roll_room: Floats
    double_run: int
    double_limit: int
    intervals: Floats
    last_extra: Ints
    leaf_mm: Floats
    leaf_now_mm: float
    leaf_share: float
    sand_doses: tuple[float, ...]
    use: dict[int, Floats]
    price: dict[int, Floats]
    room: Floats

    @property
    def n_days(self) -> int:
        """Return the number of days ahead."""
        return len(self.least)

    def rest(self) -> Ints:
        """Return the schedule of nothing but planned rows (1, days, 6)."""
        plan = np.where(self.least > 0, self.least, 0)[None].copy()
        plan[0, :, STEP] = 0
        return plan


def height_places(unit: Unit, plans: Ints) -> Ints:
    """Return the place of the bench height in force by schedule and day (n, days)."""
    return unit.start + np.cumsum(plans[:, :, STEP], axis=1)


def last_cuts(plans: Ints) -> Ints:
    """Return the day of the last cut up to each day, -1 where none is in the plan (n, days)."""
    days = np.arange(plans.shape[1])
    return np.maximum.accumulate(np.where(plans[:, :, CUTS] > 0, days, -1), axis=1)


def day_use(unit: Unit, plans: Ints) -> Floats:
    """Return what schedules take of each resource (n, days, resources)."""
    days = np.arange(unit.n_days)
    return sum(unit.use[c][days, plans[:, :, c]] for c in unit.use)  # type: ignore[return-value]


def price_of(unit: Unit, plans: Ints) -> Floats:
    """Return the linear loss of schedules, wear and cost, by day (n, days)."""
    days = np.arange(unit.n_days)
    return sum(unit.price[c][days, plans[:, :, c]] for c in unit.price)  # type: ignore[return-value]


def allowed(unit: Unit, plans: Ints) -> NDArray[np.bool_]:
    """Return which schedules break none of the unit's own limits (n,)."""
    ok = np.all((plans >= unit.least) & (plans <= unit.most), axis=(1, 2))
    ok &= _heights_allowed(unit, plans)
    ok &= _rolls_allowed(unit, plans)
    ok &= _doubles_allowed(unit, plans)
    ok &= _leaf_allowed(unit, plans)
    ok &= _extras_allowed(unit, plans)
    return ok & np.all(day_use(unit, plans) <= unit.room + 1e-6, axis=(1, 2))


def _heights_allowed(unit: Unit, plans: Ints) -> NDArray[np.bool_]:
    place, step, cut = height_places(unit, plans), plans[:, :, STEP], plans[:, :, CUTS] > 0
    inside = np.all((place >= 0) & (place < len(unit.heights)), axis=1)
    place = np.clip(place, 0, len(unit.heights) - 1)
    days = np.arange(unit.n_days)
    wanted = (unit.height_fixed == FREE) | (unit.height_fixed == place)
    fine = np.where(cut, unit.height_ok[days, place] & wanted, step == 0)
    before = np.clip(place - step, 0, len(unit.heights) - 1)
    change = np.abs(unit.heights[place] - unit.heights[before])
    small = (step == 0) | (change <= unit.step_mm + TOLERANCE)
    return (
        inside
        & np.all(fine & small, axis=1)
        & spaced(step != 0, unit.step_interval_d, unit.last_change)
    )


def spaced(done: NDArray[np.bool_], interval_d: float, last: int) -> NDArray[np.bool_]:
    """Return which rows keep `interval_d` days between the days that are set (n,)."""
    days = np.arange(done.shape[1])
    marks = np.where(done, days, NEVER)
    before = np.concatenate(
        [np.full((len(done), 1), last), np.maximum.accumulate(marks, axis=1)[:, :-1]], axis=1
    )
    before = np.maximum(before, last)
    return np.all(~done | (days - before >= interval_d - TOLERANCE), axis=1)


def _rolls_allowed(unit: Unit, plans: Ints) -> NDArray[np.bool_]:
    total = np.cumsum(plans[:, :, ROLLS], axis=1)
    window = total.copy()
    window[:, 7:] -= total[:, :-7]
    return np.all(window <= unit.roll_room + TOLERANCE, axis=1)


def _doubles_allowed(unit: Unit, plans: Ints) -> NDArray[np.bool_]:
    run = np.full(len(plans), unit.double_run)
    ok = np.ones(len(plans), dtype=bool)
    for day in range(unit.n_days):
        double = plans[:, day, CUTS] > 1
        run = np.where(double, run + 1, 0)
        ok &= ~double | (run <= unit.double_limit) | (unit.least[day, CUTS] > 1)
    return ok


def leaf_before(unit: Unit, last_cut: Ints, day: int) -> Floats:
    """Return leaf grown since the last cut by the morning of a day, mean belief [mm]."""
    since = unit.leaf_mm[day] - unit.leaf_mm[np.maximum(last_cut, 0)]
    return np.where(last_cut >= 0, since, unit.leaf_now_mm + unit.leaf_mm[day])


def cut_fits_leaf(
    unit: Unit, last_cut: Ints, day: int, *, before_mm: Floats, after_mm: Floats
) -> NDArray[np.bool_]:
    """Return whether a cut takes no more than its share, or could not have come sooner.

    A longer gap is allowed only when no day of it, while the share still held, was open to a cut.
    """
    grown = leaf_before(unit, last_cut, day)
    removed = before_mm + grown - after_mm
    fine = removed <= unit.leaf_share * (before_mm + grown) + TOLERANCE
    fine |= np.isnan(before_mm)
    forced = np.ones(len(last_cut), dtype=bool)
    for sooner in range(day):
        inside = (sooner > last_cut) & (unit.most[sooner, CUTS] > 0)
        leaf = before_mm + leaf_before(unit, last_cut, sooner)
        within = leaf - before_mm <= unit.leaf_share * leaf + TOLERANCE
        forced &= ~(inside & within)
    return fine | forced


def _leaf_allowed(unit: Unit, plans: Ints) -> NDArray[np.bool_]:
    place = np.clip(height_places(unit, plans), 0, len(unit.heights) - 1)
    cuts, ok = last_cuts(plans), np.ones(len(plans), dtype=bool)
    for day in range(unit.n_days):
        if unit.least[day, CUTS] > 0:
            continue
        last = cuts[:, day - 1] if day else np.full(len(plans), -1)
        after = unit.heights[place[:, day]]
        prior = place[:, day - 1] if day else np.full(len(plans), unit.start)
        fits = cut_fits_leaf(unit, last, day, before_mm=unit.heights[prior], after_mm=after)
        ok &= fits | (plans[:, day, CUTS] == 0)
    return ok


def _extras_allowed(unit: Unit, plans: Ints) -> NDArray[np.bool_]:
    done = plans[:, :, SAND:] > 0
    planned = unit.least[:, SAND:].sum(axis=1) > 0
    ok = np.all((done.sum(axis=2) <= 1) | planned, axis=1)
    for column in EXTRAS:
        free = (plans[:, :, column] > 0) & (unit.least[:, column] == 0)
        if free.any():
            every = plans[:, :, column] > 0
            fits = spaced(every, unit.intervals[column], int(unit.last_extra[column]))
            ok &= fits | ~free.any(axis=1)
    return ok
