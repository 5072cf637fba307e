"""Log marginal likelihood of the pooled model in time, with its gradient.

y = level + unit + shared(t) + own(t) + rater + scale + spot + noise, all Gaussian; a rater's
shift may change once, with the late period; own is
a stationary process with correlation exp(-|gap| / correlation time), shared the sum of a
quick and a slow one of that kind.
The covariance of the data is block diagonal by unit plus a low-rank shared part, so each
evaluation costs an inverse per unit and one of the shared part (Woodbury identity). Units of
like size are worked out together.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from greenwright.stats.layout import Floats, Layout, Repeats, Stack

HYPERS: tuple[str, ...] = (
    "unit_sd",
    "day_sd",
    "unit_day_sd",
    "noise_sd",
    "rater_sd",
    "spot_sd",
    "day_correlation",
    "unit_correlation",
    "slow_sd",
    "slow_correlation",
)
"""Hyper-parameters in the order of a vector: sds [unit] and correlation times [days]."""

_JITTER = 1e-9
_FLOOR = 1e-12


@dataclass(frozen=True, slots=True)
class Solved:
    """A stack's own covariance inverted: (b, n, n), and that times design and residual."""

    stack: Stack
    own: Floats
    inverse: Floats
    weighted: Floats
    log_det: float


@dataclass(frozen=True, slots=True)
class Conditioned:
    """The model conditioned on the data at one value of the hyper-parameters.

    ``mean`` and ``cov`` are of the shared latent vector; ``prior_root`` is the Cholesky
    factor of its prior covariance; ``alpha`` holds for each stack (b, n) the inverse
    covariance times what the shared part leaves of the residual.
    """

    hyper: Mapping[str, float]
    log_likelihood: float
    solved: tuple[Solved, ...]
    alpha: tuple[Floats, ...]
    gram: Floats
    prior_root: Floats
    mean: Floats
    cov: Floats


def condition(layout: Layout, hyper: Mapping[str, float], *, level_sd: float) -> Conditioned:
    """Return the model conditioned on the data.

    Args:
        layout: of the observations.
        hyper: value of each of HYPERS.
        level_sd: prior sd of the level [unit].
    """
    root = _prior_root(layout, hyper, level_sd=level_sd)
    solved = tuple(_solve(stack, hyper) for stack in layout.stacks)
    gram, right = np.zeros((layout.width,) * 2), np.zeros(layout.width)
    for one in solved:
        weighted = one.weighted.reshape(-1, layout.width)
        gram += weighted.T @ one.stack.design.reshape(-1, layout.width)
        right += weighted.T @ one.stack.residual.ravel()
    inner, log_inner = _inverse(np.eye(layout.width) + root.T @ gram @ root)
    cov = root @ inner @ root.T
    mean = cov @ right
    fit = sum(_quadratic(one.stack.residual, one.inverse) for one in solved)
    log_det = log_inner + sum(one.log_det for one in solved)
    value = -0.5 * (fit - float(right @ mean) + log_det + layout.n * np.log(2 * np.pi))
    value += _within(layout.repeats, hyper["noise_sd"] ** 2)
    alpha = tuple(_times(s.inverse, s.stack.residual - s.stack.design @ mean) for s in solved)
    return Conditioned(hyper, value, solved, alpha, gram, root, mean, cov)


def gradient(layout: Layout, at: Conditioned) -> Floats:
    """Return the derivative of the log likelihood by the log of each of HYPERS."""
    by_name = dict.fromkeys(HYPERS, 0.0)
    for piece, alpha in zip(at.solved, at.alpha, strict=True):
        _add_own_slopes(by_name, piece, alpha, at)
    _add_shared_slopes(by_name, layout, at)
    noise = at.hyper["noise_sd"] ** 2
    by_name["noise_sd"] += noise * _within_slope(layout.repeats, noise)
    return np.array([by_name[name] for name in HYPERS])


def shared_cov(gap: Floats, hyper: Mapping[str, float]) -> Floats:
    """Return the covariance of the shared process over gaps [days]: quick + slow part."""
    quick = hyper["day_sd"] ** 2 * np.exp(-gap / hyper["day_correlation"])
    return quick + hyper["slow_sd"] ** 2 * np.exp(-gap / hyper["slow_correlation"])


