"""Who reads high, how widely each scatters, and who has begun to drift."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import value as number
from greenwright.measure.belief import lognormal_estimate
from greenwright.measure.sounding import COUNTS, Sounding
from greenwright.stats import PooledFit, PooledPosterior

DRIFT_KEYS: tuple[str, ...] = ("measure.drift.sd_share", "measure.drift.least_share")
"""Evidence of what counts as a drift."""

_TWO_SIDED_95 = 1.959963984540054
_FEW = 5


@dataclass(frozen=True, slots=True)
class ObserverShift:
    """How an observer (or instrument) reads, pooled towards reading like the others.

    Args:
        observer: who.
        shift: how far above the truth, in the last 30 days where these tell apart.
        spread: how widely the scores scatter, over the common scatter (1 = like the others);
            None where no scores are scattered (other quantities) or fewer than five.
        drift: shift of the last 30 days less that before; None with fewer than five readings
            on either side.
        drifts: whether 0 lies outside the drift's 95 % interval and the drift is worth saying.
    """

    observer: str
    shift: Estimate
    spread: Estimate | None = None
    drift: Estimate | None = None
    drifts: bool = False


def drift_sd(observer_sd: float) -> float:
    """Return the prior sd of a drift over a month from that between observers, same unit."""
    return number("measure.drift.sd_share") * observer_sd


def observer_shifts(
    found: Sequence[Sounding],
    fit: PooledFit,
    seen: PooledPosterior,
    observers: Sequence[str],
    *,
    late: frozenset[str],
    unit: str,
    typical: float,
) -> tuple[ObserverShift, ...]:
    """Return the shift, spread and drift of each named observer, in the order of their index.

    Args:
        found: the soundings; fit, seen: the model fitted to them and what it believes.
        observers: named, in the order of their index.
        late: who has a late period.
        unit: of the quantity.
        typical: plain value of one unit of a log scale; 1 on a plain one.
    """
    least = number("measure.drift.least_share") * fit.prior.hyper["rater_sd"].median * typical
    rows = Counter[str]()
    for one in found:
        if one.kind not in COUNTS:
            rows[one.observer] += one.rows
    made = []
    for i, who in enumerate(observers):
        n, drift = rows[who], None
        shift = _normal(seen.rater_mean[i], seen.rater_sd[i], unit, n=n, typical=typical)
        if who in late:
            drift = _normal(seen.late_mean[i], seen.late_sd[i], unit, n=n, typical=typical)
        told = drift is not None and _credible(drift, least)
        made.append(ObserverShift(who, shift, _spread(fit, i, n=n), drift, told))
    return tuple(made)


def late_observers(found: Sequence[Sounding], flags: Sequence[float] | None) -> frozenset[str]:
    """Return who has soundings in a late period of his own."""
    if flags is None:
        return frozenset()
    return frozenset(
        s.observer for s, flag in zip(found, flags, strict=True) if flag and s.kind not in COUNTS
    )


def _normal(mean: float, sd: float, unit: str, *, n: int, typical: float) -> Estimate:
    return normal_estimate(float(mean) * typical, float(sd) * typical, unit, n=n)


def _credible(drift: Estimate, least: float) -> bool:
    return abs(drift.value) >= max(least, _TWO_SIDED_95 * drift.sd)


def _spread(fit: PooledFit, i: int, *, n: int) -> Estimate | None:
    if not len(fit.scatter) or n < _FEW:
        return None
    log, sd = math.log(float(fit.scatter[i])), float(fit.scatter_log_sd[i])
    return lognormal_estimate(log, sd, "1", n=n, basis="readings")
