"""Log marginal likelihood of the dynamic model: everything but hyper-parameters integrated out.

    y = fixed part + unit's own part + shared process + unit's process + noise

A unit's process within a period, given its knots, is part of the readings' covariance, chunk by
chunk. The shared process is a block a period with a tridiagonal prior precision, taken out of
the border by its Cholesky factor. What is left is one positive definite system as wide as the
border. Costs grow linearly with the number of periods but for that system.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import cho_solve, solve_triangular
from scipy.linalg.lapack import dpotrf, dpotri

from greenwright.stats.dynamic.kernels import at_once, responded, worth
from greenwright.stats.dynamic.layout import Batch, Border, Layout
from greenwright.stats.dynamic.model import DynamicModel, Floats, Ints, Term
from greenwright.stats.dynamic.wander import Bridge, Chain, bridge, chain

_FLOOR = 1e-12
Pair = tuple[Floats, Floats]


@dataclass(frozen=True, slots=True)
class Columns:
    """The terms' columns at one value of the hyper-parameters.

    Args:
        whole: by term, (units, days): what past and present doses are worth.
        rows: (n, terms) at the readings.
        slopes: (term, hyper-parameter) -> (n,) slope of its column by the log hyper.
    """

    whole: tuple[Floats, ...]
    rows: Floats
    slopes: Mapping[tuple[int, str], Floats]


@dataclass(frozen=True, slots=True)
class Chunked:
    """A batch at one value of the hyper-parameters.

    Args:
        batch: its layout.
        bridge: the units' process between knots.
        design: (b, n, fixed + local) columns of the border it loads on.
        inverse: (b, n, n) of the covariance of readings given border and shared process.
        weighted: inverse x design.
        pull: (b, n) inverse x residual.
        log_det: sum over chunks.
    """

    batch: Batch
    bridge: Bridge
    design: Floats
    inverse: Floats
    weighted: Floats
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
class Conditioned:
    """The model conditioned on the readings at one value of the hyper-parameters.

    Args:
        hyper: by name.
        log_likelihood: of the readings.
        columns: of the terms.
        chunks: all batches.
        shared: prior precision of the shared process on the grid.
        own: prior precision of a unit's process at the knots; None without knots.
        mean, cov: of the border, mean with the prior's centre added.
        blocks: one a period.
    """

    hyper: Mapping[str, float]
    log_likelihood: float
    columns: Columns
    chunks: tuple[Chunked, ...]
    shared: Chain
    own: Chain | None
    mean: Floats
    cov: Floats
    blocks: tuple[Block, ...]


def columns_of(model: DynamicModel, layout: Layout, hyper: Mapping[str, float]) -> Columns:
    """Return the terms' columns, whole and at the readings, with their slopes."""
    whole, rows, slopes = [], np.zeros((len(layout.rows), len(model.terms))), {}
    unit, day = layout.rows.unit, layout.rows.day
    for k, term in enumerate(model.terms):
        felt, by = _felt(term, hyper)
        now, by_now = _now(term, hyper)
        whole.append(felt)
        rows[:, k] = felt[unit, day] - layout.rows.before * now[unit, day]
        for name, slope in by.items():
            off = layout.rows.before * by_now[name][unit, day] if name in by_now else 0.0
            slopes[k, name] = slope[unit, day] - off
    return Columns(tuple(whole), rows, slopes)


def condition(layout: Layout, hyper: Mapping[str, float]) -> Conditioned:
    """Return the model conditioned on the readings at given hyper-parameters."""
    columns = columns_of(layout.model, layout, hyper)
    shared, own, prior, log_prior = _prior(layout, hyper)
    fixed = np.hstack([layout.still, columns.rows])
    residual = layout.rows.value - fixed @ layout.centre
    left = residual, noise_variance(layout, hyper)
    chunks = tuple(_chunk(layout, b, hyper, fixed=fixed, left=left) for b in layout.batches)
    system, right = prior, np.zeros(layout.border.width)
    fit = log_det = 0.0
    for one in chunks:
        _add_chunk(system, right, one, residual=residual, border=layout.border)
        fit += float(np.vdot(one.pull, residual[one.batch.row] * one.batch.real))
        log_det += one.log_det
    blocks, more = _eliminate(layout, chunks, shared, system=system, right=right)
    log_det += more[0]
    fit -= more[1]
    cov, log_border = inverted(system)
    mean = cov @ right
    fit -= float(right @ mean)
    count = len(layout.rows) * np.log(2 * np.pi)
    value = -0.5 * (fit + log_det + log_border - log_prior + count)
    value += _within(layout, hyper["noise_sd"])
    solved = tuple(replace(b, mean=b.mean - b.lever @ mean[b.near]) for b in blocks)
    centred = mean.copy()
    centred[: layout.border.fixed] += layout.centre
    return Conditioned(hyper, value, columns, chunks, shared, own, centred, cov, solved)


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


