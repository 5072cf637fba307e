"""Balls rolled from the ramp -> sets -> one level green speed each, with its sd."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date as Date
from datetime import time as Time

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value as number
from greenwright.base.values import Reading, Station
from greenwright.measure.rounding import SPEED_STEPS_M, rounding_variance, writing_step
from greenwright.roll import STOPPING_LENGTH_M, level_speed_from_one_way, two_way_speed

SET_KEYS: tuple[str, ...] = (
    "measure.roll_sd_within_set",
    "measure.one_way_sd",
    "measure.station_slope_sd",
    "measure.speed_rounding",
    "measure.rolls_each_way",
)
"""Evidence that turns balls into speeds."""

_PRIOR_WEIGHT = 10.0
_SAME_MINUTES = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedSet:
    """One level green speed at one spot.

    Args:
        mean_a_m, mean_b_m: mean roll in direction a and b [m]; None where none was rolled.
        level_speed_m: 2ab/(a+b), or corrected for the station's slope, or as averaged [m].
        sd_m: sd of level_speed_m about the spot's true speed [m].
        shift_sd_m: the part of sd_m that stays the same whenever this spot is read this
            way (an unknown or roughly known slope) [m].
        slope: rise over run from the two directions, positive = direction a goes uphill.
        n: balls rolled.
        rows: readings behind it.
        span_m: widest spread of at least three balls in one direction [m]; None if fewer.
        way: both | one | averaged.
        direction: a | b | "" of a one-way set.
        part: part of the green, where one was named.
    """

    date: Date
    time: Time | None
    green: str
    station: str
    set: str
    observer: str
    instrument: str
    level_speed_m: float
    sd_m: float
    way: str
    n: int
    rows: int
    mean_a_m: float | None = None
    mean_b_m: float | None = None
    slope: float | None = None
    shift_sd_m: float = 0.0
    span_m: float | None = None
    direction: str = ""
    part: str = ""

    @property
    def mean_up_m(self) -> float | None:
        """Return the shorter of the two directional means [m]."""
        both = (self.mean_a_m, self.mean_b_m)
        return None if None in both else min(both)  # type: ignore[type-var]

    @property
    def mean_down_m(self) -> float | None:
        """Return the longer of the two directional means [m]."""
        both = (self.mean_a_m, self.mean_b_m)
        return None if None in both else max(both)  # type: ignore[type-var]


@dataclass(frozen=True, slots=True)
class Noise:
    """What one ball's distance is worth: sd of a ball [m], rounding variance by writer [m2]."""

    roll_sd_m: float
    rounding_m2: Mapping[tuple[str, str, str], float]

    def of_mean(self, row: Reading, n: float) -> float:
        """Return the variance of the mean of n balls as this row's writer writes [m2]."""
        return self.roll_sd_m**2 / n + self.rounding_m2[_writer(row)]


def speed_sets(
    readings: Iterable[Reading], stations: Iterable[Station] = ()
) -> tuple[SpeedSet, ...]:
    """Return the level green speeds that the ramp's readings hold, in order of time.

    Balls belong together by ``set``; without one, by date, green, station, part, observer
    and instrument within an hour. ``station.slope_pct`` is positive where direction a goes
    uphill. A ``green_speed`` that repeats the mean of a set of the same spot, hour and
    observer is not counted twice; one without a time may be of any hour.

    Args:
        readings: any kinds; only roll_distance and green_speed are used [m].
        stations: slopes for sets rolled one way only.
    """
    rows = _without_doubles(r for r in readings if r.kind in ("roll_distance", "green_speed"))
    slopes = {(s.green, s.station): s.slope_pct for s in stations if s.slope_pct is not None}
    groups = _grouped([r for r in rows if r.kind == "roll_distance"])
    noise = _noise(rows, groups)
    rolled = [_rolled(group, noise, slopes) for group in groups]
    averaged = [_averaged(r, noise) for r in rows if r.kind == "green_speed"]
    fresh = [a for a in averaged if not any(_repeats(a, s) for s in rolled)]
    return tuple(sorted([*rolled, *fresh], key=_when))


