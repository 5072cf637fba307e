"""Shares seen in counts: the Jeffreys belief and what it says on the logit scale."""

from __future__ import annotations

import math
from dataclasses import dataclass

from greenwright.base.errors import BadInput

JEFFREYS = 0.5
"""Both shapes of the Jeffreys prior of a share."""

_FAR = 12.0


@dataclass(frozen=True, slots=True)
class LogitBelief:
    """Mean and variance of the log odds of a share."""

    mean: float
    variance: float


def logit_belief(hits: float, tries: float) -> LogitBelief:
    """Return exact mean and variance of the log odds under the Jeffreys belief.

    mean = digamma(a) - digamma(b), variance = trigamma(a) + trigamma(b).

    Raises:
        BadInput: hits outside 0 .. tries.

    >>> logit_belief(3, 6).mean
    0.0
    """
    a, b = jeffreys_shapes(hits, tries)
    return LogitBelief(digamma(a) - digamma(b), trigamma(a) + trigamma(b))


def jeffreys_shapes(hits: float, tries: float) -> tuple[float, float]:
    """Return both shapes of the beta belief of a share: hits + 1/2 and misses + 1/2.

    Raises:
        BadInput: hits outside 0 .. tries, or not a finite number of tries.
    """
    if not (0 <= hits <= tries and math.isfinite(tries)):
        raise BadInput(f"{hits:g} of {tries:g} is not a share", expected="0 <= hits <= tries")
    return hits + JEFFREYS, tries - hits + JEFFREYS


def digamma(x: float) -> float:
    """Return the derivative of log gamma at x > 0: recurrence up to 12, then its series.

    >>> round(digamma(1.0), 12)
    -0.577215664902
    """
    shift = 0.0
    while x < _FAR:
        shift, x = shift - 1 / x, x + 1
    s = 1 / (x * x)
    series = s * (1 / 12 - s * (1 / 120 - s * (1 / 252 - s * (1 / 240 - s / 132))))
    return shift + math.log(x) - 0.5 / x - series


def trigamma(x: float) -> float:
    """Return the second derivative of log gamma at x > 0, likewise.

    >>> round(trigamma(1.0), 12)
    1.644934066848
    """
    shift = 0.0
    while x < _FAR:
        shift, x = shift + 1 / (x * x), x + 1
    s = 1 / (x * x)
    series = s * (1 / 6 - s * (1 / 30 - s * (1 / 42 - s * (1 / 30 - s * 5 / 66))))
    return shift + (1 + 0.5 / x + series) / x
