"""Who said it: how much of what is known about a mean each observation brought."""

from __future__ import annotations

import numpy as np

from greenwright.stats.layout import Floats, Stack
from greenwright.stats.marginal import Conditioned, shared_cov
from greenwright.stats.pooling import PooledFit, one_blas_thread
from greenwright.stats.sites import left_out


def credited(fit: PooledFit, day: float, weights: Floats) -> Floats:
    """Return (n,) how much each observation lowers the variance of a weighted mean [unit^2].

    The prior variance of the mean less the sum of all is the variance left, at the best
    hyper-parameters. With k the covariance of mean and observations and C that of the
    observations, observation i brings k_i (C^-1 k)_i: an even split between observations that
    say the same. One that only helps to read others (a rater's shift) may bring less than 0.

    Args:
        fit: a fitted pooled model.
        day: of the mean [days, the origin of the observations].
        weights: (n_units,) of the units, sum 1.
    """
    layout, at = fit.layout, fit.mixture.at[0]
    rows, counts = np.zeros(_rows(fit)), np.bincount(layout.place, minlength=_rows(fit))
    with one_blas_thread():
        sides = [_with_mean(fit, at, piece.stack, day=day, weights=weights) for piece in at.solved]
        pulled = np.zeros(layout.width)
        for piece, side in zip(at.solved, sides, strict=True):
            pulled += np.einsum("bni,bn->i", piece.weighted, side)
        for piece, side in zip(at.solved, sides, strict=True):
            gain = (piece.inverse @ side[:, :, None])[:, :, 0] - piece.weighted @ (at.cov @ pulled)
            real = piece.stack.real > 0
            rows[piece.stack.row[real]] = (gain * side)[real]
    return (rows / np.maximum(counts, 1))[layout.place]


def surprises(fit: PooledFit) -> Floats:
    """Return (n,) how many sds each observation lies from what the others say of it.

    Observations alike share the number of their mean.
    """
    pull, precision = left_out(fit.layout, fit.mixture.at[0])
    return (pull / np.sqrt(precision))[fit.layout.place]


def _rows(fit: PooledFit) -> int:
    return sum(int(stack.real.sum()) for stack in fit.layout.stacks)


def _with_mean(
    fit: PooledFit, at: Conditioned, stack: Stack, *, day: float, weights: Floats
) -> Floats:
    """Return the covariance (b, n) of a stack's observations with the mean."""
    gap, hyper = np.abs(stack.day - day), at.hyper
    process = hyper["unit_day_sd"] ** 2 * np.exp(-gap / hyper["unit_correlation"])
    own = weights[stack.unit][:, None] * (hyper["unit_sd"] ** 2 + process)
    shared = float(weights.sum()) * (fit.prior.level_sd**2 + shared_cov(gap, hyper))
    return (shared + own) * stack.real