def set_cautions(sets: Iterable[SpeedSet]) -> tuple[str, ...]:
    """Return a sentence for each set that ought to be repeated or moved."""
    span, apart = number("measure.end_span_repeat"), number("measure.direction_agree")
    found = []
    for one in sets:
        where = f"green {one.green}, {one.date.isoformat()}"
        if one.span_m is not None and one.span_m > span:
            found.append(f"{where}: three balls stopped {one.span_m:.2f} m apart; repeat the set")
        if one.slope is not None and abs(one.mean_a_m - one.mean_b_m) > apart:
            found.append(f"{where}: the two directions differ too much; read on flatter ground")
    return tuple(found)


def _without_doubles(rows: Iterable[Reading]) -> list[Reading]:
    """Keep one row of each id; rows without an id are all kept (equal balls are common)."""
    seen: set[str] = set()
    kept = []
    for row in rows:
        if row.id and row.id in seen:
            continue
        seen.add(row.id)
        kept.append(row)
    return kept


def _grouped(rows: Sequence[Reading]) -> list[list[Reading]]:
    by_key: dict[tuple, list[Reading]] = defaultdict(list)
    for row in rows:
        # A ball of no stated direction says nothing of the slope: it stays a set of its own.
        spot = (row.date, row.green, row.station, row.part, bool(row.direction))
        by_key[(*spot, row.set) if row.set else (*spot, "", row.observer, row.instrument)].append(
            row
        )
    return [g for key, group in by_key.items() for g in ([group] if key[5] else _by_hour(group))]


def _by_hour(rows: Sequence[Reading]) -> list[list[Reading]]:
    """Split rows without a set where more than an hour has passed since the first."""
    groups: list[list[Reading]] = []
    for row in sorted(rows, key=_minute):
        if groups and _minute(row) - _minute(groups[-1][0]) <= _SAME_MINUTES:
            groups[-1].append(row)
        else:
            groups.append([row])
    return groups


def _noise(rows: Sequence[Reading], groups: Sequence[Sequence[Reading]]) -> Noise:
    prior = number("measure.roll_sd_within_set")
    squares, freedom = _PRIOR_WEIGHT * prior**2, _PRIOR_WEIGHT
    for group in groups:
        for way in ("a", "b", ""):
            values = [r.value for r in group if r.direction == way and (r.n or 1) == 1]
            if len(values) > 1:
                mean = math.fsum(values) / len(values)
                squares += math.fsum((v - mean) ** 2 for v in values)
                freedom += len(values) - 1
    written: dict[tuple[str, str, str], list[float]] = defaultdict(list)
    for row in rows:
        written[_writer(row)].append(row.value)
    usual = number("measure.speed_rounding")
    steps = {w: writing_step(v, SPEED_STEPS_M, usual=usual) for w, v in written.items()}
    rounding = {writer: rounding_variance(step) for writer, step in steps.items()}
    return Noise(math.sqrt(squares / freedom), rounding)


def _rolled(
    group: Sequence[Reading], noise: Noise, slopes: Mapping[tuple[str, str], float]
) -> SpeedSet:
    ways = {way: [r for r in group if r.direction == way] for way in ("a", "b", "")}
    if ways["a"] and ways["b"]:
        return _both_ways(group, ways["a"], ways["b"], noise=noise)
    return _one_way(group, noise, slopes)


