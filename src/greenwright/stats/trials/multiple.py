"""Several comparisons at once: Tukey (all pairs), Dunnett (against one), Holm (any)."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from scipy.optimize import brentq
from scipy.special import gammaln, ndtr

from greenwright.stats.trials.factors import Array

POINTS = 64
LEGENDRE = np.polynomial.legendre.leggauss(POINTS)
HERMITE = np.polynomial.hermite_e.hermegauss(POINTS)
"""Points and weights of the Gauss rules: dear to work out, the same every time."""


def range_chance(q: float, groups: int, df: float) -> float:
    """Return the chance that the range of means stays under q standard errors of a mean.

    The integral over the lowest mean and over the error variance is by Gauss rules.
    """
    z, w = LEGENDRE
    low = 8.5 * z
    density = w * 8.5 * np.exp(-0.5 * low * low) / (2 * np.pi) ** 0.5
    scale, ws = _chi_scale(df)
    inside = ndtr(low[:, None] + q * scale[None, :]) - ndtr(low)[:, None]
    return float(groups * (density @ inside ** (groups - 1)) @ ws)


def tukey_p(t: Array, groups: int, df: float) -> Array:
    """Return p of differences t (value over its standard error), allowing for all pairs.

    >>> round(float(tukey_p(np.array([2.5]), 3, 20.0)[0]), 3)
    0.053
    """
    return np.array([max(0.0, 1 - range_chance(abs(float(x)) * 2**0.5, groups, df)) for x in t])


def tukey_factor(groups: int, df: float, level: float = 0.95) -> float:
    """Return by how many standard errors all pairs' intervals reach at once."""

    def short(q: float) -> float:
        return range_chance(q, groups, df) - level

    return float(brentq(short, 0.1, 200.0, xtol=1e-9)) / 2**0.5


def dunnett_chance(d: float, loads: Array, df: float) -> float:
    """Return the chance that no comparison with the control goes beyond d standard errors.

    Correlations are products of loads, 1 / sqrt(1 + n_control / n_i): independent means. The
    integral over the control's own error and over the error variance is by Gauss rules.

    Args:
        d: standard errors; loads: (k), each 0..1; df: degrees of freedom.
    """
    z, wz = HERMITE
    wz = wz / wz.sum()
    scale, ws = _chi_scale(df)
    root = np.sqrt(1 - loads**2)
    middle = loads[:, None, None] * z[None, :, None]
    edge = d * scale[None, None, :]
    side = root[:, None, None]
    inside = ndtr((middle + edge) / side) - ndtr((middle - edge) / side)
    return float(wz @ np.prod(inside, axis=0) @ ws)


def _chi_scale(df: float) -> tuple[Array, Array]:
    """Return points and weights of sqrt(chi squared / df)."""
    if not np.isfinite(df) or df > 1e5:
        return np.ones(1), np.ones(1)
    spread = 1 / (2 * df) ** 0.5
    low, high = max(1e-9, 1 - 9 * spread), 1 + 9 * spread
    x, w = LEGENDRE
    s = low + (high - low) * (x + 1) / 2
    half = df / 2
    log = np.log(2) + half * np.log(half) - gammaln(half) + (df - 1) * np.log(s) - half * s * s
    density = np.exp(log) * w
    return s, density / density.sum()


def dunnett_p(t: Array, loads: Array, df: float) -> Array:
    """Return p of comparisons with the control, allowing for all of them."""
    return np.array([max(0.0, 1 - dunnett_chance(abs(float(x)), loads, df)) for x in t])


def dunnett_factor(loads: Array, df: float, level: float = 0.95) -> float:
    """Return by how many standard errors all intervals against the control reach at once."""

    def short(d: float) -> float:
        return dunnett_chance(d, loads, df) - level

    return float(brentq(short, 0.5, 60.0, xtol=1e-9))


def holm_p(p: Sequence[float]) -> Array:
    """Return p allowing for several tests of any kind (step-down Bonferroni).

    >>> holm_p([0.01, 0.04, 0.03]).tolist()
    [0.03, 0.06, 0.06]
    """
    values = np.asarray(p, float)
    order = np.argsort(values)
    steps = values[order] * np.arange(len(values), 0, -1)
    made = np.empty_like(values)
    made[order] = np.minimum(1.0, np.maximum.accumulate(steps))
    return np.round(made, 15)


def letters(different: Callable[[int, int], bool], count: int) -> tuple[str, ...]:
    """Return letters such that two groups share one exactly where they do not differ.

    Args:
        different: whether two groups (indices) differ.
        count: groups, in the order in which letters are given.

    >>> letters(lambda i, j: abs(i - j) > 1, 3)
    ('a', 'ab', 'b')
    """
    held: list[set[int]] = [set(range(count))]
    for i in range(count):
        for j in range(i + 1, count):
            if different(i, j):
                held = _parted(held, i, j)
    ordered = sorted(held, key=lambda group: sorted(group))
    names = "abcdefghijklmnopqrstuvwxyz"
    return tuple(
        "".join(names[k % 26] for k, group in enumerate(ordered) if i in group)
        for i in range(count)
    )


def _parted(held: list[set[int]], i: int, j: int) -> list[set[int]]:
    made: list[set[int]] = []
    for group in held:
        made += [group - {i}, group - {j}] if {i, j} <= group else [group]
    kept: list[set[int]] = []
    for group in sorted(made, key=len, reverse=True):
        if not any(group <= other for other in kept):
            kept.append(group)
    return kept
