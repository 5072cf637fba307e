"""Keeps forecasts on the day they are given, so that what comes can judge them."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, insert, select

from greenwright.record.courses import choose_course
from greenwright.record.schema import tables
from greenwright.record.store import Store

DIGITS = 6
"""Significant digits that are kept: a thousandth of a spread that is a thousandth of the level."""

WHICH = ("made_on", "green", "quantity", "method", "model", "number")
"""What one row of the table is, within its course."""

_Numbers = tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class ForecastRow:
    """What was forecast of one green, or the course, for one day.

    Args:
        date: the day it speaks of.
        green: its key, or course.
        quantity, method, unit: of what, in which canonical unit.
        mean, sd, quantiles: of the level [unit], natural also where log; quantiles by share
            written as text.
        reading_sd: what a single set adds around the level [unit, or of the log].
        log: the belief is normal on the log scale.
        n: sets of readings behind it.
        seen, seen_sd: mean and sd of what one set would show [unit, or of the log]; None = the
            level with reading_sd around it.
    """

    date: date
    green: str
    quantity: str
    mean: float
    sd: float
    quantiles: Mapping[str, float]
    unit: str
    method: str = ""
    reading_sd: float = 0.0
    log: bool = False
    n: int = 0
    seen: float | None = None
    seen_sd: float | None = None


@dataclass(frozen=True, slots=True)
class StoredForecast:
    """One forecast as it was given.

    Args:
        row: what was forecast.
        made_on: the record's day when it was given.
        made_at: the moment it was kept (ISO 8601, UTC).
        model: which model gave it.
    """

    row: ForecastRow
    made_on: date
    made_at: str
    model: str

    @property
    def ahead(self) -> int:
        """Return how many days ahead it looks."""
        return (self.row.date - self.made_on).days

    @property
    def in_time(self) -> bool:
        """Return whether it was kept before the day it speaks of began."""
        return self.made_at[:10] < self.row.date.isoformat()


def keep_forecast(
    store: Store,
    rows: Sequence[ForecastRow],
    *,
    course: str | None,
    made_on: date,
    model: str,
    now: datetime,
) -> int:
    """Keep a forecast; return how many of its rows were new.

    What is kept already is not kept again. A row that says something else than the last one of
    the same course, day, green, quantity, method and model is appended as a later revision.

    Args:
        rows: what was forecast, of any greens and quantities.
        course: its key; None = the only one.
        made_on: the record's day.
        model: which model gave it.
        now: the present moment.

    Raises:
        StoreError: it could not be saved.
    """
    series: dict[tuple[str, str, str], list[ForecastRow]] = defaultdict(list)
    for row in rows:
        series[row.green, row.quantity, row.method].append(row)
    kept, table = 0, tables().forecast
    with store.writing() as conn:
        key = choose_course(conn, course)
        known = _known(conn, key, made_on, model)
        for which, found in series.items():
            number, before = known.get(which, (0, {}))
            news = [row for row in found if before.get(row.date) != _told(row)]
            if news:
                held = _entry(news, made_on, (key, *which, model, number + 1))
                made_at = now.isoformat(timespec="seconds")
                conn.execute(insert(table), {**held, "made_at": made_at})
            kept += len(news)
    return kept


def forecasts(
    store: Store,
    *,
    course: str | None,
    on: date,
    quantity: str | None = None,
    green: str | None = None,
    since: date | None = None,
) -> tuple[StoredForecast, ...]:
    """Return what was forecast up to a day, oldest first.

    Of several revisions for one day the last one kept before that day began stands; where all
    were kept later (a day gone by was asked for), the last one.

    Args:
        course: its key; None = the only one.
        on: only forecasts of this day and earlier ones.
        quantity, green: only these.
        since: only forecasts of this day and later ones.
    """
    f = tables().forecast.c
    asked = {"quantity": quantity, "green": green}
    with store.reading() as conn:
        query = select(tables().forecast).where(
            f.course_key == choose_course(conn, course),
            f.made_on <= on.isoformat(),
            *(f[name] == value for name, value in asked.items() if value is not None),
        )
        if since is not None:
            query = query.where(f.made_on >= since.isoformat())
        found = conn.execute(query.order_by(f.made_on, f.id)).all()
    return tuple(_standing(one for row in found for one in _rows(row)))


def altered_forecasts(conn: Connection) -> Iterator[str]:
    """Yield, in plain words, every kept forecast that is not as it was kept."""
    f = tables().forecast.c
    counts: dict[tuple[str, ...], int] = {}
    for row in conn.execute(select(tables().forecast).order_by(f.id)):
        named = f"forecast of {row.made_on} for {row.green}, {row.quantity}"
        if row.digest != _digest(row._mapping):
            yield f"{named}: revision {row.number} was altered"
        which = (row.course_key, *(getattr(row, n) for n in WHICH[:-1]))
        counts[which] = counts.get(which, 0) + 1
        if row.number != counts[which]:
            yield f"{named}: a revision before {row.number} is missing"


def _known(
    conn: Connection, key: str, made_on: date, model: str
) -> dict[tuple[str, str, str], tuple[int, dict[date, _Numbers]]]:
    """Return for each green, quantity and method the last number and what stands by day."""
    f = tables().forecast.c
    mine = (f.course_key == key, f.made_on == made_on.isoformat(), f.model == model)
    made: dict[tuple[str, str, str], tuple[int, dict[date, _Numbers]]] = {}
    for row in conn.execute(select(tables().forecast).where(*mine).order_by(f.id)):
        which = (row.green, row.quantity, row.method)
        before = made.get(which, (0, {}))[1]
        told = {one.row.date: _told(one.row) for one in _rows(row)}
        made[which] = (row.number, {**before, **told})
    return made


def _told(row: ForecastRow) -> _Numbers:
    """Return what is compared and kept of a row."""
    shares = [x for pair in sorted(row.quantiles.items()) for x in (float(pair[0]), pair[1])]
    told = (row.mean, row.sd, row.reading_sd, row.seen, row.seen_sd, *shares)
    return (*map(_short, told), float(row.log), float(row.n))


def _short(number: float | None) -> float | None:
    return None if number is None else float(f"{number:.{DIGITS}g}")


def _entry(rows: Sequence[ForecastRow], made_on: date, which: tuple[Any, ...]) -> dict[str, Any]:
    key, green, quantity, method, model, number = which
    first = rows[0]
    shares = sorted(first.quantiles)
    told = {
        "log": first.log,
        "n": first.n,
        "shares": shares,
        "days": [_day(row, made_on, shares) for row in sorted(rows, key=lambda r: r.date)],
    }
    held = {
        "course_key": key,
        "made_on": made_on.isoformat(),
        "green": green,
        "quantity": quantity,
        "method": method,
        "model": model,
        "number": number,
        "unit": first.unit,
        "content": json.dumps(told, separators=(",", ":"), allow_nan=False),
    }
    return {**held, "digest": _digest(held)}


def _day(row: ForecastRow, made_on: date, shares: Sequence[str]) -> list[float | None]:
    told = (row.mean, row.sd, row.reading_sd, row.seen, row.seen_sd)
    quantiles = [row.quantiles[share] for share in shares]
    return [(row.date - made_on).days, *map(_short, (*told, *quantiles))]


def _digest(held: Mapping[str, Any]) -> str:
    said = [held[name] for name in ("course_key", *WHICH, "unit", "content")]
    text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def _rows(held: Row[Any]) -> Iterator[StoredForecast]:
    told, made_on = json.loads(held.content), date.fromisoformat(held.made_on)
    for ahead, mean, sd, reading_sd, seen, seen_sd, *quantiles in told["days"]:
        row = ForecastRow(
            date=made_on + timedelta(days=ahead),
            green=held.green,
            quantity=held.quantity,
            mean=mean,
            sd=sd,
            quantiles=dict(zip(told["shares"], quantiles, strict=True)),
            unit=held.unit,
            method=held.method,
            reading_sd=reading_sd,
            log=told["log"],
            n=told["n"],
            seen=seen,
            seen_sd=seen_sd,
        )
        yield StoredForecast(row, made_on, held.made_at, held.model)


def _standing(found: Iterable[StoredForecast]) -> Iterable[StoredForecast]:
    """Return the one that stands of each, in the order of the days on which they were made."""
    stands: dict[tuple[date, str, str, str, date], StoredForecast] = {}
    for one in found:
        row = one.row
        key = (one.made_on, row.green, row.quantity, row.method, row.date)
        if one.in_time or key not in stands or not stands[key].in_time:
            stands[key] = one
    return stands.values()
