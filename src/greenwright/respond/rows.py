"""Rows for the question `effects`: what each practice does, and how much of it is local."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from greenwright.base.estimate import Estimate, draws_estimate
from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.respond.path import done_work
from greenwright.respond.responses import Responses, curve
from greenwright.respond.shapes import Shape, keys_of


@dataclass(frozen=True, slots=True)
class EffectRow:
    """One effect at one horizon.

    Args:
        green: a key, a group, or course.
        practice, outcome, method: what acts on what.
        dose, dose_unit: the act that the effect speaks of, everything else held.
        horizon_days: days after the act (days held, for a height).
        prior, here: what is published or common practice, and what is believed here.
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


def effect_rows(snapshot: Snapshot, responses: Responses) -> tuple[EffectRow, ...]:
    """Return every effect of the table at each of its horizons, for the whole course."""
    return tuple(
        _row(snapshot, responses, effect.shape, horizon)
        for effect in responses.effects.values()
        for horizon in effect.shape.horizons
    )


def days_done(snapshot: Snapshot, shape: Shape) -> int:
    """Return the number of days of the record on which an act was done."""
    work = done_work(snapshot, date.min, shape.practice)
    return len({w.date for w in work if shape.act != "double_cut" or w.passes > 1})


def _row(snapshot: Snapshot, responses: Responses, shape: Shape, horizon: int) -> EffectRow:
    draws = curve(responses, shape.act, shape.outcome, dose=shape.reference, days=[horizon])
    n_events = days_done(snapshot, shape)
    believed = draws_estimate(draws[:, 0], shape.unit, basis="prior")
    return EffectRow(
        green="course",
        practice=shape.practice,
        outcome=shape.outcome,
        method="",
        dose=shape.reference,
        dose_unit=shape.dose_unit,
        horizon_days=horizon,
        prior=believed,
        here=believed,
        share_local=responses.share_local[shape.act, shape.outcome],
        separable="cannot tell",
        reason=_reason(shape, n_events),
        n_events=n_events,
        half_life_days=value(shape.half_life) if shape.half_life else None,
        sources=keys_of(shape),
    )


def _reason(shape: Shape, n_events: int) -> str:
    held = (
        "It is not in the record."
        if n_events == 0
        else f"The record holds {n_events} day{'s' if n_events > 1 else ''} on which it was done."
    )
    return (
        "No effect has been learned from this course's record yet: what stands here is what is "
        f"published, common practice or a judgement, as the sources say. {held}"
    )
