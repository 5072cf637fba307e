"""What an answer about time shows beside its findings: readings and work by day, bands."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.base.tables import practices
from greenwright.base.values import Snapshot, Work
from greenwright.desk import gaps
from greenwright.desk.answering import Row
from greenwright.desk.targets import Band, Wanted, wanted
from greenwright.respond import keys_of
from greenwright.respond.learning import Learned, LearnedOutcome
from greenwright.respond.learning.learn import FEWEST_READ_DAYS, FEWEST_SETS
from greenwright.respond.shapes import shapes_of


@dataclass(frozen=True, slots=True)
class Aimed:
    """A quantity of some greens on a day, for its targets."""

    quantity: str
    method: str
    greens: tuple[str, ...]
    on: date


def too_few() -> str:
    """Return what a record must hold before anything is learned from it."""
    return f"one quantity read at least {FEWEST_SETS} times, on {FEWEST_READ_DAYS} days or more"


def evidence_of(learned: Learned) -> frozenset[str]:
    """Return the evidence keys that the learned models start from."""
    return frozenset(
        key
        for one in learned.outcomes.values()
        for shape in shapes_of(one.quantity)
        if shape.practice in {t.practice for t in one.fit.layout.model.terms}
        for key in keys_of(shape)
    )


def misfits(learned: Learned) -> tuple[Row, ...]:
    """Return a caution for each sign that a model does not fit this record."""
    return tuple(
        {"kind": "misfit", "quantity": one.quantity, "text": f"{_named(one)}: {sign.words}"}
        for one in learned.outcomes.values()
        for sign in one.misfits
    )


def unsure(learned: Learned, wanted: Iterable[str]) -> tuple[Row, ...]:
    """Return the caution that names practices whose effect the record cannot tell from need.

    Args:
        learned: with the verdicts.
        wanted: practices that the answer leans on.
    """
    told = set(wanted)
    doubted = {
        term.practice: None
        for one in learned.outcomes.values()
        if one.quantity in gaps.CORE
        for term in one.fit.layout.model.terms
        if term.practice in told and one.separations[term.name].verdict == "cannot tell"
    }
    if not doubted:
        return ()
    known = practices()
    names = [known[p].label.lower() if p in known else p.replace("_", " ") for p in doubted]
    return (
        {
            "kind": "confounding",
            "practices": list(doubted),
            "text": "The record cannot tell yet what these do here on speed or smoothness, so "
            f"what is reported elsewhere weighs in: {', '.join(names)}. Effects says why.",
        },
    )


def _named(one: LearnedOutcome) -> str:
    return gaps.label(one.quantity, one.method)


def bands(record: Snapshot, aimed: Aimed) -> Wanted:
    """Return the bands wanted, none for trueness, whose target is in mm/m at a speed."""
    if aimed.quantity == "trueness":
        return Wanted((None,) * len(aimed.greens))
    return wanted(record, aimed)


def band_row(band: Band | None) -> Row | None:
    """Return a band as a row."""
    return band and {"low": band.low, "high": band.high, "default": band.default}


def read_rows(outcome: LearnedOutcome, since: date) -> list[Row]:
    """Return the sets of readings from a day on, in the quantity's unit."""
    rows = outcome.plain.layout.rows
    values = np.exp(rows.value) if outcome.log else rows.value
    kept = np.flatnonzero(rows.day >= (since - outcome.first).days)
    return [
        {
            "green": outcome.greens[rows.unit[k]],
            "quantity": outcome.quantity,
            "method": outcome.method,
            "date": outcome.first + timedelta(days=int(rows.day[k])),
            "value": float(values[k]),
        }
        for k in kept
    ]


def done_rows(record: Snapshot, first: date, last: date) -> list[Row]:
    """Return the work done from one day to another."""
    return work_rows(
        record, (w for w in record.work if w.status == "done" and first <= w.date <= last)
    )


def work_rows(record: Snapshot, work: Iterable[Work], *, usual: bool = False) -> list[Row]:
    """Return work as rows, one for each day, practice and set of greens."""
    made: dict[tuple[date, str, tuple[str, ...], str], Row] = {}
    for held in sorted(work, key=lambda w: w.date):
        greens = record.greens_of(held.green)
        key = (held.date, held.practice, greens, held.status)
        made[key] = {
            "date": held.date,
            "practice": held.practice,
            "greens": list(greens),
            "status": held.status,
            "usual": usual,
        }
    return list(made.values())


def day_of(name: str, given: date | str) -> date:
    """Return an option's day.

    Raises:
        BadInput: no ISO date.
    """
    if isinstance(given, datetime):
        return given.date()
    if isinstance(given, date):
        return given
    try:
        return date.fromisoformat(given)
    except (TypeError, ValueError):
        raise BadInput(
            f"{given!r} is not a day", where=name, expected="a date such as 2026-06-05"
        ) from None


def green_of(name: str, given: str | None, greens: Sequence[str]) -> str | None:
    """Return an option's green; None and course are the course.

    Raises:
        BadInput: no such green.
    """
    if given in (None, "", "course"):
        return None
    if given not in greens:
        raise BadInput(
            f"no green {given!r} on this course",
            where=name,
            expected=", ".join(greens),
            do="Name one of these",
        )
    return given
