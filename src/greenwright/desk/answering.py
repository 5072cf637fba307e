"""What every answer carries: the record in short, its sources, how and by what it was made."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from greenwright import __version__
from greenwright.base.answer import Answer
from greenwright.base.errors import CannotAnswer
from greenwright.base.evidence import as_source, look_up
from greenwright.base.tables import kinds as readable
from greenwright.base.values import Snapshot
from greenwright.desk.clock import stopwatch

Progress = Callable[[str, float], None]
Row = Mapping[str, Any]

SEED = 20260101
"""Where every chain of chance starts, so that the same record and day give the same answer."""


@dataclass(frozen=True, slots=True)
class Made:
    """The parts of an answer before they are joined; `used` holds evidence keys."""

    model: str
    findings: tuple[Row, ...] = ()
    choices: tuple[Row, ...] = ()
    gaps: tuple[Row, ...] = ()
    cautions: tuple[Row, ...] = ()
    used: frozenset[str] = frozenset()
    more: Row = field(default_factory=dict)


def silent(_text: str, _share: float) -> None:
    """Take progress and say nothing."""


def finish(question: str, snapshot: Snapshot, made: Made, *, started: float) -> Answer:
    """Return the answer joined from its parts.

    Args:
        question: one of QUESTIONS.
        snapshot: the record it was made from.
        made: findings, choices, gaps, cautions and the evidence keys they rest on.
        started: `stopwatch()` when the question was asked.
    """
    return Answer(
        question=question,
        as_of=snapshot.as_of,
        record=record_summary(snapshot),
        findings=made.findings,
        choices=made.choices,
        gaps=made.gaps,
        cautions=made.cautions,
        sources=sources(made.used),
        made_by={
            "program": f"greenwright {__version__}",
            "program_version": __version__,
            "model": made.model,
            "seconds": round(stopwatch() - started, 3),
        },
        more=made.more,
    )


def record_summary(snapshot: Snapshot) -> Row:
    """Return course, counts and last reading of a record."""
    return {
        "course": snapshot.course.course,
        "name": snapshot.course.name,
        "greens": sum(green.in_play for green in snapshot.greens),
        "readings": len(snapshot.readings),
        "work": sum(work.status == "done" for work in snapshot.work),
        "last_reading": last_reading(snapshot),
    }


def last_reading(snapshot: Snapshot) -> date | None:
    """Return the day of the latest reading, or None."""
    return max((reading.date for reading in snapshot.readings), default=None)


def sources(used: Iterable[str]) -> tuple[Row, ...]:
    """Return the evidence rows behind the keys, in the order of the keys."""
    return tuple(as_source(look_up(key)) for key in sorted(set(used)))


def require_greens(snapshot: Snapshot) -> tuple[str, ...]:
    """Return the greens in play.

    Raises:
        CannotAnswer: there is none.
    """
    greens = tuple(green.green for green in snapshot.greens if green.in_play)
    if not greens:
        raise CannotAnswer(
            "the record holds no green in play",
            where=snapshot.course.name,
            expected="a greens.csv with one row for each green",
            do="Load the greens, then ask again",
        )
    return greens


def require_readings(snapshot: Snapshot, kinds: Sequence[str] = ()) -> None:
    """Refuse to answer from a record without readings (of any of the kinds, if named).

    Raises:
        CannotAnswer: no such reading was known on the day.
    """
    if any(not kinds or reading.kind in kinds for reading in snapshot.readings):
        return
    named = " or ".join(readable()[kind].label for kind in kinds)
    what = f"no reading of {named}" if named else "no reading"
    raise CannotAnswer(
        f"the record holds {what} on or before {snapshot.as_of}",
        where=snapshot.course.name,
        expected="at least one reading of one green",
        do="Enter or load a reading, or ask for a later day",
    )
