"""Work that may come where nobody has planned: what was done in the fortnights before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from greenwright.advise.ahead import days_ahead
from greenwright.advise.usual import WEEKS
from greenwright.base.values import Snapshot, Work
from greenwright.desk.coming_work import DAILY

WEEK = 7


def likely_work(
    record: Snapshot, planned: Sequence[Work], n_days: int
) -> tuple[tuple[Work, ...], ...]:
    """Return several courses that the work of the days ahead may take, each as likely.

    Each repeats what was done over as many days, some weeks before, on the same weekdays; planned
    rows hold, and speak for their practice and greens up to the last of them (a cut: for its own
    day). Heights of cut stay as they are. On days closed by the calendar nothing is done.

    Args:
        record: the record.
        planned: its planned work of these days.
        n_days: days ahead.

    Returns:
        One for each run of days in the last two months that the record reaches; none where its
        work is too young or nothing is left open.
    """
    begun = min((w.date for w in record.work if w.status == "done"), default=record.as_of)
    open_days = {d.date for d in days_ahead(record, n_days) if not d.closed}
    # As far back for a few days as for two weeks, so that the few are the first of the many.
    least = max(2, -(-n_days // WEEK))
    backs = [WEEK * k for k in range(least, least + WEEKS)]
    reached = [b for b in backs if record.as_of + timedelta(days=1 - b) >= begun]
    runs = [tuple(_run(record, planned, open_days, back)) for back in reached]
    if len(runs) < 2 or not any(runs):
        return ()
    return tuple(tuple(sorted((*planned, *run), key=lambda w: w.date)) for run in runs)


def _run(
    record: Snapshot, planned: Sequence[Work], open_days: set[date], back: int
) -> Iterator[Work]:
    """Yield the work done so many days before the days ahead, moved onto them."""
    for done in record.work:
        day = done.date + timedelta(days=back)
        if done.status != "done" or day not in open_days:
            continue
        spoken = _spoken(record, planned, done.practice, day)
        left = [g for g in record.greens_of(done.green) if g not in spoken]
        if left:
            amount = None if done.practice == DAILY else done.amount
            yield replace(done, date=day, status="planned", green=";".join(left), amount=amount)


def _spoken(record: Snapshot, planned: Sequence[Work], practice: str, day: date) -> set[str]:
    """Return the greens whose planned rows already say what happens on a day."""
    said: set[str] = set()
    for work in planned:
        speaks = work.date == day if practice == DAILY else day <= work.date
        if work.practice == practice and speaks:
            said.update(record.greens_of(work.green))
    return said
