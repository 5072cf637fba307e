"""Answers of players who were asked: a share, with an interval that knows days differ."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate
from greenwright.golfers.tally import Asked
from greenwright.stats.shares import share_estimate

_BORROWED_DAYS = 2.0


@dataclass(frozen=True, slots=True)
class Survey:
    """Share of those asked who said so.

    Args:
        share: of those asked, 0..1.
        n_asked, n_days: players asked, days of asking.
    """

    topic: str
    share: Estimate
    n_asked: int
    n_days: int


def survey_shares(asked: Sequence[Asked]) -> tuple[Survey, ...]:
    """Return the share of each topic asked about, in order of topic.

    Days that differ more than chance allows widen the interval: hits and tries are divided by
    the Pearson variance ratio between days, never below 1.

    Raises:
        BadInput: more answers than players asked.
    """
    topics = sorted({row.topic for row in asked})
    return tuple(_survey(t, [row for row in asked if row.topic == t]) for t in topics)


def _survey(topic: str, rows: Sequence[Asked]) -> Survey:
    if any(not 0 <= row.count <= row.n_asked for row in rows):
        raise BadInput(f"more said {topic!r} than were asked", where="survey")
    said, tried = sum(r.count for r in rows), sum(r.n_asked for r in rows)
    wide = _widening(rows, said / tried)
    share = share_estimate(said / wide, tried / wide)
    return Survey(topic, share, tried, len({row.date for row in rows}))


def _widening(rows: Sequence[Asked], share: float) -> float:
    """Return the variance ratio between days, drawn towards 1 by two days' worth."""
    if not 0 < share < 1:
        return 1.0
    excess = math.fsum(
        (r.count - r.n_asked * share) ** 2 / (r.n_asked * share * (1 - share)) for r in rows
    )
    return max(1.0, (excess + _BORROWED_DAYS) / (len(rows) - 1 + _BORROWED_DAYS))