def left_over(layout: Layout, one: Chunked, at: Conditioned) -> Floats:
    """Return (b, n) inverse covariance of a batch's readings x what their means leave of them."""
    batch, border = one.batch, layout.border
    shift = at.mean[places_of(layout, batch)]
    shift[:, : border.fixed] -= layout.centre
    shared = at.blocks[batch.period].mean[batch.when] * batch.real
    explained = one.weighted @ shift[:, :, None] + one.inverse @ shared[:, :, None]
    return one.pull - explained[:, :, 0]


def places_of(layout: Layout, batch: Batch) -> Ints:
    """Return (b, fixed + local) places in the border that a batch loads on."""
    fixed = np.arange(layout.border.fixed)
    return np.hstack([np.broadcast_to(fixed, (len(batch.unit), len(fixed))), batch.local])


def noise_variance(layout: Layout, hyper: Mapping[str, float]) -> Floats:
    """Return each reading's noise variance: single readings, set, known part."""
    rows = layout.rows
    own = hyper["noise_sd"] ** 2 / rows.count + hyper["set_sd"] ** 2
    return rows.settled * own + rows.variance + _FLOOR


def _felt(term: Term, hyper: Mapping[str, float]) -> tuple[Floats, dict[str, Floats]]:
    if term.again is None:
        return responded(term.kernel, term.dose, hyper)
    dose, slope = worth(term.dose, hyper[term.again])
    felt, by = responded(term.kernel, dose, hyper)
    return felt, by | {term.again: responded(term.kernel, slope, hyper)[0]}


def _now(term: Term, hyper: Mapping[str, float]) -> tuple[Floats, dict[str, Floats]]:
    """Return what the day's own dose adds on its day, and its slopes."""
    first, by = at_once(term.kernel, hyper)
    if term.again is None:
        return first * term.dose, {name: s * term.dose for name, s in by.items()}
    dose, slope = worth(term.dose, hyper[term.again])
    return first * dose, {n: s * dose for n, s in by.items()} | {term.again: first * slope}


def _prior(layout: Layout, hyper: Mapping[str, float]) -> tuple[Chain, Chain | None, Floats, float]:
    """Return both chains, the border's prior precision, and the log determinant of all."""
    model, border = layout.model, layout.border
    shared = chain(layout.grid, hyper["day_sd"], hyper["day_time"])
    system = np.zeros((border.width,) * 2)
    precision = 1 / layout.spread**2
    for group, (first, end) in zip(model.groups, border.groups, strict=True):
        precision[first:end] = hyper[f"group:{group.name}"] ** -2
    names = [f"apart:{model.terms[k].name}" for k in model.apart]
    local = np.array([hyper[n] for n in ("unit_sd", *names)]) ** -2.0
    system[np.arange(border.fixed), np.arange(border.fixed)] = precision
    knots = np.flatnonzero(layout.at_knot)
    at = border.fixed + np.arange(border.knots)
    system[at, at] = shared.diagonal[knots]
    for k in np.flatnonzero(np.diff(knots) == 1):
        system[at[k], at[k + 1]] = system[at[k + 1], at[k]] = shared.beside[knots[k]]
    own_block, own, log_own = _own_prior(layout, hyper, local)
    for unit in range(model.units):
        places = border.own(unit)
        system[np.ix_(places, places)] = own_block
    log_det = float(np.log(precision).sum()) + shared.log_det + model.units * log_own
    return shared, own, system, log_det


