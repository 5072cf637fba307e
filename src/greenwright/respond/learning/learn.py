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
from greenwright.respond.learning.also import LED_FROM, also_modelled, led_by_look
from greenwright.respond.learning.choosing import MODELLED, decisions_of
from greenwright.respond.learning.learned import Chosen, Learned, LearnedOutcome
from greenwright.respond.learning.misfits import misfits
from greenwright.respond.learning.modelling import built, first_day
from greenwright.respond.learning.sets import engine_readings, log_of, sets_of, usual_hour
from greenwright.respond.learning.settled import told_by_toss
from greenwright.respond.learning.terms import LED
from greenwright.respond.learning.worked import Floats, Worked, worked
from greenwright.respond.shapes import OUTCOMES
from greenwright.stats.dynamic import (
    DecidedFit,
    Decisions,
    DynamicFit,
    DynamicModel,
    Readings,
    fit_decided,
    fit_dynamic,
    kept,
    lean,
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
    acts = MODELLED.get(quantity, ())
    also, begun = _also(asked, plain) if acts else ((), plain)
    chosen = _chosen(asked, plain, held, begun=begun, act=next(iter(acts), ""))
    fit = chosen.decided.fit if chosen else begun
    believed = {c.act: replace(c.decided, fit=fit) for c in (*also, *([chosen] if chosen else []))}
    one = LearnedOutcome(
        quantity=quantity,
        method=method,
        unit=known_quantities()[quantity].unit,
        log=log_of(quantity),
        first=work.first,
        until=snapshot.as_of,
        greens=work.greens,
        fit=fit,
        plain=plain,
        separations={
            t.name: separate(plain, t.name, decided=believed.get(t.name)) for t in model.terms
        },
        misfits=misfits(plain, first=work.first, greens=work.greens),
        n_sets=len(found),
        chosen=chosen,
        also=also,
        n_days=work.days_done,
        felt=work.doses,
        tossed=told_by_toss(plain, work),
    )
    return _lean(one)


def _lean(one: LearnedOutcome) -> LearnedOutcome:
    """Return the outcome with its fits in half the memory, each held once."""
    fit = lean(one.fit)

    def kept_lean(chosen: Chosen, whole: DynamicFit) -> Chosen:
        return replace(chosen, decided=replace(chosen.decided, fit=whole))

    also = tuple(kept_lean(c, lean(c.decided.fit)) for c in one.also)
    chosen = None if one.chosen is None else kept_lean(one.chosen, fit)
    return replace(one, fit=fit, plain=lean(one.plain), also=also, chosen=chosen)


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


def _also(asked: _Asked, plain: DynamicFit) -> tuple[tuple[Chosen, ...], DynamicFit]:
    """Return decisions on further acts, one after the other, and the fit that believes them all.

    What one act's decisions say of the levels stays as if read, while the next are believed.
    """
    made: list[Chosen] = []
    fit = plain
    names = {t.name for t in plain.layout.model.terms}
    # Where tossed work tells an effect, what chosen work seems to do has a term of its own.
    free = {name for name in names if f"{name}{LED}" not in names}
    for act in also_modelled(asked.work, acts=free):
        decisions = _decisions(asked, plain, act)
        if decisions is not None and led_by_look(plain, act, decisions) > LED_FROM:
            written = replace(decisions, unwritten=None)
            made.append(Chosen(act, written, _decided(asked, fit, written)))
            fit = kept(made[-1].decided.fit)
    return tuple(made), fit


def _chosen(
    asked: _Asked,
    plain: DynamicFit,
    held: Mapping[str, Any] | None,
    *,
    begun: DynamicFit,
    act: str,
) -> Chosen | None:
    """Return readings and decisions believed together, None where no decision can be modelled."""
    model = plain.layout.model
    if not act or act not in {t.name for t in model.terms}:
        return None
    decisions = _decisions(asked, plain, act)
    if decisions is None:
        return None
    if held is not None and _fits(model, held):
        begun = replace(begun, top=np.array(held["decided"]))
    return Chosen(act, decisions, _decided(asked, begun, decisions))


def _decisions(asked: _Asked, plain: DynamicFit, act: str) -> Decisions | None:
    model, rows = plain.layout.model, plain.layout.rows
    read = np.zeros((model.units, model.days), dtype=bool)
    read[rows.unit, rows.day] = True
    return decisions_of(asked.snapshot, asked.work, model, act=act, read=read)


def _decided(asked: _Asked, fit: DynamicFit, decisions: Decisions) -> DecidedFit:
    return fit_decided(
        replace(fit, steps=_fewer(fit.steps, DECIDED_PAIRS)),
        decisions,
        rng=np.random.default_rng([asked.seed, 19]),
        push_sd=value("learn.push_sd"),
        need_sd=value("learn.need.share") / fit.layout.model.scales["day_sd"].median,
        rounds=ROUNDS,
    )


def _fewer(steps: Floats, pairs: int) -> Floats:
    """Return the first pairs of a mixture's antithetic steps: middle, drawn, mirrored."""
    half = (len(steps) - 1) // 2
    return np.vstack([steps[:1], steps[1 : 1 + pairs], steps[1 + half : 1 + half + pairs]])
