"""A number that was measured or modelled, with how sure we are of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from statistics import NormalDist
from typing import Literal

from greenwright.base.errors import BadInput

Basis = Literal["readings", "model", "prior", "draws"]

BASES: tuple[str, ...] = ("readings", "model", "prior", "draws")
QUANTILE_LEVELS: tuple[float, ...] = (0.05, 0.25, 0.5, 0.75, 0.95)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its unit and a central interval.

    Args:
        value: the middle of what we believe [unit].
        unit: canonical unit of value, sd, low and high.
        sd: standard deviation of what we believe [unit].
        low, high: ends of the central interval [unit].
        level: chance that the interval holds the truth, 0..1.
        n: how many readings (or draws' worth of readings) stand behind it.
        basis: readings | model | prior | draws.
        quantiles: for draws, level written as text -> value [unit].
    """

    value: float
    unit: str
    sd: float
    low: float
    high: float
    level: float = 0.9
    n: int = 0
    basis: Basis = "readings"
    quantiles: Mapping[str, float] | None = None

    def __post_init__(self) -> None:
        numbers = (self.value, self.sd, self.low, self.high)
        if not all(isfinite(x) for x in numbers) or self.sd < 0 or self.low > self.high:
            raise BadInput(
                f"an estimate needs finite numbers, sd >= 0 and low <= high, got {numbers}"
            )
        if self.basis not in BASES:
            raise BadInput(f"unknown basis {self.basis!r}", expected=" | ".join(BASES))

    def as_dict(self) -> dict[str, object]:
        """Return the JSON shape; quantiles only where there are any."""
        shape: dict[str, object] = {
            "value": self.value,
            "unit": self.unit,
            "sd": self.sd,
            "low": self.low,
            "high": self.high,
            "level": self.level,
            "n": self.n,
            "basis": self.basis,
        }
        if self.quantiles is not None:
            shape["quantiles"] = dict(self.quantiles)
        return shape


Z90 = NormalDist().inv_cdf(0.95)
"""Standard deviations on either side that hold 90 % of a normal belief."""


def normal_estimate(
    value: float,
    sd: float,
    unit: str,
    *,
    n: int = 0,
    basis: Basis = "readings",
    level: float = 0.9,
) -> Estimate:
    """Return the estimate of a normal belief.

    Args:
        value, sd: mean and standard deviation [unit].
        unit: canonical unit.

    >>> normal_estimate(2.0, 0.1, "m").high.__round__(3)
    2.164
    """
    reach = NormalDist().inv_cdf(0.5 + level / 2) * sd
    return Estimate(value, unit, sd, value - reach, value + reach, level, n, basis)


def draws_estimate(
    draws: Sequence[float],
    unit: str,
    *,
    n: int = 0,
    basis: Basis = "draws",
    level: float = 0.9,
) -> Estimate:
    """Return the estimate of a set of equally likely draws.

    Args:
        draws: at least two finite numbers [unit], any order.
        unit: canonical unit.

    Raises:
        BadInput: fewer than two draws.
    """
    values = sorted(float(x) for x in draws)
    if len(values) < 2:
        raise BadInput("an estimate from draws needs at least two of them")
    mean = sum(values) / len(values)
    sd = (sum((x - mean) ** 2 for x in values) / (len(values) - 1)) ** 0.5
    tail = (1 - level) / 2
    quantiles = {f"{q:g}": quantile(values, q) for q in QUANTILE_LEVELS}
    low, high = quantile(values, tail), quantile(values, 1 - tail)
    return Estimate(mean, unit, sd, low, high, level, n, basis, quantiles)


def quantile(ordered: Sequence[float], q: float) -> float:
    """Return the q-quantile of ordered numbers by linear interpolation.

    >>> quantile([0.0, 1.0, 2.0], 0.25)
    0.5
    """
    place = q * (len(ordered) - 1)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])
