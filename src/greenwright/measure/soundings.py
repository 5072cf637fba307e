"""Readings of any kind -> soundings: one number each on a quantity's own scale, with noise."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date as Date
from datetime import timedelta

import numpy as np

from greenwright.base.values import Reading, Snapshot
from greenwright.measure.eyescale import eye_soundings
from greenwright.measure.families import Family, families
from greenwright.measure.rounding import rounding_variance, writing_steps
from greenwright.measure.sets import SpeedSet, speed_sets
from greenwright.measure.sounding import COUNTS, Sounding
from greenwright.measure.trueness import TruenessSite, trueness_sites
from greenwright.stats import Observations, Sites

WINDOW_D = 120
"""Days of readings that an estimate looks back on."""

LastReads = Mapping[tuple[str, str, bool], Date]

DRIFT_D = 30
"""Days up to the last reading in which an observer may have drifted."""

_BOTH_SIDES = 5
MOST = 1200
"""Soundings used at most; the latest are kept."""


def readings_of(snapshot: Snapshot, of: Family, *, method: str, on: Date) -> tuple[Reading, ...]:
    """Return the readings that inform a quantity: the last 120 days up to a day.

    Where that window is empty it ends at the last reading ever. Greens that the course does
    not have are left out.
    """
    known = {g.green for g in snapshot.greens}
    usable = [
        r
        for r in snapshot.readings
        if r.kind in of.kinds and r.date <= on and r.green in known and _fits(r, of, method)
    ]
    if not usable:
        return ()
    last = max(r.date for r in usable)
    end = on if last > on - timedelta(days=WINDOW_D) else last
    return tuple(r for r in usable if r.date > end - timedelta(days=WINDOW_D))


def first_day_needed(last_read: LastReads, *, on: Date) -> Date:
    """Return the first day whose readings any surface of a day may look back on.

    A record read from that day on gives the same surfaces as the whole of it.

    Args:
        last_read: (kind, method, of a stated number) -> day of the last such reading, up to `on`.
        on: the day of the surfaces.
    """
    last: dict[tuple[str, str], Date] = {}
    for of in families().values():
        for (kind, method, counted), day in last_read.items():
            if kind in of.kinds and (counted or kind not in COUNTS):
                key = of.quantity, method_of(of, method)
                last[key] = max(day, last.get(key, day))
    reach = timedelta(days=WINDOW_D)
    return min([on, *(day for day in last.values() if day <= on - reach)]) - reach


def chosen_method(snapshot: Snapshot, of: Family, *, method: str, on: Date) -> str:
    """Return the method asked for, else the most read one of a quantity with methods."""
    if method or not of.by_method:
        return method if of.by_method else ""
    rows = (r for r in snapshot.readings if r.kind in of.kinds and r.date <= on)
    seen = Counter(method_of(of, r.method) for r in rows)
    return min(seen, key=lambda name: (-seen[name], name), default="")


def method_of(of: Family, method: str) -> str:
    """Return the method that a reading counts under; none where methods are not kept apart."""
    return method or of.usual_method if of.by_method else ""


def quantities_read(snapshot: Snapshot) -> tuple[tuple[str, str], ...]:
    """Return (quantity, method) of everything the record has readings of, in table order."""
    usable = [r for r in snapshot.readings if _says_something(r)]
    found = []
    for of in families().values():
        rows = [r for r in usable if r.kind in of.kinds]
        found += [(of.quantity, m) for m in sorted({method_of(of, r.method) for r in rows})]
    return tuple(found)


def soundings(
    readings: Sequence[Reading], snapshot: Snapshot, of: Family, *, on: Date | None = None
) -> tuple[tuple[Sounding, ...], tuple[SpeedSet, ...]]:
    """Return the soundings of a family in order of date, and the speed sets behind them.

    Args:
        readings: that inform the family.
        snapshot: the record, for what stands beside them.
        on: the day, nothing after it is seen; None = the snapshot's.
    """
    if of.quantity == "green_speed":
        sets = speed_sets(readings, snapshot.stations)
        return tuple(_of_set(one) for one in sets)[-MOST:], sets
    if of.quantity == "trueness":
        sites = trueness_sites(readings, snapshot, on=on or snapshot.as_of)
        return tuple(_of_site(one) for one in sites)[-MOST:], ()
    if of.ordinal:
        return eye_soundings(readings, of)[-MOST:], ()
    steps = writing_steps(readings)
    made = [_of_reading(r, of, steps) for r in sorted(readings, key=lambda r: r.date)]
    return tuple(made)[-MOST:], ()


def observations(
    found: Sequence[Sounding], greens: Sequence[str], *, on: Date, late_sd: float = 0.0
) -> tuple[Observations, tuple[str, ...]]:
    """Return soundings as arrays (day 0 = on) and the named observers in order of their index.

    Readings by nobody named share one more index: whoever it was may be biased like anyone.
    Whoever counts rolls has an index of his own for that, after all others.

    Args:
        late_sd: prior sd of an observer's drift (see ``late_flags``); 0 = nobody drifts.
    """
    who = [s.rater for s in found]
    raters = sorted({r for r in who if r}, key=lambda r: (r[1], not r[0], r[0]))
    observers = tuple(name for name, role in raters if name and not role)
    shifts = {s.shift: s.shift_sd for s in found if s.shift}
    spots = sorted({(s.green, s.spot) for s in found if s.spot})
    late = late_flags(found) if late_sd else None
    return Observations(
        value=np.array([s.value for s in found]),
        variance=np.array([s.passing if s.sited else s.variance for s in found]),
        day=np.array([float((s.date - on).days) for s in found]),
        unit=_index([s.green for s in found], greens),
        rater=_index(who, raters),
        scale=_index([s.shift for s in found], list(shifts)),
        spot=_index([(s.green, s.spot) for s in found], spots),
        n_units=len(greens),
        n_raters=len(raters),
        scale_sd=tuple(shifts.values()),
        noise=np.array([s.noise for s in found]),
        late=late,
        late_sd=late_sd,
    ), observers


def sites_of(found: Sequence[Sounding]) -> Sites:
    """Return how each sounding was seen: interval, count or plain number."""
    columns = {
        name: np.array([getattr(s, name) for s in found], dtype=float)
        for name in ("low", "high", "hits", "tries", "centre", "per")
    }
    start = np.array([s.variance - s.passing if s.sited else 0.0 for s in found])
    return Sites(**columns, start=start)


def late_flags(found: Sequence[Sounding]) -> np.ndarray | None:
    """Return 1 for each sounding of the last 30 days (up to the last one), else 0.

    Only observers with at least five soundings on each side may have drifted; None where
    nobody has.
    """
    if not found:
        return None
    last = max(s.date for s in found)
    since = last - timedelta(days=DRIFT_D)
    sides = Counter((s.rater, s.date > since) for s in found)
    flags = [
        s.date > since and all(sides[s.rater, side] >= _BOTH_SIDES for side in (True, False))
        for s in found
    ]
    return np.array(flags, dtype=float) if any(flags) else None


def _index(names: Sequence[object], table: Sequence[object]) -> np.ndarray:
    place = {name: i for i, name in enumerate(table)}
    return np.array([place.get(name, -1) for name in names], dtype=np.int64)


def _fits(reading: Reading, of: Family, method: str) -> bool:
    return _says_something(reading) and method_of(of, reading.method) == method_of(of, method)


def _says_something(reading: Reading) -> bool:
    """Return whether a count has the number of rolls it is out of; other kinds always do."""
    return reading.kind not in COUNTS or (bool(reading.n) and 0 <= reading.value <= reading.n)


def _of_set(one: SpeedSet) -> Sounding:
    # An unnamed spot is taken to be the usual one: the safer reading of silence.
    lasting, spot = one.way == "one", one.station or one.part
    return Sounding(
        date=one.date,
        green=one.green,
        value=one.level_speed_m,
        variance=max(one.sd_m**2 - one.shift_sd_m**2, 0.0),
        observer=one.observer or one.instrument,
        shift=f"{one.green}/{spot}/{one.direction}" if lasting else "",
        shift_sd=one.shift_sd_m if lasting else 0.0,
        spot=spot or "usual spot",
        rows=one.rows,
        kind="green_speed" if one.way == "averaged" else "roll_distance",
    )


def _of_site(one: TruenessSite) -> Sounding:
    return Sounding(
        date=one.date,
        green=one.green,
        value=one.value,
        variance=one.variance,
        observer=one.launcher,
        shift=one.shift,
        shift_sd=one.shift_sd,
        rows=one.rows,
        kind=one.kind,
    )


def _of_reading(reading: Reading, of: Family, steps: Mapping[tuple[str, str], float]) -> Sounding:
    value, variance = _valued(
        reading, of, steps[reading.kind, reading.observer or reading.instrument]
    )
    names = (reading.observer, reading.instrument)
    first, second = names if of.rater == "observer" else names[::-1]
    return Sounding(
        date=reading.date,
        green=reading.green,
        value=value,
        variance=variance,
        observer=first or second,
        kind=reading.kind,
    )


def _valued(reading: Reading, of: Family, step: float) -> tuple[float, float]:
    """Return value and known variance on the family's scale."""
    repeats = 1 if of.scale == "log" else max(reading.n or 1, 1)
    variance = rounding_variance(step) / repeats
    if of.scale == "plain":
        return reading.value, variance
    floor = max(reading.value, step / 2)
    return math.log(floor), rounding_variance(step) / floor**2


def last_dates(readings: Iterable[Reading], greens: Sequence[str]) -> tuple[Date | None, ...]:
    """Return the date of the last reading of each green, None where there is none."""
    last: dict[str, Date] = {}
    for reading in readings:
        last[reading.green] = max(reading.date, last.get(reading.green, reading.date))
    return tuple(last.get(green) for green in greens)
