"""The record as the question golfers needs it, kept while the record stays as it is.

A what-if moves a level and asks again: what was read and fitted does not change with it.
"""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import date, timedelta

from greenwright.base.values import Snapshot
from greenwright.desk.answering import Progress, require_greens, require_readings
from greenwright.desk.golfing.levels import Levels
from greenwright.desk.golfing.saying import LOOK_BACK_D, remarks, spoken_of
from greenwright.desk.held import Held
from greenwright.golfers import Player, fit_players
from greenwright.golfers.feedback import Remarks
from greenwright.measure import Surface, first_day_needed, surface
from greenwright.measure.comparisons import Comparisons, comparisons
from greenwright.record import Extent, Store, extent, snapshot

COMPARED = ("green_speed", "smoothness", "trueness_score")
"""Quantities whose differences a golfer may notice."""

KEPT = 4
"""Readings of a record held in memory."""


@dataclass(frozen=True, slots=True, eq=False)
class Read:
    """What was read of a record on a day, and what was fitted to it.

    Args:
        record: as known on the day, at least a year of it.
        surfaces: by quantity, those ever read; compared: the same against other days and greens.
        fitted: players fitted from the club's own putts.
        extent: counts of the whole record.
        said: remarks to expect, by what they go by; a what-if of speed leaves them alone.
    """

    record: Snapshot
    surfaces: Mapping[str, Surface]
    compared: Mapping[str, Comparisons]
    fitted: tuple[Player, ...]
    extent: Extent
    said: dict[tuple[float | None, float, float], Remarks] = field(default_factory=dict)

    def remarks(self, levels: Levels) -> Remarks:
        """Return the remarks to expect at the day's levels, worked out once for each."""
        key = (*spoken_of(levels), levels.rounds)
        if key not in self.said:
            while len(self.said) >= KEPT:
                self.said.pop(next(iter(self.said)), None)
            self.said[key] = remarks(self.record, self.surfaces.get("smoothness"), levels)
        return self.said[key]


_Key = tuple[str, tuple[int, ...], str | None, date]
_kept = Held[_Key, Read](KEPT)


def read(store: Store, course: str | None, *, on: date, tell: Progress) -> Read:
    """Return what the record tells of a day; the same object while the record is unchanged.

    Args:
        store, course, on: as in the questions.
        tell: progress.

    Raises:
        CannotAnswer: no course, no green in play, or no reading yet.
    """
    key = (str(store.path), store.stamp(), course, on)
    held = _kept.get(key)
    if held is not None:
        return held
    return _kept.keep(key, _made(store, course, on=on, tell=tell))


def _made(store: Store, course: str | None, *, on: date, tell: Progress) -> Read:
    tell("Reading the record", 0.0)
    record, held = _recorded(store, course, on=on)
    require_greens(record)
    require_readings(record)
    tell("Working out the greens", 0.2)
    compared = {q: one for q in COMPARED if (one := comparisons(record, q)) is not None}
    surfaces = {quantity: one.levels for quantity, one in compared.items()}
    tell("Working out trueness", 0.5)
    true = surface(record, "trueness")
    if true is not None:
        surfaces["trueness"] = true
    speed = surfaces.get("green_speed")
    fitted = fit_players(record.putts, green_speed_m=speed.course.value if speed else None)
    return Read(record, surfaces, compared, fitted, held)


def _recorded(store: Store, course: str | None, *, on: date) -> tuple[Snapshot, Extent]:
    """Return the record as far back as it is needed, and the counts of the whole."""
    year = on - timedelta(days=LOOK_BACK_D)
    # The counting is the database's work: the rows of the year are read beside it.
    with ThreadPoolExecutor(1) as beside:
        counting = beside.submit(extent, store, course, on=on)
        record = snapshot(store, course, on=on, since=year)
        held = counting.result()
    first = min(first_day_needed(held.last_read, on=on), held.last_reading or on)
    return (snapshot(store, course, on=on, since=first) if first < year else record), held
