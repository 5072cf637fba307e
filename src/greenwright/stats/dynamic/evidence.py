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

from greenwright.stats.dynamic.kernels import at_once, responded, worth
from greenwright.stats.dynamic.layout import Batch, Layout
from greenwright.stats.dynamic.model import DynamicModel, Floats, Ints, Term
from greenwright.stats.dynamic.periods import (
    Block,
    Chunked,
    Period,
    Rows,
    inverted,
    period_at,
    unchanged,
)
from greenwright.stats.dynamic.wander import Chain, chain

_FLOOR = 1e-12


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
class Conditioned:
    """The model conditioned on the readings at one value of the hyper-parameters.

    Args:
        hyper: by name.
        log_likelihood: of the readings.
        columns: of the terms.
        periods: sums of each.
        shared: prior precision of the shared process on the grid.
        own: prior precision of a unit's process at the knots; None without knots.
        mean, cov: of the border, mean with the prior's centre added.
        blocks: one a period.
    """

    hyper: Mapping[str, float]
    log_likelihood: float
    columns: Columns
    periods: tuple[Period, ...]
    shared: Chain
    own: Chain | None
    mean: Floats
    cov: Floats
    blocks: tuple[Block, ...]

    @property
    def chunks(self) -> tuple[Chunked, ...]:
        """Return all batches."""
        return tuple(one for period in self.periods for one in period.chunks)


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


def condition(
    layout: Layout, hyper: Mapping[str, float], *, known: Conditioned | None = None
) -> Conditioned:
    """Return the model conditioned on the readings at given hyper-parameters.

    Args:
        layout: of the readings.
        hyper: by name.
        known: of fewer readings; its periods that have not changed are taken over, if it stands
            at the same hyper-parameters.
    """
    columns = columns_of(layout.model, layout, hyper)
    shared, own, system, log_prior = _prior(layout, hyper)
    fixed = np.hstack([layout.still, columns.rows])
    residual = layout.rows.value - fixed @ layout.centre
    rows = Rows(fixed, residual, noise_variance(layout, hyper))
    old = known.periods if known is not None and dict(known.hyper) == dict(hyper) else ()
    right, periods = np.zeros(layout.border.width), []
    for place, near in enumerate(layout.near):
        kept = unchanged(old[place], layout, place, rows) if place < len(old) else None
        one = kept or period_at(layout, place, hyper, rows=rows, shared=shared)
        system[np.ix_(near, near)] += one.system
        right[near] += one.right
        periods.append(one)
    cov, log_det = inverted(system)
    mean = cov @ right
    log_det += sum(one.log_det for one in periods) - log_prior
    fit = sum(one.fit for one in periods) - float(right @ mean)
    value = -0.5 * (fit + log_det + len(layout.rows) * np.log(2 * np.pi))
    blocks = [replace(b, mean=b.mean - b.lever @ mean[b.near]) for b in (p.block for p in periods)]
    mean[: layout.border.fixed] += layout.centre
    return Conditioned(
        hyper=hyper,
        log_likelihood=value + _within(layout, hyper["noise_sd"]),
        columns=columns,
        periods=tuple(periods),
        shared=shared,
        own=own,
        mean=mean,
        cov=cov,
        blocks=tuple(blocks),
    )


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


def _within(layout: Layout, noise: float) -> float:
    """Return the log density of the spread of single readings within their sets."""
    free, squares = float(layout.rows.free.sum()), float(layout.rows.squares.sum())
    return -free * float(np.log(noise)) - squares / (2 * noise**2)
