"""What each reading of trueness says of log T: end offsets, path wander, linked eye scores."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date as Date

from greenwright.base.evidence import value as number
from greenwright.base.values import Reading, Snapshot
from greenwright.measure.trueness_jitter import LauncherSays, told_apart
from greenwright.measure.trueness_link import Pairing, linked
from greenwright.measure.trueness_sets import OffsetSet, offset_sets
from greenwright.measure.trueness_speed import Beside, SpeedBeside, speeds_beside
from greenwright.roll import STOPPING_LENGTH_M

MOTION_TRACE = "motion trace"
"""Method of a path wander that this program worked out of a trace, its meaning known."""

_KEYS = {
    "launcher": ("measure.trueness.launcher_jitter", "measure.end_offset.rounding"),
    "trueness_score": (
        "measure.trueness_link.slope",
        "measure.trueness_link.residual_sd",
        "measure.trueness_link.least_pairs",
    ),
}
_PATH_KEYS = tuple(f"measure.path_wander.{k}" for k in ("ratio", "log_bias", "log_variance"))

_LOG_C = math.log(4 * STOPPING_LENGTH_M**2)
_LEAST_WANDER = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class TruenessSite:
    """What one place says of log T: a normal likelihood.

    Args:
        kind: end_offset | path_wander | trueness_score.
        value, variance: of log T [T in m].
        launcher: the instrument, or "".
        shift: name of the error it shares with others, or ""; shift_sd its sd.
        rows: readings behind it.
        speed: the green speed it was read at; None where none was needed.
    """

    date: Date
    green: str
    kind: str
    value: float
    variance: float
    launcher: str
    shift: str
    shift_sd: float
    rows: int
    speed: SpeedBeside | None = None


def trueness_sites(
    readings: Iterable[Reading], snapshot: Snapshot, *, on: Date
) -> tuple[TruenessSite, ...]:
    """Return what the readings say of log T, in order of date.

    Args:
        readings: end_offset [mm] and path_wander [mm/m] of known greens.
        snapshot: the record, for the green speeds and the eye scores beside them.
        on: the day; nothing after it is seen.

    Eye scores and counts of drifts speak only where at least six greens and days with both
    fix the link (measure.trueness_link.*), and on days without a direct reading.
    """
    rows = [r for r in readings if r.kind in ("end_offset", "path_wander") and r.date <= on]
    sets = offset_sets(rows)
    paths = [r for r in rows if r.kind == "path_wander"]
    asked = [s.place[:3] for s in sets] + [(r.date, r.green, r.station) for r in paths]
    beside = speeds_beside(snapshot, asked, on=on)
    direct = [*_of_sets(sets, beside), *(_of_path(r, beside) for r in paths)]
    every = [*direct, *_of_scores(direct, snapshot, on=on)]
    return tuple(sorted(every, key=lambda s: (s.date, s.green, s.kind)))


def trueness_keys(kinds: Iterable[str], shifts: Iterable[str]) -> frozenset[str]:
    """Return the evidence keys that turned readings of these kinds into log T.

    Args:
        kinds: of the readings used.
        shifts: names of the shared errors, which tell what else spoke.
    """
    heads = {shift.partition(" ")[0] for shift in shifts}
    found = [key for head in heads for key in _KEYS.get(head, ())]
    paths = _PATH_KEYS if "path_wander" in kinds else ()
    return frozenset(["roll.resistance_times_speed", *found, *paths])


def log_index(log_walk: float, speed: SpeedBeside) -> float:
    """Return log T of log K at a green speed: T = 4 rho^2 K."""
    return log_walk + _LOG_C - 2 * speed.log_m


def _of_sets(sets: Sequence[OffsetSet], beside: Beside) -> list[TruenessSite]:
    by_launcher: dict[str, dict[tuple, list[OffsetSet]]] = defaultdict(lambda: defaultdict(list))
    for one in sets:
        by_launcher[one.launcher][one.place].append(one)
    made = []
    for launcher, places in by_launcher.items():
        held = list(places.values())
        speeds = [beside(*place[:3]) for place in places]
        says = told_apart(held, speeds)
        made += [
            _site(held[i], launcher, says, at=i, speed=speed) for i, speed in enumerate(speeds)
        ]
    return made


def _site(
    sets: Sequence[OffsetSet], launcher: str, says: LauncherSays, *, at: int, speed: SpeedBeside
) -> TruenessSite:
    # T goes with S^-2 at a known length, with S^-3 where the length was the green speed.
    power = 3 if all(s.length_m is None for s in sets) else 2
    lasting = says.shift_sd**2 + (power**2 * speed.log_variance if speed.basis == "prior" else 0)
    passing = 0.0 if speed.basis == "prior" else power**2 * speed.log_variance
    return TruenessSite(
        date=sets[0].date,
        green=sets[0].green,
        kind="end_offset",
        value=says.places[at].log_t,
        variance=says.places[at].variance + passing,
        launcher=launcher,
        shift=f"launcher {launcher}".strip(),
        shift_sd=math.sqrt(lasting),
        rows=sum(s.rows for s in sets),
        speed=speed,
    )


def _of_path(row: Reading, beside: Beside) -> TruenessSite:
    speed = beside(row.date, row.green, row.station)
    length = row.roll_length_m or speed.metres
    ratio = max(row.value, _LEAST_WANDER) / 1000 / number("measure.path_wander.ratio")
    walk = 2 * math.log(ratio) + math.log(length)
    # Over the ramp's own roll K goes with the green speed, so T only with its inverse.
    power = 2 if row.roll_length_m else 1
    bias, variance, link = _path_errors(row)
    lasting = number("measure.link.lasting_share") * link**2
    return TruenessSite(
        date=row.date,
        green=row.green,
        kind="path_wander",
        value=log_index(walk + bias, speed),
        variance=variance + power**2 * speed.log_variance + link**2 - lasting,
        launcher=row.instrument or row.observer,
        shift="path_wander" if link else "",
        shift_sd=math.sqrt(lasting),
        rows=1,
        speed=speed,
    )


def _path_errors(row: Reading) -> tuple[float, float, float]:
    """Return bias and variance of log K of a path, and the sd of the instrument's link."""
    known = _stated_variance(row)
    if known is not None:
        return 0.0, known, 0.0
    n = max(row.n or 1, 1)
    link = 0.0 if row.method == MOTION_TRACE else number("measure.path_wander.link_sd")
    return (
        number("measure.path_wander.log_bias") / n,
        number("measure.path_wander.log_variance") / n,
        link,
    )


def _stated_variance(row: Reading) -> float | None:
    """Return the variance of log K from the 90 % ends that a trace wrote beside its wander."""
    if row.method != MOTION_TRACE:
        return None
    try:
        low, high = float(row.other["low"]), float(row.other["high"])
    except (KeyError, ValueError):
        return None
    return (2 * math.log(high / low) / (2 * 1.6449)) ** 2 if 0 < low < high else None


def _of_scores(
    direct: Sequence[TruenessSite], snapshot: Snapshot, *, on: Date
) -> list[TruenessSite]:
    told = [Pairing(s.date, s.green, s.value, s.variance) for s in direct]
    link, scored = linked(told, snapshot, on=on)
    if link is None:
        return []
    return [
        TruenessSite(
            date=one.date,
            green=one.green,
            kind="trueness_score",
            value=link.log_t(one.score),
            variance=link.variance,
            launcher="",
            shift="trueness_score",
            shift_sd=link.shift_sd,
            rows=one.rows,
        )
        for one in scored
    ]
