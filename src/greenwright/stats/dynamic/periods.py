"""One period of the record: its chunks, and what it says of the border once they are summed up.

Given hyper-parameters a period's sums depend on nothing outside it. So when a day is added to a
long record, all periods but the last are as they were.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import cho_solve, solve_triangular
from scipy.linalg.lapack import dpotrf, dpotri

from greenwright.stats.dynamic.layout import Batch, Layout
from greenwright.stats.dynamic.model import Floats, Ints
from greenwright.stats.dynamic.wander import Bridge, Chain, bridge


@dataclass(frozen=True, slots=True)
class Chunked:
    """A batch at one value of the hyper-parameters.

    Args:
        batch: its layout.
        bridge: the units' process between knots.
        design: (b, n, fixed + local) columns of the border it loads on.
        inverse: (b, n, n) of the covariance of readings given border and shared process.
        weighted: inverse x design.
        value, noise: (b, n) residual and noise variance.
        pull: (b, n) inverse x residual.
        log_det: sum over chunks.
    """

    batch: Batch
    bridge: Bridge
    design: Floats
    inverse: Floats
    weighted: Floats
    value: Floats
    noise: Floats
    pull: Floats
    log_det: float


@dataclass(frozen=True, slots=True)
class Block:
    """A period's shared process: its inverse precision, lever on the border, and mean.

    Args:
        near: places in the border that the lever is on; it is none on the others.
    """

    inverse: Floats
    lever: Floats
    mean: Floats
    near: Ints


@dataclass(frozen=True, slots=True)
class Rows:
    """What stands at the readings: (n, fixed) columns, residual, noise variance."""

    fixed: Floats
    residual: Floats
    noise: Floats


@dataclass(frozen=True, slots=True)
class Period:
    """A period's sums at one value of the hyper-parameters.

    Args:
        times: days of the shared process in it, the knots at its ends included.
        chunks: its batches.
        block: its shared process, mean as if the border were zero.
        system, right: (near, near) and (near,) what it adds to the border's system.
        log_det, fit: what it adds to the log determinant and to the sum of squares.
    """

    times: Floats
    chunks: tuple[Chunked, ...]
    block: Block
    system: Floats
    right: Floats
    log_det: float
    fit: float


def period_at(
    layout: Layout, place: int, hyper: Mapping[str, float], *, rows: Rows, shared: Chain
) -> Period:
    """Return the sums of one period."""
    batches = [b for b in layout.batches if b.period == place]
    chunks = tuple(_chunk(layout, b, hyper, rows) for b in batches)
    near = layout.near[place]
    system, right = np.zeros((len(near),) * 2), np.zeros(len(near))
    fit = log_det = 0.0
    for one in chunks:
        _add_chunk(system, right, one, layout=layout)
        fit += float(np.vdot(one.pull, one.value))
        log_det += one.log_det
    own, cross, pull = _shared_block(layout, chunks, shared, period=place)
    times = _times(layout, place)
    if not len(own):
        block = Block(own, cross, pull, near)
        return Period(times, chunks, block, system, right, log_det, fit)
    factor, bad = dpotrf(own, lower=1, clean=1)
    if bad:
        raise np.linalg.LinAlgError("the shared process has no positive definite precision")
    half = solve_triangular(factor, cross, lower=True, check_finite=False)
    mean = cho_solve((factor, True), pull, check_finite=False)
    log_det += 2 * float(np.log(np.diagonal(factor)).sum())
    lever = solve_triangular(factor, half, lower=True, trans=1, check_finite=False)
    block = Block(_whole(factor), lever, mean, near)
    system, right = system - half.T @ half, right - cross.T @ mean
    return Period(times, chunks, block, system, right, log_det, fit - float(pull @ mean))


def unchanged(known: Period, layout: Layout, place: int, rows: Rows) -> Period | None:
    """Return a period known at the same hyper-parameters if the layout has it still, else None."""
    batches = [b for b in layout.batches if b.period == place]
    if len(batches) != len(known.chunks) or not np.array_equal(
        known.block.near, layout.near[place]
    ):
        return None
    if not np.array_equal(known.times, _times(layout, place)):
        return None
    if not all(one.bridge.left.size for one in known.chunks):
        return None
    pairs = list(zip(known.chunks, batches, strict=True))
    if not all(_same(one, batch, layout, rows) for one, batch in pairs):
        return None
    return replace(known, chunks=tuple(replace(one, batch=batch) for one, batch in pairs))


def _same(one: Chunked, batch: Batch, layout: Layout, rows: Rows) -> bool:
    """Return whether a batch is what a chunk was made of; rows may have other numbers."""
    old, fixed, real = one.batch, layout.border.fixed, batch.real
    alike = np.array_equal(old.unit, batch.unit) and np.array_equal(old.day, batch.day)
    return (
        alike
        and np.array_equal(old.real, real)
        and np.array_equal(one.value, rows.residual[batch.row] * real)
        and np.array_equal(one.noise, rows.noise[batch.row])
        and np.array_equal(one.design[:, :, :fixed], rows.fixed[batch.row] * real[:, :, None])
    )


def _times(layout: Layout, place: int) -> Floats:
    first, end = layout.blocks[place]
    return layout.grid[max(first - 1, 0) : end + 1]


def inverted(matrix: Floats) -> tuple[Floats, float]:
    """Return the inverse and log determinant of a positive definite matrix."""
    if not len(matrix):
        return np.zeros((0, 0)), 0.0
    factor, bad = dpotrf(matrix, lower=1, clean=1)
    if bad:
        raise np.linalg.LinAlgError("a precision matrix is not positive definite")
    return _whole(factor), 2 * float(np.log(np.diagonal(factor)).sum())


def _whole(factor: Floats) -> Floats:
    """Return the inverse from a lower factor that is zero above."""
    half, _ = dpotri(factor, lower=1)
    whole = half + half.T
    np.fill_diagonal(whole, np.diagonal(half))
    return whole


def _chunk(layout: Layout, batch: Batch, hyper: Mapping[str, float], rows: Rows) -> Chunked:
    between = bridge(batch.day, layout.knots[batch.knots], hyper["own_time"])
    cov = hyper["own_sd"] ** 2 * between.left * batch.pair
    diagonal = np.arange(cov.shape[1])
    noise, value = rows.noise[batch.row], rows.residual[batch.row] * batch.real
    cov[:, diagonal, diagonal] += np.where(batch.real > 0, noise, 1.0)
    inverse, log_det = _inverses(cov)
    design = _design(layout, batch, between, rows.fixed)
    pull = (inverse @ value[:, :, None])[:, :, 0]
    weighted = inverse @ design
    return Chunked(batch, between, design, inverse, weighted, value, noise, pull, log_det)


def _inverses(cov: Floats) -> tuple[Floats, float]:
    if cov.shape[1] < 24:
        factor = np.linalg.cholesky(cov)
        diagonal = np.diagonal(factor, axis1=1, axis2=2)
        return np.linalg.inv(cov), 2 * float(np.log(diagonal).sum())
    parts = [inverted(one) for one in cov]
    return np.array([p[0] for p in parts]), sum(p[1] for p in parts)


def _design(layout: Layout, batch: Batch, between: Bridge, fixed: Floats) -> Floats:
    border = layout.border
    design = np.zeros((*batch.row.shape, border.fixed + batch.local.shape[1]))
    design[:, :, : border.fixed] = fixed[batch.row]
    design[:, :, border.fixed] = 1.0
    apart = border.terms + np.array(layout.model.apart, dtype=np.intp)
    first = border.fixed + 1
    design[:, :, first : first + border.apart] = fixed[:, apart][batch.row]
    design[:, :, first + border.apart :] = between.weights
    return design * batch.real[:, :, None]


def _add_chunk(system: Floats, right: Floats, one: Chunked, *, layout: Layout) -> None:
    fixed = layout.border.fixed
    local = np.searchsorted(layout.near[one.batch.period], one.batch.local)
    shape = (-1, one.design.shape[2])
    flat, weighted = one.design.reshape(shape), one.weighted.reshape(shape)
    system[:fixed, :fixed] += flat[:, :fixed].T @ weighted[:, :fixed]
    right[:fixed] += weighted[:, :fixed].T @ one.value.ravel()
    own = one.design[:, :, fixed:].transpose(0, 2, 1)
    crossed = own @ one.weighted
    pulled = (own @ one.pull[:, :, None])[:, :, 0]
    # A unit is in a batch once, so no place is named twice and plain sums are right.
    system[local[:, :, None], local[:, None, :]] += crossed[:, :, fixed:]
    system[local, :fixed] += crossed[:, :, :fixed]
    system[:fixed, local] += crossed[:, :, :fixed].transpose(2, 0, 1)
    right[local] += pulled


def _shared_block(
    layout: Layout, chunks: tuple[Chunked, ...], shared: Chain, *, period: int
) -> tuple[Floats, Floats, Floats]:
    """Return the block's precision, its cross part with the border near it, and its pull."""
    first, end = layout.blocks[period]
    days, border, near = end - first, layout.border, layout.near[period]
    own = np.zeros(days * days)
    cross, pull = np.zeros((days, len(near))), np.zeros(days)
    for one in chunks:
        batch = one.batch
        kept = (one.inverse * batch.pair).ravel()
        own += np.bincount(batch.cell.ravel(), kept, minlength=days * days)
        flat = one.weighted.reshape(-1, one.weighted.shape[2])
        cross[:, : border.fixed] += batch.to_day @ flat[:, : border.fixed]
        units = batch.to_unit_day.shape[0] // days
        spread = (batch.to_unit_day @ flat[:, border.fixed :]).reshape(days, units, -1)
        picked = spread[:, batch.unit].reshape(days, -1)
        cross[:, np.searchsorted(near, batch.local.ravel())] += picked
        pull += batch.to_day @ one.pull.ravel()
    square = own.reshape(days, days)
    return (*_with_chain(layout, shared, period=period, own=square, cross=cross), pull)


def _with_chain(
    layout: Layout, shared: Chain, *, period: int, own: Floats, cross: Floats
) -> tuple[Floats, Floats]:
    """Add the prior of the shared process, its ties to the knots included."""
    first, end = layout.blocks[period]
    at = np.arange(end - first)
    own[at, at] += shared.diagonal[first:end]
    beside = shared.beside[first : end - 1] if end > first else np.zeros(0)
    own[at[:-1], at[1:]] += beside
    own[at[1:], at[:-1]] += beside
    knot = layout.border.fixed + np.cumsum(layout.at_knot) - 1
    places = np.searchsorted(layout.near[period], knot)
    if end > first and first > 0:
        cross[0, places[first - 1]] += shared.beside[first - 1]
    if end > first and end < len(layout.grid):
        cross[-1, places[end]] += shared.beside[end - 1]
    return own, cross
