"""Readings of an eye scale -> soundings: scores as intervals, counts, instruments' deviations."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from greenwright.base.evidence import value as number
from greenwright.base.tables import quantities
from greenwright.base.values import Reading
from greenwright.measure.families import Family
from greenwright.measure.links import (
    LINK_KEYS,
    Line,
    clean,
    line_name,
    lines,
    measured,
)
from greenwright.measure.rounding import rounding_variance, writing_steps
from greenwright.measure.sounding import COUNTS, Sounding

_END = 1e-6


def eye_soundings(readings: Sequence[Reading], of: Family) -> tuple[Sounding, ...]:
    """Return the soundings of readings of an eye scale, in order of date.

    A score says that latent score + leniency + noise lay within half a writing step, or
    beyond the last step at an end of the scale. Counts are binomial with log odds that go
    with the score; an instrument's log deviation goes with it too (see ``links``).
    """
    known = lines(readings, of.kinds[0])
    steps = writing_steps(readings)
    made = []
    for row in sorted(readings, key=lambda r: r.date):
        if row.kind in COUNTS:
            made.append(_of_count(row, known[line_name(row)]))
        elif row.kind in LINK_KEYS:
            made.append(_of_deviation(row, known[line_name(row)]))
        else:
            made.append(_of_score(row, of, steps))
    return tuple(made)


def eye_keys(kinds: set[str]) -> set[str]:
    """Return the evidence keys that turn these kinds into soundings of an eye scale."""
    keys = {"measure.observer_scatter_log_sd"}
    if kinds & set(COUNTS):
        keys |= set(LINK_KEYS["clean_rolls"])
    for kind in kinds & set(LINK_KEYS) - set(COUNTS):
        keys |= set(LINK_KEYS[kind])
    if kinds & {*COUNTS, *LINK_KEYS}:
        keys |= {"measure.score_sd", "measure.observer_sd_score"}
    return keys


def _of_score(row: Reading, of: Family, steps: Mapping[tuple[str, str], float]) -> Sounding:
    # A kind other than the first reads a neighbouring scale: part of the link's error
    # stays from reading to reading and is learnt where both are taken; the rest is noise.
    linked = row.kind != of.kinds[0]
    link = number(f"measure.{row.kind}.link_sd") if linked else 0.0
    lasting = number("measure.link.lasting_share")
    step, passing = steps[row.kind, row.observer or row.instrument], (1 - lasting) * link**2
    # The mean of several scores is near a plain number: no grid, no end to pile up at.
    several = (row.n or 1) > 1
    low, high = (-math.inf, math.inf) if several else _ends(row.value, step, of)
    return Sounding(
        date=row.date,
        green=row.green,
        value=row.value,
        variance=passing + rounding_variance(step) / (row.n or 1),
        observer=row.observer or row.instrument,
        shift=row.kind if linked else "",
        shift_sd=link * math.sqrt(lasting),
        kind=row.kind,
        passing=passing,
        low=low,
        high=high,
    )


def _ends(value: float, step: float, of: Family) -> tuple[float, float]:
    """Return the interval that is written as a value; open at the ends of the scale."""
    scale = quantities()[of.quantity]
    low = -math.inf if value <= scale.low + _END else value - step / 2
    high = math.inf if value >= scale.high - _END else value + step / 2
    return low, high


def _of_count(row: Reading, line: Line) -> Sounding:
    hits, tries = clean(row)
    x, x_variance = measured(row)
    per = 1 / line.slope
    score = line.score(x)
    passing = per**2 * line.noise + line.slope_variance(score)
    return Sounding(
        date=row.date,
        green=row.green,
        value=score,
        variance=passing + per**2 * x_variance,
        observer=row.observer or row.instrument,
        shift=row.kind,
        shift_sd=line.shift_sd(row.kind),
        kind=row.kind,
        passing=passing,
        hits=hits,
        tries=tries,
        centre=line.score(0.0),
        per=per,
        noise=0.0,
    )


def _of_deviation(row: Reading, line: Line) -> Sounding:
    score = line.score(measured(row)[0])
    variance = line.noise / line.slope**2 + line.slope_variance(score)
    return Sounding(
        date=row.date,
        green=row.green,
        value=score,
        variance=variance,
        observer=row.instrument or row.observer,
        shift=line_name(row),
        shift_sd=line.shift_sd(row.kind),
        kind=row.kind,
        passing=variance,
        noise=0.0,
    )
