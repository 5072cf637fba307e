"""A forecast as rows: those that are told, and those that are kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from math import floor, log10

import numpy as np

from greenwright.base.estimate import Estimate
from greenwright.base.values import Snapshot, Work
from greenwright.desk.answering import Row
from greenwright.desk.coming_work import ComingWork
from greenwright.record import ForecastRow
from greenwright.respond.ahead import Forecast, Step, forecast
from greenwright.respond.coming import outlook
from greenwright.respond.learning import LearnedOutcome

FINE = 3
"""Decimal places told beyond the first digit of a spread."""


def look_ahead(
    record: Snapshot,
    learned: Sequence[LearnedOutcome],
    days: int,
    *,
    work: ComingWork,
    likely: Sequence[Sequence[Work]] = (),
) -> tuple[Forecast, ...]:
    """Return the forecast of each outcome under one and the same work and weather.

    Args:
        record, learned: what is known, and what was learned from it.
        days: how many days ahead.
        work: what is taken as coming.
        likely: what may come instead where nobody planned; none = the work is sure.
    """
    if not learned:
        return ()
    first, planned = learned[0].first, work.all
    coming = outlook(record, first=first, n_days=days, planned=planned, likely=likely)
    return tuple(forecast(one, record, days=days, coming=coming) for one in learned)


def told_row(one: Forecast, step: Step, chance: float | None = None) -> Row:
    """Return one day of one green, or the course, as a finding."""
    quantiles = rounded(step.level).quantiles or {}
    held = {
        "green": step.green,
        "quantity": one.quantity,
        "method": one.method,
        "date": step.date,
        "estimate": replace(rounded(step.level), quantiles=None),
        "quantiles": dict(quantiles),
        "reading": step.reading and replace(rounded(step.reading), quantiles=None),
    }
    return held if chance is None else held | {"in_target": chance}


def rounded(held: Estimate) -> Estimate:
    """Return an estimate without the digits that lie far under its spread.

    >>> rounded(Estimate(2.97579799, "m", 0.09355672, 2.82197304, 3.12969020)).value
    2.9758
    """
    if held.sd <= 0:
        return held
    places = FINE - floor(log10(held.sd))
    quantiles = held.quantiles and {k: round(v, places) for k, v in held.quantiles.items()}
    value, sd, low, high = (round(x, places) for x in (held.value, held.sd, held.low, held.high))
    return replace(held, value=value, sd=sd, low=low, high=high, quantiles=quantiles)


def kept_rows(one: Forecast) -> list[ForecastRow]:
    """Return a forecast as the record keeps it: levels, and what one set would show."""
    level_sd = one.beliefs.plain_moments[1]
    seen, seen_sd = one.seen.plain_moments
    # What a set adds is told on top of the level; where its reader is known through the level
    # itself, the two are doubted together and nothing is left to add.
    added = np.sqrt(np.clip(seen_sd**2 - level_sd**2, 0.0, None))
    return [
        ForecastRow(
            date=step.date,
            green=step.green,
            quantity=one.quantity,
            method=one.method,
            mean=step.level.value,
            sd=step.level.sd,
            quantiles=dict(step.level.quantiles or {}),
            unit=one.unit,
            reading_sd=float(added[k]),
            log=one.seen.log,
            n=step.level.n,
            seen=float(seen[k]),
            seen_sd=float(seen_sd[k]),
        )
        for k, step in enumerate(one.ahead)
    ]


def last_day(found: Sequence[Forecast]) -> date:
    """Return the last day that forecasts of one look speak of."""
    return found[0].ahead[-1].date
