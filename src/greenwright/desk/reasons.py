"""How each effect was learned, as the answer carries it for whoever doubts it."""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.values import Snapshot
from greenwright.desk.answering import SEED, Row
from greenwright.respond import Responses, responses
from greenwright.respond.learning import Learned
from greenwright.respond.learning.telling import Compared, Told, told
from greenwright.respond.rows import EffectRow

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
    made = []
    for (act, outcome), effect in here.effects.items():
        shape = effect.shape
        row = firsts.get((shape.practice, outcome, shape.dose_unit))
        if row is not None:
            one = learned.best(outcome)
            needs = outcome in TRIED
            found = told(shape, effect, prior.effects[act, outcome], one, needs=needs)
            made.append(_row(row, found))
    return tuple(made)


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
        "trial": None,
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
