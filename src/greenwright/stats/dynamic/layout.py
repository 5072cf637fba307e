"""The fixed layout of a record: what does not change from one evaluation to the next.

Time is cut into periods by knots. Given the processes' values at the knots and the border
(level, slopes, effects, groups, units' own parts), periods are independent; within a period the
shared process is one block, and a unit's readings are one chunk.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.sparse import csr_array

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic.model import Condition, Covariate, DynamicModel, Floats, Ints
from greenwright.stats.dynamic.model import Readings as Rows

_DAYS_A_PERIOD, _MOST_DAYS, _SETS_A_CHUNK = 80, 150, 24


@dataclass(frozen=True, slots=True)
class Batch:
    """Chunks of like size within one period, padded to the longest.

    Args:
        period: which one.
        knots: places of the knots at its ends.
        unit: (b,) units.
        row: (b, n) place of each reading.
        real: (b, n) 1 for a reading, 0 for padding.
        pair: (b, n, n) 1 where both are readings.
        day: (b, n) day of each reading.
        when: (b, n) place of the day within the period.
        cell: (b, n, n) flat place of each pair of days within the period's block.
        to_day: (days, b n) sums rows by day.
        to_unit_day: (days x units, b n) sums rows by day and unit.
        local: (b, l) places in the border of what it holds of the units' own parts: level,
            departures, own process at the two knots.
    """

    period: int
    knots: Ints
    unit: Ints
    row: Ints
    real: Floats
    pair: Floats
    day: Floats
    when: Ints
    cell: Ints
    to_day: csr_array
    to_unit_day: csr_array
    local: Ints


@dataclass(frozen=True, slots=True)
class Border:
    """Places in the border: the fixed part, knots of the shared process, then unit by unit.

    Args:
        fixed: columns alike for all units, in order: level, covariates, conditions, members of
            the groups, terms.
        terms: where the terms begin in it.
        groups: (first, end) of each group in it.
        knots: how many.
        apart: how many terms depart by unit.
        width: of all.
    """

    fixed: int
    terms: int
    groups: tuple[tuple[int, int], ...]
    knots: int
    apart: int
    width: int

    @property
    def local(self) -> int:
        """Return the size of one unit's own part: level, departures, knots."""
        return 1 + self.apart + self.knots

    def own(self, unit: int | Ints) -> Ints:
        """Return the places of units' own parts, (..., local)."""
        first = self.fixed + self.knots + np.asarray(unit)[..., None] * self.local
        return first + np.arange(self.local)


@dataclass(frozen=True, slots=True)
class Layout:
    """Readings laid out for a model.

    Args:
        model, rows: what was laid out.
        knots: days of the knots, between days [days].
        grid: times of the shared process: read days and knots, in order.
        at_knot: (grid,) 1 at a knot.
        blocks: (first, end) of each period's read days in the grid.
        batches: chunks.
        near: by period, the places in the border that its readings and days touch.
        border: places.
        still: (n, terms' start) fixed columns that do not depend on hyper-parameters.
        centre: (fixed,) prior mean of the fixed part.
        spread: (fixed,) prior sd of the fixed part; nan where a hyper-parameter rules.
    """

    model: DynamicModel
    rows: Rows
    knots: Floats
    grid: Floats
    at_knot: Ints
    blocks: tuple[tuple[int, int], ...]
    batches: tuple[Batch, ...]
    near: tuple[Ints, ...]
    border: Border
    still: Floats
    centre: Floats
    spread: Floats


def lay_out(model: DynamicModel, rows: Rows, *, knots: Floats | None = None) -> Layout:
    """Lay readings out for repeated evaluation.

    Args:
        model: the model.
        rows: the readings.
        knots: days to cut at, none of them a whole day; None = one in about 80 read days,
            more where units are read seldom.
            The answer does not depend on them, only the time it takes.

    Errors: BadInput for readings outside the calendar, or for unknown members or conditions.
    """
    _check(model, rows)
    days = np.unique(rows.day).astype(float)
    cuts = _default_knots(days, len(rows) / model.units) if knots is None else knots
    cuts = np.asarray(cuts, dtype=float)
    grid = np.sort(np.concatenate([days, cuts]))
    at_knot = np.isin(grid, cuts).astype(np.intp)
    ends = np.concatenate([[-1], np.flatnonzero(at_knot), [len(grid)]])
    blocks = tuple((int(a) + 1, int(b)) for a, b in pairwise(ends))
    border = _border(model, len(cuts))
    centre, spread = _fixed_prior(model)
    batches = tuple(_batches(rows, grid, blocks, border=border, units=model.units))
    return Layout(
        model=model,
        rows=rows,
        knots=cuts,
        grid=grid,
        at_knot=at_knot,
        blocks=blocks,
        batches=batches,
        near=tuple(_near(border, batches, period) for period in range(len(blocks))),
        border=border,
        still=_still(model, rows),
        centre=centre,
        spread=spread,
    )


def knots_of(period: int, count: int) -> Ints:
    """Return the places of the knots at a period's ends."""
    return np.array([k for k in (period - 1, period) if 0 <= k < count], dtype=np.intp)


