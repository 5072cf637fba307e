"""Forecasts are kept when they are given, and read back for those who look at them later."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from greenwright.base.errors import StoreError
from greenwright.base.estimate import Estimate
from greenwright.desk import clock
from greenwright.desk.answering import Row
from greenwright.record import ForecastRow, Store, forecasts, keep_forecast

COURSE = "course"
FRESH_D = 7
"""A forecast older than this is not shown any more [d]."""


def keep(
    store: Store, rows: Sequence[ForecastRow], *, course: str | None, on: date, model: str
) -> bool:
    """Keep a forecast; return False where the record cannot be written to."""
    try:
        keep_forecast(store, rows, course=course, made_on=on, model=model, now=clock.now())
    except StoreError:
        return False
    return True


def days_ahead(store: Store, *, course: str | None, on: date) -> tuple[list[Row], date | None]:
    """Return the days after a day as last forecast for the course, and when that was.

    Of the forecasts of the last week the latest counts; without one there are no rows. Nothing
    is worked out.
    """
    since = on - timedelta(days=FRESH_D)
    held = forecasts(store, course=course, on=on, green=COURSE, since=since)
    made_on = max((one.made_on for one in held), default=None)
    rows = [_ahead(one.row) for one in held if one.made_on == made_on and one.row.date > on]
    return (rows, made_on) if rows else ([], None)


def _ahead(row: ForecastRow) -> Row:
    told = row.quantiles
    low, high = told["0.05"], told["0.95"]
    return {
        "green": row.green,
        "quantity": row.quantity,
        "method": row.method,
        "date": row.date,
        "estimate": Estimate(row.mean, row.unit, row.sd, low, high, n=row.n, basis="model"),
        "quantiles": dict(told),
    }