def _both_ways(
    group: Sequence[Reading], a: Sequence[Reading], b: Sequence[Reading], *, noise: Noise
) -> SpeedSet:
    mean_a, n_a, mean_b, n_b = *_mean(a), *_mean(b)
    two = two_way_speed(mean_a, mean_b)
    lever_a, lever_b = (2 * (m / (mean_a + mean_b)) ** 2 for m in (mean_b, mean_a))
    variance = lever_a**2 * noise.of_mean(a[0], n_a) + lever_b**2 * noise.of_mean(b[0], n_b)
    return _speed_set(
        group,
        level_speed_m=two.level_speed_m,
        sd_m=math.sqrt(variance),
        way="both",
        mean_a_m=mean_a,
        mean_b_m=mean_b,
        slope=two.slope,
    )


def _one_way(
    group: Sequence[Reading], noise: Noise, slopes: Mapping[tuple[str, str], float]
) -> SpeedSet:
    first, (mean, n) = group[0], _mean(group)
    direction = first.direction
    slope = slopes.get((first.green, first.station)) if direction else None
    level, shift = _levelled(mean, direction, slope)
    variance = (level / mean) ** 4 * noise.of_mean(first, n)
    means = {f"mean_{direction}_m": mean} if direction else {}
    return _speed_set(
        group,
        level_speed_m=level,
        sd_m=math.sqrt(variance + shift**2),
        shift_sd_m=shift,
        way="one",
        direction=direction,
        **means,
    )


def _levelled(mean: float, direction: str, slope_pct: float | None) -> tuple[float, float]:
    """Return level speed and the sd [m] that the slope leaves."""
    if slope_pct is None:
        return mean, number("measure.one_way_sd")
    try:
        level = level_speed_from_one_way(mean, slope_pct / 100 * (1 if direction == "a" else -1))
    except BadInput:
        # The recorded slope cannot be right for this roll; the reading still counts, widely.
        return mean, number("measure.one_way_sd")
    return level, number("measure.station_slope_sd") * level**2 / STOPPING_LENGTH_M


def _averaged(row: Reading, noise: Noise) -> SpeedSet:
    n = row.n or int(2 * number("measure.rolls_each_way"))
    return _speed_set(
        [row], level_speed_m=row.value, sd_m=math.sqrt(noise.of_mean(row, n)), way="averaged", n=n
    )


def _speed_set(group: Sequence[Reading], **values: object) -> SpeedSet:
    first = group[0]
    filled = {"n": int(sum(r.n or 1 for r in group)), "span_m": _span(group), **values}
    return SpeedSet(
        date=first.date,
        time=first.time,
        green=first.green,
        station=first.station,
        set=first.set,
        observer=first.observer,
        instrument=first.instrument,
        part=first.part,
        rows=len(group),
        **filled,
    )


def _mean(rows: Sequence[Reading]) -> tuple[float, float]:
    weights = [r.n or 1 for r in rows]
    total = math.fsum(w * r.value for w, r in zip(weights, rows, strict=True))
    return total / sum(weights), sum(weights)


def _span(group: Sequence[Reading]) -> float | None:
    spans = []
    for way in ("a", "b", ""):
        values = [r.value for r in group if r.direction == way and r.kind == "roll_distance"]
        if len(values) >= 3:
            spans.append(max(values) - min(values))
    return max(spans, default=None)


def _repeats(one: SpeedSet, rolled: SpeedSet) -> bool:
    same = ("date", "green", "station", "part", "observer", "instrument")
    return (
        all(getattr(one, name) == getattr(rolled, name) for name in same)
        and (None in (one.time, rolled.time) or _minutes_apart(one, rolled) <= _SAME_MINUTES)
        and abs(one.level_speed_m - rolled.level_speed_m) <= 0.0254
    )


def _minutes_apart(one: SpeedSet, other: SpeedSet) -> int:
    return abs(_minute(one) - _minute(other))


def _minute(row: Reading | SpeedSet) -> int:
    return 0 if row.time is None else 60 * row.time.hour + row.time.minute


def _when(one: SpeedSet) -> tuple[Date, int, str, str]:
    return one.date, _minute(one), one.green, one.station


def _writer(row: Reading) -> tuple[str, str, str]:
    return row.kind, row.observer, row.instrument
