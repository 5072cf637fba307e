"""Sideways end offsets -> sets of equal rolls: their spread about the mean line, nothing else."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date as Date

from greenwright.base.evidence import value as number
from greenwright.base.lengths import INCH_M
from greenwright.base.values import Reading
from greenwright.measure.rounding import rounding_variance, writing_step

_INCH_MM = 1000 * INCH_M
OFFSET_STEPS_MM: tuple[float, ...] = (_INCH_MM, _INCH_MM / 2, 10.0, _INCH_MM / 4, 5.0, 2.0, 1.0)
"""Steps in which sideways offsets are written [mm], coarsest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetSet:
    """Equal rolls along one line: how far they spread about their own mean.

    Args:
        place: (date, green, station, part): what is read.
        launcher: the instrument that set the balls off, else the observer, or "".
        length_m: roll length [m]; None = the ramp's own roll, the green speed.
        squares_m2: sum of squares about the mean [m2].
        freedom: degrees of freedom, rolls (or means of rolls) less one.
        rounding_m2: variance of rounding as written [m2].
        rows: readings behind it.
    """

    date: Date
    green: str
    station: str
    part: str
    launcher: str
    length_m: float | None
    squares_m2: float
    freedom: int
    rounding_m2: float
    rows: int

    @property
    def place(self) -> tuple[Date, str, str, str, str]:
        """Return what is read with what: sets of one place share one surface."""
        return self.date, self.green, self.station, self.part, self.launcher


def offset_sets(readings: Iterable[Reading]) -> tuple[OffsetSet, ...]:
    """Return the sets of equal rolls in the end offsets, in order of date.

    Balls belong together by ``set``, else by station, part, observer and instrument; always by
    date, green, direction, pass and roll length, as slope and grain bend each line its own
    way. A ball alone says nothing of spread and is left out.

    Args:
        readings: any kinds; only end_offset is used [mm].
    """
    rows = [r for r in readings if r.kind == "end_offset"]
    steps = _steps(rows)
    groups: dict[tuple, list[Reading]] = defaultdict(list)
    for row in rows:
        groups[_together(row)].append(row)
    made = [_offset_set(g, steps[_writer(g[0])]) for g in groups.values() if len(g) > 1]
    return tuple(sorted(made, key=lambda s: (s.date, s.green, s.station, s.length_m or 0.0)))


def _together(row: Reading) -> tuple[object, ...]:
    line = (row.date, row.green, row.direction, row.pass_, row.roll_length_m)
    spot = (row.station, row.part, row.instrument)
    return (*line, *spot, row.set) if row.set else (*line, *spot, "", row.observer)


def _offset_set(group: Sequence[Reading], step_mm: float) -> OffsetSet:
    first, weights = group[0], [max(r.n or 1, 1) for r in group]
    mean = math.fsum(w * r.value for w, r in zip(weights, group, strict=True)) / sum(weights)
    squares = math.fsum(w * (r.value - mean) ** 2 for w, r in zip(weights, group, strict=True))
    # The mean of n rolls was rounded once: its rounding weighs n times in the sum of squares.
    repeats = sum(weights) / len(weights)
    return OffsetSet(
        date=first.date,
        green=first.green,
        station=first.station,
        part=first.part,
        launcher=first.instrument or first.observer,
        length_m=first.roll_length_m,
        squares_m2=squares / 1e6,
        freedom=len(group) - 1,
        rounding_m2=repeats * rounding_variance(step_mm / 1000),
        rows=len(group),
    )


def _steps(rows: Iterable[Reading]) -> Mapping[str, float]:
    written: dict[str, list[float]] = defaultdict(list)
    for row in rows:
        written[_writer(row)].append(row.value)
    usual = number("measure.end_offset.rounding")
    return {w: writing_step(v, OFFSET_STEPS_MM, usual=usual) for w, v in written.items()}


def _writer(row: Reading) -> str:
    return row.observer or row.instrument
