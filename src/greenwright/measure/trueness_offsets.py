"""Sideways end offsets of equal rolls -> spread, K and T with exact intervals, no record needed.

Import it from here: it brings scipy with it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import gammaincinv

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate
from greenwright.roll.roughness import trueness_index

_LEVEL = 0.9
LAUNCHER_INSIDE = (
    "one length alone cannot tell the surface from the launcher: how unequally the balls were "
    "set off is inside these numbers, and the surface is at most this untrue"
)
"""What a spread at one length leaves open."""


@dataclass(frozen=True, slots=True)
class OffsetTrueness:
    """What equal rolls of one length say.

    Args:
        sideways_sd_per_length: sd of the end offsets over the length of the roll [m/m].
        heading_k: random walk of the heading, variance over length [m].
        trueness_t: speed-free index [m].
        n: rolls.
        note: what one length leaves open.
    """

    sideways_sd_per_length: Estimate
    heading_k: Estimate
    trueness_t: Estimate
    n: int
    note: str = LAUNCHER_INSIDE


def trueness_from_offsets(
    offsets_m: Sequence[float], length_m: float, green_speed_m: float
) -> OffsetTrueness:
    """Return spread, K and T of equal rolls, each with its exact 90 % interval.

    K = s^2 / L and T = 4 (0.2387 m / S)^2 K, s^2 the sample variance: (n - 1) s^2 / sigma^2 is
    chi-square with n - 1 degrees of freedom, whatever the mean line of the rolls.

    Args:
        offsets_m: sideways stopping positions of at least two equal rolls [m].
        length_m: length of the rolls [m].
        green_speed_m: green speed beside them [m], taken as exact.

    Raises:
        BadInput: fewer than two rolls, no spread at all, or a length or speed not above zero.

    Valid for rolls that come to rest on ground without strong slope.

    >>> two = trueness_from_offsets([-0.02, 0.02], 3.048, 3.048)
    >>> round(two.heading_k.value, 6)  # 0.0008 m2 / 3.048 m
    0.000262
    """
    _check(offsets_m, length_m, green_speed_m)
    n = len(offsets_m)
    mean = math.fsum(offsets_m) / n
    variance = math.fsum((y - mean) ** 2 for y in offsets_m) / (n - 1)
    if variance == 0:
        raise BadInput(
            "all offsets are alike",
            where="offsets",
            expected="sideways positions that differ",
            do="Write them to the millimetre, or roll more balls",
        )
    walk = variance / length_m
    return OffsetTrueness(
        sideways_sd_per_length=_root(variance / length_m**2, n),
        heading_k=_spread(walk, n, "m"),
        trueness_t=_spread(float(trueness_index(walk, green_speed_m)), n, "m"),
        n=n,
    )


def variance_interval(freedom: float, *, level: float = _LEVEL) -> tuple[float, float]:
    """Return the factors on a sample variance that bound the true one with a chance.

    Args:
        freedom: degrees of freedom, above zero.
        level: the chance.

    >>> [round(x**0.5, 2) for x in variance_interval(9, level=0.95)]
    [0.69, 1.83]
    """
    low, high = (2 * gammaincinv(freedom / 2, (1 + sign * level) / 2) for sign in (1, -1))
    return float(freedom / low), float(freedom / high)


def _spread(variance: float, n: int, unit: str) -> Estimate:
    """Return the estimate of a variance; its sd is that of the sampling law."""
    low, high = (variance * factor for factor in variance_interval(n - 1))
    return Estimate(variance, unit, variance * math.sqrt(2 / (n - 1)), low, high, _LEVEL, n)


def _root(variance: float, n: int) -> Estimate:
    low, high = (math.sqrt(variance * factor) for factor in variance_interval(n - 1))
    value = math.sqrt(variance)
    return Estimate(value, "m/m", value / math.sqrt(2 * (n - 1)), low, high, _LEVEL, n)


def _check(offsets_m: Sequence[float], length_m: float, green_speed_m: float) -> None:
    if len(offsets_m) < 2:
        raise BadInput(
            f"{len(offsets_m)} offset is no spread",
            where="offsets",
            expected="at least two equal rolls, better ten",
            do="Roll more balls along the same line",
        )
    if not all(math.isfinite(y) for y in offsets_m):
        raise BadInput("an offset is not a finite number", where="offsets", expected="metres")
    for name, number in (("length", length_m), ("speed", green_speed_m)):
        if not (math.isfinite(number) and number > 0):
            raise BadInput(f"{number:g} m is not above zero", where=name, expected="metres above 0")