def _prior_root(layout: Layout, hyper: Mapping[str, float], *, level_sd: float) -> Floats:
    days, raters = layout.slices["days"], layout.slices["raters"]
    cov = shared_cov(layout.gap, hyper)
    jitter = _JITTER * (hyper["day_sd"] ** 2 + hyper["slow_sd"] ** 2)
    root = np.zeros((layout.width, layout.width))
    np.fill_diagonal(root, level_sd)
    root[days, days] = np.linalg.cholesky(cov + jitter * np.eye(len(cov)))
    root[raters, raters] = hyper["rater_sd"] * np.eye(layout.n_raters)
    tail = np.concatenate([layout.scale_variance, layout.late_variance])
    root[raters.stop :, raters.stop :] = np.diag(np.sqrt(tail))
    return root


def _solve(stack: Stack, hyper: Mapping[str, float]) -> Solved:
    own = stack.pair * np.exp(-stack.gap / hyper["unit_correlation"])
    cov = hyper["unit_sd"] ** 2 * stack.pair + hyper["unit_day_sd"] ** 2 * own
    cov += hyper["spot_sd"] ** 2 * stack.same_spot
    noise = (stack.variance + hyper["noise_sd"] ** 2 * stack.noise) / stack.count + _FLOOR
    diagonal = np.arange(cov.shape[1])
    cov[:, diagonal, diagonal] += np.where(stack.real > 0, noise, 1.0)
    inverse, log_det = _inverse(cov)
    return Solved(stack, own, inverse, inverse @ stack.design, log_det)


def _inverse(matrix: Floats) -> tuple[Floats, float]:
    """Return inverses and the sum of log determinants of positive definite matrices."""
    factor = np.linalg.cholesky(matrix)
    diagonal = np.diagonal(factor, axis1=-2, axis2=-1)
    return np.linalg.inv(matrix), 2 * float(np.log(diagonal).sum())


def _times(matrices: Floats, vectors: Floats) -> Floats:
    return (matrices @ vectors[:, :, None])[:, :, 0]


def _quadratic(vectors: Floats, matrices: Floats) -> float:
    return float(np.vdot(vectors, _times(matrices, vectors)))


def _within(repeats: Repeats, noise: float) -> float:
    """Return the log density of the spread of observations alike about their means."""
    variance, free = repeats.variance + noise * repeats.noise, repeats.count - 1
    terms = free * np.log(variance) + repeats.squares / variance + np.log(repeats.count)
    return -0.5 * float(terms.sum())


def _within_slope(repeats: Repeats, noise: float) -> float:
    """Return the derivative of ``_within`` by the log of the noise sd, over the noise."""
    variance = repeats.variance + noise * repeats.noise
    terms = repeats.squares / variance**2 - (repeats.count - 1) / variance
    return float((repeats.noise * terms).sum())


def _add_own_slopes(
    by_name: dict[str, float], piece: Solved, alpha: Floats, at: Conditioned
) -> None:
    hyper, stack = at.hyper, piece.stack
    inner = alpha[:, :, None] * alpha[:, None, :] - piece.inverse
    inner += (piece.weighted @ at.cov) @ piece.weighted.transpose(0, 2, 1)
    process = inner * piece.own
    by_name["unit_sd"] += hyper["unit_sd"] ** 2 * float(np.vdot(inner, stack.pair))
    by_name["unit_day_sd"] += hyper["unit_day_sd"] ** 2 * float(process.sum())
    slope = hyper["unit_day_sd"] ** 2 / hyper["unit_correlation"] / 2
    by_name["unit_correlation"] += slope * float(np.vdot(process, stack.gap))
    by_name["spot_sd"] += hyper["spot_sd"] ** 2 * float(np.vdot(inner, stack.same_spot))
    noise = np.diagonal(inner, axis1=1, axis2=2) * stack.noise / stack.count
    by_name["noise_sd"] += hyper["noise_sd"] ** 2 * float(noise.sum())


def _add_shared_slopes(by_name: dict[str, float], layout: Layout, at: Conditioned) -> None:
    pull = np.zeros(layout.width)
    for piece, alpha in zip(at.solved, at.alpha, strict=True):
        pull += piece.stack.design.reshape(-1, layout.width).T @ alpha.ravel()
    inner = np.outer(pull, pull) - (at.gram - at.gram @ at.cov @ at.gram)
    days, raters = layout.slices["days"], layout.slices["raters"]
    for name in ("day", "slow"):
        variance, time = at.hyper[f"{name}_sd"] ** 2, at.hyper[f"{name}_correlation"]
        process = inner[days, days] * np.exp(-layout.gap / time)
        by_name[f"{name}_sd"] += variance * float(process.sum())
        slope = variance / time / 2
        by_name[f"{name}_correlation"] += slope * float(np.vdot(process, layout.gap))
    by_name["rater_sd"] += at.hyper["rater_sd"] ** 2 * float(np.trace(inner[raters, raters]))
