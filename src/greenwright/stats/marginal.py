"""Log marginal likelihood of the pooled model in time, with its gradient.

y = level + unit + shared(t) + own(t) + rater + scale + spot + noise, all Gaussian; own is
a stationary process with correlation exp(-|gap| / correlation time), shared the sum of a
quick and a slow one of that kind.
The covariance of the data is block diagonal by unit plus a low-rank shared part, so each
evaluation costs a Cholesky factor per unit and one of the shared part (Woodbury identity).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.linalg import block_diag
from scipy.linalg.lapack import dpotrf, dpotri

from greenwright.stats.layout import Block, Floats, Layout

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


@dataclass(frozen=True, slots=True)
class Solved:
    """One unit's block: its covariance's inverse and that times design and residual."""

    block: Block
    own: Floats
    inverse: Floats
    weighted: Floats
    alpha: Floats


@dataclass(frozen=True, slots=True)
class Conditioned:
    """The model conditioned on the data at one value of the hyper-parameters.

    ``mean`` and ``cov`` are of the shared latent vector; ``prior_root`` is the Cholesky
    factor of its prior covariance.
    """

    hyper: Mapping[str, float]
    log_likelihood: float
    solved: tuple[Solved, ...]
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
    pieces = [_solve(block, hyper) for block in layout.blocks]
    gram = sum((b.design.T @ w for (b, _, _, w, _) in pieces), np.zeros((layout.width,) * 2))
    right = sum((w.T @ b.residual for (b, _, _, w, _) in pieces), np.zeros(layout.width))
    inner, log_inner = _inverse(np.eye(layout.width) + root.T @ gram @ root)
    cov = root @ inner @ root.T
    mean = cov @ right
    solved = tuple(
        Solved(b, own, inv, w, inv @ (b.residual - b.design @ mean))
        for (b, own, inv, w, _) in pieces
    )
    fit = sum(float(b.residual @ inv @ b.residual) for (b, _, inv, _, _) in pieces)
    log_det = log_inner + sum(piece[4] for piece in pieces)
    value = -0.5 * (fit - float(right @ mean) + log_det + layout.n * np.log(2 * np.pi))
    return Conditioned(hyper, value, solved, gram, root, mean, cov)


def gradient(layout: Layout, at: Conditioned) -> Floats:
    """Return the derivative of the log likelihood by the log of each of HYPERS."""
    by_name = dict.fromkeys(HYPERS, 0.0)
    for piece in at.solved:
        _add_block_slopes(by_name, piece, at)
    _add_shared_slopes(by_name, layout, at)
    return np.array([by_name[name] for name in HYPERS])


def shared_cov(gap: Floats, hyper: Mapping[str, float]) -> Floats:
    """Return the covariance of the shared process over gaps [days]: quick + slow part."""
    quick = hyper["day_sd"] ** 2 * np.exp(-gap / hyper["day_correlation"])
    return quick + hyper["slow_sd"] ** 2 * np.exp(-gap / hyper["slow_correlation"])


def _prior_root(layout: Layout, hyper: Mapping[str, float], *, level_sd: float) -> Floats:
    days = len(layout.days)
    cov = shared_cov(layout.gap, hyper)
    jitter = _JITTER * (hyper["day_sd"] ** 2 + hyper["slow_sd"] ** 2) * np.eye(days)
    process = np.linalg.cholesky(cov + jitter) if days else np.zeros((0, 0))
    raters = np.full(layout.n_raters, hyper["rater_sd"])
    tail = np.diag(np.concatenate([raters, np.sqrt(layout.scale_variance)]))
    return block_diag(level_sd, process, tail)[: layout.width, : layout.width]


def _solve(block: Block, hyper: Mapping[str, float]) -> tuple[Block, Floats, Floats, Floats, float]:
    own = np.exp(-block.gap / hyper["unit_correlation"])
    cov = hyper["unit_sd"] ** 2 + hyper["unit_day_sd"] ** 2 * own
    cov += hyper["spot_sd"] ** 2 * block.same_spot
    diagonal = np.arange(len(block.day))
    cov[diagonal, diagonal] += block.variance + hyper["noise_sd"] ** 2 + 1e-12
    inverse, log_det = _inverse(cov)
    return block, own, inverse, inverse @ block.design, log_det


def _inverse(matrix: Floats) -> tuple[Floats, float]:
    """Return inverse and log determinant of a positive definite matrix."""
    factor, bad = dpotrf(matrix, lower=1, clean=1)
    if bad:
        raise np.linalg.LinAlgError("matrix is not positive definite")
    half, _ = dpotri(factor, lower=1)
    full = np.tril(half) + np.tril(half, -1).T
    return full, 2 * float(np.log(np.diag(factor)).sum())


def _add_block_slopes(by_name: dict[str, float], piece: Solved, at: Conditioned) -> None:
    hyper, own = at.hyper, piece.own
    inner = np.outer(piece.alpha, piece.alpha) - piece.inverse
    inner += piece.weighted @ at.cov @ piece.weighted.T
    process = inner * own
    by_name["unit_sd"] += hyper["unit_sd"] ** 2 * float(inner.sum())
    by_name["unit_day_sd"] += hyper["unit_day_sd"] ** 2 * float(process.sum())
    slope = hyper["unit_day_sd"] ** 2 / hyper["unit_correlation"] / 2
    by_name["unit_correlation"] += slope * float((process * piece.block.gap).sum())
    by_name["noise_sd"] += hyper["noise_sd"] ** 2 * float(np.trace(inner))
    by_name["spot_sd"] += hyper["spot_sd"] ** 2 * float((inner * piece.block.same_spot).sum())


def _add_shared_slopes(by_name: dict[str, float], layout: Layout, at: Conditioned) -> None:
    pull = sum((s.block.design.T @ s.alpha for s in at.solved), np.zeros(layout.width))
    inner = np.outer(pull, pull) - (at.gram - at.gram @ at.cov @ at.gram)
    days, raters = layout.slices["days"], layout.slices["raters"]
    for name in ("day", "slow"):
        variance, time = at.hyper[f"{name}_sd"] ** 2, at.hyper[f"{name}_correlation"]
        process = inner[days, days] * np.exp(-layout.gap / time)
        by_name[f"{name}_sd"] += variance * float(process.sum())
        slope = variance / time / 2
        by_name[f"{name}_correlation"] += slope * float((process * layout.gap).sum())
    by_name["rater_sd"] += at.hyper["rater_sd"] ** 2 * float(np.trace(inner[raters, raters]))
