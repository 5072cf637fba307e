"""Forecasts made afterwards, on the record as it was known then, where none was kept in time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any

from greenwright.base.errors import CannotAnswer
from greenwright.base.values import Snapshot
from greenwright.desk.answering import SEED, Progress
from greenwright.desk.coming_work import coming_work
from greenwright.desk.held import Held
from greenwright.desk.judging import Given
from greenwright.desk.likely_work import likely_work
from greenwright.desk.looking_ahead import kept_rows, look_ahead
from greenwright.record import Store, snapshot
from greenwright.respond.ahead import LONGEST
from greenwright.respond.learning import learn

EVERY_D, BACK_D = 14, 112
"""From how many days one is made, and how far back the first lies [d]."""
QUANTITIES = ("green_speed", "smoothness")
KEPT = 2

_Key = tuple[str, tuple[int, ...], str, date]
_kept = Held[_Key, tuple[Given, ...]](KEPT)


def backtest(
    store: Store, record: Snapshot, *, tell: Progress, share: tuple[float, float]
) -> tuple[Given, ...]:
    """Return forecasts from past days; held in memory while the record stays as it is.

    Each is made on what was known on its day: readings, work done and planned, weather and its
    forecast. Days on which too little was known yet give none.

    Args:
        store, record: the record, and as it is known now.
        tell: told as days are done; share: from where to where.
    """
    key = (str(store.path), store.stamp(), record.course.course, record.as_of)
    held = _kept.get(key)
    if held is not None:
        return held
    return _kept.keep(key, tuple(_given(store, record, tell, share)))


def origins(record: Snapshot) -> list[date]:
    """Return the days to forecast from: those after which something was read."""
    read = {r.date for r in record.readings}
    days = [record.as_of - timedelta(days=k) for k in range(BACK_D, 0, -EVERY_D)]
    return [d for d in days if any(d + timedelta(days=k) in read for k in range(1, LONGEST + 1))]


def _given(
    store: Store, record: Snapshot, tell: Progress, share: tuple[float, float]
) -> Iterator[Given]:
    days = origins(record)
    start: Mapping[str, Any] | None = None
    for place, day in enumerate(days):
        tell("Forecasting from past days", share[0] + (share[1] - share[0]) * place / len(days))
        try:
            then = snapshot(store, record.course.course, on=day)
        except CannotAnswer:
            continue
        # Each begins where the one before it ended: always the same way, and twice as quick.
        learned = learn(then, seed=SEED, quantities=QUANTITIES, start=start)
        start = learned.state or start
        ways = tuple(learned.outcomes.values())
        work = coming_work(then, LONGEST)
        likely = likely_work(then, work, LONGEST)
        for one in look_ahead(then, ways, LONGEST, work=work, likely=likely):
            yield from (Given(row, day) for row in kept_rows(one))


def forget() -> None:
    """Let go of all that is held in memory."""
    _kept.clear()
