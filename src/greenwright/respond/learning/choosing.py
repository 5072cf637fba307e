"""The decisions behind a practice: which mornings were open, and what pushed beside the surface."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.respond.learning.drivers import weather_of
from greenwright.respond.learning.worked import Floats, Worked
from greenwright.stats.dynamic import Decisions, DynamicModel
from greenwright.stats.hyper import HyperPrior

MODELLED: dict[str, tuple[str, ...]] = {
    "green_speed": ("roll",),
    "smoothness": ("roll",),
}
"""Outcome -> acts whose decisions are modelled: those that a look at the surface calls for."""

FEWEST_DONE = 6
"""Days with and days without the act, fewer of either and the decision is not modelled."""
REACH_D = 1
"""Days from a reading of a green within which its decisions still say something of its level."""
_WEEK = 7
_AT_CAP = 10
_TOGETHER, _ALONE = 0.7, 0.35
_LEAST_SPREAD = 1e-9

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Mornings:
    """Every morning of every green: done or not, open or not, and what else could push.

    Args:
        done, open: (greens, days).
        features: name -> (greens, days).
    """

    done: Flags
    open: Flags
    features: dict[str, Floats]


def decisions_of(
    snapshot: Snapshot, work: Worked, model: DynamicModel, *, act: str, read: Flags
) -> Decisions | None:
    """Return the decisions on an act, None where it was done or left out too seldom to tell.

    Args:
        snapshot: the record.
        work: its work on the calendar, up to as_of.
        model: of the outcome, for growth, warmth and water as it has them.
        act: the act.
        read: (greens, days) with a reading of the outcome.
    """
    told = mornings(snapshot, work, model, act=act)
    unit, day = np.nonzero(told.open & near(read, REACH_D))
    done = told.done[unit, day].astype(float)
    if min(len(np.unique(day[done > 0])), len(np.unique(day[done == 0]))) < FEWEST_DONE:
        return None
    columns = [f[unit, day] for f in told.features.values()]
    spread = [c for c in columns if c.std() > _LEAST_SPREAD]
    scaled = [(c - c.mean()) / c.std() for c in spread]
    features = np.column_stack([np.ones(len(unit)), *scaled])
    groups = _groups(snapshot, work.greens)
    share = shares(done, features, unit=unit, day=day, groups=groups)
    # One decision for a group is written, and forgotten, in one go. Where greens are chosen one
    # by one, a group's whole morning may be forgotten, or single greens of it.
    cells = np.unique(np.column_stack([groups[unit], day]), axis=0, return_inverse=True)[1].ravel()
    as_one = np.allclose(share, 1 / np.bincount(cells)[cells])
    singly = _any_of(told.done, groups)[unit, day] & ~as_one
    lost = np.where(singly, cells.max() + 1 + np.arange(len(cells)), cells)
    return Decisions(
        unit,
        day,
        done,
        features,
        share,
        term=act,
        unwritten=HyperPrior(value("learn.unwritten.share"), value("learn.unwritten.log_sd")),
        story=cells if as_one else None,
        lost=lost,
        kind=singly.astype(np.intp),
    )


def _any_of(done: Flags, groups: NDArray[np.intp]) -> Flags:
    """Return (greens, days) whether any green of a green's group was done."""
    found = np.zeros_like(done)
    for group in np.unique(groups):
        found[groups == group] = done[groups == group].any(axis=0)
    return found


def mornings(snapshot: Snapshot, work: Worked, model: DynamicModel, *, act: str) -> Mornings:
    """Return what stood open on every morning, and what pushed beside the surface's own look.

    Not open: the first day, frost, soaked ground, and a week's passes at their limit (of the
    record's limits; else where the record itself never went beyond and was there often).
    """
    done = work.doses[act] > 0
    week = _of_the_week(work.doses[act])
    shape = done.shape
    dates = [work.first + timedelta(days=i) for i in range(shape[1])]
    stopped = _stopped(snapshot, dates)
    capped = (
        week >= _caps(snapshot, work, week)[:, None] if act == "roll" else np.zeros(shape, bool)
    )
    opened = ~stopped[None] & ~capped
    opened[:, 0] = False
    held = {c.name: np.broadcast_to(c.values, shape) for c in model.covariates}
    features = {
        name: np.broadcast_to(column[None], shape)
        for name, column in _calendar(snapshot, dates).items()
    }
    features |= {n: held[n] for n in ("growth", "warm", "wet", "season_sin", "season_cos")}
    features |= {"week": week, "since": _since(done), "mown": work.mown.astype(float)}
    return Mornings(done, opened, features)


