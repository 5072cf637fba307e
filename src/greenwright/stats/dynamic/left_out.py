"""What all other rows say of each row: the level there, as if the row had not been written."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from greenwright.stats.dynamic.evidence import Conditioned, left_over, noise_variance
from greenwright.stats.dynamic.layout import Batch, Layout
from greenwright.stats.dynamic.model import Floats
from greenwright.stats.dynamic.slope import believed


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Mean and variance (n,) of the level that each row reads, given all other rows."""

    mean: Floats
    variance: Floats


@dataclass(frozen=True, slots=True)
class Weighed:
    """A batch's part of the inverse covariance Q of all rows, and of Q x what means leave of them.

    Args:
        batch: which.
        inner: (b, n, n) of Q, unit by unit.
        left: (b, n) of Q r.
    """

    batch: Batch
    inner: Floats
    left: Floats


def weighed(layout: Layout, at: Conditioned) -> tuple[Weighed, ...]:
    """Return the inverse covariance of all rows, batch by batch and unit by unit."""
    made = []
    for one in at.chunks:
        fitted, _ = believed(one, layout, at)
        inner = one.inverse - one.inverse @ fitted @ one.inverse
        made.append(Weighed(one.batch, inner, left_over(layout, one, at)))
    return tuple(made)


def left_out(
    layout: Layout, at: Conditioned, *, known: tuple[Weighed, ...] | None = None
) -> LeftOut:
    """Return the belief about each row's level without that row.

    With S the covariance of all rows and a = S^-1 (y - mean), the row's own value is
    predicted by the others as y_j - a_j / S^-1_jj, with variance 1 / S^-1_jj, its noise included.

    Args:
        layout, at: the model conditioned.
        known: the inverse covariance, where it is wanted for more; None = found here.
    """
    pull, precision = np.zeros(len(layout.rows)), np.ones(len(layout.rows))
    for one in known if known is not None else weighed(layout, at):
        real, row = one.batch.real > 0, one.batch.row
        precision[row[real]] = np.diagonal(one.inner, axis1=1, axis2=2)[real]
        pull[row[real]] = one.left[real]
    variance = 1 / precision
    spare = np.maximum(variance - noise_variance(layout, at.hyper), 1e-12)
    return LeftOut(layout.rows.value - pull * variance, spare)
