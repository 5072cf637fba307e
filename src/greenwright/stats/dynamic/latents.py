"""The joint belief about border, shared process and units' processes at any units and days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from greenwright.stats.dynamic.evidence import Chunked, Conditioned, left_over
from greenwright.stats.dynamic.layout import Layout, knots_of
from greenwright.stats.dynamic.model import Floats, Ints
from greenwright.stats.dynamic.wander import bridge, correlation


@dataclass(frozen=True, slots=True)
class Latents:
    """Border, then the shared process on the asked days, then the units' own at each query.

    Args:
        mean: (w,) posterior mean.
        lever: (w, border) how each depends on the border, given the rest of the readings.
        days: (w, free days of the grid) how each depends on what is left of the shared process.
        left: (w, w) covariance that neither explains.
        shared, own: (q,) places of each query's shared and own process.
        border_cov: (border, border); day_cov: (free days, free days).
    """

    mean: Floats
    lever: Floats
    days: Floats
    left: Floats
    shared: Ints
    own: Ints
    border_cov: Floats
    day_cov: Floats


def spread_of(found: Latents, loads: Floats) -> Floats:
    """Return the covariance of linear sums of the latents, ``loads`` (m, w)."""
    lever, days = loads @ found.lever, loads @ found.days
    # Few days of the grid are near the asked ones: the others' columns are all zero.
    near = np.flatnonzero(days.any(axis=0))
    days = days[:, near]
    cov = lever @ found.border_cov @ lever.T + days @ found.day_cov[np.ix_(near, near)] @ days.T
    return cov + loads @ found.left @ loads.T


def latents(layout: Layout, at: Conditioned, unit: Ints, day: Ints) -> Latents:
    """Return the joint belief at one point of the hyper-parameters."""
    border = layout.border.width
    asked, back = np.unique(day, return_inverse=True)
    grid_mean, grid_lever, day_cov = _grid(layout, at)
    width = border + len(asked) + len(unit)
    lever, left = np.zeros((width, border)), np.zeros((width, width))
    days, mean = np.zeros((width, len(layout.grid))), np.zeros(width)
    lever[np.arange(border), np.arange(border)] = 1.0
    mean[:border] = at.mean
    shared = slice(border, border + len(asked))
    weights, left[shared, shared] = _between(layout, at, asked.astype(float))
    mean[shared], lever[shared], days[shared] = weights @ grid_mean, weights @ grid_lever, weights
    own = border + len(asked) + np.arange(len(unit))
    for pair in np.unique(np.column_stack([unit, _period(layout, day)]), axis=0):
        mine = np.flatnonzero((unit == pair[0]) & (_period(layout, day) == pair[1]))
        found = _own(layout, at, pair, day[mine].astype(float))
        mean[own[mine]], lever[own[mine]], days[own[mine]] = found[:3]
        lever[own[mine]] += found[2] @ grid_lever
        left[np.ix_(own[mine], own[mine])] = found[3]
    free = layout.at_knot == 0
    return Latents(mean, lever, days[:, free], left, border + back.ravel(), own,
                   at.cov, day_cov)  # fmt: skip


def _period(layout: Layout, day: Ints) -> Ints:
    return np.searchsorted(layout.knots, day)


def _grid(layout: Layout, at: Conditioned) -> tuple[Floats, Floats, Floats]:
    """Return mean of the shared process on the grid, its lever on the border, and what is left."""
    size, border = len(layout.grid), layout.border
    mean, lever = np.zeros(size), np.zeros((size, border.width))
    left = np.zeros((size, size))
    for (first, end), block in zip(layout.blocks, at.blocks, strict=True):
        mean[first:end], lever[first:end, block.near] = block.mean, -block.lever
        left[first:end, first:end] = block.inverse
    knots = np.flatnonzero(layout.at_knot)
    places = border.fixed + np.arange(border.knots)
    mean[knots] = at.mean[places]
    lever[knots, places] = 1.0
    free = layout.at_knot == 0
    return mean, lever, left[np.ix_(free, free)]


def _between(layout: Layout, at: Conditioned, days: Floats) -> tuple[Floats, Floats]:
    """Return weights of the shared process on days over the grid, and covariance left."""
    weights = np.zeros((len(days), len(layout.grid)))
    left = np.zeros((len(days), len(days)))
    gap = np.searchsorted(layout.grid, days)
    for k in np.unique(gap):
        mine = np.flatnonzero(gap == k)
        ends = np.array([g for g in (k - 1, k) if 0 <= g < len(layout.grid)], dtype=np.intp)
        part = bridge(days[None, mine], layout.grid[ends], at.hyper["day_time"])
        weights[np.ix_(mine, ends)] = part.weights[0]
        left[np.ix_(mine, mine)] = at.hyper["day_sd"] ** 2 * part.left[0]
    return weights, left


def _own(
    layout: Layout, at: Conditioned, pair: Ints, days: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return mean, lever on the border and on the grid, and what is left, of one unit's process."""
    unit, period = int(pair[0]), int(pair[1])
    border, knots = layout.border, knots_of(period, layout.border.knots)
    time, variance = at.hyper["own_time"], at.hyper["own_sd"] ** 2
    part = bridge(days[None, :], layout.knots[knots], time)
    lever, grid = np.zeros((len(days), border.width)), np.zeros((len(days), len(layout.grid)))
    places = border.own(unit)[1 + border.apart + knots]
    lever[:, places] = part.weights[0]
    mean, left = part.weights[0] @ at.mean[places], variance * part.left[0]
    found = _chunk_of(at, unit, period)
    if found is None:
        return mean, lever, grid, left
    one, k = found
    batch, real = one.batch, one.batch.real[k] > 0
    read = batch.day[k, real]
    cross = correlation(days, read, time)
    if len(knots):
        cross -= part.weights[0] @ correlation(layout.knots[knots], read, time)
    gain = variance * cross @ one.inverse[k][np.ix_(real, real)]
    design = one.design[k, real]
    local = np.concatenate([np.arange(border.fixed), batch.local[k]])
    first = layout.blocks[period][0]
    lever[:, local] -= gain @ design
    np.add.at(grid.T, first + batch.when[k, real], -gain.T)
    pulled = variance * cross @ left_over(layout, one, at)[k, real]
    return mean + pulled, lever, grid, left - variance * gain @ cross.T


def _chunk_of(at: Conditioned, unit: int, period: int) -> tuple[Chunked, int] | None:
    for one in at.chunks:
        if one.batch.period == period and unit in one.batch.unit:
            return one, int(np.flatnonzero(one.batch.unit == unit)[0])
    return None
