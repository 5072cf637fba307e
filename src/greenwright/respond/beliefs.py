"""What is believed of several levels at once: weighted normals, or the exponentials of normals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from greenwright.base.estimate import QUANTILE_LEVELS, Estimate

Floats = NDArray[np.float64]

_HALVINGS = 60
_REACH = 12.0


@dataclass(frozen=True, slots=True)
class Beliefs:
    """Beliefs about q levels, each a mixture of the same m weighted parts.

    Args:
        means, sds: (m, q) of normals; of the natural log of the level where `log`.
        weights: (m,), sum 1.
        log: the normals speak of logs.
    """

    means: Floats
    sds: Floats
    weights: Floats
    log: bool = False

    @property
    def mean(self) -> Floats:
        """Return the mean of each level (q,): exp(m + s^2 / 2) of a log-normal part."""
        return self.weights @ self._moments()[0]

    @property
    def sd(self) -> Floats:
        """Return the sd of each level (q,)."""
        means, variances = self._moments()
        away = means - self.weights @ means
        return np.sqrt(np.clip(self.weights @ (variances + away**2), 0.0, None))

    @property
    def plain_moments(self) -> tuple[Floats, Floats]:
        """Return mean and sd of each (q,) as the normals speak: of the log where `log`."""
        mean = self.weights @ self.means
        return mean, np.sqrt(self.weights @ (self.sds**2 + (self.means - mean) ** 2))

    def _moments(self) -> tuple[Floats, Floats]:
        if not self.log:
            return self.means, self.sds**2
        means = np.exp(self.means + self.sds**2 / 2)
        return means, means**2 * np.expm1(self.sds**2)

    def shares_below(self, value: Floats) -> Floats:
        """Return the chance that each level lies below a value; values broadcast to (..., q)."""
        at = np.asarray(value, dtype=float)
        if self.log:
            with np.errstate(divide="ignore"):
                at = np.log(np.clip(at, 0.0, None))
        return self._below(at)

    def _below(self, at: Floats) -> Floats:
        gap = at[..., None, :] - self.means
        with np.errstate(divide="ignore", invalid="ignore"):
            away = np.where(self.sds > 0, gap / self.sds, np.where(gap < 0, -np.inf, np.inf))
        return np.tensordot(ndtr(away), self.weights, axes=([-2], [0]))

    def chance(self, low: float | None, high: float | None) -> Floats:
        """Return the chance that each level lies from low to high (None = open)."""
        size = self.means.shape[1]
        top = np.ones(size) if high is None else self.shares_below(np.full(size, high))
        bottom = np.zeros(size) if low is None else self.shares_below(np.full(size, low))
        return np.clip(top - bottom, 0.0, 1.0)

    def quantiles(self, shares: Sequence[float] = QUANTILE_LEVELS) -> Floats:
        """Return (shares, q) quantiles, by halving the interval that must hold each."""
        low = (self.means - _REACH * self.sds).min(axis=0)
        high = (self.means + _REACH * self.sds).max(axis=0)
        bottom = np.broadcast_to(low, (len(shares), len(low))).copy()
        top = np.broadcast_to(high, bottom.shape).copy()
        wanted = np.asarray(shares)[:, None]
        for _ in range(_HALVINGS):
            middle = (bottom + top) / 2
            short = self._below(middle) < wanted
            bottom, top = np.where(short, middle, bottom), np.where(short, top, middle)
        found = (bottom + top) / 2
        return np.exp(found) if self.log else found

    def picked(self, places: Sequence[int]) -> Beliefs:
        """Return the beliefs at some places."""
        at = np.asarray(places, dtype=np.intp)
        return Beliefs(self.means[:, at], self.sds[:, at], self.weights, self.log)

    def estimates(
        self, unit: str, *, n: int, ends: tuple[float, float] = (-np.inf, np.inf)
    ) -> tuple[Estimate, ...]:
        """Return each level as an estimate with its quantiles.

        Args:
            unit: of the level.
            n: readings behind it.
            ends: of the scale; nothing is said beyond them.
        """
        found = np.clip(self.quantiles(), *ends)
        names = [f"{q:g}" for q in QUANTILE_LEVELS]
        return tuple(
            Estimate(
                value=float(np.clip(mean, *ends)),
                unit=unit,
                sd=float(sd),
                low=float(column[0]),
                high=float(column[-1]),
                level=0.9,
                n=n,
                basis="model",
                quantiles=dict(zip(names, map(float, column), strict=True)),
            )
            for mean, sd, column in zip(self.mean, self.sd, found.T, strict=True)
        )


def average(means: Floats, covs: Floats, *, log: bool) -> tuple[Floats, Floats]:
    """Return the mean of several levels as one normal, or one log-normal of the same moments.

    Args:
        means: (m, units) of normals, of logs where `log`.
        covs: (m, units, units).
        log: the mean is of the exponentials.

    Returns:
        (m,) mean and (m,) sd, of the log where `log`. A mean of log-normals that move together
        is nearly log-normal; its first two moments are exact.
    """
    count = means.shape[1]
    if not log:
        return means.mean(axis=1), np.sqrt(np.clip(covs.sum(axis=(1, 2)), 0, None)) / count
    single = np.exp(means + np.diagonal(covs, axis1=1, axis2=2) / 2)
    pairs = single[:, :, None] * single[:, None, :] * np.expm1(covs)
    centre, variance = single.mean(axis=1), np.clip(pairs.sum(axis=(1, 2)), 0, None) / count**2
    spread = np.log1p(variance / centre**2)
    return np.log(centre) - spread / 2, np.sqrt(spread)
