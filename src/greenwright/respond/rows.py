"""Rows for the question `effects`: what each practice does, and how much of it is local."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from greenwright.base.estimate import Estimate, draws_estimate
from greenwright.base.values import Snapshot
from greenwright.respond.learning.learned import Learned, LearnedOutcome
from greenwright.respond.learning.terms import APART, sign_of
from greenwright.respond.learning.verdicts import Verdict, unlearned, verdict
from greenwright.respond.path import done_work
from greenwright.respond.responses import Effect, Floats, Responses, lag_curves, responses
from greenwright.respond.shapes import Shape, keys_of

APART_SURE = 0.975
"""How sure it must be that a green differs from the others before it has a row of its own."""

_PRIOR_SEED = 20260101


@dataclass(frozen=True, slots=True)
class EffectRow:
    """One effect at one horizon.

    Args:
        green: a key, a group, or course.
        practice, outcome, method: what acts on what.
        dose, dose_unit: the act that the effect speaks of, everything else held.
        horizon_days: days after the act (days held, for a height).
        prior, here: what is published or common practice, and what is believed here; a ratio
            with / without (unit 1) for trueness, firmness and clippings.
        share_local: how much of `here` was learned from this record, 0..1.
        separable: yes | partly | cannot tell.
        reason: why, in plain words.
        n_events: days of the record on which it was done.
        half_life_days: of the effect, where it fades by halves [d].
        sources: evidence keys.
    """

    green: str
    practice: str
    outcome: str
    method: str
    dose: float
    dose_unit: str
    horizon_days: int
    prior: Estimate
    here: Estimate
    share_local: float
    separable: str
    reason: str
    n_events: int
    half_life_days: float | None
    sources: tuple[str, ...]


def effect_rows(
    snapshot: Snapshot, here: Responses, learned: Learned | None = None
) -> tuple[EffectRow, ...]:
    """Return every effect of the table at each of its horizons, for the whole course.

    A green whose effect clearly differs from the others' has rows of its own beside.

    Args:
        snapshot: the record.
        here: what is believed here: `learned_responses`, or the reported effects.
        learned: what was learned, for the verdicts; None = nothing.
    """
    prior = responses(snapshot, seed=_PRIOR_SEED, n_draws=here.n_draws)
    playing = [here.greens.index(g.green) for g in snapshot.greens if g.in_play]
    return tuple(
        row
        for key, effect in here.effects.items()
        for row in _rows(
            snapshot,
            effect,
            prior.effects[key],
            one=learned.best(key[1]) if learned else None,
            share=here.share_local[key],
            playing=playing,
            greens=here.greens,
        )
    )


def days_done(snapshot: Snapshot, shape: Shape) -> int:
    """Return the number of days of the record on which an act was done."""
    work = done_work(snapshot, date.min, shape.practice)
    return len({w.date for w in work if shape.act != "double_cut" or w.passes > 1})


def reported(effect: Effect, horizon: int) -> Floats:
    """Return one reference dose's effect at a horizon as it is reported, (draws, greens or 1).

    A change [unit of the outcome]; of an outcome on the log scale the ratio with / without:
    of clippings that of the volume over the days up to the horizon, else that of the day.
    """
    if effect.shape.outcome == "clippings":
        lags = np.arange(min(effect.shape.delay, horizon), horizon + 1)
        return np.exp(lag_curves(effect, lags)).mean(axis=2)
    found = lag_curves(effect, [horizon])[:, :, 0]
    return np.exp(found) if effect.shape.log else found


def _rows(
    snapshot: Snapshot,
    effect: Effect,
    prior: Effect,
    *,
    one: LearnedOutcome | None,
    share: float,
    playing: list[int],
    greens: tuple[str, ...],
) -> Iterator[EffectRow]:
    shape, n_events = effect.shape, days_done(snapshot, effect.shape)
    method = one.method if one else ""
    before = _signed(prior, sign_of(shape.outcome, method))
    told = _verdict(one, shape, n_events)
    for horizon in shape.horizons:
        drawn = _of_greens(reported(effect, horizon), playing)
        known = draws_estimate(reported(before, horizon).mean(axis=1), shape.unit, basis="prior")
        found = draws_estimate(drawn.mean(axis=1), shape.unit, basis="model", n=n_events)
        course = EffectRow(
            green="course",
            practice=shape.practice,
            outcome=shape.outcome,
            method=method,
            dose=shape.reference,
            dose_unit=shape.dose_unit,
            horizon_days=horizon,
            prior=known,
            here=found if one and share > 0 else known,
            share_local=share,
            separable=told.separable,
            reason=told.reason,
            n_events=n_events,
            half_life_days=_half_life(effect),
            sources=keys_of(shape),
        )
        yield course
        if one and shape.act in APART and told.separable != "cannot tell":
            yield from _apart(course, drawn, [greens[i] for i in playing])


def _apart(course: EffectRow, drawn: Floats, greens: list[str]) -> Iterator[EffectRow]:
    """Yield a row for each green whose effect clearly differs from that of the course."""
    if drawn.shape[1] < 2:
        return
    over = (drawn > drawn.mean(axis=1, keepdims=True)).mean(axis=0)
    for place, green in enumerate(greens):
        sure = max(over[place], 1 - over[place])
        if sure > APART_SURE:
            more = "more" if over[place] > 0.5 else "less"
            own = draws_estimate(
                drawn[:, place], course.here.unit, basis="model", n=course.n_events
            )
            reason = f"It does {more} on green {green} than on the others. {course.reason}"
            yield replace(course, green=green, here=own, reason=reason)


def _of_greens(drawn: Floats, playing: list[int]) -> Floats:
    return drawn if drawn.shape[1] == 1 else drawn[:, playing]


def _signed(effect: Effect, sign: float) -> Effect:
    late = None if effect.late is None else sign * effect.late
    return effect if sign > 0 else replace(effect, size=sign * effect.size, late=late)


def _half_life(effect: Effect) -> float | None:
    return None if effect.half_life_d is None else float(np.median(effect.half_life_d))


def _verdict(one: LearnedOutcome | None, shape: Shape, n_events: int) -> Verdict:
    if one is not None:
        return verdict(one, shape, n_events)
    return unlearned(n_events)
