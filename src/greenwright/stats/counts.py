"""Counts in time: overdispersed regression with serial correlation. It brings scipy with it.

count_i ~ negative binomial, mean m_i = exposure_i exp(x_i b + z_i), variance m + w m^2;
z a stationary process with sd s and correlation exp(-gap / memory); b normal. Given (w, s,
memory) the joint mode of b and z is found by Newton steps on a banded system and integrated by
Laplace's method; the three are summed over a grid with their posterior weights.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.special import gammaln

from greenwright.base.errors import BadInput
from greenwright.stats.normal import normal_area

Floats = NDArray[np.float64]
Triple = tuple[float, float, float]

GRID_WEIGHTS: Triple = (0.3, 0.4, 0.3)
"""Prior weights of the low, middle and high value of each of the three grid numbers."""

_NEWTON_STEPS = 40
_TINY = 1e-8
_SETTLED = 1e-7
_FAR_STEP = 3.0


@dataclass(frozen=True, slots=True)
class Counts:
    """What was counted.

    Args:
        count: (n,) whole numbers from zero.
        exposure: (n,) above zero; the mean count is proportional to it.
        time: (n,) strictly increasing.
        design: (n, p) covariates; a column of ones for the level.
        unseen: (n,) chance that the interval would be missing from the data had its count been
            zero: 0 for intervals counted whatever came, 1 where only something makes a row.
        extra: (n,) overdispersion known to be added in the interval, as by an unsure covariate.
    """

    count: Floats
    exposure: Floats
    time: Floats
    design: Floats
    unseen: Floats = field(default_factory=lambda: np.zeros(1))
    extra: Floats = field(default_factory=lambda: np.zeros(1))

    def __post_init__(self) -> None:
        n = len(self.count)
        if self.design.ndim != 2 or not len(self.exposure) == len(self.time) == n:
            raise BadInput("counts, exposures, times and design differ in length", where="counts")
        if len(self.design) != n or not (np.all(self.exposure > 0) and np.all(self.count >= 0)):
            raise BadInput("counts need exposures above zero, none negative", where="counts")
        if n > 1 and not np.all(np.diff(self.time) > 0):
            raise BadInput("times of counts must increase, each once", where="counts")


@dataclass(frozen=True, slots=True)
class CountPrior:
    """What is believed before: normal coefficients, and low, middle, high of the grid.

    Args:
        mean, sd: (p,) of independent coefficients.
        overdispersion: w, above zero.
        wander_sd: s [log rate], above zero.
        memory: [unit of time], above zero.
    """

    mean: Floats
    sd: Floats
    overdispersion: Triple
    wander_sd: Triple
    memory: Triple


@dataclass(frozen=True, slots=True)
class CountFit:
    """A mixture of normals for the coefficients, one for each point of the grid.

    Args:
        weights: (m,) summing to one.
        means: (m, p). covs: (m, p, p).
        overdispersion, wander_sd, memory: (m,).
    """

    weights: Floats
    means: Floats
    covs: Floats
    overdispersion: Floats
    wander_sd: Floats
    memory: Floats

    @property
    def mean(self) -> Floats:
        """Posterior mean of the coefficients (p,)."""
        return self.weights @ self.means

    @property
    def cov(self) -> Floats:
        """Posterior covariance of the coefficients (p, p)."""
        off = self.means - self.mean
        within = np.einsum("m,mij->ij", self.weights, self.covs)
        return within + np.einsum("m,mi,mj->ij", self.weights, off, off)


@dataclass(frozen=True, slots=True)
class CountDraws:
    """Draws from a fit: coefficients (n, p), overdispersion and wander sd (n,)."""

    coefficients: Floats
    overdispersion: Floats
    wander_sd: Floats


@dataclass(frozen=True, slots=True)
class _Mode:
    wander: Floats
    coefficients: Floats
    cov: Floats
    evidence: float


def fit_counts(counts: Counts, prior: CountPrior) -> CountFit:
    """Return what the counts say of the coefficients.

    Args:
        counts: n >= 0 intervals.
        prior: of the coefficients and the grid.

    Raises:
        BadInput: the prior has another number of coefficients than the design.

    Valid for: rates that change with the covariates on the log scale. Few counts leave the
    prior almost alone; the fit never needs a count above zero.
    """
    if counts.design.shape[1] != len(prior.mean):
        raise BadInput("prior and design differ in the number of coefficients", where="counts")
    grid = np.array(
        list(itertools.product(prior.overdispersion, prior.wander_sd, prior.memory)), dtype=float
    )
    before = [np.prod(three) for three in itertools.product(GRID_WEIGHTS, repeat=3)]
    if not len(counts.count):
        mean, cov = np.asarray(prior.mean, dtype=float), np.diag(np.square(prior.sd))
        return _fit(
            np.array(before), np.tile(mean, (len(grid), 1)), np.array([cov] * len(grid)), grid
        )
    modes = _modes(counts, prior, grid)
    log_weight = np.log(before) + [mode.evidence for mode in modes]
    return _fit(
        np.exp(log_weight - log_weight.max()),
        np.array([mode.coefficients for mode in modes]),
        np.array([mode.cov for mode in modes]),
        grid,
    )


def _fit(weights: Floats, means: Floats, covs: Floats, grid: Floats) -> CountFit:
    return CountFit(weights / weights.sum(), means, covs, *grid.T)


def count_draws(fit: CountFit, *, n: int, rng: np.random.Generator) -> CountDraws:
    """Return n equally likely draws from a fit."""
    which = np.sort(rng.choice(len(fit.weights), size=n, p=fit.weights))
    roots = np.linalg.cholesky(fit.covs + 1e-14 * np.eye(fit.means.shape[1]))
    noise = rng.standard_normal((n, fit.means.shape[1]))
    coefficients = fit.means[which] + np.einsum("nij,nj->ni", roots[which], noise)
    return CountDraws(coefficients, fit.overdispersion[which], fit.wander_sd[which])


def chance_positive(fit: CountFit, column: int) -> float:
    """Return the posterior chance that one coefficient is above zero."""
    sds = np.sqrt(fit.covs[:, column, column])
    return float(fit.weights @ normal_area(fit.means[:, column] / sds))


def _modes(counts: Counts, prior: CountPrior, grid: Floats) -> list[_Mode]:
    modes: list[_Mode] = []
    wander, coefficients = np.zeros(len(counts.count)), np.asarray(prior.mean, dtype=float)
    for overdispersion, sd, memory in grid:
        model = _model(counts, prior, (overdispersion, sd, memory))
        modes.append(model.mode(wander, coefficients))
        wander, coefficients = modes[-1].wander, modes[-1].coefficients
    return modes


@dataclass(frozen=True, slots=True)
class _Model:
    """The penalised likelihood at one point of the grid."""

    counts: Counts
    start: Floats
    precision: Floats
    excess: Floats
    unseen: Floats
    band: Floats
    constant: float

    def mode(self, wander: Floats, coefficients: Floats) -> _Mode:
        """Climb by Newton steps, halved while they do not climb; integrate around the top."""
        height = self.height(wander, coefficients)
        for _ in range(_NEWTON_STEPS):
            step_z, step_b, _, _ = self.step(wander, coefficients)
            size = min(1.0, _FAR_STEP / max(_widest(step_z), _widest(step_b), _TINY))
            while size > 1e-6:
                tried = wander + size * step_z, coefficients + size * step_b
                higher = self.height(*tried)
                if higher >= height:
                    break
                size /= 2
            else:
                break
            gained, height = higher - height, higher
            wander, coefficients = tried
            if gained < _SETTLED:
                break
        _, _, cov, log_det = self.step(wander, coefficients)
        return _Mode(wander, coefficients, cov, height + self.constant - log_det / 2)

    def height(self, wander: Floats, coefficients: Floats) -> float:
        """Return log likelihood plus log priors, without what does not depend on the point."""
        m = self.mean(wander, coefficients)
        log_zero = -np.log1p(self.excess * m) / self.excess
        likelihood = self.counts.count * np.log(m * self.excess / (1 + self.excess * m))
        likelihood += log_zero - np.log(-np.expm1(np.log(self.unseen + 1e-300) + log_zero))
        off = coefficients - self.start
        penalty = wander @ _times(self.band, wander) + off @ (self.precision * off)
        return float(likelihood.sum()) - float(penalty) / 2

    def mean(self, wander: Floats, coefficients: Floats) -> Floats:
        rate = np.clip(self.counts.design @ coefficients + wander, -40, 40)
        return self.counts.exposure * np.exp(rate)

    def step(self, wander: Floats, coefficients: Floats) -> tuple[Floats, Floats, Floats, float]:
        """Return the Newton step, the covariance of the coefficients and the log determinant."""
        x = self.counts.design
        slope, bend = self.slope_and_bend(wander, coefficients)
        down_z = slope - _times(self.band, wander)
        down_b = x.T @ slope - self.precision * (coefficients - self.start)
        band = self.band.copy()
        band[0] += bend
        root = cholesky_banded(band, lower=True, check_finite=False)
        crossed = bend[:, None] * x
        solved = cho_solve_banded(
            (root, True), np.column_stack([down_z, crossed]), check_finite=False
        )
        left = x.T @ crossed + np.diag(self.precision) - crossed.T @ solved[:, 1:]
        cov = np.linalg.inv((left + left.T) / 2)
        step_b = cov @ (down_b - crossed.T @ solved[:, 0])
        log_det = 2 * float(np.log(root[0]).sum()) - float(np.linalg.slogdet(cov)[1])
        return solved[:, 0] - solved[:, 1:] @ step_b, step_b, (cov + cov.T) / 2, log_det

    def slope_and_bend(self, wander: Floats, coefficients: Floats) -> tuple[Floats, Floats]:
        """Return the first and minus the second derivative by the log mean, interval by interval.

        An interval that would be unseen at zero is conditioned on being seen: its likelihood is
        divided by 1 - unseen * P(0).
        """
        y, w, m = self.counts.count, self.excess, self.mean(wander, coefficients)
        h = m / (1 + w * m)
        zero = self.unseen * (1 + w * m) ** (-1 / w)
        q = zero / np.maximum(1 - zero, 1e-300)
        slope = (y - m) / (1 + w * m) - h * q
        bend = m * (1 + w * y) / (1 + w * m) ** 2 + q * (h / (1 + w * m) - h * h * (1 + q))
        return slope, np.maximum(bend, _TINY)


def _model(counts: Counts, prior: CountPrior, point: Triple) -> _Model:
    overdispersion, sd, memory = point
    n = len(counts.count)
    excess = np.broadcast_to(overdispersion + counts.extra, n)
    unseen = np.broadcast_to(counts.unseen, n)
    band, log_det = _process_precision(counts.time, sd, memory)
    shape = 1 / excess
    combinations = gammaln(counts.count + shape) - gammaln(shape) - gammaln(counts.count + 1)
    precision = 1 / np.asarray(prior.sd, dtype=float) ** 2
    constant = float(combinations.sum()) + log_det / 2 + float(np.log(precision).sum()) / 2
    start = np.asarray(prior.mean, dtype=float)
    return _Model(counts, start, precision, excess, unseen, band, constant)


def _process_precision(time: Floats, sd: float, memory: float) -> tuple[Floats, float]:
    """Return diagonal and sub-diagonal (2, n) of the inverse covariance, and its log det."""
    n = len(time)
    keep = np.exp(-np.diff(time) / memory)
    fresh = sd**2 * np.concatenate([[1.0], 1 - keep**2])
    band = np.zeros((2, n))
    band[0] = 1 / fresh
    band[0, :-1] += keep**2 / fresh[1:]
    band[1, :-1] = -keep / fresh[1:]
    return band, -float(np.log(fresh).sum())


def _times(band: Floats, vector: Floats) -> Floats:
    product = band[0] * vector
    product[1:] += band[1, :-1] * vector[:-1]
    product[:-1] += band[1, :-1] * vector[1:]
    return product


def _widest(step: Floats) -> float:
    return float(np.abs(step).max(initial=0.0))
