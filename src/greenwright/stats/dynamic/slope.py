"""Exact slope of the log likelihood by the log of each hyper-parameter (Fisher's identity).

The slope of a marginal log likelihood is the expected slope of the joint one, given the
readings; the joint one falls into priors and chunks, each with a slope known in closed form.
"""

from __future__ import annotations

import numpy as np

from greenwright.stats.dynamic.evidence import Chunked, Conditioned, left_over, places_of
from greenwright.stats.dynamic.layout import Layout
from greenwright.stats.dynamic.model import Floats
from greenwright.stats.dynamic.wander import chain_slopes


def slopes(layout: Layout, at: Conditioned) -> dict[str, float]:
    """Return the slope of the log likelihood by the log of each hyper-parameter."""
    by = dict.fromkeys(layout.model.hypers, 0.0)
    felt = np.zeros((len(layout.rows), len(layout.model.terms)))
    for one in at.chunks:
        _add_chunk(by, felt, one, layout=layout, at=at)
    for (term, name), slope in at.columns.slopes.items():
        by[name] += float(felt[:, term] @ slope)
    noise = at.hyper["noise_sd"] ** 2
    by["noise_sd"] += layout.rows.squares.sum() / noise - layout.rows.free.sum()
    _add_priors(by, layout, at)
    _add_shared(by, layout, at)
    return by


def _add_chunk(
    by: dict[str, float], felt: Floats, one: Chunked, *, layout: Layout, at: Conditioned
) -> None:
    batch, border, hyper = one.batch, layout.border, at.hyper
    fitted, crossed = believed(one, layout, at)
    pull, places = left_over(layout, one, at), places_of(layout, batch)
    inner = pull[:, :, None] * pull[:, None, :] - one.inverse
    inner += one.inverse @ fitted @ one.inverse
    inner *= batch.pair / 2
    own = hyper["own_sd"] ** 2
    by["own_sd"] += 2 * own * float(np.vdot(inner, one.bridge.left))
    by["own_time"] += own * float(np.vdot(inner, one.bridge.by_left))
    diagonal = np.diagonal(inner, axis1=1, axis2=2)
    diagonal = diagonal * layout.rows.settled[batch.row]
    counts = layout.rows.count[batch.row]
    by["noise_sd"] += 2 * hyper["noise_sd"] ** 2 * float((diagonal / counts).sum())
    by["set_sd"] += 2 * hyper["set_sd"] ** 2 * float(diagonal.sum())
    lift = pull[:, :, None] * at.mean[places][:, None, :] - one.inverse @ crossed
    lift *= batch.real[:, :, None]
    knots = border.fixed + 1 + border.apart
    by["own_time"] += float(np.vdot(lift[:, :, knots:], one.bridge.by_weights))
    _add_felt(felt, lift, one, layout)


def _add_felt(felt: Floats, lift: Floats, one: Chunked, layout: Layout) -> None:
    """Gather the slope by each reading's entry in each term's column."""
    border = layout.border
    columns = lift[:, :, border.terms : border.fixed].copy()
    first = border.fixed + 1
    columns[:, :, list(layout.model.apart)] += lift[:, :, first : first + border.apart]
    np.add.at(felt, one.batch.row, columns)


def believed(one: Chunked, layout: Layout, at: Conditioned) -> tuple[Floats, Floats]:
    """Return the covariance of what a batch's chunks load on, and that with the border's part.

    Returns:
        (b, n, n) of border's part + shared process at the readings, and (b, n, fixed + local).
    """
    batch, block, places = one.batch, at.blocks[one.batch.period], places_of(layout, one.batch)
    cov = at.cov[places[:, :, None], places[:, None, :]]
    lever = block.lever @ at.cov[np.ix_(block.near, block.near)]
    near = np.searchsorted(block.near, places)
    tied = -lever[batch.when[:, :, None], near[:, None, :]] * batch.real[:, :, None]
    free = block.inverse + lever @ block.lever.T
    days = free[batch.when[:, :, None], batch.when[:, None, :]] * batch.pair
    crossed = one.design @ cov + tied
    half = one.design @ tied.transpose(0, 2, 1)
    back = one.design.transpose(0, 2, 1)
    fitted = one.design @ cov @ back + half + half.transpose(0, 2, 1) + days
    return fitted, crossed


def _add_priors(by: dict[str, float], layout: Layout, at: Conditioned) -> None:
    border, model = layout.border, layout.model
    square = np.square(at.mean) + np.diagonal(at.cov)
    for group, (first, end) in zip(model.groups, border.groups, strict=True):
        name = f"group:{group.name}"
        by[name] += float(square[first:end].sum()) / at.hyper[name] ** 2 - (end - first)
    own = border.own(np.arange(model.units))
    names = ["unit_sd", *(f"apart:{model.terms[k].name}" for k in model.apart)]
    for k, name in enumerate(names):
        by[name] += float(square[own[:, k]].sum()) / at.hyper[name] ** 2 - model.units
    if at.own is None:
        return
    knots = own[:, 1 + border.apart :]
    product = at.mean[knots[:, :-1]] * at.mean[knots[:, 1:]]
    product += at.cov[knots[:, :-1], knots[:, 1:]]
    for squared, products in zip(square[knots], product, strict=True):
        sd, time = chain_slopes(
            np.diff(layout.knots),
            (squared, products),
            sd=at.hyper["own_sd"],
            time=at.hyper["own_time"],
        )
        by["own_sd"] += sd
        by["own_time"] += time


def _add_shared(by: dict[str, float], layout: Layout, at: Conditioned) -> None:
    if not len(layout.grid):
        return
    sd, time = chain_slopes(
        np.diff(layout.grid),
        _shared_moments(layout, at),
        sd=at.hyper["day_sd"],
        time=at.hyper["day_time"],
    )
    by["day_sd"] += sd
    by["day_time"] += time


def _shared_moments(layout: Layout, at: Conditioned) -> tuple[Floats, Floats]:
    """Return expected squares and neighbours' products of the shared process on the grid."""
    size, knot = len(layout.grid), layout.border.fixed + np.cumsum(layout.at_knot) - 1
    mean, variance, beside = np.zeros(size), np.zeros(size), np.zeros(max(size - 1, 0))
    at_knots = np.flatnonzero(layout.at_knot)
    mean[at_knots] = at.mean[knot[at_knots]]
    variance[at_knots] = at.cov[knot[at_knots], knot[at_knots]]
    for k in at_knots[:-1][np.diff(at_knots) == 1]:
        beside[k] = at.cov[knot[k], knot[k + 1]]
    for (first, end), block in zip(layout.blocks, at.blocks, strict=True):
        if end == first:
            continue
        lever = block.lever @ at.cov[np.ix_(block.near, block.near)]
        places = np.searchsorted(block.near, knot)
        mean[first:end] = block.mean
        variance[first:end] = np.diagonal(block.inverse) + (lever * block.lever).sum(axis=1)
        beside[first : end - 1] = np.diagonal(block.inverse, 1)
        beside[first : end - 1] += (lever[:-1] * block.lever[1:]).sum(axis=1)
        if first:
            beside[first - 1] = -lever[0, places[first - 1]]
        if end < size:
            beside[end - 1] = -lever[-1, places[end]]
    return np.square(mean) + variance, mean[:-1] * mean[1:] + beside
