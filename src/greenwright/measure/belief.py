"""A joint normal belief about greens, turned into estimates on the plain scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.base.estimate import Z90, Basis, Estimate, draws_estimate, normal_estimate
from greenwright.stats import (
    chance_within,
    normal_draws,
    piled_chance,
    piled_estimate,
    truncated_estimate,
)

Floats = NDArray[np.float64]

_N_DRAWS = 1000
_NEAR_SDS = 2.5
_SEED = 0


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """Normal belief about k levels on a scale.

    Args:
        mean: (k,), cov: (k, k), natural logs where scale is log.
        scale: plain | log.
        window: low and high end of what is possible, plain [unit].
        unit: of the plain value.
        piled: the scale ends at the window: a level beyond an end counts as that end.
            Otherwise no level can lie beyond it.
    """

    mean: Floats
    cov: Floats
    scale: str
    window: tuple[float, float]
    unit: str
    piled: bool = False

    @property
    def sd(self) -> Floats:
        """Return the sd of each level on the belief's own scale."""
        return np.sqrt(np.clip(np.diag(self.cov), 0.0, None))

    def plain_moments(self) -> tuple[Floats, Floats]:
        """Return mean and covariance on the plain scale (log-normal moments where log)."""
        if self.scale == "plain":
            return self.mean, self.cov
        mean = np.exp(self.mean + np.diag(self.cov) / 2)
        return mean, np.outer(mean, mean) * np.expm1(self.cov)

    def estimate(self, i: int, *, n: int, basis: Basis) -> Estimate:
        """Return the estimate of level i, kept inside the window.

        Plain: the normal cut to the window, or piled up at its ends. Log: median, log-normal
        sd and interval.
        """
        centre, sd = float(self.mean[i]), float(self.sd[i])
        if self.scale == "plain":
            ended = piled_estimate if self.piled else truncated_estimate
            return ended(centre, sd, self.unit, window=self.window, n=n, basis=basis)
        return lognormal_estimate(centre, sd, self.unit, n=n, basis=basis)

    def average(self, weights: Floats) -> Belief:
        """Return the belief about a weighted mean of the levels (log, piled: matched moments)."""
        mean, cov = self.plain_moments()
        middle, variance = float(weights @ mean), float(weights @ cov @ weights)
        if self._near_an_end(weights):
            drawn = self._mean_draws(weights)
            middle, variance = float(drawn.mean()), float(drawn.var())
        if self.scale == "log":
            spread = np.log1p(variance / middle**2)
            middle, variance = np.log(middle) - spread / 2, spread
        one = (np.array([middle]), np.array([[variance]]))
        kept = {"scale": self.scale, "window": self.window, "unit": self.unit}
        return Belief(*one, **kept, piled=self.piled)

    def draws(self, rows: Floats, *, n: int, rng: np.random.Generator) -> Floats:
        """Return n draws (n, rows) of some levels, plain; piled up at the ends where they are."""
        found = normal_draws(self.mean[rows], self.cov[np.ix_(rows, rows)], n=n, rng=rng)
        if self.scale == "log":
            return np.exp(found)
        return np.clip(found, *self.window) if self.piled else found

    def difference(self, plus: Floats, minus: Floats, *, n: int, basis: Basis) -> Estimate:
        """Return the estimate of one weighted mean of levels less another, plain scale."""
        mean, cov = self.plain_moments()
        weights = plus - minus
        if self._near_an_end(weights):
            return draws_estimate(self._mean_draws(weights).tolist(), self.unit, n=n)
        sd = np.sqrt(max(float(weights @ cov @ weights), 0.0))
        return normal_estimate(float(weights @ mean), float(sd), self.unit, n=n, basis=basis)

    def spread(self, rows: Floats, *, n: int, rng: np.random.Generator) -> Estimate | None:
        """Return the estimate of the sd between the levels of some rows; None for one row."""
        if len(rows) < 2:
            return None
        plain = self.draws(rows, n=_N_DRAWS, rng=rng)
        return draws_estimate(plain.std(axis=1, ddof=1).tolist(), self.unit, n=n)

    def chance(self, low: float | None, high: float | None) -> Floats:
        """Return the chance that each level lies from low to high [unit], None = open."""
        ends = [self.window[0] if low is None else low, self.window[1] if high is None else high]
        if self.scale == "plain" and self.piled:
            return piled_chance(self.mean, self.sd, band=(ends[0], ends[1]), window=self.window)
        if self.scale == "plain":
            return chance_within(self.mean, self.sd, band=(ends[0], ends[1]), window=self.window)
        logs = [float(np.log(max(end, 1e-12))) for end in ends]
        return chance_within(self.mean, self.sd, band=(logs[0], logs[1]), window=(-50.0, 50.0))

    def _near_an_end(self, weights: Floats) -> bool:
        """Return whether an end of the scale bears on any level with a weight."""
        rows = np.flatnonzero(weights)
        if not self.piled or not len(rows):
            return False
        reach = _NEAR_SDS * self.sd[rows]
        low, high = self.window
        return bool(((self.mean[rows] - reach < low) | (self.mean[rows] + reach > high)).any())

    def _mean_draws(self, weights: Floats) -> Floats:
        rows = np.flatnonzero(weights)
        return self.draws(rows, n=_N_DRAWS, rng=np.random.default_rng(_SEED)) @ weights[rows]


def lognormal_estimate(
    log_mean: float, log_sd: float, unit: str, *, n: int, basis: Basis
) -> Estimate:
    """Return the estimate of a log-normal belief: median, sd and central 90 % interval."""
    median = float(np.exp(log_mean))
    sd = median * float(np.exp(log_sd**2 / 2) * np.sqrt(np.expm1(log_sd**2)))
    low, high = (float(np.exp(log_mean + z * log_sd)) for z in (-Z90, Z90))
    return Estimate(median, unit, sd, low, high, 0.9, n, basis)
