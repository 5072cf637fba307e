"""Do the remarks of this course follow its surface? Judged from its own days alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from greenwright.stats.counts import CountPrior, Counts, chance_positive, fit_counts

FEWEST_REMARKS = 8
FEWEST_DAYS = 20
SURE, LIKELY = 0.99, 0.95
"""Posterior chances of a rise from which the answer is yes, and partly.

With a prior that leans neither way, 6 of 100 unrelated simulated records pass the lower.
"""

_VAGUE_LEVEL, _VAGUE_SLOPE = 1.5, 1.0


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether remarks follow the surface.

    Args:
        related: yes | partly | cannot tell.
        reason: one sentence.
        chance: that they do rise as the surface gets worse (praise: as it gets better),
            seen from these days alone; 0.5 = no idea.
    """

    related: str
    reason: str
    chance: float


def verdict(counts: Counts, prior: CountPrior, *, falling: bool = False) -> Verdict:
    """Return whether counts rise with the second covariate, the trade's slope forgotten.

    Args:
        counts: with a design of level and covariate.
        prior: whose level and grid are kept, loosened; its slope is not used.
        falling: for remarks that should fall instead (praise).
    """
    n, said = len(counts.count), int(counts.count.sum())
    if n < FEWEST_DAYS or said < FEWEST_REMARKS:
        return Verdict("cannot tell", f"too little was written down: {_record(n, said)}", 0.5)
    if float(np.ptp(counts.design[:, 1])) == 0:
        return Verdict(
            "cannot tell", f"the surface was the same on all days: {_record(n, said)}", 0.5
        )
    vague = CountPrior(
        np.array([prior.mean[0], 0.0]),
        np.array([_VAGUE_LEVEL, _VAGUE_SLOPE]),
        prior.overdispersion,
        prior.wander_sd,
        prior.memory,
    )
    rising = chance_positive(fit_counts(counts, vague), 1)
    return _judged(1 - rising if falling else rising, _record(n, said), falling)


def _judged(chance: float, record: str, falling: bool) -> Verdict:
    way = "better" if falling else "worse"
    if chance >= SURE:
        return Verdict("yes", f"more was said when the surface was {way}: {record}", chance)
    if chance >= LIKELY:
        return Verdict(
            "partly", f"some sign that more was said when it was {way}: {record}", chance
        )
    if chance <= 1 - LIKELY:
        return Verdict("cannot tell", f"less was said when the surface was {way}: {record}", chance)
    return Verdict(
        "cannot tell", f"what was said does not follow the surface clearly: {record}", chance
    )


def _record(n: int, said: int) -> str:
    return f"{said} remarks on {n} days counted"
