"""How each effect was learned, as the answer carries it for whoever doubts it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from greenwright.base.values import Snapshot
from greenwright.desk.answering import SEED, Row
from greenwright.respond import Responses, responses
from greenwright.respond.learning import Learned
from greenwright.respond.learning.settle import Asked, Trial, trials
from greenwright.respond.learning.settle_designs import seasons
from greenwright.respond.learning.settle_words import trial_words
from greenwright.respond.learning.telling import Compared, Told, told
from greenwright.respond.rows import EffectRow
from greenwright.respond.shapes import Shape

TRIED = ("green_speed",)
"""Outcomes for which other strengths of need are tried."""


def learned_rows(
    rows: Sequence[EffectRow], here: Responses, learned: Learned, record: Snapshot
) -> tuple[Row, ...]:
    """Return a row for each effect that the record holds something of.

    Args:
        rows: the findings, of which one of each effect is taken.
        here: effects as draws.
        learned: what was learned.
        record: the record.
    """
    prior = responses(record, seed=SEED, n_draws=here.n_draws)
    firsts = {(r.practice, r.outcome, r.dose_unit): r for r in reversed(rows) if r.n_events}
    keyed = {key: firsts.get(_place(effect.shape)) for key, effect in here.effects.items()}
    settled = _settling({k: r for k, r in keyed.items() if r}, here, learned, record)
    made = []
    for (act, outcome), effect in here.effects.items():
        row = keyed[act, outcome]
        if row is not None:
            one = learned.best(outcome)
            needs = outcome in TRIED
            found = told(effect.shape, effect, prior.effects[act, outcome], one, needs=needs)
            trial = settled.get((act, outcome))
            made.append({**_row(row, found), "trial": trial})
    return tuple(made)


def _place(shape: Shape) -> tuple[str, str, str]:
    return shape.practice, shape.outcome, shape.dose_unit


def _settling(
    rows: Mapping[tuple[str, str], EffectRow], here: Responses, learned: Learned, record: Snapshot
) -> dict[tuple[str, str], Row]:
    """Return the comparison that would settle each effect that is not told apart yet."""
    open_ = {key: row for key, row in rows.items() if row.separable != "yes"}
    made, months = {}, seasons(record)
    for outcome in dict.fromkeys(outcome for _, outcome in open_):
        one = learned.best(outcome)
        if one is None:
            continue
        asked = [Asked(here.effects[k], r.n_events) for k, r in open_.items() if k[1] == outcome]
        for act, found in trials(record, one, asked, months=months).items():
            shape = here.effects[act, outcome].shape
            made[act, outcome] = _trial(found) | {"text": trial_words(found, shape)}
    return made


def _trial(found: Trial | None) -> Row:
    if found is None:
        return {"greens": [], "days": 0, "n": 0, "readings": 0, "surface_cost": None}
    return {
        "way": found.way,
        "greens": list(found.greens),
        "days": len(found.mornings),
        "n": found.sets,
        "readings": found.readings,
        "minutes": found.minutes,
        "spacing_days": found.spacing,
        "read_after_days": list(found.read_after),
        "mornings": [
            {"date": m.date, "given": list(m.given), "left": list(m.left)} for m in found.mornings
        ],
        "changed": found.changed,
        "surface_cost": found.surface_cost,
        "surface_cost_all": found.surface_cost_all,
        "sd_before": found.sd_before,
        "sd_after": found.sd_after,
        "chance_yes": found.chance_yes,
        "chance_clear": found.chance_clear,
    }


def _row(row: EffectRow, found: Told) -> Row:
    return {
        "practice": row.practice,
        "outcome": row.outcome,
        "method": row.method,
        "dose": {"value": row.dose, "unit": row.dose_unit},
        "curve": [{"day": p.day, "prior": p.prior, "here": p.here} for p in found.curve],
        "compared": _compared(found.compared),
        "plain": found.plain,
        "readings_alone": found.readings_alone,
        "need": [
            {"strength": n.strength, "words": n.words, "estimate": n.estimate} for n in found.need
        ],
    }


def _compared(held: Compared | None) -> Row | None:
    if held is None:
        return None
    return {
        "with_n": held.with_n,
        "without_n": held.without_n,
        "before_with": held.before_with,
        "before_without": held.before_without,
        "overlap": held.overlap,
        "coin_flips": held.coin_flips,
    }
