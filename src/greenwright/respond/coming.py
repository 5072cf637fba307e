"""The weather of the days ahead: what is given, and what it may be where nothing is given."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from greenwright.base.values import Snapshot, WeatherDay
from greenwright.weather import days as weather_days
from greenwright.weather import mean_temperature

SEASON_D = 30
"""Days either side in the year from which unknown weather is drawn."""
FEWEST = 5
"""Fewer runs of observed days than this say nothing of the season."""
MOST = 12
"""Runs that are played through."""

_YEAR = 365


@dataclass(frozen=True, slots=True)
class Given:
    """How the days ahead are known.

    Args:
        forecast: days with a forecast (or already observed).
        typical: days that go by the season.
        unknown: days of which nothing is known.
        open: how many days ahead each of the days without a forecast lies.
    """

    forecast: int
    typical: int
    unknown: int
    open: tuple[int, ...]

    @property
    def counts(self) -> Mapping[str, int]:
        """Return the days of each kind."""
        return {"forecast": self.forecast, "typical": self.typical, "unknown": self.unknown}


def given(snapshot: Snapshot, n_days: int) -> Given:
    """Return how the weather of the days after the record's is known."""
    rows = _ahead(snapshot, n_days)
    kinds = Counter(_kind(row) for row in rows)
    open_days = tuple(k + 1 for k, row in enumerate(rows) if _kind(row) != "forecast")
    return Given(kinds["forecast"], kinds["typical"], kinds["unknown"], open_days)


def weathers(snapshot: Snapshot, n_days: int) -> tuple[Snapshot, ...]:
    """Return the record with each of several weathers that may come, equally likely.

    Days without a forecast take over runs of days that were observed here at the same season, in
    this year and others; days with a forecast keep it. Empty where every day is given, or where
    fewer than five such runs were observed.

    Args:
        snapshot: the record.
        n_days: days ahead.
    """
    offsets = given(snapshot, n_days).open
    seen = _observed(snapshot)
    starts = [s for s in _starts(seen, snapshot.as_of) if _run(seen, s, offsets)]
    if not offsets or len(starts) < FEWEST:
        return ()
    step = max(1.0, len(starts) / MOST)
    chosen = [starts[int(k * step)] for k in range(min(MOST, len(starts)))]
    return tuple(_with(snapshot, _run(seen, start, offsets), offsets) for start in chosen)


def _ahead(snapshot: Snapshot, n_days: int) -> Sequence[WeatherDay]:
    first = snapshot.as_of + timedelta(days=1)
    return weather_days(snapshot, first, first + timedelta(days=n_days - 1))


def _kind(row: WeatherDay) -> str:
    if row.kind != "typical":
        return "forecast"
    return "unknown" if mean_temperature(row) is None else "typical"


def _observed(snapshot: Snapshot) -> dict[date, WeatherDay]:
    rows = [w for w in snapshot.weather if w.kind == "observed" and w.date <= snapshot.as_of]
    return {w.date: w for w in rows if mean_temperature(w) is not None}


def _starts(seen: Mapping[date, WeatherDay], day: date) -> list[date]:
    """Return the observed days near a day of the year, in order."""
    place = day.timetuple().tm_yday
    gaps = ((d, abs(d.timetuple().tm_yday - place)) for d in seen)
    return sorted(d for d, gap in gaps if min(gap, _YEAR - gap) <= SEASON_D)


def _run(
    seen: Mapping[date, WeatherDay], start: date, offsets: Sequence[int]
) -> tuple[WeatherDay, ...]:
    """Return the days that lie as far after a start as the open days lie ahead, or nothing."""
    found = [seen.get(start + timedelta(days=k)) for k in offsets]
    known = tuple(row for row in found if row is not None)
    return known if len(known) == len(offsets) else ()


def _with(snapshot: Snapshot, run: Sequence[WeatherDay], offsets: Sequence[int]) -> Snapshot:
    made = [
        replace(row, date=snapshot.as_of + timedelta(days=k), kind="forecast", id="",
                issued=snapshot.as_of)
        for row, k in zip(run, offsets, strict=True)
    ]  # fmt: skip
    return replace(snapshot, weather=(*snapshot.weather, *made))