def near(read: Flags, reach: int) -> Flags:
    """Return the days of each unit with a reading at most so many days away."""
    out = read.copy()
    for lag in range(1, reach + 1):
        out[:, lag:] |= read[:, :-lag]
        out[:, :-lag] |= read[:, lag:]
    return out


def shares(
    done: Floats, features: Floats, *, unit: NDArray[np.intp], day: NDArray[np.intp], groups: Floats
) -> Floats:
    """Return what each row counts: 1 alone, 1/m where one decision held for m greens together.

    How far greens of a group move together is what is left alike within a morning once the
    features are taken away: the intraclass correlation. Above 0.7 it was one decision, below
    0.35 each green's own, between them the worth of so many half-tied ones.
    """
    left = done - features @ np.linalg.lstsq(features, done, rcond=None)[0]
    _, cell = np.unique(np.column_stack([groups[unit], day]), axis=0, return_inverse=True)
    cell = cell.ravel()
    size = np.bincount(cell)[cell].astype(float)
    alike = together(left, cell)
    if alike >= _TOGETHER:
        return 1 / size
    if alike < _ALONE:
        return np.ones(len(done))
    return 1 / (1 + (size - 1) * alike)


def together(left: Floats, cell: NDArray[np.intp]) -> float:
    """Return the intraclass correlation of numbers within cells, 0 where no cell has two."""
    count = np.bincount(cell).astype(float)
    total = np.bincount(cell, weights=left)
    squares = np.bincount(cell, weights=left**2)
    pairs = float((count * (count - 1)).sum())
    variance = float(left.var())
    if pairs <= 0 or variance <= 0:
        return 0.0
    return float(((total**2 - squares).sum() / pairs) / variance)


def _stopped(snapshot: Snapshot, dates: Sequence[date]) -> Flags:
    weather = weather_of(snapshot, first=dates[0], until=dates[-1])
    rain = np.concatenate([weather.rain_mm[:1], weather.rain_mm[:-1]])
    frost = np.nan_to_num(weather.least_c, nan=99.0) < value("learn.stop.frost")
    return frost | (rain > value("learn.stop.rain"))


def _calendar(snapshot: Snapshot, dates: Sequence[date]) -> dict[str, Floats]:
    made = {
        f"weekday {k}": np.array([float(d.weekday() == k) for d in dates]) for k in range(1, _WEEK)
    }
    run_up = timedelta(days=value("learn.event_days"))
    events = [(e.start - run_up, e.end or e.start) for e in snapshot.calendar if e.kind == "event"]
    near_one = [float(any(first <= d <= last for first, last in events)) for d in dates]
    return made | {"event": np.array(near_one)}


def _of_the_week(dose: Floats) -> Floats:
    """Return the passes of the six days before each."""
    total = np.cumsum(dose, axis=1)
    before = np.concatenate([np.zeros((len(dose), 1)), total[:, :-1]], axis=1)
    shifted = np.zeros_like(before)
    shifted[:, _WEEK:] = total[:, :-_WEEK]
    return before - shifted


def _since(done: Flags) -> Floats:
    """Return days since the act was last done, seven at most, over seven."""
    out, held = np.zeros(done.shape), np.full(len(done), float(_WEEK))
    for day in range(done.shape[1]):
        out[:, day] = held / _WEEK
        held = np.where(done[:, day], 1.0, np.minimum(held + 1, _WEEK))
    return out


def _caps(snapshot: Snapshot, work: Worked, week: Floats) -> Floats:
    """Return the passes of six days before at which no further one was open, by green."""
    stated = _stated(snapshot, work)
    done = work.doses["roll"] > 0
    caps = np.full(len(work.greens), np.inf)
    groups = _groups(snapshot, work.greens)
    for group in np.unique(groups):
        mine = groups == group
        most = (week + work.doses["roll"])[mine & True].max(initial=0.0)
        there = week[mine] >= most
        if most > 0 and there.sum() >= _AT_CAP and not done[mine][there].any():
            caps[mine] = most
    return np.minimum(caps, stated)


def _stated(snapshot: Snapshot, work: Worked) -> Floats:
    caps = np.full(len(work.greens), np.inf)
    for limit in snapshot.limits:
        if limit.limit == "rolls_week" and limit.value is not None and limit.from_ is None:
            for green in snapshot.greens_of(limit.green):
                if green in work.greens:
                    place = work.greens.index(green)
                    caps[place] = min(caps[place], limit.value)
    return caps


def _groups(snapshot: Snapshot, greens: Sequence[str]) -> NDArray[np.intp]:
    """Return the group of each green as a number."""
    named = {key: i for i, keys in enumerate(snapshot.groups.values()) for key in keys}
    return np.array([named[g] for g in greens], dtype=np.intp)
