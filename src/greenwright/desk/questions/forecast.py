"""Where will it be, under the planned work?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.base.values import Snapshot
from greenwright.desk import cautions, gaps
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
from greenwright.desk.clock import stopwatch
from greenwright.desk.coming_work import ComingWork, coming_work
from greenwright.desk.events import Coming, coming_event
from greenwright.desk.learning import learn_kept
from greenwright.desk.looking import (
    Aimed,
    band_row,
    bands,
    done_rows,
    evidence_of,
    misfits,
    read_rows,
    too_few,
    unsure,
    work_rows,
)
from greenwright.record import Store, snapshot
from greenwright.respond.ahead import BACK, COURSE, LONGEST, Forecast, Step, forecast
from greenwright.respond.coming import outlook
from greenwright.respond.learning import Learned

MODEL = "forecast 1 (learned here)"
NARROWED = 0.8
"""A set is worth asking for where it leaves at most this share of the range."""


def answer(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    days: float | str = LONGEST,
    event: str | None = None,
) -> Answer:
    """Return where every learned quantity will be in the days after a day.

    Args:
        store, on, course, progress: as in the question today.
        days: how many days ahead, 1 to 14.
        event: name in the calendar; its day gets the chance of being in target.

    Raises:
        CannotAnswer: several courses and none named, no green in play, or too few readings.
        BadInput: days outside 1 to 14, or no such event ahead.
    """
    started, tell = stopwatch(), progress or silent
    count = _count(days)
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    require_greens(record)
    require_readings(record)
    aim = coming_event(record, event, reach=LONGEST) if event else None
    learned = learn_kept(store, record, tell=tell, share=(0.05, 0.7))
    made = _made(record, learned, count, aim=aim, tell=tell)
    tell("Done", 1.0)
    return finish("forecast", record, made, started=started)


def _count(days: float | str) -> int:
    try:
        count = int(days)
        if count == float(days) and 1 <= count <= LONGEST:
            return count
    except (TypeError, ValueError, OverflowError):
        pass
    raise BadInput(
        f"{days!r} is no number of days to look ahead",
        where="days",
        expected=f"a whole number from 1 to {LONGEST}",
    )


def _forecasts(
    record: Snapshot, learned: Learned, work: ComingWork, days: int, *, tell: Progress
) -> tuple[Forecast, ...]:
    every = list(learned.outcomes.values())
    if not every:
        raise CannotAnswer(
            "the record holds too few readings to look ahead",
            where=record.course.name,
            expected=too_few(),
            do="Read the greens on a few more days, then ask again",
        )
    coming = outlook(record, first=every[0].first, n_days=days, planned=work.all)
    made = []
    for place, one in enumerate(every):
        tell("Looking ahead", 0.7 + 0.3 * place / len(every))
        made.append(forecast(one, record, days=days, coming=coming))
    return tuple(made)


def _made(
    record: Snapshot, learned: Learned, days: int, *, aim: Coming | None, tell: Progress
) -> Made:
    # An event farther off than was asked for is looked at all the same.
    reach = max([days, *((day - record.as_of).days for day in (aim.days if aim else ()))])
    work = coming_work(record, reach)
    found = _forecasts(record, learned, work, reach, tell=tell)
    unknown = _gaps(record, found)
    return Made(
        model=MODEL,
        findings=tuple(row for one in found for row in _rows(record, one, aim)),
        gaps=unknown,
        cautions=_cautions(record, learned, work, found),
        used=evidence_of(learned) | gaps.time_keys(unknown),
        more=_more(record, learned, work, found, aim=aim),
    )


def _rows(record: Snapshot, one: Forecast, aim: Coming | None) -> list[Row]:
    chances = _chances(record, one, aim)
    return [_row(one, step, chances.get((step.green, step.date))) for step in one.ahead]


def _row(one: Forecast, step: Step, chance: float | None) -> Row:
    held: dict[str, Any] = {
        "green": step.green,
        "quantity": one.quantity,
        "method": one.method,
        "date": step.date,
        "estimate": replace(step.level, quantiles=None),
        "quantiles": dict(step.level.quantiles or {}),
        "reading": step.reading,
    }
    return held if chance is None else held | {"in_target": chance}


def _chances(record: Snapshot, one: Forecast, aim: Coming | None) -> dict[tuple[str, date], float]:
    """Return the chance of being in target by green and day of the event."""
    made: dict[tuple[str, date], float] = {}
    for day in aim.days if aim else ():
        held = bands(record, Aimed(one.quantity, one.method, one.greens, day))
        for green, band in zip((COURSE, *one.greens), (held.common, *held.bands), strict=True):
            if band is not None:
                made[green, day] = one.in_target(green, day, low=band.low, high=band.high)
    return made


def _more(
    record: Snapshot,
    learned: Learned,
    work: ComingWork,
    found: Sequence[Forecast],
    *,
    aim: Coming | None,
) -> Row:
    since, tomorrow = record.as_of - timedelta(days=BACK), record.as_of + timedelta(days=1)
    wanted = {
        one.quantity: band_row(
            bands(record, Aimed(one.quantity, one.method, one.greens, tomorrow)).common
        )
        for one in found
    }
    return {
        "greens": found[0].greens,
        "days": (found[0].ahead[-1].date - record.as_of).days,
        "plan": work.plan,
        "weather": found[0].weather.counts,
        "past": [_past(one, step) for one in found for step in one.past],
        "read": [row for one in learned.outcomes.values() for row in read_rows(one, since)],
        "work": [
            *done_rows(record, since, record.as_of),
            *work_rows(record, work.planned),
            *work_rows(record, work.usual, usual=True),
        ],
        "targets": {quantity: band for quantity, band in wanted.items() if band},
        "event": aim and {"name": aim.name, "date": aim.days[0]},
    }


def _past(one: Forecast, step: Step) -> Row:
    return {
        "green": step.green,
        "quantity": one.quantity,
        "method": one.method,
        "date": step.date,
        "estimate": step.level if step.green == COURSE else replace(step.level, quantiles=None),
    }


def _gaps(record: Snapshot, found: Sequence[Forecast]) -> tuple[Row, ...]:
    looked = {one.quantity for one in found}
    greens = require_greens(record)
    rows = [gaps.never_read(core, greens[0]) for core in gaps.CORE if core not in looked]
    rows += [row for one in found if one.quantity in gaps.CORE and (row := _widest(one))]
    open_days = len(found[0].weather.open)
    if open_days:
        rows.append(_weather_gap(open_days))
    return tuple(rows)


def _widest(one: Forecast) -> Row | None:
    """Return the green whose range tomorrow one set would narrow most, if that is worth it."""
    left = one.left
    green = min(left, key=lambda g: left[g], default=None)
    if green is None or left[green] > NARROWED:
        return None
    label = gaps.label(one.quantity, one.method)
    return {
        "about": one.quantity,
        "text": f"{label} of tomorrow: one set on green {green} would narrow its range most, and "
        f"leave {100 * left[green]:.0f} % of it.",
        "why": "the days ahead start from where each green is now",
        "reading": gaps.reading(one.quantity, green),
    }


def _weather_gap(open_days: int) -> Row:
    which = "one day" if open_days == 1 else f"{open_days} of the days"
    return {
        "about": "weather",
        "text": f"No forecast of the weather is in the record for {which} ahead: what this season "
        "brought here before stands in, with its spread.",
        "why": "growth and water move the surface",
        "reading": None,
    }


def _cautions(
    record: Snapshot, learned: Learned, work: ComingWork, found: Sequence[Forecast]
) -> tuple[Row, ...]:
    coming = {w.practice for w in work.all}
    return (
        *misfits(learned),
        *unsure(learned, coming),
        *_assumed(work),
        *_dry(found),
        *cautions.old_record(last_reading(record), record.as_of),
    )


def _assumed(work: ComingWork) -> tuple[Row, ...]:
    texts = {
        "usual": "No work is planned in the record for these days: the usual work of each weekday "
        "is taken as coming.",
        "both": "The work planned in the record is taken as coming; where it says nothing, the "
        "usual work of the weekday is.",
        "none": "No work is planned in the record and none is usual: the days ahead are without "
        "any.",
    }
    return cautions.data([texts[work.plan]] if work.plan in texts else [])


def _dry(found: Sequence[Forecast]) -> tuple[Row, ...]:
    if not found[0].weather.unknown:
        return ()
    return (
        {
            "kind": "weather",
            "text": "The record holds too little weather to say what the season brings: the "
            "ranges ahead leave its part out.",
        },
    )
