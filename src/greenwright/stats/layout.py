"""Observations of units in time, and their fixed layout for repeated likelihood evaluations."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_KEYS = ("unit", "day", "rater", "scale", "spot", "variance", "noise", "late")
_SLACK = 0.75
_SMALL = 4


@dataclass(frozen=True, slots=True)
class Observations:
    """What was observed: arrays of one length n, one entry per observation.

    Args:
        value: what was observed [unit of the quantity].
        variance: part of its noise variance that is known [unit squared].
        day: when [days, any origin].
        unit: which unit, 0 .. n_units - 1.
        rater: who observed, 0 .. n_raters - 1, or -1 for nobody named.
        scale: on which other scale it was observed (index into scale_sd), or -1.
        spot: where within the unit (any integer unique to unit and place), or -1.
        n_units, n_raters: how many there are, observed or not.
        scale_sd: prior sd of the shift of each other scale [unit].
        noise: share of the learnt noise variance in each observation; None = 1 for all.
        late: 1 where an observation falls into its rater's late period, else 0; None = no
            rater has one. A rater's shift may be another then.
        late_sd: prior sd of that change of shift [unit].
    """

    value: Floats
    variance: Floats
    day: Floats
    unit: Ints
    rater: Ints
    scale: Ints
    spot: Ints
    n_units: int
    n_raters: int = 0
    scale_sd: tuple[float, ...] = ()
    noise: Floats | None = None
    late: Floats | None = None
    late_sd: float = 0.0

    def __post_init__(self) -> None:
        lengths = {len(a) for a in (self.value, self.variance, self.day, self.unit)}
        lengths |= {len(a) for a in (self.rater, self.scale, self.spot)}
        lengths |= {len(a) for a in (self.noise, self.late) if a is not None}
        if len(lengths) != 1:
            raise BadInput("observations need arrays of one length", where="pooling")
        if not (np.isfinite(self.value).all() and (np.asarray(self.variance) >= 0).all()):
            raise BadInput("values must be finite and variances not negative", where="pooling")
        if not np.isfinite(self.day).all():
            raise BadInput("days must be finite", where="pooling")
        _check_index(self.unit, 0, self.n_units)
        _check_index(self.rater, -1, self.n_raters)
        _check_index(self.scale, -1, len(self.scale_sd))

    def __len__(self) -> int:
        return len(self.value)


@dataclass(frozen=True, slots=True)
class Stack:
    """Units with about equally many observations, side by side and padded to one length.

    Args:
        unit: (b,) which units.
        residual, variance, count, day: (b, n) mean of the observations alike, less the level;
            known variance of one of them; how many they are; when.
        noise: (b, n) share of the learnt noise variance in one of them.
        row: (b, n) place in the table of observations alike.
        real: (b, n) 1 where there is an observation, 0 where there is padding.
        pair, gap, same_spot: (b, n, n) both real; days apart; both at one spot.
        design: (b, n, width) what of the shared latent vector each observation sees.
    """

    unit: Ints
    residual: Floats
    variance: Floats
    count: Floats
    noise: Floats
    row: Ints
    day: Floats
    real: Floats
    pair: Floats
    gap: Floats
    same_spot: Floats
    design: Floats


@dataclass(frozen=True, slots=True)
class Repeats:
    """Observations alike in all but their noise: (g,) how many, variance, sum of squares.

    ``noise`` is the share of the learnt noise variance in one of them.
    """

    count: Floats
    variance: Floats
    squares: Floats
    noise: Floats


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything of the observations that does not change with the hyper-parameters.

    The shared latent vector is [level, course process on each observed day, raters, scales,
    late changes of raters]; each stack's design picks from it. Observations alike are held as
    their mean, which with ``repeats`` says the same of everything but costs less; ``place``
    says where each observation went.
    """

    stacks: tuple[Stack, ...]
    repeats: Repeats
    days: Floats
    gap: Floats
    n_units: int
    n_raters: int
    scale_variance: Floats
    late_variance: Floats
    place: Ints
    n: int
    slices: dict[str, slice] = field(default_factory=dict)

    @property
    def width(self) -> int:
        """Return the length of the shared latent vector."""
        tail = len(self.scale_variance) + len(self.late_variance)
        return 1 + len(self.days) + self.n_raters + tail


@dataclass(frozen=True, slots=True)
class _Rows:
    """Observations with those alike merged, by the columns of ``_KEYS``."""

    table: Floats
    place: Ints
    mean: Floats
    count: Floats
    squares: Floats
    design: Floats


