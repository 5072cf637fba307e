"""How much play it takes before a player could tell one surface from another."""

from __future__ import annotations

from math import ceil, sqrt
from statistics import NormalDist

from greenwright.base.errors import BadInput

_NOTHING = 1e-9


def putts_to_tell(p1: float, p2: float, power: float = 0.8, alpha: float = 0.1) -> int | None:
    """Return the putts on each of two surfaces before their make rates could be told apart.

    n = [z(1 - alpha/2) sqrt(2 p (1 - p)) + z(power) sqrt(p1 (1 - p1) + p2 (1 - p2))]^2 /
    (p1 - p2)^2 with p the mean of both: the usual two-proportion sample size.

    Args:
        p1, p2: chances to hole, 0..1.
        power: chance to tell; alpha: two-sided chance of telling what is not there.

    Returns:
        None where there is no difference.

    Raises:
        BadInput: a chance outside 0..1, or power or alpha that is none.

    >>> putts_to_tell(0.5, 0.4, alpha=0.05)
    388
    """
    _check(p1, p2, power, alpha)
    if abs(p1 - p2) < _NOTHING:
        return None
    mean = (p1 + p2) / 2
    false, true = NormalDist().inv_cdf(1 - alpha / 2), NormalDist().inv_cdf(power)
    reach = false * sqrt(2 * mean * (1 - mean)) + true * sqrt(p1 * (1 - p1) + p2 * (1 - p2))
    return max(1, ceil((reach / (p1 - p2)) ** 2))


def rounds_to_tell(
    difference: float, sd: float, power: float = 0.8, alpha: float = 0.1
) -> int | None:
    """Return the rounds on each of two surfaces before their mean putts could be told apart.

    n = 2 (z(1 - alpha/2) + z(power))^2 (sd / difference)^2.

    Args:
        difference: of mean putts per round.
        sd: of the putts of one round about their mean.

    >>> rounds_to_tell(1.0, 2.0)
    50
    """
    _check(0.5, 0.5, power, alpha)
    if abs(difference) < _NOTHING:
        return None
    reach = NormalDist().inv_cdf(1 - alpha / 2) + NormalDist().inv_cdf(power)
    return max(1, ceil(2 * (reach * sd / difference) ** 2))


def _check(p1: float, p2: float, power: float, alpha: float) -> None:
    if not (0 <= p1 <= 1 and 0 <= p2 <= 1 and 0 < power < 1 and 0 < alpha < 1):
        raise BadInput(
            f"cannot compare chances {p1} and {p2} at power {power}, alpha {alpha}",
            where="putts to tell",
            expected="chances 0..1, power and alpha between 0 and 1",
        )
