"""Why a level changed between two days, or differs between two greens: parts that add up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.respond.beliefs import Beliefs, Floats, average
from greenwright.respond.learning import LearnedOutcome
from greenwright.stats.dynamic import contrast, levels

COURSE = "course"
WORK = "work:"
WEATHER, GROWTH, GREEN, UNEXPLAINED, TOTAL = "weather", "growth", "green", "unexplained", "total"
ORDER = (WEATHER, GROWTH, GREEN, UNEXPLAINED)

PART_OF: Mapping[str, str] = {
    "wet": WEATHER,
    "warm": WEATHER,
    "growth": GROWTH,
    "leaf": GROWTH,
    "season_sin": GROWTH,
    "season_cos": GROWTH,
    "rounds": f"{WORK}rounds",
    "unit": GREEN,
    "shared": UNEXPLAINED,
    "own": UNEXPLAINED,
}
"""What each piece of the engine's sum counts as; practices are work."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a change or difference, and its size."""

    name: str
    size: Estimate


@dataclass(frozen=True, slots=True)
class Level:
    """What one green, or the course, was believed to be on a day."""

    green: str
    date: date
    level: Estimate


@dataclass(frozen=True, slots=True)
class Reasons:
    """Why one quantity changed or differs.

    Args:
        quantity, method, unit: of what.
        green: a key, or course.
        against: the other green of a difference; empty for a change.
        frm, until: days; the same day for a difference.
        parts: work by practice, weather, growth, green, unexplained, and the total last; the
            others' values add up to it.
        ends: the levels that the total lies between, the earlier or other one first.
    """

    quantity: str
    method: str
    unit: str
    green: str
    against: str
    frm: date
    until: date
    parts: tuple[Part, ...]
    ends: tuple[Level, Level]


@dataclass(frozen=True, slots=True)
class _End:
    """One end: a green or the mean of several, on a day of the calendar."""

    name: str
    units: tuple[int, ...]
    date: date
    day: int


def why(
    outcome: LearnedOutcome,
    *,
    frm: date,
    until: date,
    green: str | None = None,
    against: str | None = None,
    playing: Sequence[str] = (),
) -> Reasons:
    """Return a change between two days, or a difference between two greens, in parts.

    Where the quantity is learned by its logarithm, each part is its share of the log change
    times the logarithmic mean of the two levels, so that parts still add up in its own unit
    (of middle levels, which a log-normal belief's median is).

    Args:
        outcome: what was learned of one quantity.
        frm: the earlier day; not looked at for a difference.
        until: the later day, or the day of the difference.
        green: its key; None = the course, the mean of the greens in play.
        against: the other green of a difference.
        playing: greens that make the course; empty = all.

    Raises:
        BadInput: a day outside the calendar, days that do not follow one another, a green that
            the model does not know, or a green against itself.
    """
    after = _end(outcome, green, until, playing)
    before = _end(outcome, against or green, until if against else frm, playing)
    if (before.units, before.day) == (after.units, after.day):
        raise BadInput("a difference needs two greens, a change two days")
    if not against and before.day > after.day:
        raise BadInput(f"the days run backwards: {frm} to {until}")
    weights = _weights(outcome, before, after)
    unit = np.array([*before.units, *after.units], dtype=np.intp)
    day = np.repeat([before.day, after.day], [len(before.units), len(after.units)])
    found = contrast(outcome.fit, unit, day, weights)
    names = [_named(p, kind) for p, kind in zip(found.parts, found.kinds, strict=True)]
    return Reasons(
        quantity=outcome.quantity,
        method=outcome.method,
        unit=outcome.unit,
        green=after.name,
        against=against or "",
        frm=before.date,
        until=until,
        parts=_parts(outcome, names, found.mean, found.cov),
        ends=(_level(outcome, before), _level(outcome, after)),
    )


def _end(outcome: LearnedOutcome, green: str | None, day: date, playing: Sequence[str]) -> _End:
    place = (day - outcome.first).days
    if not 0 <= place <= (outcome.until - outcome.first).days:
        raise BadInput(
            f"{day} lies outside what was learned",
            expected=f"a day from {outcome.first} to {outcome.until}",
        )
    if green in (None, COURSE):
        names = [g for g in outcome.greens if g in playing] or list(outcome.greens)
        return _End(COURSE, tuple(outcome.greens.index(g) for g in names), day, place)
    if green not in outcome.greens:
        raise BadInput(f"no green {green!r} here", expected=", ".join(outcome.greens))
    return _End(str(green), (outcome.greens.index(green),), day, place)


def _weights(outcome: LearnedOutcome, before: _End, after: _End) -> Floats:
    """Return what each level counts: the earlier end below zero, the later above."""
    counts = [np.full(len(end.units), 1 / len(end.units)) for end in (before, after)]
    if not outcome.log:
        return np.concatenate([-counts[0], counts[1]])
    middles = [
        levels(outcome.fit, np.array(end.units), np.full(len(end.units), end.day)).mean
        for end in (before, after)
    ]
    slopes = _log_means(*np.broadcast_arrays(*middles))
    pairs = slopes / len(slopes)
    sums = [pairs if len(c) == len(pairs) else np.array([pairs.sum()]) for c in counts]
    return np.concatenate([-sums[0], sums[1]])


def _log_means(first: Floats, second: Floats) -> Floats:
    """Return (b - a) / (ln b - ln a) of a = exp(first), b = exp(second)."""
    gap = second - first
    small = np.abs(gap) < 1e-9
    safe = np.where(small, 1.0, gap)
    return np.exp(first) * np.where(small, 1.0, np.expm1(safe) / safe)


def _named(part: str, kind: str) -> str:
    if kind == "practice":
        return f"{WORK}{part}"
    # A covariate without a row here still has a part: nothing may fall out of the sum.
    return PART_OF.get(part, WEATHER)


def _parts(
    outcome: LearnedOutcome, names: Sequence[str], mean: Floats, cov: Floats
) -> tuple[Part, ...]:
    worked = dict.fromkeys(n for n in names if n.startswith(WORK))
    order = [*worked, *ORDER]
    sums = np.array([[name == part for name in names] for part in order], dtype=float)
    sums = np.vstack([sums, np.ones(len(names))])
    variances = np.clip(np.einsum("pi,ij,pj->p", sums, cov, sums), 0.0, None)
    return tuple(
        Part(name, normal_estimate(float(m), float(v) ** 0.5, outcome.unit, n=outcome.n_sets,
                                   basis="model"))
        for name, m, v in zip((*order, TOTAL), sums @ mean, variances, strict=True)
    )  # fmt: skip


def _level(outcome: LearnedOutcome, end: _End) -> Level:
    found = levels(outcome.fit, np.array(end.units), np.full(len(end.units), end.day))
    mean, sd = average(found.means, found.covs, log=outcome.log)
    held = Beliefs(mean[:, None], sd[:, None], found.weights, outcome.log)
    return Level(end.name, end.date, held.estimates(outcome.unit, n=outcome.n_sets)[0])
