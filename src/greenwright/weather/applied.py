"""Growth regulators as they were applied on a course: degree days since, state, what is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from greenwright.base.evidence import value
from greenwright.base.values import Material, Snapshot, Work
from greenwright.weather.daily import numbers
from greenwright.weather.degree_days import degree_days
from greenwright.weather.given import GivenDay
from greenwright.weather.regulators import Regulator, regulator_of

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Applied:
    """The last use of one active on greens of one grass.

    Args:
        greens: keys in playing order.
        material, active, grass: what and on what; active empty = the record does not say.
        on: the day.
        amount, unit: of product, None where not entered.
        regulator: what is known of it there; None = nothing.
        dates, gdd: each day after it and the degree days since, over the regulator's base.
    """

    greens: tuple[str, ...]
    material: str
    active: str
    grass: str
    on: date
    amount: float | None
    unit: str
    regulator: Regulator | None
    dates: tuple[date, ...]
    gdd: Array

    def gdd_at(self, day: date) -> float | None:
        """Return the degree days from its use to the end of a day; None = not known."""
        if day <= self.on:
            return 0.0 if day == self.on else None
        place = (day - self.on).days - 1
        known = place < len(self.gdd) and np.isfinite(self.gdd[place])
        return float(self.gdd[place]) if known else None

    def state_at(self, day: date) -> str:
        """Return one of the regulator's STATES at the end of a day."""
        gdd = self.gdd_at(day)
        if gdd is None or self.regulator is None:
            return "not known"
        return self.regulator.state(gdd)

    def first_at(self, gdd: float | None) -> date | None:
        """Return the first day on which so many degree days have gone by, or None."""
        if gdd is None:
            return None
        reached = np.flatnonzero(np.nan_to_num(self.gdd, nan=-1.0) >= gdd)
        return self.dates[int(reached[0])] if reached.size else None


def applied_of(snapshot: Snapshot, days: Sequence[GivenDay]) -> tuple[Applied, ...]:
    """Return the last use of each regulator by grass and day, newest first.

    Args:
        snapshot: the record as known on its `as_of`; only work done by then counts.
        days: weather without holes; uses before the first of them are left out.
    """
    known = {m.material.casefold(): m for m in snapshot.materials}
    grasses = {g.green: g.grass for g in snapshot.greens if g.in_play}
    last: dict[tuple[str, str], Work] = {}
    for row in sorted(snapshot.work, key=lambda w: w.date):
        if row.practice != "regulator" or row.status != "done" or not days:
            continue
        if days[0].weather.date <= row.date <= snapshot.as_of:
            for green in snapshot.greens_of(row.green):
                if green in grasses:
                    last[_active(row, known), green] = row
    alike: dict[tuple[str, str, date], list[str]] = {}
    for (active, green), row in last.items():
        alike.setdefault((active, grasses[green], row.date), []).append(green)
    made = []
    for (active, grass, _), greens in alike.items():
        ordered = tuple(key for key in grasses if key in greens)
        row = last[active, ordered[0]]
        made.append(_applied(row, ordered, grass, _Used(active, known, days)))
    return tuple(sorted(made, key=lambda one: (one.on, one.greens), reverse=True))


@dataclass(frozen=True, slots=True)
class _Used:
    active: str
    known: dict[str, Material]
    days: Sequence[GivenDay]


def _active(row: Work, known: dict[str, Material]) -> str:
    held = known.get(row.material.casefold())
    return (held.active if held and held.active else row.material).strip().lower()


def _applied(row: Work, greens: tuple[str, ...], grass: str, used: _Used) -> Applied:
    held = used.known.get(row.material.casefold())
    life = held.half_life_gdd if held else None
    regulator = regulator_of(used.active, grass, half_life_gdd=life)
    base = regulator.base_c if regulator else value("degree_days.base_c")
    after = [d for d in used.days if d.weather.date > row.date]
    low, high = numbers(after, "t_min_c"), numbers(after, "t_max_c")
    warmth = np.cumsum(degree_days(low, high, base)) if after else np.zeros(0)
    return Applied(
        greens, row.material, used.active, grass, row.date, row.amount, row.unit, regulator,
        tuple(d.weather.date for d in after), warmth,
    )  # fmt: skip
