"""How one effect was learned, for whoever asks: what was compared, and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from greenwright.base.estimate import Basis, Estimate, draws_estimate, normal_estimate
from greenwright.respond.learning.choosing import Flags, near
from greenwright.respond.learning.learned import Chosen, LearnedOutcome
from greenwright.respond.learning.terms import names_of
from greenwright.respond.learning.verdicts import EITHER_WAY
from greenwright.respond.responses import Effect, Floats, lag_curves
from greenwright.respond.shapes import HELD, Shape
from greenwright.stats.dynamic import effects, levels, under_need

STRENGTHS = (0.0, 2.0)
"""Strengths of the need that are tried, as shares of the one found."""
_CURVE_DAYS = (0, 1, 2, 3, 4, 5, 7, 10, 14, 21, 28)
_LOOKED_AT = 40
_GONE = 0.02


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """What one act changes some days after it, elsewhere and here [unit, or a ratio]."""

    day: int
    prior: Estimate
    here: Estimate


@dataclass(frozen=True, slots=True)
class Compared:
    """Which days were compared.

    Args:
        with_n, without_n: days of single greens with and without the act that a reading felt.
        before_with, before_without: believed level just before the work on both kinds.
        overlap: share of the decisions that could have gone either way; None = not modelled.
        coin_flips: what the decisions are worth in tosses of a fair coin; None = not modelled.
    """

    with_n: int
    without_n: int
    before_with: Estimate | None = None
    before_without: Estimate | None = None
    overlap: float | None = None
    coin_flips: float | None = None


@dataclass(frozen=True, slots=True)
class UnderNeed:
    """The effect, had decisions looked at the surface more or less than they seem to.

    Args:
        strength: as a share of the need found; 0 = as if work fell by itself.
    """

    strength: float
    words: str
    estimate: Estimate


@dataclass(frozen=True, slots=True)
class Told:
    """How one effect was learned; the estimates speak of the day the act is first felt."""

    curve: tuple[CurvePoint, ...]
    compared: Compared | None = None
    plain: Estimate | None = None
    readings_alone: Estimate | None = None
    need: tuple[UnderNeed, ...] = ()


def told(
    shape: Shape, here: Effect, prior: Effect, one: LearnedOutcome | None, *, needs: bool
) -> Told:
    """Return how an effect was learned.

    Args:
        shape: the effect; here, prior: its draws.
        one: the learned outcome, None where none was learned.
        needs: try other strengths of need too (takes a second).
    """
    drawn = _curve(shape, here, prior)
    if one is None or names_of(shape)[0] not in one.separations or shape.form == HELD:
        return Told(drawn)
    chosen = one.choice_of(shape.act)
    return Told(
        curve=drawn,
        compared=_compared(one, shape, chosen),
        plain=_plain(one, shape),
        readings_alone=_alone(one, shape),
        need=_needs(one, chosen) if needs and chosen and chosen is one.chosen else (),
    )


def _curve(shape: Shape, here: Effect, prior: Effect) -> tuple[CurvePoint, ...]:
    days = [d for d in _CURVE_DAYS if d <= shape.lasts_days or d == 0]
    if shape.form == HELD:
        days = [0, 7]
    curves = [lag_curves(e, np.array(days)).mean(axis=1) for e in (prior, here)]
    if shape.log:
        curves = [np.exp(c) for c in curves]
    points = [
        CurvePoint(day, _brief(curves[0][:, k], shape, "prior"), _brief(curves[1][:, k], shape))
        for k, day in enumerate(days)
    ]
    return tuple(_until_gone(points, neutral=1.0 if shape.log else 0.0))


def _brief(draws: Floats, shape: Shape, basis: Basis = "model") -> Estimate:
    """Return the estimate of draws without its quantiles: a curve holds many."""
    return replace(draws_estimate(draws.tolist(), shape.unit, basis=basis), quantiles=None)


def _until_gone(points: list[CurvePoint], *, neutral: float) -> list[CurvePoint]:
    """Return points up to the day after which next to nothing is left of either."""
    sizes = [max(abs(p.here.value - neutral), abs(p.prior.value - neutral)) for p in points]
    lasting = [k for k, size in enumerate(sizes) if size > _GONE * max(sizes)]
    return points[: max(lasting, default=0) + 2]


def _compared(one: LearnedOutcome, shape: Shape, chosen: Chosen | None) -> Compared:
    dosed, read = _dosed(one, shape), _read(one)
    if chosen is None:
        return Compared(int((dosed & read).sum()), int((~dosed & read).sum()))
    rows, chance = chosen.decisions, chosen.decided.choice.chance
    before = [_before(one, chosen, done=d) for d in (True, False)]
    felt = near(read, 1)[rows.unit, rows.day]
    return Compared(
        int((felt & (rows.done > 0)).sum()),
        int((felt & (rows.done == 0)).sum()),
        before[0],
        before[1],
        float(((chance > EITHER_WAY[0]) & (chance < EITHER_WAY[1])).mean()),
        chosen.decided.choice.coin_flips,
    )


def _before(one: LearnedOutcome, chosen: Chosen, *, done: bool) -> Estimate | None:
    """Return the mean believed level just before the work, of some decisions spread evenly."""
    rows = chosen.decisions
    places = np.flatnonzero((rows.done > 0) == done)
    if not len(places):
        return None
    some = places[np.unique(np.linspace(0, len(places) - 1, _LOOKED_AT).astype(int))]
    unit, day = rows.unit[some], rows.day[some]
    found = levels(one.fit, unit, day)
    term = next(t for t in one.fit.layout.model.terms if t.name == chosen.act)
    size = effects(one.fit).at(chosen.act)[0]
    mean = float((found.mean - size * np.minimum(term.dose[unit, day], 1.0)).mean())
    return normal_estimate(mean, float(np.sqrt(found.cov.mean())), _unit(one), basis="model")


def _plain(one: LearnedOutcome, shape: Shape) -> Estimate | None:
    """Return the mean of the sets with the act on their day less that of the others."""
    rows = one.plain.layout.rows
    dosed = _dosed(one, shape)[rows.unit, rows.day]
    with_it, without = rows.value[dosed], rows.value[~dosed]
    if min(len(with_it), len(without)) < 2:
        return None
    sd = np.sqrt(with_it.var(ddof=1) / len(with_it) + without.var(ddof=1) / len(without))
    gap = float(with_it.mean() - without.mean())
    return replace(_scaled(gap, float(sd), one, n=len(with_it)), basis="readings")


def _alone(one: LearnedOutcome, shape: Shape) -> Estimate:
    mean, sd = effects(one.plain).at(names_of(shape)[0])
    return _scaled(mean, sd, one)


def _needs(one: LearnedOutcome, chosen: Chosen) -> tuple[UnderNeed, ...]:
    strengths = np.array(STRENGTHS)
    mean, sd = under_need(
        chosen.decided,
        chosen.decisions,
        chosen.act,
        needs=strengths * chosen.decided.choice.need,
    )
    words = {
        0.0: "had the look of the surface played no part",
        2.0: "had it played twice the part it seems to",
    }
    return tuple(
        UnderNeed(float(s), words[float(s)], _scaled(float(m), float(d), one))
        for s, m, d in zip(strengths, mean, sd, strict=True)
    )


def _scaled(mean: float, sd: float, one: LearnedOutcome, *, n: int = 0) -> Estimate:
    """Return an estimate of a change, of a log as the ratio it makes."""
    if not one.log:
        return normal_estimate(mean, sd, _unit(one), n=n, basis="model")
    ratio = float(np.exp(mean))
    return normal_estimate(ratio, ratio * sd, "1", n=n, basis="model")


def _unit(one: LearnedOutcome) -> str:
    return "1" if one.log else one.unit


def _dosed(one: LearnedOutcome, shape: Shape) -> Flags:
    """Return the days of each green on which an act was first felt."""
    return one.felt[shape.act] > 0


def _read(one: LearnedOutcome) -> Flags:
    rows, model = one.plain.layout.rows, one.plain.layout.model
    read = np.zeros((model.units, model.days), dtype=bool)
    read[rows.unit, rows.day] = True
    return read
