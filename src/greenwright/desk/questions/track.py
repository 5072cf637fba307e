"""How good have our own forecasts been?"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from greenwright.base.answer import Answer
from greenwright.base.values import Snapshot
from greenwright.desk import cautions
from greenwright.desk.answering import (
    Made,
    Progress,
    Row,
    finish,
    last_reading,
    require_greens,
    require_readings,
    silent,
)
from greenwright.desk.backtest import EVERY_D, backtest
from greenwright.desk.clock import stopwatch
from greenwright.desk.judging import (
    MOST_GAINS,
    MOST_PAIRS,
    Case,
    Given,
    cases,
    findings,
    gains,
    pairs,
    reliability,
)
from greenwright.desk.keeping import COURSE
from greenwright.record import Store, StoredForecast, forecasts, snapshot

MODEL = "track 1"
STORED, BACKTEST = "stored", "backtest"
FEW = 30
"""Under so many readings judged a share says little."""
FILLS = (
    "Every forecast is kept on the day it is given. Once a green is read on a day that was "
    "forecast, that forecast is judged, and this fills by itself."
)
_Which = tuple[str, str, str, date, date]
"""Quantity, method, green, the day of asking and the day spoken of."""
REFERENCES = {
    "persistence": "The green's last reading stays as it is.",
    "climatology": "The mean of all the green's readings so far within 30 days of this time of "
    "the year.",
    "seasonal-naive": "What the green read about this day last year, a week either side.",
    "last-reading-plus-trend": "The green's last reading, carried on by the slope that all "
    "greens together showed in the four weeks before.",
    "best": "The one of these that was hardest to beat. Each has the spread that its own "
    "misses had at that distance until the day of the forecast.",
}


def answer(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return what came of the forecasts that were kept, or of such as are made afterwards.

    Where no kept forecast can be judged yet, forecasts are made from past days, each on what was
    known on its day; `mode` says which, and so does a caution.

    Args:
        store, on, course, progress: as in the question today.

    Raises:
        CannotAnswer: several courses and none named, no green in play, or no reading yet.
    """
    started, tell = stopwatch(), progress or silent
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    require_greens(record)
    require_readings(record)
    kept = forecasts(store, course=course, on=on)
    tell("Judging what was forecast", 0.1)
    mode, held = STORED, cases(record, (Given(one.row, one.made_on) for one in kept))
    if not held:
        afterwards = backtest(store, record, tell=tell, share=(0.1, 0.9))
        found = cases(record, afterwards)
        mode, held = (BACKTEST, found) if found else (STORED, ())
    tell("Done", 1.0)
    return finish("track", record, _made(record, kept, held, mode), started=started)


def _made(
    record: Snapshot, kept: Sequence[StoredForecast], held: Sequence[Case], mode: str
) -> Made:
    return Made(
        model=MODEL,
        findings=tuple(row for case in held for row in findings(case)),
        gaps=_gaps(kept, held, mode),
        cautions=(
            *_afterwards(record, kept, held, mode),
            *cautions.old_record(last_reading(record), record.as_of),
        ),
        more=_more(record, kept, held, mode),
    )


def _more(record: Snapshot, kept: Sequence[StoredForecast], held: Sequence[Case], mode: str) -> Row:
    made_on = [case.day(k) for case in held for k in case.judged.made_on]
    given = {one.made_on for one in kept}
    return {
        "mode": mode,
        "n_forecasts": sum(one.row.green != COURSE for one in kept),
        "n_judged": len(made_on),
        "n_afterwards": len(_late(record, kept, held)) if mode == STORED else len(made_on),
        "first_due": _first_due(record, kept, held if mode == STORED else ()),
        "first": min(made_on, default=None),
        "last": max(made_on, default=None),
        "made_on": len(given),
        "fills": None if held else FILLS,
        "greens": require_greens(record),
        "pairs": _latest([row for case in held for row in pairs(case)], MOST_PAIRS),
        "reliability": [row for case in held for row in reliability(case)],
        "gains": _latest([row for case in held for row in gains(case)], MOST_GAINS),
        "references": REFERENCES,
    }


def _latest(rows: list[Row], count: int) -> list[Row]:
    return sorted(rows, key=lambda row: row["date"])[-count:]


def _first_due(
    record: Snapshot, kept: Sequence[StoredForecast], held: Sequence[Case]
) -> date | None:
    """Return the first day, today or later, that was forecast and that no reading has judged."""
    judged = {case.day(k) for case in held for k in case.judged.day}
    days = {one.row.date for one in kept if one.row.date >= record.as_of} - judged
    return min(days, default=None)


def _late(record: Snapshot, kept: Sequence[StoredForecast], held: Sequence[Case]) -> list[_Which]:
    """Return the judged forecasts that were asked for when their day had already begun."""
    late = {
        (one.row.quantity, one.row.method, one.row.green, one.made_on, one.row.date)
        for one in kept
        if not one.in_time and one.row.date <= record.as_of
    }
    return [
        which
        for case in held
        for j in [case.judged]
        for k in range(len(j.day))
        if (which := _which(case, k)) in late
    ]


def _which(case: Case, k: int) -> _Which:
    j = case.judged
    green = case.greens[j.green[k]]
    return (case.quantity, case.method, green, case.day(j.made_on[k]), case.day(j.day[k]))


def _afterwards(
    record: Snapshot, kept: Sequence[StoredForecast], held: Sequence[Case], mode: str
) -> tuple[Row, ...]:
    if mode == BACKTEST:
        text = (
            f"No kept forecast can be judged yet. These were made afterwards, from every "
            f"{EVERY_D}th day of the last months, each on the record as it was known on its day."
        )
        return cautions.data([text])
    late = len(_late(record, kept, held))
    if not late:
        return ()
    return cautions.data(
        [
            f"{late:,} of the forecasts judged were asked for when their day had already gone by: "
            "they rest on what was known on the day named, but were not promised before it."
        ]
    )


def _gaps(kept: Sequence[StoredForecast], held: Sequence[Case], mode: str) -> tuple[Row, ...]:
    if held and mode == STORED:
        few = [case for case in held if len(case.judged.day) < FEW]
        return tuple(_few(case) for case in few)
    text = (
        "No forecast that was kept has been judged."
        if kept
        else "No forecast is kept yet: ask for one, and it is."
    )
    return (
        {
            "about": "forecasts",
            "text": text,
            "why": "what was promised before the day is the only fair test",
            "reading": None,
        },
    )


def _few(case: Case) -> Row:
    count = len(case.judged.day)
    times = "once" if count == 1 else f"{count} times"
    return {
        "about": case.quantity,
        "text": f"Forecasts of {case.quantity.replace('_', ' ')} were judged {times} only: read "
        "the greens on days that were forecast.",
        "why": "few readings say little about a share",
        "reading": None,
    }
