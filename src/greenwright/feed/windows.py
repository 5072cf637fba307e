"""The windows of a feeding plan: half months, with the passes they leave room for."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from greenwright.base.evidence import value
from greenwright.feed.limits import HEAT, FeedLimits

HALF = 15
"""The day on which the first half of a month ends."""


@dataclass(frozen=True, slots=True)
class Window:
    """Days within which a pass may fall.

    Args:
        first, last: both inclusive.
        growth: growth potential of the month, 0..1.
        hot: whether its mean highest temperature is over the limit for leaves.
    """

    first: date
    last: date
    growth: float = 1.0
    hot: bool = False

    @property
    def month(self) -> int:
        """Return the month, 1..12."""
        return self.first.month


@dataclass(frozen=True, slots=True)
class Opening:
    """What a window leaves open to a group of greens.

    Args:
        first, last: first and last day that is not shut, None where all are.
        passes: most passes.
        n_pass: most nitrogen in one pass [g/m2]; assumed = nobody entered it.
        shut: days shut out.
    """

    first: date | None
    last: date | None
    passes: int
    n_pass: float
    assumed: bool
    shut: int


def half_months(
    first: date, last: date, growth: Mapping[int, tuple[float, float | None]]
) -> tuple[Window, ...]:
    """Return the half months between two days, cut to them.

    Args:
        first, last: both inclusive; nothing if they run backwards.
        growth: month -> (growth potential, mean highest temperature [degC] or None); a month
            that is not named has no window.

    >>> warm = {6: (1.0, None), 7: (1.0, None)}
    >>> [w.last.day for w in half_months(date(2026, 6, 20), date(2026, 7, 31), warm)]
    [30, 15, 31]
    """
    made, start = [], first
    while start <= last:
        end = min(last, _end_of(start))
        if start.month in growth:
            share, high = growth[start.month]
            made.append(Window(start, end, share, high is not None and high > value(HEAT)))
        start = end + timedelta(days=1)
    return tuple(made)


def _end_of(day: date) -> date:
    last = HALF if day.day <= HALF else monthrange(day.year, day.month)[1]
    return day.replace(day=last)


def opening(window: Window, limits: FeedLimits) -> Opening:
    """Return what a window leaves open: days not shut, passes a week apart, nitrogen a pass."""
    days = limits.open_days(window.first, window.last)
    length = (window.last - window.first).days + 1
    most, assumed = limits.application(window.first, hot=window.hot)
    if not days:
        return Opening(None, None, 0, most, assumed, length)
    passes = most_passes(days[0], days[-1])
    return Opening(days[0], days[-1], passes, most, assumed, length - len(days))


def most_passes(first: date, last: date) -> int:
    """Return the passes that days of a half month leave room for, a week apart: one or two."""
    return min(1 + int((last - first).days // value("feed.pass_interval_d")), 2)
