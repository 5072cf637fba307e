"""The path of work: what was done on each green on each day, as arrays."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from greenwright.base.tables import practices
from greenwright.base.values import Snapshot, Work
from greenwright.weather import days as weather_days
from greenwright.weather import growth_potential, mean_temperature

MEMORY_DAYS = 28
"""Days of past work whose effect is still counted: the longest `lasts_days` of the shapes."""

Rows = Mapping[str, int]
"""Green -> its place along the first axis."""

Height = tuple[date, tuple[str, ...], float]
"""Day, greens and the bench height set there [mm]."""

DOSED = ("roll", "double_cut", "topdress", "verticut", "brush")


@dataclass(frozen=True, slots=True)
class WorkPath:
    """Work by green and day; every array is (greens, days).

    Args:
        first: date of day 0.
        greens: keys along the first axis.
        doses: act -> dose in the act's unit (passes, extra cuts, L/m2).
        bench_mm: bench height in force [mm], nan where it is not known.
        mown: cut on that day.
        growth: growth potential of that day, 0..1.
        assumed_mown: greens without a cut in the record: taken as cut daily up to its day.
    """

    first: date
    greens: tuple[str, ...]
    doses: Mapping[str, NDArray[np.float64]]
    bench_mm: NDArray[np.float64]
    mown: NDArray[np.bool_]
    growth: NDArray[np.float64]
    assumed_mown: tuple[str, ...] = ()

    def growth_since_cut(self) -> NDArray[np.float64]:
        """Return the growth potential summed since the last cut (greens, days); 0 on its day."""
        total = np.zeros(self.growth.shape)
        for day in range(1, total.shape[1]):
            grown = total[:, day - 1] + self.growth[:, day]
            total[:, day] = np.where(self.mown[:, day], 0.0, grown)
        return total

    def day(self, when: date) -> int:
        """Return the place of a date along the day axis."""
        return (when - self.first).days


def past_work(snapshot: Snapshot, *, ahead: int = 0, since: date | None = None) -> WorkPath:
    """Return the work done on every green up to the record's day, and `ahead` empty days after.

    Args:
        snapshot: the record as known on its `as_of`.
        ahead: days after `as_of` with no work in them, for a plan to fill.
        since: day 0; None = as far back as work is still felt.
    """
    greens = tuple(g.green for g in snapshot.greens)
    first = since or snapshot.as_of - timedelta(days=MEMORY_DAYS)
    passed = (snapshot.as_of - first).days + 1
    n_days = passed + ahead
    shape = (len(greens), n_days)
    doses = {act: np.zeros(shape) for act in DOSED}
    set_mm, mown = np.full(shape, np.nan), np.zeros(shape, dtype=bool)
    rows = {g: i for i, g in enumerate(greens)}
    for work in done_work(snapshot, first):
        where = [rows[g] for g in snapshot.greens_of(work.green)]
        _write(work, (work.date - first).days, where, doses=doses, set_mm=set_mm, mown=mown)
    read, cut = _heights_told(snapshot)
    _write_readings(read, cut, first, set_mm=set_mm, rows=rows)
    unrecorded = ~mown.any(axis=1)
    mown[unrecorded, :passed] = True
    return WorkPath(
        first,
        greens,
        doses,
        carried(set_mm, _heights_before(read, cut, first, rows=rows)),
        mown,
        growth_of(snapshot, first, n_days),
        tuple(g for g in greens if unrecorded[rows[g]]),
    )


def done_work(snapshot: Snapshot, first: date, practice: str = "") -> Iterable[Work]:
    """Yield the work done from `first` to the record's day, oldest first."""
    kept = (
        w
        for w in snapshot.work
        if w.status == "done" and first <= w.date <= snapshot.as_of and practice in ("", w.practice)
    )
    return sorted(kept, key=lambda w: (w.date, str(w.time or "")))


def dose_of(work: Work) -> float:
    """Return the dose of a piece of work: sand [L/m2], else passes.

    Sand of which no amount was written counts as one reference dose.
    """
    if work.practice != "topdress":
        return work.passes
    reference = practices()["topdress"].reference or 0.0
    return (reference if work.amount is None else work.amount) * work.passes


def carried(set_mm: NDArray[np.float64], start: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return heights with each day's setting held until the next one.

    Args:
        set_mm: (greens, days) height set on that day, nan where none was.
        start: (greens,) height in force before the first day, nan where not known.
    """
    held, now = np.empty_like(set_mm), start.copy()
    for day in range(set_mm.shape[1]):
        now = np.where(np.isnan(set_mm[:, day]), now, set_mm[:, day])
        held[:, day] = now
    return held


def growth_of(snapshot: Snapshot, first: date, n_days: int) -> NDArray[np.float64]:
    """Return the growth potential (greens, days); 1 where the weather is not known.

    Growth potential is an upper envelope, so an unknown day is taken at its top.
    """
    rows = weather_days(snapshot, first, first + timedelta(days=n_days - 1))
    means = [mean_temperature(day) for day in rows]
    known = np.array([m is not None for m in means])
    filled = np.array([20.0 if m is None else m for m in means])
    return np.array(
        [np.where(known, growth_potential(filled, g.grass), 1.0) for g in snapshot.greens]
    ).reshape(len(snapshot.greens), n_days)


def _write(
    work: Work,
    day: int,
    where: list[int],
    *,
    doses: Mapping[str, NDArray[np.float64]],
    set_mm: NDArray[np.float64],
    mown: NDArray[np.bool_],
) -> None:
    if work.practice == "mow":
        mown[where, day] = True
        doses["double_cut"][where, day] += max(work.passes - 1.0, 0.0)
        if work.amount is not None:
            set_mm[where, day] = work.amount
    elif work.practice in doses:
        doses[work.practice][where, day] += dose_of(work)


def _heights_told(snapshot: Snapshot) -> tuple[list[Height], list[Height]]:
    """Return the bench heights that were read, and those that cuts were written with, by date."""
    read = [
        (r.date, (r.green,), r.value)
        for r in snapshot.readings
        if r.kind == "height_of_cut" and r.method != "effective" and r.date <= snapshot.as_of
    ]
    cut = [
        (w.date, snapshot.greens_of(w.green), w.amount)
        for w in done_work(snapshot, date.min, "mow")
        if w.amount
    ]
    return sorted(read, key=lambda held: held[0]), cut


def _write_readings(
    read: list[Height], cut: list[Height], first: date, *, set_mm: NDArray[np.float64], rows: Rows
) -> None:
    """Set the height that was read on greens of which no cut says its height."""
    told = {g for _, greens, _ in cut for g in greens}
    for day, (green,), height in read:
        if day >= first and green in rows and green not in told:
            set_mm[rows[green], (day - first).days] = height


def _heights_before(
    read: list[Height], cut: list[Height], first: date, *, rows: Rows
) -> NDArray[np.float64]:
    """Return the last height known before `first`, else the first known after it, by green.

    A cut's height goes before a bench reading.
    """
    known = np.full(len(rows), np.nan)
    for told in (read, cut):
        later = [held for held in told if held[0] >= first]
        for _, greens, height in (*reversed(later), *(h for h in told if h[0] < first)):
            known[[rows[g] for g in greens if g in rows]] = height
    return known
