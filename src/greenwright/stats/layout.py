"""Observations of units in time, and their fixed layout for repeated likelihood evaluations."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


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

    def __post_init__(self) -> None:
        lengths = {len(a) for a in (self.value, self.variance, self.day, self.unit)}
        lengths |= {len(a) for a in (self.rater, self.scale, self.spot)}
        if len(lengths) != 1:
            raise BadInput("observations need arrays of one length", where="pooling")
        if not (np.isfinite(self.value).all() and (np.asarray(self.variance) >= 0).all()):
            raise BadInput("values must be finite and variances not negative", where="pooling")
        for index, size in ((self.unit, self.n_units), (self.rater, self.n_raters)):
            if len(index) and int(np.max(index)) >= size:
                raise BadInput("an index points beyond its table", where="pooling")

    def __len__(self) -> int:
        return len(self.value)


@dataclass(frozen=True, slots=True)
class Block:
    """The observations of one unit: residual, known variance, design and time differences."""

    unit: int
    residual: Floats
    variance: Floats
    day: Floats
    gap: Floats
    same_spot: Floats
    design: Floats


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything of the observations that does not change with the hyper-parameters.

    The shared latent vector is [level, course process on each observed day, raters, scales];
    each block's design picks from it.
    """

    blocks: tuple[Block, ...]
    days: Floats
    gap: Floats
    n_units: int
    n_raters: int
    scale_variance: Floats
    n: int
    slices: dict[str, slice] = field(default_factory=dict)

    @property
    def width(self) -> int:
        """Return the length of the shared latent vector."""
        return 1 + len(self.days) + self.n_raters + len(self.scale_variance)


def lay_out(observations: Observations, *, level: float) -> Layout:
    """Return the layout of observations about a prior level [unit]."""
    days, place = np.unique(np.asarray(observations.day, dtype=float), return_inverse=True)
    scales = np.square(np.asarray(observations.scale_sd, dtype=float))
    ends = np.cumsum([1, len(days), observations.n_raters, len(scales)])
    names = ("level", "days", "raters", "scales")
    slices = {
        name: slice(int(b), int(e)) for name, b, e in zip(names, [0, *ends], ends, strict=False)
    }
    design = _design(observations, place, slices)
    units = [np.flatnonzero(observations.unit == u) for u in range(observations.n_units)]
    blocks = tuple(
        _block(observations, u, rows, level=level, design=design)
        for u, rows in enumerate(units)
        if len(rows)
    )
    return Layout(
        blocks=blocks,
        days=days,
        gap=np.abs(days[:, None] - days[None, :]),
        n_units=observations.n_units,
        n_raters=observations.n_raters,
        scale_variance=scales,
        n=len(observations),
        slices=slices,
    )


def _design(observations: Observations, place: Ints, slices: dict[str, slice]) -> Floats:
    n = len(observations)
    design = np.zeros((n, slices["scales"].stop))
    design[:, 0] = 1.0
    design[np.arange(n), slices["days"].start + place] = 1.0
    for name, index in (("raters", observations.rater), ("scales", observations.scale)):
        named = np.flatnonzero(index >= 0)
        design[named, slices[name].start + index[named]] = 1.0
    return design


def _block(
    observations: Observations, unit: int, rows: Ints, *, level: float, design: Floats
) -> Block:
    day = np.asarray(observations.day, dtype=float)[rows]
    spot = observations.spot[rows]
    same = (spot[:, None] == spot[None, :]) & (spot >= 0)[:, None]
    return Block(
        unit=unit,
        residual=np.asarray(observations.value, dtype=float)[rows] - level,
        variance=np.asarray(observations.variance, dtype=float)[rows],
        day=day,
        gap=np.abs(day[:, None] - day[None, :]),
        same_spot=same.astype(float),
        design=design[rows],
    )
