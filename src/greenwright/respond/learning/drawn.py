"""What was learned as equally likely draws: the same arrays as the reported effects have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from greenwright.base.values import Snapshot
from greenwright.respond.learning.learned import Learned, LearnedOutcome
from greenwright.respond.learning.terms import hyper_of, names_of, sign_of
from greenwright.respond.responses import TIMES, Effect, Floats, Responses, responses
from greenwright.stats.dynamic import EffectDraws, effect_draws, effects


def learned_responses(
    learned: Learned, snapshot: Snapshot, *, seed: int, n_draws: int = 200
) -> Responses:
    """Return the effects as this record has them: by draw and green, where they were learned.

    Effects on outcomes that were not learned, and durations that were not, stay as reported.
    Of a firmness read by several methods the most read one speaks.

    Args:
        learned: what was learned.
        snapshot: the record, for its greens.
        seed: fixes the draws; the same as of the reported effects gives the same ones there.
        n_draws: at least 2.
    """
    made = responses(snapshot, seed=seed, n_draws=n_draws)
    found, share = dict(made.effects), dict(made.share_local)
    second = made.second_pass_share
    for quantity in dict.fromkeys(q for q, _ in learned.outcomes):
        one = learned.best(quantity)
        assert one is not None
        rng = np.random.default_rng([seed, 17])
        drawn, known = effect_draws(one.fit, n=n_draws, rng=rng), effects(one.fit)
        for key, effect in made.effects.items():
            names = names_of(effect.shape)
            if key[1] != quantity:
                continue
            found[key] = _signed(effect, sign_of(quantity, one.method))
            if names[0] in known.names:
                found[key] = _effect(effect, drawn, one, known.names, greens=made.greens)
                share[key] = float(known.share_local[known.names.index(names[0])])
        if quantity == "green_speed" and "roll.again" in drawn.shapes:
            second = np.minimum(drawn.shapes["roll.again"], 1.0)[:, None]
    return replace(made, effects=found, share_local=share, second_pass_share=second, basis="model")


def _signed(effect: Effect, sign: float) -> Effect:
    """Return a reported effect as the method's own numbers have it."""
    late = None if effect.late is None else sign * effect.late
    return replace(effect, size=sign * effect.size, late=late)


def _effect(
    prior: Effect,
    drawn: EffectDraws,
    one: LearnedOutcome,
    names: Sequence[str],
    *,
    greens: Sequence[str],
) -> Effect:
    sizes = [_by_green(drawn, names.index(n), one.greens, greens) for n in names_of(prior.shape)]
    times = {}
    for time in TIMES:
        hyper = hyper_of(prior.shape, time)
        if getattr(prior, time) is not None and hyper in drawn.shapes:
            # Phases are learned in days from the first morning that feels them.
            later = 1.0 if time in ("early_days", "late_days") else 0.0
            times[time] = drawn.shapes[hyper][:, None] + later
    return replace(prior, size=sizes[0], late=sizes[1] if len(sizes) > 1 else None, **times)


def _by_green(drawn: EffectDraws, term: int, units: Sequence[str], greens: Sequence[str]) -> Floats:
    """Return draws (n, greens); a green that is not in play takes the common effect."""
    columns = [
        drawn.by_unit[:, term, units.index(g)] if g in units else drawn.common[:, term]
        for g in greens
    ]
    return np.stack(columns, axis=1)
