"""Learn from a record what each practice does here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

import numpy as np

from greenwright.base.evidence import value
from greenwright.base.tables import quantities as known_quantities
from greenwright.base.values import Snapshot
from greenwright.measure import quantities_read
from greenwright.respond.learning.choosing import MODELLED, decisions_of
from greenwright.respond.learning.learned import Chosen, Learned, LearnedOutcome
from greenwright.respond.learning.misfits import misfits
from greenwright.respond.learning.modelling import built, first_day
from greenwright.respond.learning.sets import engine_readings, log_of, sets_of, usual_hour
from greenwright.respond.learning.settled import told_by_toss
from greenwright.respond.learning.worked import Floats, Worked, worked
from greenwright.respond.shapes import OUTCOMES
from greenwright.stats.dynamic import (
    DynamicFit,
    DynamicModel,
    Readings,
    fit_decided,
    fit_dynamic,
    refit,
    separate,
)

FEWEST_SETS, FEWEST_READ_DAYS = 12, 4
"""Fewer sets, or fewer days with one, and nothing is learned of an outcome."""

PAIRS, DECIDED_PAIRS = 3, 2
"""Antithetic pairs of points that carry the doubt about scales: of readings, and with decisions."""
GAIN = 2e-2
ROUNDS = 1


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is to be learned from: the record, its work, and where to start."""

    snapshot: Snapshot
    work: Worked
    seed: int
    start: Mapping[str, Any]


def learn(
    snapshot: Snapshot,
    *,
    seed: int,
    quantities: Sequence[str] | None = None,
    start: Mapping[str, Any] | None = None,
) -> Learned:
    """Learn the outcomes that the record holds enough readings of.

    Green speed and smoothness believe the decisions on rolling too; the others rest on readings
    alone, and their verdicts say so.

    Args:
        snapshot: the record as known on its as_of; its last three years are looked at.
        seed: fixes the draws.
        quantities: only these; None = every one that was read and that practices move.
        start: `Learned.state` of an earlier day, from which the fit is quicker; a start that
            does not belong to the same model is not used.
    """
    first = first_day(snapshot)
    work = worked(snapshot, first=first, until=snapshot.as_of)
    asked = _Asked(snapshot, work, seed, start or {})
    made = {}
    for quantity, method in quantities_read(snapshot):
        if quantity in OUTCOMES and (quantities is None or quantity in quantities):
            one = _learned(asked, quantity, method)
            if one is not None:
                made[quantity, method] = one
    return Learned(made)


def _learned(asked: _Asked, quantity: str, method: str) -> LearnedOutcome | None:
    snapshot, work = asked.snapshot, asked.work
    found = sets_of(snapshot, quantity, method=method, first=work.first)
    if len(found) < FEWEST_SETS or len({s.date for s in found}) < FEWEST_READ_DAYS:
        return None
    model = built(snapshot, work, found, quantity=quantity, method=method)
    rows = engine_readings(found, greens=work.greens, first=work.first, hour=usual_hour(found))
    held = asked.start.get(f"{quantity}:{method}".rstrip(":"))
    plain = _fitted(model, rows, held, seed=asked.seed)
    chosen = _chosen(asked, plain, held, act=next(iter(MODELLED.get(quantity, ())), ""))
    return LearnedOutcome(
        quantity=quantity,
        method=method,
        unit=known_quantities()[quantity].unit,
        log=log_of(quantity),
        first=work.first,
        until=snapshot.as_of,
        greens=work.greens,
        fit=chosen.decided.fit if chosen else plain,
        plain=plain,
        separations={
            t.name: separate(
                plain, t.name, decided=chosen.decided if chosen and chosen.act == t.name else None
            )
            for t in model.terms
        },
        misfits=misfits(plain, first=work.first, greens=work.greens),
        n_sets=len(found),
        chosen=chosen,
        n_days=work.days_done,
        felt=work.doses,
        tossed=told_by_toss(plain, work),
    )


def _fitted(
    model: DynamicModel, rows: Readings, held: Mapping[str, Any] | None, *, seed: int
) -> DynamicFit:
    if held is not None and _fits(model, held):
        begun = {name: np.array(held[name]) for name in ("top", "root", "steps")}
        return refit(SimpleNamespace(**begun, at=()), model, rows, gain=GAIN)  # type: ignore[arg-type]
    rng = np.random.default_rng([seed, 13])
    return fit_dynamic(model, rows, rng=rng, pairs=PAIRS, gain=GAIN)


def _fits(model: DynamicModel, held: Mapping[str, Any]) -> bool:
    """Return whether a start is one of this model."""
    names = list(model.hypers)
    return held.get("names") == names and np.shape(held.get("root")) == (len(names), len(names))


def _chosen(
    asked: _Asked, plain: DynamicFit, held: Mapping[str, Any] | None, *, act: str
) -> Chosen | None:
    """Return readings and decisions believed together, None where no decision can be modelled."""
    if not act or act not in {t.name for t in plain.layout.model.terms}:
        return None
    model, rows = plain.layout.model, plain.layout.rows
    read = np.zeros((model.units, model.days), dtype=bool)
    read[rows.unit, rows.day] = True
    decisions = decisions_of(asked.snapshot, asked.work, model, act=act, read=read)
    if decisions is None:
        return None
    begun = replace(plain, steps=_fewer(plain.steps, DECIDED_PAIRS))
    if held is not None and _fits(model, held):
        begun = replace(begun, top=np.array(held["decided"]))
    decided = fit_decided(
        begun,
        decisions,
        rng=np.random.default_rng([asked.seed, 19]),
        push_sd=value("learn.push_sd"),
        need_sd=value("learn.need.share") / model.scales["day_sd"].median,
        rounds=ROUNDS,
    )
    return Chosen(act, decisions, decided)


def _fewer(steps: Floats, pairs: int) -> Floats:
    """Return the first pairs of a mixture's antithetic steps: middle, drawn, mirrored."""
    half = (len(steps) - 1) // 2
    return np.vstack([steps[:1], steps[1 : 1 + pairs], steps[1 + half : 1 + half + pairs]])
