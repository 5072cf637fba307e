"""Work that was done and never written down: which, and what share, by drawing both in turn.

A share u of what was done was not written. Then "nothing written" does not say "not done". Each
blank has two stories: nothing was done, or it was done and not written. Given the effect, how
decisions are made, and the work on all other days, a story's chance is exact: with Q the inverse
covariance of all rows, r what their means leave of them and c what the work adds to the readings
of its day and of those after,

    log odds = c' Q r - c' Q c / 2  +  log of the decision's chance in either story

the decision's own level known from all other rows. The stories, the share, the effect, and how
decisions are made are drawn in turn (Gibbs sampling); every draw is a full record, fitted as if
all had been written. What was written in one go is lost in one go.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import expit, log_ndtr

from greenwright.stats.dynamic.evidence import (
    Conditioned,
    noise_variance,
)
from greenwright.stats.dynamic.layout import Layout
from greenwright.stats.dynamic.left_out import LeftOut, Weighed
from greenwright.stats.dynamic.model import Floats, Ints
from greenwright.stats.dynamic.reach import Blanks, effects_drawn, reached
from greenwright.stats.hyper import HyperPrior

_SHARES = np.geomspace(1e-3, 0.6, 128)
_LEAST_LEFT = 1e-3


@dataclass(frozen=True, slots=True)
class Missed:
    """What is believed of the share of work never written: its log is about normal.

    Args:
        log_mean, log_sd: of the share.
    """

    log_mean: float
    log_sd: float

    @property
    def share(self) -> float:
        """Return the share at the middle of the belief."""
        return float(np.exp(self.log_mean))


@dataclass(frozen=True, slots=True)
class Asked:
    """How the decision behind each blank is made: (n,) each.

    Args:
        lean: probit score without the need.
        need: strength of the need, by the level before the work less the prior's.
        share: what the decision counts.
    """

    lean: Floats
    need: float
    share: Floats


def redrawn(
    blanks: Blanks, odds: Floats, held: Floats, *, share: Floats, rng: np.random.Generator
) -> Floats:
    """Return a new draw of the stories: 1 done and not written, 0 not done.

    A half of them is drawn anew, as neighbours in time hang together.

    Args:
        blanks: the decisions.
        odds: (stories,) log odds of having been done.
        held: (stories,) the last draw.
        share: (goes,) of each one's kind that is never written.
        rng: draws.
    """
    hidden = np.bincount(blanks.lost, held) > 0
    lost = hidden | (rng.random(len(hidden)) < share)
    drawn = (rng.random(len(odds)) < expit(np.clip(odds, -50, 50))) & lost[blanks.lost]
    anew = rng.random(len(odds)) < 0.5
    return np.where(anew, drawn.astype(float), held)


def share_drawn(
    blanks: Blanks, odds: Floats, chance: Floats, prior: HyperPrior, *, rng: np.random.Generator
) -> Floats:
    """Return, by go, a draw of the share not written, what hides behind blanks left open.

    Each go in turn, the others as held, given that it is blank: readings alone say whether work
    hides there. That so much was left undone is no sign; a decider has his reasons.

    Args:
        blanks: the decisions.
        odds: (stories,) log odds of having been done, the day's readings known.
        chance: (n,) log chance of each decision not to have been done, they unknown.
        prior: of the share of each kind.
        rng: draws.
    """
    counts = np.bincount(blanks.story, minlength=len(odds))
    idle = np.bincount(blanks.story, chance, len(odds)) / counts
    with_readings = _some_hidden(blanks, np.logaddexp(0.0, np.clip(odds, -50, 50)))
    without = _some_hidden(blanks, np.maximum(-idle, 1e-12))
    logs = np.log(_SHARES)[:, None]
    height = np.logaddexp(0.0, logs + with_readings) - np.logaddexp(0.0, logs + without)
    shares = np.empty(len(blanks.kind))
    for kind in np.unique(blanks.kind):
        mine = blanks.kind == kind
        shares[mine] = _drawn_about(height[:, mine].sum(axis=1), prior, rng)
    return shares


def _drawn_about(height: Floats, prior: HyperPrior, rng: np.random.Generator) -> float:
    """Return a draw of a share, given the log likelihood at each that is thought of."""
    height = height - 0.5 * ((np.log(_SHARES) - np.log(prior.median)) / prior.log_sd) ** 2
    likely = np.cumsum(np.exp(height - height.max()))
    return float(np.interp(rng.random() * likely[-1], likely, _SHARES))


def _some_hidden(blanks: Blanks, softly: Floats) -> Floats:
    """Return, by go, the log odds that some of its stories were done to that none was."""
    of_go = np.bincount(blanks.lost, softly)
    return of_go + np.log(-np.expm1(-np.clip(of_go, 1e-12, None)))


def idle_chance(
    layout: Layout, at: Conditioned, blanks: Blanks, *, asked: Asked, known: tuple[Weighed, ...]
) -> Floats:
    """Return (n,) log chance that a blank was decided against, its day's readings unknown.

    Args:
        layout, at: as now held.
        blanks: the decisions of which nothing is written.
        asked: how each is decided.
        known: the inverse covariance of all rows.
    """
    groups = _of_the_day(layout, blanks)
    real = groups >= 0
    precision = np.zeros((*groups.shape, groups.shape[1]))
    pull, where = np.zeros(groups.shape), np.full(len(layout.rows), -1)
    for one in known:
        for k in range(len(one.batch.unit)):
            row = one.batch.row[k, one.batch.real[k] > 0]
            where[row] = np.arange(len(row))
            mine = np.flatnonzero(where[blanks.row] >= 0)
            spot = where[groups[mine]]
            pair = real[mine][:, :, None] & real[mine][:, None, :]
            block = one.inner[k][spot[:, :, None], spot[:, None, :]]
            precision[mine] = np.where(pair, block, 0.0)
            pull[mine] = np.where(real[mine], one.left[k][spot], 0.0)
            where[row] = -1
    diagonal = np.arange(groups.shape[1])
    precision[:, diagonal, diagonal] += ~real
    cov = np.linalg.inv(precision)
    gap = (cov[:, 0] * pull).sum(axis=1)
    level = layout.rows.value[blanks.row] - gap - layout.model.level
    spare = cov[:, 0, 0] - noise_variance(layout, at.hyper)[blanks.row]
    scale = np.sqrt(1 + asked.need**2 * np.maximum(spare, 0.0))
    return log_ndtr(-(asked.lean - asked.need * level) / scale)


def _of_the_day(layout: Layout, blanks: Blanks) -> Ints:
    """Return (n, m) rows: each decision, then its unit's readings after the work; -1 for none."""
    rows = layout.rows
    key = rows.unit * layout.model.days + rows.day
    read = np.flatnonzero(rows.before == 0)
    order = read[np.argsort(key[read], kind="stable")]
    sought = blanks.unit * layout.model.days + blanks.day
    start = np.searchsorted(key[order], sought)
    many = np.searchsorted(key[order], sought, side="right") - start
    out = np.full((len(sought), 1 + max(int(many.max(initial=0)), 1)), -1)
    out[:, 0] = blanks.row
    for k in range(out.shape[1] - 1):
        there = many > k
        out[there, 1 + k] = order[start[there] + k]
    return out


