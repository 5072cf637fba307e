"""Why did it change, or why do two greens differ?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
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
from greenwright.desk.learning import learn_kept
from greenwright.desk.looking import (
    day_of,
    done_rows,
    evidence_of,
    green_of,
    misfits,
    too_few,
    unsure,
)
from greenwright.record import Store, snapshot
from greenwright.respond.ahead import BACK
from greenwright.respond.learning import Learned, LearnedOutcome
from greenwright.respond.why import COURSE, UNEXPLAINED, WORK, Reasons, why

MODEL = "why 1 (learned here)"
USUAL_DAYS = 7
"""Days looked back on unless a day is named."""
NEAR_D = 2
"""A reading so many days from an end tells where the green was then."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked: a change of a green (None = the course), or a difference on a day."""

    frm: date
    until: date
    green: str | None
    against: str | None

    @property
    def ends(self) -> tuple[tuple[str, date], tuple[str, date]]:
        """Return green and day of both ends."""
        first = (self.against or self.green or COURSE, self.until if self.against else self.frm)
        return first, (self.green or COURSE, self.until)


def answer(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return what a change or a difference is made of, for every learned quantity.

    Args:
        store, on, course, progress: as in the question today.
        options: from, until (days; 7 days before, and the day), green (a key; the course),
            against (another green: a difference on `until` instead of a change).

    Raises:
        CannotAnswer: several courses and none named, no green in play, or too few readings.
        BadInput: a day or green that cannot be.
    """
    started, tell = stopwatch(), progress or silent
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    wanted = _wanted(record, options)
    require_readings(record)
    learned = learn_kept(store, record, tell=tell, share=(0.05, 0.8))
    found = _taken_apart(record, learned, wanted, tell)
    tell("Done", 1.0)
    return finish("why", record, _made(record, learned, wanted, found), started=started)


def _taken_apart(
    record: Snapshot, learned: Learned, wanted: Wanted, tell: Progress
) -> list[Reasons]:
    every = list(learned.outcomes.values())
    if not every:
        raise CannotAnswer(
            "the record holds too few readings to tell why",
            where=record.course.name,
            expected=too_few(),
            do="Read the greens on a few more days, then ask again",
        )
    _within(wanted, every[0])
    found = []
    for place, one in enumerate(every):
        tell("Taking the change apart", 0.8 + 0.2 * place / len(every))
        found.append(_reasons(record, one, wanted))
    return found


def _wanted(record: Snapshot, options: Row) -> Wanted:
    greens = require_greens(record)
    held = {name: value for name, value in options.items() if value not in (None, "")}
    until = day_of("until", held.get("until", record.as_of))
    frm = day_of("from", held.get("from", until - timedelta(days=USUAL_DAYS)))
    green = green_of("green", held.get("green"), greens)
    against = green_of("against", held.get("against"), greens)
    if until > record.as_of:
        raise BadInput(
            f"{until} has not come yet",
            where="until",
            expected=f"a day up to {record.as_of}",
            do="Ask forecast for the days ahead",
        )
    if against is not None and against == green:
        raise BadInput("a green does not differ from itself", where="against",
                       expected="another green")  # fmt: skip
    if against is None and frm >= until:
        raise BadInput(f"from {frm} until {until} no time passes", where="from",
                       expected="an earlier day than until")  # fmt: skip
    return Wanted(frm if against is None else until, until, green, against)


def _within(wanted: Wanted, one: LearnedOutcome) -> None:
    for name, day in (("from", wanted.frm), ("until", wanted.until)):
        if day < one.first:
            raise BadInput(
                f"{day} lies before what is learned from",
                where=name,
                expected=f"a day from {one.first} on",
                do="Name a later day",
            )


def _reasons(record: Snapshot, one: LearnedOutcome, wanted: Wanted) -> Reasons:
    return why(
        one,
        frm=wanted.frm,
        until=wanted.until,
        green=wanted.green,
        against=wanted.against,
        playing=require_greens(record),
    )


def _made(record: Snapshot, learned: Learned, wanted: Wanted, found: Sequence[Reasons]) -> Made:
    unknown = _gaps(learned, wanted, found)
    worked = {p.name.removeprefix(WORK) for one in found for p in one.parts if p.size.sd > 0}
    return Made(
        model=MODEL,
        findings=tuple(row for one in found for row in _rows(one)),
        gaps=unknown,
        cautions=(
            *misfits(learned),
            *unsure(learned, worked),
            *cautions.old_record(last_reading(record), record.as_of),
        ),
        used=evidence_of(learned) | gaps.time_keys(unknown),
        more=_more(record, wanted, found),
    )


def _rows(one: Reasons) -> list[Row]:
    against = {"against": one.against} if one.against else {}
    return [
        {
            "green": one.green,
            "quantity": one.quantity,
            "method": one.method,
            "from": one.frm,
            "to": one.until,
            "part": part.name,
            "estimate": part.size,
            **against,
        }
        for part in one.parts
    ]


def _more(record: Snapshot, wanted: Wanted, found: Sequence[Reasons]) -> Row:
    first = wanted.frm + timedelta(days=1)
    if wanted.against:
        first = wanted.until - timedelta(days=BACK)
    return {
        "greens": require_greens(record),
        "green": wanted.green or COURSE,
        "against": wanted.against or "",
        "from": wanted.frm,
        "until": wanted.until,
        "levels": [
            {
                "green": end.green,
                "quantity": one.quantity,
                "method": one.method,
                "date": end.date,
                "estimate": end.level,
            }
            for one in found
            for end in one.ends
        ],
        "work": _work(record, wanted, first),
    }


def _work(record: Snapshot, wanted: Wanted, first: date) -> list[Row]:
    """Return the work between the days that touched what is asked about."""
    rows = done_rows(record, first, wanted.until)
    asked = {green for green, _ in wanted.ends}
    return rows if COURSE in asked else [r for r in rows if asked & set(r["greens"])]


def _gaps(learned: Learned, wanted: Wanted, found: Sequence[Reasons]) -> tuple[Row, ...]:
    """Return the ends of the core quantities that no reading stands near."""
    rows = []
    for one in found:
        outcome = learned.outcomes[one.quantity, one.method]
        bare = [end for end in wanted.ends if not _read_near(outcome, end)]
        if one.quantity in gaps.CORE and bare:
            rows.append(_unread(outcome, bare, wanted))
    return tuple(rows)


def _read_near(outcome: LearnedOutcome, end: tuple[str, date]) -> bool:
    green, day = end
    rows = outcome.plain.layout.rows
    near = abs(rows.day - outcome.day(day)) <= NEAR_D
    if green != COURSE:
        near = near & (rows.unit == outcome.greens.index(green))
    return bool(near.any())


def _unread(outcome: LearnedOutcome, bare: Sequence[tuple[str, date]], wanted: Wanted) -> Row:
    ends = " and ".join(f"{_where(green)} about {day}" for green, day in bare)
    green, day = bare[-1]
    today = day >= outcome.until - timedelta(days=NEAR_D)
    which = outcome.greens[0] if green == COURSE else green
    return {
        "about": outcome.quantity,
        "text": f"{gaps.label(outcome.quantity, outcome.method)} was not read on {ends}: the part "
        f"called {UNEXPLAINED} is wide for want of it.",
        "why": "what a change was is known only as well as its ends",
        "reading": gaps.reading(outcome.quantity, which) if today else None,
    }


def _where(green: str) -> str:
    return "the course" if green == COURSE else f"green {green}"
