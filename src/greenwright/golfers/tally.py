"""The tally of remarks: which days were counted, and which are known only because one spoke.

The rule. A day without a volunteered row is unknown: nobody may have listened. A day with any
row was counted, and topics without a row that day count none. But where quiet days are usually
left blank, a day with remarks is known *because* somebody spoke, and counting such days alone
would make every course look full of complaints. So each day carries the chance that it would
have stayed blank had nothing been said: by weekday, 1 where quiet days never get a zero, 0
where at least `remarks.counting_share` of them do, in between pro rata.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date as Date

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value
from greenwright.base.values import Feedback

COMPLAINT_TOPICS: tuple[str, ...] = (
    "bumpy",
    "untrue",
    "slow",
    "fast",
    "uneven",
    "soft",
    "hard",
    "scarred",
    "other",
)
PRAISE = "praise"
TOPICS: tuple[str, ...] = (*COMPLAINT_TOPICS, PRAISE)

_BORROWED_DAYS = 2.0


@dataclass(frozen=True, slots=True)
class DayOfPlay:
    """One day at one course.

    Args:
        date: of the day; each once.
        rounds: played, not negative.
        score: the roll's score as estimated for the course (0..10); None where it never was.
        score_sd: how unsure that estimate is [score].
        counts: volunteered remarks by topic, zeros included; None where no row says anything.
    """

    date: Date
    rounds: float
    score: float | None = None
    score_sd: float = 0.0
    counts: Mapping[str, int] | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """One question of a survey: how many of those asked on a day said so."""

    date: Date
    topic: str
    count: int
    n_asked: int


def volunteered(feedback: Iterable[Feedback]) -> dict[Date, dict[str, int]]:
    """Return volunteered remarks by day and topic, greens added up; a zero stays a zero."""
    days: dict[Date, dict[str, int]] = defaultdict(dict)
    for row in feedback:
        if not row.asked:
            days[row.date][row.topic] = days[row.date].get(row.topic, 0) + row.count
    return dict(days)


def surveyed(feedback: Iterable[Feedback]) -> tuple[Asked, ...]:
    """Return the answers to surveys; rows that do not say how many were asked are left out."""
    return tuple(
        Asked(row.date, row.topic, row.count, row.n_asked)
        for row in feedback
        if row.asked and row.n_asked
    )


def counted_days(days: Sequence[DayOfPlay]) -> tuple[DayOfPlay, ...]:
    """Return the days with a tally and play, in order of date.

    Raises:
        BadInput: a day twice, negative rounds, or a negative count.
    """
    _check(days)
    known = (day for day in days if day.counts is not None and day.rounds > 0)
    return tuple(sorted(known, key=lambda day: day.date))


def chance_blank(days: Sequence[DayOfPlay]) -> dict[int, float]:
    """Return by weekday (0 = Monday) the chance that a quiet day gets no row at all.

    Args:
        days: every day of play, those without a tally included; days missing between the
            first and the last count as blank.
    """
    zeros, blanks = _quiet(days)
    overall = _share(sum(zeros.values()), sum(blanks.values()), 1.0, 0.0)
    needed = value("remarks.counting_share")
    shares = {w: _share(zeros[w], blanks[w], overall, _BORROWED_DAYS) for w in range(7)}
    return {weekday: 1 - min(1.0, share / needed) for weekday, share in shares.items()}


def _quiet(days: Sequence[DayOfPlay]) -> tuple[dict[int, int], dict[int, int]]:
    """Return quiet days by weekday: those with a written zero only, and those left blank."""
    zeros: dict[int, int] = dict.fromkeys(range(7), 0)
    blanks = dict(zeros)
    for ordinal in _missing(days):
        blanks[Date.fromordinal(ordinal).weekday()] += 1
    for day in days:
        if day.counts is None and day.rounds > 0:
            blanks[day.date.weekday()] += 1
        elif day.counts is not None and not any(day.counts.values()):
            zeros[day.date.weekday()] += 1
    return zeros, blanks


def _missing(days: Sequence[DayOfPlay]) -> set[int]:
    given = {day.date.toordinal() for day in days}
    return set(range(min(given), max(given))) - given if given else set()


def _share(zeros: float, blanks: float, otherwise: float, borrowed: float) -> float:
    total = zeros + blanks + borrowed
    return (zeros + borrowed * otherwise) / total if total else otherwise


def _check(days: Sequence[DayOfPlay]) -> None:
    dates = {day.date for day in days}
    if len(dates) < len(days):
        raise BadInput("a day of play is given twice", where="remarks", expected="each day once")
    for day in days:
        counts = (day.counts or {}).values()
        if not day.rounds >= 0 or any(count < 0 for count in counts):
            raise BadInput(
                f"rounds or remarks of {day.date} are negative",
                where="remarks",
                expected="0 or more",
            )
