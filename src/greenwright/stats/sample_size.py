"""How many measurements are enough: the error of a mean, and the groups that show a difference.

Import it from here: it brings scipy with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from scipy.special import nctdtr, stdtrit

from greenwright.base.errors import BadInput

MOST = 100_000
"""Size of a group beyond which no plan is made."""

_CERTAIN = 30.0


@dataclass(frozen=True, slots=True)
class SampleSize:
    """Units wanted in each group (or pairs), and what they reach.

    Args:
        n: exact, by the noncentral t distribution; at least 2.
        n_normal: the same by the normal approximation, always a little too small.
        power: chance that n shows the difference.
    """

    n: int
    n_normal: int
    power: float


def standard_error_of_mean(
    spots: float, repeats: float, *, spot_sd: float, repeat_sd: float
) -> float:
    """Return the standard error of a mean over spots, each measured several times.

    SE = sqrt(spot_sd^2 / m + repeat_sd^2 / (k m)): more spots always help, more repeats only
    against the second part.

    Args:
        spots: m, at least 1; repeats: k at each spot, at least 1.
        spot_sd: sd of true values between spots; repeat_sd: sd of repeats at one spot [unit].

    Raises:
        BadInput: fewer than one spot or repeat, or a negative sd.

    >>> round(standard_error_of_mean(3, 6, spot_sd=0.3, repeat_sd=0.17), 2)
    0.18
    """
    if not (spots >= 1 and repeats >= 1 and spot_sd >= 0 and repeat_sd >= 0):
        raise BadInput(
            "a mean needs at least one spot and one repeat, and no negative sd",
            where="standard error",
        )
    return math.sqrt(spot_sd**2 / spots + repeat_sd**2 / (repeats * spots))


def groups_to_detect(
    sd: float, difference: float, *, power: float = 0.8, alpha: float = 0.05, paired: bool = False
) -> SampleSize:
    """Return the units in each of two groups that show a difference of their means.

    Two-sided t test; two groups: degrees of freedom 2(n - 1), noncentrality d/sd sqrt(n/2);
    paired: n - 1 and d/sd sqrt(n).

    Args:
        sd: of the units within a group; paired: of the differences within pairs [unit].
        difference: to be shown, above zero [unit].
        power: chance to show it; alpha: two-sided chance to show what is not there.

    Raises:
        BadInput: sd or difference not above zero, power or alpha not between 0 and 1, or more
            than MOST units in a group.

    >>> groups_to_detect(0.3, 0.5).n, groups_to_detect(0.3, 0.5).n_normal
    (7, 6)
    """
    _check(sd, difference, power, alpha)
    effect = difference / sd
    reach = NormalDist().inv_cdf(1 - alpha / 2) + NormalDist().inv_cdf(power)
    wanted = (1 if paired else 2) * (reach / effect) ** 2
    if wanted > MOST:
        raise BadInput(
            f"more than {MOST} units would be needed in each group",
            where="difference",
            expected="a difference that is not lost in the spread",
            do="Ask for a larger difference, or bring the spread down",
        )
    n_normal = max(1, math.ceil(wanted))
    n = max(2, n_normal)
    while power_reached(n, effect, alpha=alpha, paired=paired) < power:
        n += 1
    return SampleSize(n, n_normal, power_reached(n, effect, alpha=alpha, paired=paired))


def power_reached(n: int, effect: float, *, alpha: float = 0.05, paired: bool = False) -> float:
    """Return the chance that n units in each group (or pairs) show a difference.

    Args:
        n: at least 2; effect: difference over sd; alpha: two-sided level.

    >>> round(power_reached(7, 0.5 / 0.3), 2)
    0.82
    """
    freedom = n - 1 if paired else 2 * (n - 1)
    centre = effect * math.sqrt(n if paired else n / 2)
    if centre > _CERTAIN:
        # The tail is nothing there, and the distribution function gives up further out.
        return 1.0
    edge = stdtrit(freedom, 1 - alpha / 2)
    return float(1 - nctdtr(freedom, centre, edge) + nctdtr(freedom, centre, -edge))


def _check(sd: float, difference: float, power: float, alpha: float) -> None:
    if not (sd > 0 and difference > 0 and math.isfinite(sd) and math.isfinite(difference)):
        raise BadInput("a comparison needs an sd and a difference above zero", where="sample size")
    if not (0 < alpha < power < 1):
        raise BadInput(
            f"power {power:g} at level {alpha:g} cannot be planned",
            where="power",
            expected="a power between the level and 1, as 0.8",
        )
