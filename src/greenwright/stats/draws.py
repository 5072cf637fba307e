"""Draws from a joint normal belief: the same generator gives the same draws."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput


def normal_draws(
    mean: ArrayLike, cov: ArrayLike, *, n: int, rng: np.random.Generator
) -> NDArray[np.float64]:
    """Return n draws (n, k) from N(mean, cov).

    Args:
        mean: (k,) [unit].
        cov: (k, k) [unit squared], positive semi-definite up to rounding.
        rng: source of chance; the result is a function of it and the arguments alone.

    Raises:
        BadInput: shapes disagree, or cov has a clearly negative direction.

    >>> normal_draws([1.0], [[0.0]], n=2, rng=np.random.default_rng(1)).tolist()
    [[1.0], [1.0]]
    """
    centre, spread = np.asarray(mean, dtype=float), np.asarray(cov, dtype=float)
    if spread.shape != (len(centre), len(centre)):
        raise BadInput(f"covariance has shape {spread.shape} for {len(centre)} means")
    values, vectors = np.linalg.eigh((spread + spread.T) / 2)
    floor = -1e-8 * max(float(np.abs(values).max(initial=0.0)), 1e-12)
    if len(values) and values[0] < floor:
        raise BadInput("covariance is not positive semi-definite")
    # A fixed sign makes the draws free of the linear-algebra library's arbitrary choice.
    signs = np.where(vectors[np.abs(vectors).argmax(axis=0), np.arange(len(values))] < 0, -1, 1)
    root = vectors * signs * np.sqrt(np.clip(values, 0, None))
    return centre + rng.standard_normal((n, len(centre))) @ root.T
