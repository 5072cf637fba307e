"""The green speed beside a reading of trueness: read there and then, else the surface's."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date as Date
from datetime import timedelta

import numpy as np

from greenwright.base.evidence import value as number
from greenwright.base.values import Snapshot
from greenwright.measure.families import family, pooling_prior
from greenwright.measure.sets import SpeedSet, speed_sets
from greenwright.stats import Observations, PooledPosterior, fit_pooled, posterior

_MOST = 400
_REACH_D = 45
_LEAST_SHARE = 0.01


@dataclass(frozen=True, slots=True)
class SpeedBeside:
    """Green speed at a place: natural log and its variance.

    Args:
        basis: read (there and then) | surface (believed from other days and greens) |
            prior (none ever read; the error is one and the same for the whole record).
    """

    log_m: float
    log_variance: float
    basis: str

    @property
    def metres(self) -> float:
        """Return the green speed [m]."""
        return math.exp(self.log_m)


Beside = Callable[[Date, str, str], SpeedBeside]
"""(date, green, station) -> the speed there."""


def speeds_beside(
    snapshot: Snapshot, places: Iterable[tuple[Date, str, str]], *, on: Date
) -> Beside:
    """Return the green speed of each place.

    Read on the same green and day (of the same station where there is one), else what the
    record's speeds let us believe of that green on that day, else the usual speed.

    Args:
        snapshot: the record.
        places: (date, green, station) that will be asked for.
        on: readings after it are not seen.
    """
    wanted = set(places)
    sets = _sets_about(snapshot, [p[0] for p in wanted], on=on)
    found = {p: _read(p, sets) for p in wanted}
    lacking = sorted({p[:2] for p, speed in found.items() if speed is None})
    believed = dict(zip(lacking, _believed(snapshot, sets, lacking), strict=True))
    return lambda day, green, station: found[day, green, station] or believed[day, green]


def _sets_about(snapshot: Snapshot, days: Sequence[Date], *, on: Date) -> tuple[SpeedSet, ...]:
    if not days:
        return ()
    first, last = min(days), min(max(days) + timedelta(days=_REACH_D), on)
    greens = {g.green for g in snapshot.greens}
    rows = (
        r
        for r in snapshot.readings
        if r.kind in family("green_speed").kinds
        and first - timedelta(days=_REACH_D) <= r.date <= last
        and r.green in greens
    )
    return speed_sets(rows, snapshot.stations)


def _read(place: tuple[Date, str, str], sets: Sequence[SpeedSet]) -> SpeedBeside | None:
    day, green, station = place
    there = [s for s in sets if (s.date, s.green) == (day, green)]
    same = [s for s in there if station and s.station == station]
    used = same or there
    if not used:
        return None
    # The rolls went over one line of the green: elsewhere the speed is another.
    apart = number("measure.set_sd" if same else "measure.sd_within_green")
    own = number("measure.observer_sd_speed") ** 2 + apart**2
    weights = np.array([1 / (s.sd_m**2 + own) for s in used])
    mean = float(weights @ [s.level_speed_m for s in used] / weights.sum())
    return _logged(mean, float(1 / weights.sum()), "read")


def _believed(
    snapshot: Snapshot, sets: Sequence[SpeedSet], lacking: Sequence[tuple[Date, str]]
) -> list[SpeedBeside]:
    if not lacking:
        return []
    if not sets:
        sds = (number("measure.green_speed.level_sd"), number("measure.sd_within_green"))
        usual = _logged(number("measure.green_speed.level"), sum(s**2 for s in sds), "prior")
        return [usual] * len(lacking)
    greens = [g.green for g in snapshot.greens]
    days = sorted({day for day, _ in lacking})
    seen = _fitted(sets[-_MOST:], greens, days)
    elsewhere = number("measure.sd_within_green") ** 2
    made = []
    for day, green in lacking:
        i, j = days.index(day), greens.index(green)
        made.append(_logged(seen.mean[i, j], seen.cov[i, j, i, j] + elsewhere, "surface"))
    return made


def _fitted(
    sets: Sequence[SpeedSet], greens: Sequence[str], days: Sequence[Date]
) -> PooledPosterior:
    origin, none = days[0], np.full(len(sets), -1)
    who = sorted({s.observer or s.instrument for s in sets})
    rows = Observations(
        value=np.array([s.level_speed_m for s in sets]),
        variance=np.array([s.sd_m**2 for s in sets]),
        day=np.array([float((s.date - origin).days) for s in sets]),
        unit=np.array([greens.index(s.green) for s in sets]),
        rater=np.array([who.index(s.observer or s.instrument) for s in sets]),
        scale=none,
        spot=none,
        n_units=len(greens),
        n_raters=len(who),
    )
    prior = pooling_prior(family("green_speed"), typical=0.0)
    fit = fit_pooled(rows, prior, rng=np.random.default_rng(0), pairs=0)
    return posterior(fit, [float((day - origin).days) for day in days])


def _logged(mean: float, variance: float, basis: str) -> SpeedBeside:
    spread = math.log1p(max(variance / mean**2, _LEAST_SHARE**2))
    return SpeedBeside(math.log(mean), spread, basis)