def lay_out(observations: Observations, *, level: float, merge: bool = True) -> Layout:
    """Return the layout of observations about a prior level [unit].

    Args:
        merge: hold observations alike as their mean; False = each keeps a row of its own.
    """
    days = np.unique(np.asarray(observations.day, dtype=float))
    scales = np.square(np.asarray(observations.scale_sd, dtype=float))
    raters = observations.n_raters
    late = np.full(0 if observations.late is None else raters, observations.late_sd**2)
    ends = np.cumsum([1, len(days), raters, len(scales), len(late)])
    names = ("level", "days", "raters", "scales", "late")
    slices = {
        name: slice(int(b), int(e)) for name, b, e in zip(names, [0, *ends], ends, strict=False)
    }
    rows = _merged(observations, days, slices, level=level, merge=merge)
    many = rows.count > 1
    return Layout(
        stacks=tuple(_stack(rows, units, members) for units, members in _sized(rows)),
        repeats=Repeats(
            rows.count[many], rows.table[many, 5], rows.squares[many], rows.table[many, 6]
        ),
        days=days,
        gap=np.abs(days[:, None] - days[None, :]),
        n_units=observations.n_units,
        n_raters=raters,
        scale_variance=scales,
        late_variance=late,
        place=rows.place,
        n=len(observations),
        slices=slices,
    )


def retold(layout: Layout, value: Floats, variance: Floats, noise: Floats) -> Layout:
    """Return a layout whose observations say something else, all else being alike.

    Args:
        layout: laid out without merging.
        value: (n,) observations less the level [unit].
        variance, noise: (n,) as in Observations.
    """
    by_row = np.argsort(layout.place)
    told = [
        replace(
            stack,
            residual=value[by_row][stack.row] * stack.real,
            variance=variance[by_row][stack.row] * stack.real,
            noise=noise[by_row][stack.row] * stack.real,
        )
        for stack in layout.stacks
    ]
    return replace(layout, stacks=tuple(told))


def _check_index(index: Ints, least: int, size: int) -> None:
    if len(index) and (int(np.max(index)) >= size or int(np.min(index)) < least):
        raise BadInput("an index points beyond its table", where="pooling")


def _merged(
    o: Observations, days: Floats, slices: dict[str, slice], *, level: float, merge: bool
) -> _Rows:
    filled = {"noise": np.ones(len(o)), "late": np.zeros(len(o))}
    columns = [filled.get(n) if getattr(o, n) is None else getattr(o, n) for n in _KEYS]
    keys = np.column_stack([np.asarray(c, dtype=float) for c in columns])
    own = keys if merge else np.column_stack([keys, np.arange(len(o))])
    table, place = np.unique(own, axis=0, return_inverse=True)
    place, away = place.ravel(), np.asarray(o.value, dtype=float) - level
    count = np.bincount(place, minlength=len(table)).astype(float)
    mean = np.bincount(place, weights=away, minlength=len(table)) / count
    squares = np.bincount(place, weights=(away - mean[place]) ** 2, minlength=len(table))
    return _Rows(table, place, mean, count, squares, _design(table, days, slices))


def _design(table: Floats, days: Floats, slices: dict[str, slice]) -> Floats:
    design = np.zeros((len(table), slices["late"].stop))
    design[:, 0] = 1.0
    design[np.arange(len(table)), slices["days"].start + np.searchsorted(days, table[:, 1])] = 1.0
    for name, column in (("raters", 2), ("scales", 3)):
        named = np.flatnonzero(table[:, column] >= 0)
        design[named, slices[name].start + table[named, column].astype(int)] = 1.0
    late = np.flatnonzero((table[:, 7] > 0) & (table[:, 2] >= 0))
    design[late, slices["late"].start + table[late, 2].astype(int)] = 1.0
    return design


def _sized(rows: _Rows) -> Iterator[tuple[list[int], list[Ints]]]:
    """Yield units of about equal size with the places of their rows, the largest first."""
    units, counts = np.unique(rows.table[:, 0].astype(int), return_counts=True)
    order = sorted(zip(counts.tolist(), units.tolist(), strict=True), key=lambda p: (-p[0], p[1]))
    while order:
        least = _SLACK * order[0][0] - _SMALL
        taken = sorted(unit for size, unit in order if size >= least)
        order = [pair for pair in order if pair[0] < least]
        yield taken, [np.flatnonzero(rows.table[:, 0] == unit) for unit in taken]


def _stack(rows: _Rows, units: list[int], members: list[Ints]) -> Stack:
    longest = max(len(m) for m in members)
    place = np.array([np.pad(m, (0, longest - len(m))) for m in members])
    real = np.array([np.arange(longest) < len(m) for m in members], dtype=float)
    pair = real[:, :, None] * real[:, None, :]
    day, spot = rows.table[place, 1] * real, rows.table[place, 4]
    same = (spot[:, :, None] == spot[:, None, :]) & (spot >= 0)[:, :, None]
    return Stack(
        unit=np.array(units),
        residual=rows.mean[place] * real,
        variance=rows.table[place, 5] * real,
        count=np.where(real > 0, rows.count[place], 1.0),
        noise=rows.table[place, 6] * real,
        row=place,
        day=day,
        real=real,
        pair=pair,
        gap=np.abs(day[:, :, None] - day[:, None, :]) * pair,
        same_spot=same * pair,
        design=rows.design[place] * real[:, :, None],
    )