def missed(shares: Sequence[float]) -> Missed:
    """Return the belief that draws of the share stand for."""
    logs = np.log(shares)
    return Missed(float(logs.mean()), float(logs.std()))


def dosed(layout: Layout, blanks: Blanks, held: Floats, *, by_story: bool = True) -> Layout:
    """Return the layout with hidden doses.

    Args:
        layout: with the doses as written.
        blanks: the decisions.
        held: of each story, or (by_story false) of each blank.
    """
    more = np.zeros(layout.model.terms[blanks.term].dose.shape)
    more[blanks.unit, blanks.day] = held[blanks.story] if by_story else held
    terms = list(layout.model.terms)
    term = terms[blanks.term]
    terms[blanks.term] = replace(term, dose=term.dose + more)
    return replace(layout, model=replace(layout.model, terms=tuple(terms)))


def odds_of(
    layout: Layout,
    at: Conditioned,
    blanks: Blanks,
    *,
    seen: LeftOut,
    asked: Asked,
    held: Floats,
    rng: np.random.Generator,
) -> Floats:
    """Return the log odds of each story, done to not done, all other stories as held.

    Args:
        layout, at: as now held.
        blanks: the decisions of which nothing is written.
        seen: (n,) level before each one's work less the prior's, as if it had not been decided.
        asked: how each is decided.
        held: (stories,) the last draw.
        rng: draws the effect.
    """
    found = reached(layout, at, blanks, effect=effects_drawn(layout, at, blanks.term, rng))
    loose = 1 / (seen.variance + noise_variance(layout, at.hyper)[blanks.row])
    pulled = (layout.rows.value[blanks.row] - layout.model.level - seen.mean) * loose
    scale = np.sqrt(1 + asked.need**2 * seen.variance)
    logs = []
    for done, side in ((0.0, -1.0), (1.0, 1.0)):
        step = done - held
        moved = step[blanks.story] * found.own
        score = (asked.lean - asked.need * (seen.mean + moved / loose)) / scale
        # The decision's own row stands for this very chance: it is taken out of the readings'.
        own = asked.share * log_ndtr(side * score) + 0.5 * (pulled - moved) ** 2 / loose
        whole = step * found.pull - 0.5 * step**2 * found.square
        logs.append(whole + np.bincount(blanks.story, own, len(held)))
    return logs[1] - logs[0]
