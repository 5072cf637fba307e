"""What a feeding plan may not break: limits entered, else the cautious default."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from greenwright.base.evidence import value
from greenwright.base.values import Limit, Snapshot

APPLICATION_DEFAULT = "limits.default.max_n_application_g_m2"
HEAT = "limits.foliar_heat_c"
CLOSING = ("no_feed", "no_work")


@dataclass(frozen=True, slots=True)
class FeedLimits:
    """The limits of some greens; None = none was entered.

    Args:
        greens: keys.
        rows: limits of the record that speak of any of them.
        p_allowed: None = nobody said; local rules are asked, never assumed.
        buffer_m: widest distance to water that was entered.
    """

    greens: tuple[str, ...]
    rows: tuple[Limit, ...]
    p_allowed: bool | None
    buffer_m: float | None

    def strictest(self, limit: str, on: date) -> float | None:
        """Return the least value of a limit on a day."""
        mine = [r for r in self.rows if r.limit == limit and _holds(r, on)]
        return min((r.value for r in mine if r.value is not None), default=None)

    def application(self, on: date, *, hot: bool) -> tuple[float, bool]:
        """Return the most nitrogen in one pass [g/m2] and whether it is the default.

        The default is that of a spray left on the leaf, and is halved in heat; what a course
        entered stands as it is.
        """
        entered = self.strictest("n_application_g_m2", on)
        if entered is not None:
            return entered, False
        most = value(APPLICATION_DEFAULT)
        return (most / 2 if hot else most), True

    def open_days(self, first: date, last: date) -> tuple[date, ...]:
        """Return the days on which feeding is not shut out."""
        days = [first + timedelta(days=k) for k in range((last - first).days + 1)]
        shut = [r for r in self.rows if r.limit in CLOSING]
        return tuple(day for day in days if not any(_holds(r, day) for r in shut))


def feed_limits(snapshot: Snapshot, greens: Sequence[str]) -> FeedLimits:
    """Return the limits that speak of some greens; the strictest of several holds."""
    named = set(greens)
    rows = tuple(r for r in snapshot.limits if named & set(snapshot.greens_of(r.green)))
    allowed = [bool(r.value) for r in rows if r.limit == "p_allowed" and r.value is not None]
    widths = [r.value for r in rows if r.limit == "buffer_m" and r.value is not None]
    return FeedLimits(
        tuple(greens), rows, all(allowed) if allowed else None, max(widths, default=None)
    )


_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _holds(row: Limit, on: date) -> bool:
    return (
        (not row.weekday or row.weekday == _WEEKDAYS[on.weekday()])
        and (row.from_ is None or row.from_ <= on)
        and (row.until is None or on <= row.until)
    )
