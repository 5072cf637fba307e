"""The smallest deliberate comparison that would settle an effect the record cannot tell yet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from greenwright.base.estimate import Estimate, draws_estimate
from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.respond.learning.learned import LearnedOutcome
from greenwright.respond.learning.settle_designs import (
    LEAVE,
    TURNS,
    WEEKS,
    Ground,
    changed,
    designs_on,
    ground_of,
    partners,
)
from greenwright.respond.learning.terms import names_of
from greenwright.respond.learning.verdicts import BY_LOOK, FEW
from greenwright.respond.responses import Effect, lag_curves, time_keys, weights
from greenwright.respond.shapes import HELD, Shape
from greenwright.stats.dynamic import (
    Comparison,
    Foreseen,
    Held,
    Now,
    Outlook,
    effects,
    foresee,
    lengthened,
    only,
    outlook,
    smallest,
)
from greenwright.stats.dynamic.model import Floats
from greenwright.stats.dynamic.separating import FEWEST_FLIPS

POINTS = {"green_speed": 3}
"""Points of the mixture over which the chance of a yes is taken; else the best one alone."""
MINUTES = {
    "green_speed": "roll_distance",
    "smoothness": "roll_score",
    "trueness_score": "trueness_score",
    "trueness": "end_offset",
    "firmness": "firmness",
    "moisture": "moisture",
    "clippings": "clippings",
    "quality": "quality",
}
"""Outcome -> the kind of reading whose minutes are counted."""
KEYS = ("trial.power", *(f"reading_time.{kind}" for kind in MINUTES.values()))
"""Evidence that a comparison rests on."""


@dataclass(frozen=True, slots=True)
class Asked:
    """An effect that is not settled: its draws, and the days on which the act was done."""

    effect: Effect
    n_days: int


@dataclass(frozen=True, slots=True)
class Morning:
    """One day of a comparison: greens that are given the act, and greens that go without."""

    date: date
    given: tuple[str, ...]
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Trial:
    """The smallest comparison after which the verdict would be yes.

    Args:
        way: leave | give | turns | weeks.
        greens: that take part, in playing order.
        mornings: what is done on each day.
        read_after: days after each on which all of them are read; 0 = the same morning.
        spacing: days between.
        sets: of readings of each green on a day of reading; readings: in all.
        minutes: of reading [min].
        changed: green-days with less work, or more, than usual.
        surface_cost: what a green-day of these changes [unit, or a ratio].
        surface_cost_all: all of it, over the days it lasts [unit x green-days]; None: a ratio.
        sd_before, sd_after: of the effect [unit; of the log where it is a ratio].
        chance_yes: that the verdict becomes yes; None = not reckoned, it is more likely than not.
        chance_clear: that its direction is sure.
    """

    way: str
    greens: tuple[str, ...]
    mornings: tuple[Morning, ...]
    read_after: tuple[int, ...]
    spacing: int
    sets: int
    readings: int
    minutes: float
    changed: int
    surface_cost: Estimate
    surface_cost_all: Estimate | None
    sd_before: float
    sd_after: float
    chance_yes: float | None
    chance_clear: float


@dataclass(frozen=True, slots=True)
class _Laid:
    """An asked effect with where it may be compared, its designs and what is believed now."""

    asked: Asked
    ground: Ground
    designs: Sequence[Comparison]
    now: Now


def trials(
    snapshot: Snapshot,
    one: LearnedOutcome,
    asked: Sequence[Asked],
    *,
    months: Mapping[str, frozenset[int]],
) -> dict[str, Trial | None]:
    """Return by act the smallest comparison that settles its effect on a learned outcome.

    None where no comparison of up to six weeks would: acts of another outcome must not be asked.

    Args:
        snapshot: the record.
        one: the outcome.
        asked: effects on it that are not settled.
        months: `seasons` of the record.
    """
    known = {t.name for t in one.fit.layout.model.terms}
    held = [a for a in asked if set(names_of(a.effect.shape)) <= known]
    greens = partners(snapshot, one)
    laid = [
        _laid(one, a, _ground(snapshot, one, a.effect, greens=greens, months=months)) for a in held
    ]
    made: dict[str, Trial | None] = {a.effect.shape.act: None for a in asked}
    used = [each for each in laid if each.designs]
    if not used:
        return made
    look = _looked(one, used)
    for each in used:
        part = only(look, names_of(each.asked.effect.shape))
        found = smallest(
            each.designs,
            lambda design, part=part, now=each.now: foresee(part, design, now),
            chance=value("trial.power"),
        )
        if found is not None:
            made[each.asked.effect.shape.act] = _trial(one, each, *found)
    return made


def _ground(
    snapshot: Snapshot,
    one: LearnedOutcome,
    effect: Effect,
    *,
    greens: tuple[str, ...],
    months: Mapping[str, frozenset[int]],
) -> Ground:
    half = effect.half_life_d
    return ground_of(
        snapshot,
        one,
        effect.shape,
        greens=greens,
        half_life_d=None if half is None else float(np.median(half)),
        months=months.get(effect.shape.act, frozenset()),
    )


def _laid(one: LearnedOutcome, asked: Asked, ground: Ground) -> _Laid:
    shape = asked.effect.shape
    now = now_of(one, shape, asked.n_days)
    designs = designs_on(
        ground, one, tosses=FEWEST_FLIPS if now.led else 0.0, fading=_fading(one, shape)
    )
    return _Laid(asked, ground, designs, now)


def now_of(one: LearnedOutcome, shape: Shape, n_days: int) -> Now:
    """Return what is believed of an effect today, and whether a comparison must tell it alone.

    It must where the work followed the look of the surface, and where it was done on so few days
    that what else happened on them is in the number.
    """
    name = names_of(shape)[0]
    mean, sd = effects(one.fit).at(name)
    led = shape.act in BY_LOOK
    doses = one.separations[name].doses
    return Now(mean, sd, doses=doses, alone=led or n_days < FEW, led=led)


def _looked(one: LearnedOutcome, used: Sequence[_Laid]) -> Outlook:
    """Return the joint belief on all days and greens that any design reads."""
    days = {int(d) for each in used for c in each.designs for d in c.cells[1]}
    units = {int(u) for each in used for c in each.designs for u in c.units}
    names = dict.fromkeys(n for each in used for n in names_of(each.asked.effect.shape))
    model, points = one.fit.layout.model, POINTS.get(one.quantity, 1)
    longer = lengthened(model, max(days) + 1 - model.days, keep=("mow",))
    return outlook(
        one.fit, longer, tuple(names), units=sorted(units), days=sorted(days), points=points
    )


def _fading(one: LearnedOutcome, shape: Shape) -> Floats | None:
    """Return what a dose is worth by day, where the engine's doses are already spread."""
    if shape.form == HELD:
        return None
    first = next(t for t in one.fit.layout.model.terms if t.name == names_of(shape)[0])
    if not isinstance(first.kernel, Held):
        return None
    lags = np.arange(shape.lasts_days + 1, dtype=float) + shape.delay
    times = {name: np.full((), value(key)) for name, key in time_keys(shape).items()}
    return np.array([w for w in weights(shape, lags, times) if w is not None])


