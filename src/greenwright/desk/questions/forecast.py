"""Where will it be, under the planned work?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from greenwright.base.answer import Answer
from greenwright.base.errors import CannotAnswer
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
from greenwright.desk.keeping import keep
from greenwright.desk.learning import learn_kept
from greenwright.desk.likely_work import likely_work
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
from greenwright.desk.looking_ahead import kept_rows, last_day, look_ahead, rounded, told_row
from greenwright.desk.span import days_ahead_of
from greenwright.record import Store, snapshot
from greenwright.respond.ahead import BACK, COURSE, LONGEST, Forecast, Step
from greenwright.respond.learning import Learned

MODEL = "forecast 1 (learned here)"
NARROWED = 0.8
"""A set is worth asking for where it leaves at most this share of the range."""


@dataclass(frozen=True, slots=True)
class Looked:
    """The days ahead: the work taken as coming, and what follows for each quantity."""

    work: ComingWork
    found: tuple[Forecast, ...]


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

    The look over all two weeks is kept in the record, where that can be written to: `kept` says so.

    Raises:
        CannotAnswer: several courses and none named, no green in play, or too few readings.
        BadInput: days outside 1 to 14, or no such event ahead.
    """
    started, tell = stopwatch(), progress or silent
    count = days_ahead_of(days, most=LONGEST)
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    require_greens(record)
    require_readings(record)
    aim = coming_event(record, event, reach=LONGEST) if event else None
    learned = learn_kept(store, record, tell=tell, share=(0.05, 0.7))
    looked = _looked(record, learned, count, aim=aim, tell=tell)
    made = finish("forecast", record, _made(record, learned, looked, aim=aim), started=started)
    kept = (count, event) == (LONGEST, None) and _kept(store, made, looked)
    tell("Done", 1.0)
    return replace(made, more={**made.more, "kept": kept})


def _kept(store: Store, made: Answer, looked: Looked) -> bool:
    """Keep what was forecast, so that it can be judged; return whether it is kept."""
    rows = [row for one in looked.found for row in kept_rows(one)]
    return keep(store, rows, course=made.record["course"], on=made.as_of, model=MODEL)


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
    tell("Looking ahead", 0.7)
    likely = likely_work(record, work, days)
    return look_ahead(record, every, days, work=work, likely=likely)


def _looked(
    record: Snapshot, learned: Learned, days: int, *, aim: Coming | None, tell: Progress
) -> Looked:
    # An event farther off than was asked for is looked at all the same.
    reach = max([days, *((day - record.as_of).days for day in (aim.days if aim else ()))])
    work = coming_work(record, reach)
    return Looked(work, _forecasts(record, learned, work, reach, tell=tell))


def _made(record: Snapshot, learned: Learned, looked: Looked, *, aim: Coming | None) -> Made:
    work, found = looked.work, looked.found
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
    return [told_row(one, step, chances.get((step.green, step.date))) for step in one.ahead]


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
        "days": (last_day(found) - record.as_of).days,
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
    held = rounded(step.level)
    return {
        "green": step.green,
        "quantity": one.quantity,
        "method": one.method,
        "date": step.date,
        "estimate": held if step.green == COURSE else replace(held, quantiles=None),
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
