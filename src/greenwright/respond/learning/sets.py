"""Readings of a record as the engine's sets, with who and what read them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from datetime import time as Time
from math import inf

import numpy as np

from greenwright.base.evidence import log_sd, value
from greenwright.base.values import Reading, Snapshot
from greenwright.measure.eyescale import eye_soundings
from greenwright.measure.families import Family, family, prior_keys
from greenwright.measure.rounding import rounding_variance, writing_steps
from greenwright.measure.sets import SpeedSet, speed_sets
from greenwright.measure.sounding import COUNTS, DEVIATIONS
from greenwright.measure.soundings import method_of
from greenwright.measure.trueness import trueness_sites
from greenwright.stats.dynamic import Group, Readings, readings
from greenwright.stats.hyper import HyperPrior

LEAST_LOG_SD = 0.4


@dataclass(frozen=True, slots=True)
class Set:
    """One set of readings on the scale of its outcome.

    Args:
        value: mean of the set [unit, or its log].
        variance: what is known of its noise [unit squared].
        count, squares: single readings in it, and the sum of their squared distances.
        who, tool, spot, scale: observer, instrument, place on the green, other scale it was
            read on; "" = not said or the usual one.
    """

    date: date
    green: str
    value: float
    variance: float
    time: Time | None = None
    count: float = inf
    squares: float = 0.0
    who: str = ""
    tool: str = ""
    spot: str = ""
    scale: str = ""


def sets_of(snapshot: Snapshot, quantity: str, *, method: str, first: date) -> tuple[Set, ...]:
    """Return the sets of an outcome's readings from a day up to the record's, oldest first."""
    of = family(quantity)
    rows = [r for r in snapshot.readings if first <= r.date <= snapshot.as_of and _fits(r, of)]
    if quantity == "green_speed":
        made = [_of_speed(one) for one in speed_sets(rows, snapshot.stations)]
    elif quantity == "trueness":
        made = _of_trueness(rows, snapshot)
    elif of.ordinal:
        made = _of_scores(rows, of)
    else:
        made = _of_numbers([r for r in rows if method_of(of, r.method) == method], of)
    known = {g.green for g in snapshot.greens if g.in_play}
    return tuple(sorted((s for s in made if s.green in known), key=lambda s: (s.date, s.green)))


def scales(quantity: str) -> Mapping[str, HyperPrior]:
    """Return the priors of an outcome's sds [unit] and correlation times [d]."""
    keys, of = prior_keys(family(quantity)), family(quantity)
    found = {
        "unit_sd": _hyper(keys["unit_sd"]),
        "day_sd": _hyper(keys["day_sd"]),
        "day_time": _hyper(keys["day_correlation"]),
        "own_sd": _hyper(keys["unit_day_sd"]),
        "own_time": _hyper(keys["unit_correlation"]),
        "set_sd": _hyper(keys["noise_sd"]),
    }
    set_sd = found["set_sd"]
    if quantity == "green_speed":
        balls = 2 * value("measure.rolls_each_way")
        found["noise_sd"] = HyperPrior(value("measure.roll_sd_within_set") / balls**0.5, 0.1)
    elif of.ordinal or quantity == "trueness":
        # Every score and every site brings its known noise with it; what is left is the set's.
        found["noise_sd"] = HyperPrior(0.05 * set_sd.median, 0.1)
    else:
        found["noise_sd"] = set_sd
        found["set_sd"] = HyperPrior(0.5 * set_sd.median, 0.6)
    return found


def level_of(quantity: str, found: Sequence[Set]) -> tuple[float, float]:
    """Return the prior of an outcome's common level: mean and sd [unit, or its log]."""
    keys = prior_keys(family(quantity))
    typical = float(np.median([s.value for s in found])) if found else 0.0
    level = value(keys["level"]) if "level" in keys else typical
    return level, value(keys["level_sd"])


def groups_of(found: Sequence[Set], quantity: str) -> tuple[Group, ...]:
    """Return the groups of those who and what read, in the order the readings index them."""
    spread = _hyper(prior_keys(family(quantity))["rater_sd"])
    made = []
    for name, members in _members(found).items():
        prior = {"spot": _spot(quantity), "scale": _scale()}.get(name, spread)
        made.append(Group(name, len(members), prior))
    return tuple(made)


