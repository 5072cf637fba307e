"""Consistency said precisely: sd, range or pair, and how they follow from one another.

For n greens drawn from a normal with standard deviation sd:
expected range = d2(n) sd with d2(n) = integral of 1 - Phi(x)^n - (1 - Phi(x))^n dx;
difference of two greens picked at random: sd sqrt(2) sd, median of its size 0.9539 sd.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import sqrt
from statistics import NormalDist

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.stats.central_area import area_below

_MEDIAN_PAIR = sqrt(2) * NormalDist().inv_cdf(0.75)
_REACH = 9.0
_POINTS = 4001


@dataclass(frozen=True, slots=True)
class Spread:
    """One spread of n greens in the words in use, all in the unit of the quantity.

    Args:
        sd: standard deviation between greens.
        range: expected difference of the highest and the lowest of the n.
        pair_sd: standard deviation of the difference of two greens picked at random.
        pair: median size of that difference.
    """

    n: int
    sd: float
    range: float
    pair_sd: float
    pair: float


@cache
def range_in_sds(n: int) -> float:
    """Return the expected range of n independent normals, in their standard deviation.

    Raises:
        BadInput: fewer than two.

    >>> round(range_in_sds(2), 3)
    1.128
    """
    if n < 2:
        raise BadInput("a range needs at least two greens", where="consistency")
    x = np.linspace(-_REACH, _REACH, _POINTS)
    below = area_below(x)
    return float(np.trapezoid(1 - below**n - (1 - below) ** n, x))


def spread_from_sd(sd: float, n: int) -> Spread:
    """Return range and pair of n greens whose levels have this standard deviation.

    Args:
        sd: standard deviation between greens, not negative [any unit].
        n: greens, at least 2.

    Raises:
        BadInput: a negative sd, or fewer than two greens.

    Valid for: levels close to normal; one odd green stretches the range beyond this.

    >>> round(spread_from_sd(1.0, 18).range, 2)
    3.64
    """
    if not sd >= 0:
        raise BadInput(f"a spread of {sd} is not a spread", expected="sd >= 0")
    return Spread(n, sd, range_in_sds(n) * sd, sqrt(2) * sd, _MEDIAN_PAIR * sd)


def spread_from_range(range_: float, n: int) -> Spread:
    """Return the spread of n greens said to lie "within" this range.

    >>> round(spread_from_range(4.0, 18).sd, 1)
    1.1
    """
    return spread_from_sd(range_ / range_in_sds(n), n)


def spread_from_pair(pair: float, n: int) -> Spread:
    """Return the spread of n greens two of which typically differ by this much (median)."""
    return spread_from_sd(pair / _MEDIAN_PAIR, n)
