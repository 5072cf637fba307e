"""How far the work behind a blank reaches: what it adds to the readings, seen through all rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from greenwright.stats.draws import normal_draws
from greenwright.stats.dynamic.evidence import Conditioned, left_over, places_of
from greenwright.stats.dynamic.kernels import responded
from greenwright.stats.dynamic.layout import Layout
from greenwright.stats.dynamic.model import Floats, Ints

_LEAST_LEFT = 1e-3


@dataclass(frozen=True, slots=True)
class Blanks:
    """Decisions of which nothing is written, and the term whose doses may be hidden behind them.

    Args:
        row: (n,) place of each one's row in the layout.
        unit, day: (n,) where and when.
        story: (n,) 0.. which of them were done, or not done, together.
        lost: (stories,) 0.. which stories would have been written in one go.
        kind: (goes,) 0.. goes of one kind are forgotten alike.
        term: place of the term in the model.
    """

    row: Ints
    unit: Ints
    day: Ints
    story: Ints
    lost: Ints
    kind: Ints
    term: int


@dataclass(frozen=True, slots=True)
class Reached:
    """What the stories' work adds to the readings, seen through the inverse covariance.

    Args:
        pull: (stories,) c' Q r.
        square: (stories,) c' Q c.
        own: (n,) entry of Q c at each blank's own decision.
    """

    pull: Floats
    square: Floats
    own: Floats


def reached(layout: Layout, at: Conditioned, blanks: Blanks, *, effect: Floats) -> Reached:
    """Return c' Q r, c' Q c and Q c at each blank's own decision.

    Q = V - V L P L' V with V the chunks' inverse and P the covariance of what they load on (the
    border and the shared process): first what c loads on them, then what that takes away.
    """
    count, width = len(blanks.lost), layout.border.width
    pull, square = np.zeros(count), np.zeros(count)
    loads = np.zeros((width, count))
    own = np.zeros(len(blanks.row))
    shared = [np.zeros((block.lever.shape[0], count)) for block in at.blocks]
    weights = _weights(layout, at, blanks.term)
    pieces = tuple(_pieces(layout, at, blanks, effect=effect, weights=weights))
    for piece in pieces:
        pull[piece.stories] += piece.left @ piece.felt
        square[piece.stories] += (piece.felt * piece.seen).sum(axis=0)
        loads[np.ix_(piece.places, piece.stories)] += piece.design.T @ piece.seen
        block = np.zeros((len(shared[piece.period]), len(piece.stories)))
        np.add.at(block, piece.when, piece.seen)
        shared[piece.period][:, piece.stories] += block
        own[piece.mine] += piece.seen[piece.at_own, piece.own_story]
    for block, part in zip(at.blocks, shared, strict=True):
        loads[block.near] -= block.lever.T @ part
    border = at.cov @ loads
    square -= (loads * border).sum(axis=0)
    process = []
    for block, part in zip(at.blocks, shared, strict=True):
        free = block.inverse @ part
        square -= (part * free).sum(axis=0)
        process.append(free - block.lever @ border[block.near])
    for piece in pieces:
        stories = blanks.story[piece.mine]
        taken = piece.design @ border[np.ix_(piece.places, stories)]
        taken += process[piece.period][np.ix_(piece.when, stories)]
        own[piece.mine] -= (piece.inverse[piece.at_own] * taken.T).sum(axis=1)
    return Reached(pull, square, own)


@dataclass(frozen=True, slots=True)
class _Piece:
    """One unit's readings within one period, and the stories that reach them.

    Args:
        period: which.
        places: of the border that the readings load on; design: (n, places).
        when: (n,) day of each reading within the period.
        inverse: (n, n) of the chunk; left: (n,) of Q r.
        stories: those of the unit; felt: (n, stories) of c; seen: inverse @ felt.
        mine: blanks whose own decision is among the readings; at_own: where; own_story: which of
            the stories here is theirs.
    """

    period: int
    places: Ints
    design: Floats
    when: Ints
    inverse: Floats
    left: Floats
    stories: Ints
    felt: Floats
    seen: Floats
    mine: Ints
    at_own: Ints
    own_story: Ints


def _pieces(
    layout: Layout, at: Conditioned, blanks: Blanks, *, effect: Floats, weights: Floats
) -> Iterator[_Piece]:
    where = np.full(len(layout.rows), -1)
    for one in at.chunks:
        left, places = left_over(layout, one, at), places_of(layout, one.batch)
        for k, unit in enumerate(one.batch.unit):
            row = one.batch.row[k, one.batch.real[k] > 0]
            days = layout.rows.day[row]
            late = blanks.day + len(weights) - 1
            blank = np.flatnonzero(
                (blanks.unit == unit) & (late >= days.min()) & (blanks.day <= days.max())
            )
            if not len(blank):
                continue
            where[row] = np.arange(len(row))
            mine = blank[where[blanks.row[blank]] >= 0]
            felt = effect[unit] * _felt(layout, row, blanks.day[blank], weights)
            inverse = one.inverse[k, : len(row), : len(row)]
            stories = blanks.story[blank]
            yield _Piece(
                period=one.batch.period,
                places=places[k],
                design=one.design[k, : len(row)],
                when=one.batch.when[k, : len(row)],
                inverse=inverse,
                left=left[k, : len(row)],
                stories=stories,
                felt=felt,
                seen=inverse @ felt,
                mine=mine,
                at_own=where[blanks.row[mine]],
                own_story=np.searchsorted(blank, mine),
            )
            where[row] = -1


def _felt(layout: Layout, row: Ints, day: Ints, weights: Floats) -> Floats:
    """Return (n, m) what a dose of each day is worth at each reading: nothing before its work."""
    age = layout.rows.day[row][:, None] - day
    worth = np.where(
        (age >= 0) & (age < len(weights)), weights[np.clip(age, 0, len(weights) - 1)], 0
    )
    unseen = (age == 0) & (layout.rows.before[row][:, None] > 0)
    return np.where(unseen, 0.0, worth)


def _weights(layout: Layout, at: Conditioned, term: int) -> Floats:
    """Return what a dose is worth by its age [days], as far as it matters."""
    dose = np.zeros((1, layout.model.days))
    dose[0, 0] = 1.0
    weights = responded(layout.model.terms[term].kernel, dose, at.hyper)[0][0]
    kept = np.flatnonzero(np.abs(weights) > _LEAST_LEFT)
    return weights[: kept[-1] + 1]


def effects_drawn(layout: Layout, at: Conditioned, term: int, rng: np.random.Generator) -> Floats:
    """Return a draw (units,) of the effect on each unit."""
    border, model = layout.border, layout.model
    places = np.array([border.terms + term])
    if term in model.apart:
        own = border.own(np.arange(model.units))[:, 1 + model.apart.index(term)]
        places = np.concatenate([places, own])
    drawn = normal_draws(at.mean[places], at.cov[np.ix_(places, places)], n=1, rng=rng)[0]
    return drawn[0] + (drawn[1:] if len(drawn) > 1 else np.zeros(model.units))