def _own_prior(
    layout: Layout, hyper: Mapping[str, float], local: Floats
) -> tuple[Floats, Chain | None, float]:
    block = np.zeros((layout.border.local,) * 2)
    np.fill_diagonal(block[: len(local), : len(local)], local)
    log_det = float(np.log(local).sum())
    if not layout.border.knots:
        return block, None, log_det
    own = chain(layout.knots, hyper["own_sd"], hyper["own_time"])
    tail = block[len(local) :, len(local) :]
    np.fill_diagonal(tail, own.diagonal)
    beside = np.arange(len(own.beside))
    tail[beside, beside + 1] = tail[beside + 1, beside] = own.beside
    return block, own, log_det + own.log_det


def _chunk(
    layout: Layout, batch: Batch, hyper: Mapping[str, float], *, fixed: Floats, left: Pair
) -> Chunked:
    residual, noise = left
    between = bridge(batch.day, layout.knots[batch.knots], hyper["own_time"])
    cov = hyper["own_sd"] ** 2 * between.left * batch.pair
    diagonal = np.arange(cov.shape[1])
    noise = noise[batch.row]
    cov[:, diagonal, diagonal] += np.where(batch.real > 0, noise, 1.0)
    inverse, log_det = _inverses(cov)
    design = _design(layout, batch, between, fixed)
    pull = (inverse @ (residual[batch.row] * batch.real)[:, :, None])[:, :, 0]
    return Chunked(batch, between, design, inverse, inverse @ design, pull, log_det)


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


def _add_chunk(
    system: Floats, right: Floats, one: Chunked, *, residual: Floats, border: Border
) -> None:
    fixed, local = border.fixed, one.batch.local
    shape = (-1, one.design.shape[2])
    flat, weighted = one.design.reshape(shape), one.weighted.reshape(shape)
    value = (residual[one.batch.row] * one.batch.real).ravel()
    system[:fixed, :fixed] += flat[:, :fixed].T @ weighted[:, :fixed]
    right[:fixed] += weighted[:, :fixed].T @ value
    own = one.design[:, :, fixed:].transpose(0, 2, 1)
    crossed = own @ one.weighted
    pulled = (own @ one.pull[:, :, None])[:, :, 0]
    # A unit is in a batch once, so no place is named twice and plain sums are right.
    system[local[:, :, None], local[:, None, :]] += crossed[:, :, fixed:]
    system[local, :fixed] += crossed[:, :, :fixed]
    system[:fixed, local] += crossed[:, :, :fixed].transpose(2, 0, 1)
    right[local] += pulled


def _eliminate(
    layout: Layout,
    chunks: tuple[Chunked, ...],
    shared: Chain,
    *,
    system: Floats,
    right: Floats,
) -> tuple[list[Block], tuple[float, float]]:
    """Take the shared process out of the border's system, period by period."""
    blocks, log_det, fit = [], 0.0, 0.0
    for period, (first, end) in enumerate(layout.blocks):
        mine = [c for c in chunks if c.batch.period == period]
        near = layout.near[period]
        own, cross, pull = _shared_block(layout, mine, shared, period=period)
        if end == first:
            blocks.append(Block(own, cross, pull, near))
            continue
        factor, bad = dpotrf(own, lower=1, clean=1)
        if bad:
            raise np.linalg.LinAlgError("the shared process has no positive definite precision")
        half = solve_triangular(factor, cross, lower=True, check_finite=False)
        mean = cho_solve((factor, True), pull, check_finite=False)
        system[np.ix_(near, near)] -= half.T @ half
        right[near] -= cross.T @ mean
        log_det += 2 * float(np.log(np.diagonal(factor)).sum())
        fit += float(pull @ mean)
        lever = solve_triangular(factor, half, lower=True, trans=1, check_finite=False)
        blocks.append(Block(_whole(factor), lever, mean, near))
    return blocks, (log_det, fit)


def _shared_block(
    layout: Layout, chunks: list[Chunked], shared: Chain, *, period: int
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


def _within(layout: Layout, noise: float) -> float:
    """Return the log density of the spread of single readings within their sets."""
    free, squares = float(layout.rows.free.sum()), float(layout.rows.squares.sum())
    return -free * float(np.log(noise)) - squares / (2 * noise**2)