def _near(border: Border, batches: tuple[Batch, ...], period: int) -> Ints:
    ends = border.fixed + knots_of(period, border.knots)
    locals_ = [b.local.ravel() for b in batches if b.period == period]
    return np.unique(np.concatenate([np.arange(border.fixed), ends, *locals_]))


def _default_knots(days: Floats, sets: float) -> Floats:
    fitting = _SETS_A_CHUNK * len(days) / max(sets, 1)
    period = int(np.clip(fitting, _DAYS_A_PERIOD, _MOST_DAYS))
    cuts = np.arange(period, len(days) - period // 2, period)
    return days[cuts] - 0.5


def _check(model: DynamicModel, rows: Rows) -> None:
    for name, index, size in (("unit", rows.unit, model.units), ("day", rows.day, model.days)):
        if len(index) and not (index.min() >= 0 and index.max() < size):
            raise BadInput(f"a reading's {name} lies outside the calendar of {size}")
    for group in model.groups:
        member = rows.members.get(group.name, np.full(len(rows), -1))
        if len(member) and member.max() >= group.size:
            raise BadInput(f"{group.name}: member {member.max()} of {group.size}")
    unknown = set(rows.conditions) - {c.name for c in model.conditions}
    unknown |= set(rows.members) - {g.name for g in model.groups}
    if unknown:
        raise BadInput(f"the model does not know {', '.join(sorted(unknown))}")


def _border(model: DynamicModel, knots: int) -> Border:
    first = 1 + len(model.covariates) + len(model.conditions)
    ends = first + np.cumsum([0, *(g.size for g in model.groups)])
    groups = tuple((int(a), int(b)) for a, b in pairwise(ends))
    fixed, apart = int(ends[-1]) + len(model.terms), len(model.apart)
    width = fixed + knots + model.units * (1 + apart + knots)
    return Border(fixed, int(ends[-1]), groups, knots, apart, width)


def _fixed_prior(model: DynamicModel) -> tuple[Floats, Floats]:
    sized: tuple[Covariate | Condition, ...] = (*model.covariates, *model.conditions)
    members = sum(g.size for g in model.groups)
    centre = [model.level, *(p.mean for p in sized), *[0.0] * members]
    spread = [model.level_sd, *(p.sd for p in sized), *[np.nan] * members]
    return (
        np.array([*centre, *(t.mean for t in model.terms)]),
        np.array([*spread, *(t.sd for t in model.terms)]),
    )


def _still(model: DynamicModel, rows: Rows) -> Floats:
    columns = [np.ones(len(rows))]
    for one in model.covariates:
        values = np.broadcast_to(one.values, (model.units, model.days))
        columns.append(values[rows.unit, rows.day])
    columns += [rows.conditions.get(c.name, np.zeros(len(rows))) for c in model.conditions]
    for group in model.groups:
        member = rows.members.get(group.name, np.full(len(rows), -1))
        columns += [(member == k).astype(float) for k in range(group.size)]
    return np.column_stack(columns)


def _batches(
    rows: Rows, grid: Floats, blocks: tuple[tuple[int, int], ...], *, border: Border, units: int
) -> Iterator[Batch]:
    place = np.searchsorted(grid, rows.day)
    for period, (first, end) in enumerate(blocks):
        inside = np.flatnonzero((place >= first) & (place < end))
        chunks = [(u, inside[rows.unit[inside] == u]) for u in range(units)]
        for some in _alike([(u, m) for u, m in chunks if len(m)]):
            knots = knots_of(period, border.knots)
            yield _batch(rows, some, place - first, period=(period, end - first),
                         knots=knots, border=border)  # fmt: skip


def _alike(chunks: list[tuple[int, Ints]]) -> Iterator[list[tuple[int, Ints]]]:
    """Yield chunks together as long as padding stays small."""
    left = sorted(chunks, key=lambda c: -len(c[1]))
    while left:
        longest = len(left[0][1])
        taken = [c for c in left if len(c[1]) >= 0.7 * longest - 2]
        left = left[len(taken) :]
        yield taken


def _batch(
    rows: Rows,
    chunks: list[tuple[int, Ints]],
    when: Ints,
    *,
    period: tuple[int, int],
    knots: Ints,
    border: Border,
) -> Batch:
    longest, (number, days) = max(len(m) for _, m in chunks), period
    row = np.array([np.pad(m, (0, longest - len(m)), mode="edge") for _, m in chunks])
    real = np.array([np.arange(longest) < len(m) for _, m in chunks], dtype=float)
    unit, at = np.array([u for u, _ in chunks]), when[row]
    shape, units = row.size, int(border.width) // border.local
    flat = np.arange(shape)
    by_unit = (at * units + unit[:, None]).ravel()
    return Batch(
        period=number,
        knots=knots,
        unit=unit,
        row=row,
        real=real,
        pair=real[:, :, None] * real[:, None, :],
        day=rows.day[row].astype(float),
        when=at,
        cell=at[:, :, None] * days + at[:, None, :],
        to_day=csr_array((real.ravel(), (at.ravel(), flat)), shape=(days, shape)),
        to_unit_day=csr_array((real.ravel(), (by_unit, flat)), shape=(days * units, shape)),
        local=border.own(unit)[:, np.append(np.arange(1 + border.apart), 1 + border.apart + knots)],
    )
