"""Learn from a record what each practice does here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from greenwright.base.tables import quantities as known_quantities
from greenwright.base.values import Snapshot
from greenwright.measure import quantities_read
from greenwright.respond.learning.learned import Learned, LearnedOutcome
from greenwright.respond.learning.modelling import built, first_day
from greenwright.respond.learning.sets import engine_readings, log_of, sets_of, usual_hour
from greenwright.respond.learning.worked import Worked, worked
from greenwright.respond.shapes import OUTCOMES
from greenwright.stats.dynamic import fit_dynamic, separate

FEWEST_SETS, FEWEST_READ_DAYS = 12, 4
"""Fewer sets, or fewer days with one, and nothing is learned of an outcome."""

PAIRS = 4
GAIN = 5e-3


def learn(
    snapshot: Snapshot,
    *,
    seed: int,
    quantities: Sequence[str] | None = None,
    start: Mapping[str, Any] | None = None,
) -> Learned:
    """Learn the outcomes that the record holds enough readings of.

    Args:
        snapshot: the record as known on its as_of; its last three years are looked at.
        seed: fixes the draws.
        quantities: only these; None = every one that was read and that practices move.
        start: `Learned.state` of an earlier day, from which the fit is quicker.
    """
    first = first_day(snapshot)
    work = worked(snapshot, first=first, until=snapshot.as_of)
    made = {}
    for quantity, method in quantities_read(snapshot):
        if quantity in OUTCOMES and (quantities is None or quantity in quantities):
            one = _learned(snapshot, work, quantity, method=method, seed=seed, start=start or {})
            if one is not None:
                made[quantity, method] = one
    return Learned(made)


def _learned(
    snapshot: Snapshot,
    work: Worked,
    quantity: str,
    *,
    method: str,
    seed: int,
    start: Mapping[str, Any],
) -> LearnedOutcome | None:
    found = sets_of(snapshot, quantity, method=method, first=work.first)
    if len(found) < FEWEST_SETS or len({s.date for s in found}) < FEWEST_READ_DAYS:
        return None
    model = built(snapshot, work, found, quantity=quantity, method=method)
    rows = engine_readings(found, greens=work.greens, first=work.first, hour=usual_hour(found))
    rng = np.random.default_rng([seed, 13])
    plain = fit_dynamic(model, rows, rng=rng, pairs=PAIRS, gain=GAIN)
    return LearnedOutcome(
        quantity=quantity,
        method=method,
        unit=known_quantities()[quantity].unit,
        log=log_of(quantity),
        first=work.first,
        until=snapshot.as_of,
        greens=work.greens,
        fit=plain,
        plain=plain,
        separations={t.name: separate(plain, t.name) for t in model.terms},
        misfits=(),
        n_sets=len(found),
        n_days=work.days_done,
    )