def engine_readings(
    found: Sequence[Set], *, greens: Sequence[str], first: date, hour: float
) -> Readings:
    """Return sets as the engine's readings.

    Args:
        found: the sets.
        greens: the engine's units.
        first: its day 0.
        hour: the usual hour of reading, from which the condition "hour" counts.
    """
    places = {g: i for i, g in enumerate(greens)}
    index = {
        name: {member: i for i, member in enumerate(members)}
        for name, members in _members(found).items()
    }
    return readings(
        np.array([s.value for s in found]),
        np.array([places[s.green] for s in found], dtype=np.intp),
        np.array([(s.date - first).days for s in found], dtype=np.intp),
        count=np.array([s.count for s in found]),
        squares=np.array([s.squares for s in found]),
        variance=np.array([s.variance for s in found]),
        members={
            name: np.array([place.get(_label(s, name), -1) for s in found], dtype=np.intp)
            for name, place in index.items()
        },
        conditions={"hour": np.array([_hour(s.time, hour) - hour for s in found])},
    )


def usual_hour(found: Iterable[Set]) -> float:
    """Return the mean hour of the sets that have a time; seven where none has."""
    hours = [_hour(s.time, 0.0) for s in found if s.time is not None]
    return float(np.mean(hours)) if hours else 7.0


def _hour(time: Time | None, else_: float) -> float:
    return else_ if time is None else time.hour + time.minute / 60


def _members(found: Sequence[Set]) -> dict[str, list[str]]:
    """Return the members of each group that has more than one (or one scale beside the usual)."""
    made = {n: sorted({_label(s, n) for s in found} - {""}) for n in ("who", "tool", "spot")}
    scale = sorted({s.scale for s in found} - {""})
    kept = {name: members for name, members in made.items() if len(members) > 1}
    return kept | ({"scale": scale} if scale else {})


def _label(one: Set, group: str) -> str:
    if group == "spot":
        return f"{one.green}/{one.spot}" if one.spot else ""
    return str(getattr(one, group))


def _spot(quantity: str) -> HyperPrior:
    if quantity == "green_speed":
        return _hyper("measure.sd_within_green")
    return HyperPrior(0.5 * _hyper(prior_keys(family(quantity))["unit_sd"]).median, 0.5)


def _scale() -> HyperPrior:
    share = value("measure.link.lasting_share")
    return HyperPrior(value("measure.roll_score.link_sd") * share**0.5, LEAST_LOG_SD)


def _hyper(key: str) -> HyperPrior:
    return HyperPrior(value(key), max(LEAST_LOG_SD, log_sd(key)))


def _fits(reading: Reading, of: Family) -> bool:
    # Counts and profiles are no scores: they inform today's surface, not yet what work does.
    return reading.kind in of.kinds and reading.kind not in (*COUNTS, *DEVIATIONS)


def _of_speed(one: SpeedSet) -> Set:
    return Set(
        one.date,
        one.green,
        one.level_speed_m,
        one.sd_m**2,
        one.time,
        who=one.observer,
        tool=one.instrument,
        spot="/".join(part for part in (one.station, one.part) if part),
    )


def _of_trueness(rows: Sequence[Reading], snapshot: Snapshot) -> list[Set]:
    sites = trueness_sites(rows, snapshot, on=snapshot.as_of)
    return [
        Set(s.date, s.green, s.value, s.variance, tool=s.launcher, scale=s.shift) for s in sites
    ]


def _of_scores(rows: Sequence[Reading], of: Family) -> list[Set]:
    ordered = sorted(rows, key=lambda r: r.date)
    return [
        Set(s.date, s.green, s.value, s.variance, row.time, who=s.observer, scale=s.shift)
        for s, row in zip(eye_soundings(ordered, of), ordered, strict=True)
    ]


def _of_numbers(rows: Sequence[Reading], of: Family) -> list[Set]:
    """Gather numbers of one visit of one green into a set."""
    visits: dict[tuple[object, ...], list[Reading]] = defaultdict(list)
    for row in rows:
        visit = (row.date, row.time, row.green, row.part, row.observer, row.instrument)
        visits[visit].append(row)
    steps = writing_steps(rows)
    return [_visit(found, of, steps) for found in visits.values()]


def _visit(rows: Sequence[Reading], of: Family, steps: Mapping[tuple[str, str], float]) -> Set:
    first = rows[0]
    step = steps[first.kind, first.observer or first.instrument]
    told = [max(r.value, step / 2) for r in rows]
    values = np.log(told) if of.scale == "log" else np.array([r.value for r in rows])
    weights = np.array([float(r.n or 1) for r in rows])
    mean = float(np.average(values, weights=weights))
    rounding = rounding_variance(step) / (np.exp(2 * mean) if of.scale == "log" else 1.0)
    same = len(rows) > 1 and bool((weights == 1).all())
    return Set(
        first.date,
        first.green,
        mean,
        float(rounding / len(rows)),
        first.time,
        count=float(weights.sum()),
        squares=float(np.square(values - mean).sum()) if same else 0.0,
        who=first.observer,
        tool=first.instrument,
        spot=first.part,
    )


def log_of(quantity: str) -> bool:
    """Return whether an outcome is believed on the log scale."""
    return family(quantity).scale == "log"
