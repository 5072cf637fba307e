"""Shares seen in counts: the Jeffreys belief and what it says on the logit scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv, digamma, polygamma

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate

JEFFREYS = 0.5
"""Both shapes of the Jeffreys prior of a share."""


@dataclass(frozen=True, slots=True)
class LogitBelief:
    """Mean and variance of the log odds of a share."""

    mean: float
    variance: float


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
    a, b = _shapes(hits, tries)
    sd = float(np.sqrt(a * b / (a + b) ** 2 / (a + b + 1)))
    low, high = betaincinv(a, b, [(1 - level) / 2, (1 + level) / 2])
    return Estimate(a / (a + b), "1", sd, float(low), float(high), level, int(tries))


def logit_belief(hits: float, tries: float) -> LogitBelief:
    """Return exact mean and variance of the log odds under the Jeffreys belief.

    mean = digamma(a) - digamma(b), variance = trigamma(a) + trigamma(b).

    Raises:
        BadInput: hits outside 0 .. tries.

    >>> logit_belief(3, 6).mean
    0.0
    """
    a, b = _shapes(hits, tries)
    return LogitBelief(float(digamma(a) - digamma(b)), float(polygamma(1, a) + polygamma(1, b)))


def _shapes(hits: float, tries: float) -> tuple[float, float]:
    if not 0 <= hits <= tries:
        raise BadInput(f"{hits:g} of {tries:g} is not a share", expected="0 <= hits <= tries")
    return hits + JEFFREYS, tries - hits + JEFFREYS