def _trial(one: LearnedOutcome, each: _Laid, design: Comparison, told: Foreseen) -> Trial:
    ground, shape = each.ground, each.asked.effect.shape
    keys = np.array(one.greens, dtype=object)[design.units]
    order = sorted(keys, key=one.greens.index)
    mornings = tuple(
        Morning(
            day,
            tuple(k for k in order if given[list(keys).index(k)]),
            tuple(k for k in order if not given[list(keys).index(k)]),
        )
        for day, given in zip(ground.dates, design.given, strict=False)
    )
    count = changed(ground, design)
    minutes = value(f"reading_time.{MINUTES[shape.outcome]}") if shape.outcome in MINUTES else 1.0
    a_day, in_all = _costs(each.asked.effect, ground.way, count=count)
    return Trial(
        way=ground.way,
        greens=tuple(order),
        mornings=mornings,
        read_after=tuple(lag + ground.delay for lag in design.lags),
        spacing=ground.spacing,
        sets=design.sets,
        readings=design.readings,
        minutes=minutes * design.readings,
        changed=count,
        surface_cost=a_day,
        surface_cost_all=in_all,
        sd_before=float(told.sd_before[0]),
        sd_after=float(told.sd_after[0]),
        chance_yes=told.chance_yes if one.quantity in POINTS else None,
        chance_clear=told.chance_clear,
    )


def _costs(effect: Effect, way: str, *, count: int) -> tuple[Estimate, Estimate | None]:
    """Return what a green-day with other work than usual changes, and all of them together."""
    shape = effect.shape
    sign = -1.0 if way in (LEAVE, TURNS, WEEKS) else 1.0
    days = range(shape.delay, min(shape.lasts_days, 28) + 1) if shape.form != HELD else range(1)
    curves = sign * lag_curves(effect, list(days)).mean(axis=1)
    first = curves[:, 0] if shape.form == HELD else _largest(curves)
    if shape.log:
        return draws_estimate(np.exp(first).tolist(), shape.unit, basis="model"), None
    in_all = draws_estimate((count * curves.sum(axis=1)).tolist(), shape.unit, basis="model")
    return draws_estimate(first.tolist(), shape.unit, basis="model"), in_all


def _largest(curves: Floats) -> Floats:
    return curves[:, int(np.argmax(np.abs(curves.mean(axis=0))))]
