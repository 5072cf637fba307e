"""Work that may come where nobody has planned: what was done in the fortnights before."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import inf

from greenwright.advise.ahead import days_ahead
from greenwright.advise.usual import WEEKS
from greenwright.base.values import Snapshot, Work
from greenwright.desk.coming_work import DAILY, ComingWork, spoken_for

Heights = Mapping[str, Sequence[tuple[date, float]]]

WEEK = 7
LOWEST_MM = 2.0
"""No height under this is supposed, however far heights came down in another fortnight."""


def likely_work(record: Snapshot, coming: ComingWork, n_days: int) -> tuple[tuple[Work, ...], ...]:
    """Return several courses that the work of the days ahead may take, each as likely.

    Each repeats what was done over as many days, some weeks before, on the same weekdays; planned
    rows hold, and speak for their practice and greens up to the last of them (a cut: for its own
    day). Heights of cut move from today's as they moved then. Cuts that are taken as coming are
    made: a fortnight of frost must not leave the grass of spring uncut. On days closed by the
    calendar nothing is done.

    Args:
        record: the record.
        coming: the work that is taken as coming in these days.
        n_days: days ahead.

    Returns:
        One for each run of days in the last two months that the record reaches; none where its
        work is too young or nothing is left open.
    """
    planned = coming.planned
    begun = min((w.date for w in record.work if w.status == "done"), default=record.as_of)
    open_days = {d.date for d in days_ahead(record, n_days) if not d.closed}
    # As far back for a few days as for two weeks, so that the few are the first of the many.
    least = max(2, -(-n_days // WEEK))
    backs = [WEEK * k for k in range(least, least + WEEKS)]
    reached = [b for b in backs if record.as_of + timedelta(days=1 - b) >= begun]
    held = _heights(record)
    runs = [tuple(_run(record, planned, open_days, back, heights=held)) for back in reached]
    if len(runs) < 2 or not any(runs):
        return ()
    return tuple(_whole(record, coming, run) for run in runs)


def _whole(record: Snapshot, coming: ComingWork, run: Sequence[Work]) -> tuple[Work, ...]:
    """Return a run with what is planned, and with the usual cuts where it has none."""
    held = (*coming.planned, *run)
    cut = {(w.date, g) for w in held if w.practice == DAILY for g in record.greens_of(w.green)}
    usual = [w for w in coming.usual if w.practice == DAILY]
    left = [[g for g in record.greens_of(w.green) if (w.date, g) not in cut] for w in usual]
    more = [replace(w, green=";".join(g)) for w, g in zip(usual, left, strict=True) if g]
    return tuple(sorted((*held, *more), key=lambda w: w.date))


def _run(
    record: Snapshot, planned: Sequence[Work], open_days: set[date], back: int, *, heights: Heights
) -> Iterator[Work]:
    """Yield the work done so many days before the days ahead, moved onto them."""
    now, then = record.as_of, record.as_of - timedelta(days=back)
    for done in record.work:
        day = done.date + timedelta(days=back)
        if done.status != "done" or day not in open_days:
            continue
        spoken = spoken_for(record, planned, done.practice, day)
        left = [g for g in record.greens_of(done.green) if g not in spoken]
        if left:
            amount = done.amount
            if done.practice == DAILY:
                amount = _height(heights, done, left[0], now=now, then=then)
            yield replace(done, date=day, status="planned", green=";".join(left), amount=amount)


def _heights(record: Snapshot) -> Heights:
    """Return the days and heights of the cuts of each green whose height was written."""
    made: dict[str, list[tuple[date, float]]] = defaultdict(list)
    for cut in record.work:
        if cut.practice == DAILY and cut.status == "done" and cut.amount is not None:
            for green in record.greens_of(cut.green):
                made[green].append((cut.date, cut.amount))
    return {green: sorted(found) for green, found in made.items()}


def _height(heights: Heights, done: Work, green: str, *, now: date, then: date) -> float | None:
    """Return today's height of a green, moved as a cut had moved it since a day [mm]."""
    ends = [_set_on(heights.get(green, ()), day) for day in (now, then)]
    if done.amount is None or None in ends:
        return None
    return max(done.amount + ends[0] - ends[1], LOWEST_MM)


def _set_on(cuts: Sequence[tuple[date, float]], day: date) -> float | None:
    """Return the last height written up to a day [mm]."""
    place = bisect_right(cuts, (day, inf))
    return cuts[place - 1][1] if place else None
