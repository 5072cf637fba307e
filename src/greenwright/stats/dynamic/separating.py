"""Can the record tell an effect from the need that called for the work? A verdict with reasons."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from greenwright.stats.dynamic.deciding import DecidedFit, Decisions, overruled
from greenwright.stats.dynamic.effects import effects
from greenwright.stats.dynamic.fitting import DynamicFit
from greenwright.stats.dynamic.model import Floats

Verdict = Literal["yes", "partly", "cannot tell"]

FEWEST_DOSES = 6
"""Doses that readings felt: under it nothing is said."""
FEWEST_FLIPS = 40.0
"""Worth of the decisions in tosses of a fair coin, under which need and work are one."""
LEAST_SHARE = 0.5
"""Share of the prior's variance the record must take away."""
MOST_MISSED = 0.3
"""Share of work never written, above which blanks hardly mean that nothing was done."""
MOST_SWAY = 6.0
"""Sds by which modelling the decision may move the effect before it rests on that model."""
_HALF_WAY = frozenset({"rests on the decision model", "unwritten work"})


@dataclass(frozen=True, slots=True)
class Separation:
    """Whether the record separates one effect, and why.

    Args:
        verdict: yes | partly | cannot tell.
        reasons: what spoke against yes, as keys: few doses, little learned, no overlap, rests
            on the decision model, unwritten work.
        doses: unit-days with work that a reading of the same day or within the reach felt.
        coin_flips: what the decisions are worth in tosses of a fair coin; nan = not modelled.
        share_local: share of the prior's variance the record took away.
        sway: how far modelling the decision moved the effect, in its sds; nan = not modelled.
    """

    verdict: Verdict
    reasons: tuple[str, ...]
    doses: int
    coin_flips: float
    share_local: float
    sway: float


def separate(
    fit: DynamicFit, term: str, *, decided: DecidedFit | None = None, reach: int = 2
) -> Separation:
    """Return whether the record separates a term's effect from what called for it.

    Args:
        fit: of the readings alone.
        term: its name.
        decided: the fit with the practice's decisions, where they were modelled.
        reach: days after a dose on which a reading still feels it.
    """
    plain, best = effects(fit), effects(fit if decided is None else decided.fit)
    k = best.names.index(term)
    doses = felt_doses(fit, term, reach=reach)
    flips = float("nan") if decided is None else decided.choice.coin_flips
    sway = float("nan") if decided is None else float((best.mean[k] - plain.mean[k]) / best.sd[k])
    share = float(best.share_local[k])
    reasons = against(
        doses=doses, share=share, coin_flips=flips, sway=sway, missed=_missed(decided)
    )
    return Separation(verdict_of(reasons), reasons, doses, flips, share, sway)


def against(
    *, doses: int, share: float, coin_flips: float, sway: float = 0.0, missed: float = 0.0
) -> tuple[str, ...]:
    """Return what speaks against a yes, as the keys of ``Separation.reasons``.

    Args:
        doses, share, coin_flips, sway: as in ``Separation``.
        missed: share of the work that was never written.
    """
    held = {
        "few doses": doses < FEWEST_DOSES,
        "little learned": share < LEAST_SHARE,
        "no overlap": coin_flips < FEWEST_FLIPS,
        "rests on the decision model": abs(sway) > MOST_SWAY,
        "unwritten work": missed > MOST_MISSED,
    }
    return tuple(name for name, holds in held.items() if holds)


def felt_doses(fit: DynamicFit, term: str, *, reach: int) -> int:
    """Return how many unit-days with work were read on the day or within the reach after it."""
    found = next(t for t in fit.layout.model.terms if t.name == term)
    read = np.zeros(found.dose.shape, dtype=bool)
    read[fit.layout.rows.unit, fit.layout.rows.day] = True
    soon = read.copy()
    for lag in range(1, reach + 1):
        soon[:, :-lag] |= read[:, lag:]
    return int((soon & (found.dose > 0)).sum())


def under_need(
    decided: DecidedFit, decisions: Decisions, term: str, *, needs: Floats
) -> tuple[Floats, Floats]:
    """Return mean and sd of an effect if decisions had looked at the level with given strengths.

    Args:
        decided: fit with the practice's decisions.
        decisions: the same ones.
        term: whose effect.
        needs: strengths tried, in units of ``Choice.need``; 0 = as if work fell by itself.
    """
    layout = decided.fit.layout
    place = layout.border.terms + [t.name for t in layout.model.terms].index(term)
    found = [overruled(decided, decisions, need=float(need)) for need in needs]
    variance = np.array([at.cov[place, place] for at in found])
    return np.array([at.mean[place] for at in found]), np.sqrt(variance)


def _missed(decided: DecidedFit | None) -> float:
    missed = None if decided is None else decided.choice.missed
    return 0.0 if missed is None else missed.share


def verdict_of(reasons: tuple[str, ...]) -> Verdict:
    """Return the verdict for what speaks against a yes."""
    if not reasons:
        return "yes"
    return "partly" if set(reasons) <= _HALF_WAY else "cannot tell"
