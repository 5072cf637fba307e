"""A share seen in counts, with its interval. Import it from here: it brings scipy with it."""

from __future__ import annotations

import math

from scipy.special import betaincinv

from greenwright.base.estimate import Estimate
from greenwright.stats.binomial import jeffreys_shapes


def share_estimate(hits: float, tries: float, *, level: float = 0.9) -> Estimate:
    """Return the Jeffreys estimate of a share: Beta(hits + 1/2, misses + 1/2).

    Args:
        hits, tries: counts, 0 <= hits <= tries.
        level: of the equal-tailed interval.

    Raises:
        BadInput: hits outside 0 .. tries.

    >>> share_estimate(5, 10).value
    0.5
    """
    a, b = jeffreys_shapes(hits, tries)
    sd = math.sqrt(a * b / (a + b) ** 2 / (a + b + 1))
    low, high = betaincinv(a, b, [(1 - level) / 2, (1 + level) / 2])
    return Estimate(a / (a + b), "1", sd, float(low), float(high), level, int(tries))
