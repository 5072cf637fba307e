"""Work that was done and never written down: its chance, its doses, and its share.

Of the work that was done a share u was not written. Then "nothing written" does not say "not
done". For every blank two stories are weighed: nothing was done, or it was done and not written.
Each foretells the day's readings and the decision, both from the level before the work as all
other rows have it; with A the joint chances of the two,

    r = u A(done) / (A(not) + u A(done))

A blank then counts as the dose r and as the decision r; what is in doubt, r (1 - r), is taken from
the effect's precision (it is the expected square that an expectation step leaves over) and, on
later days, added to the readings' noise. The share u is the one that makes readings likeliest.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, log_ndtr, ndtr

from greenwright.stats.dynamic.evidence import Conditioned, left_over, noise_variance
from greenwright.stats.dynamic.kernels import Pulse, responded
from greenwright.stats.dynamic.layout import Eased, Layout
from greenwright.stats.dynamic.model import Floats, Ints
from greenwright.stats.dynamic.slope import believed
from greenwright.stats.hyper import HyperPrior

_SHARES = np.geomspace(1e-3, 0.6, 64)


@dataclass(frozen=True, slots=True)
class Missed:
    """What is believed of the share of work never written: its log is normal.

    Args:
        log_mean, log_sd: of the share.
    """

    log_mean: float
    log_sd: float

    @property
    def share(self) -> float:
        """Return the share at the middle of the belief."""
        return float(np.exp(self.log_mean))

    def moved(self, steps: Floats) -> Floats:
        """Return shares so many sds away from the middle, none above the largest thought of."""
        return np.minimum(np.exp(self.log_mean + self.log_sd * steps), _SHARES[-1])


@dataclass(frozen=True, slots=True)
class Blanks:
    """Rows of decisions, and the term whose doses may be hidden behind those not written.

    Args:
        unit, day: (n,) where and when.
        written: (n,) 1 where the work was written.
        weight: (n,) what each row counts.
        term: place of the term in the model.
    """

    unit: Ints
    day: Ints
    written: Floats
    weight: Floats
    term: int


@dataclass(frozen=True, slots=True)
class Stories:
    """What speaks for hidden work behind each row.

    Args:
        odds: (n,) log of A(done) / A(not): readings of the day and the decision together.
        chance: (n,) of the decision itself, nothing of its own day known.
        worth: (n,) precision with which the day's readings see a dose of one effect.
        read: (n,) the day was read.
    """

    odds: Floats
    chance: Floats
    worth: Floats
    read: NDArray[np.bool_]


def hidden(stories: Stories, written: Floats, share: float) -> Floats:
    """Return the chance that work was done where none is written; 0 where it is.

    With nothing read on the day it is u p / (1 - p + u p), p the chance of the decision.
    """
    odds = np.log(max(share, 1e-300)) + np.clip(stories.odds, -50, 50)
    return np.where(written > 0, 0.0, expit(odds))


def told(score: Floats, done: Floats, doubt: Floats | float = 0.0) -> tuple[Floats, Floats]:
    """Return slope and downward bend, by the probit score, of the log chance of the decisions.

    Args:
        score: (n,) argument of the normal area.
        done: (n,) 1 where the work was done, 0 where not, between them where only a chance is.
        doubt: (n,) variance of done: takes away from the bend what is not known.
    """
    density = -0.5 * score**2 - 0.5 * np.log(2 * np.pi)
    ahead, back = np.exp(density - log_ndtr(score)), np.exp(density - log_ndtr(-score))
    slope = done * ahead - (1 - done) * back
    bend = done * ahead * (score + ahead) + (1 - done) * back * (back - score)
    return slope, np.maximum(bend - doubt * (ahead + back) ** 2, 0.0)


def dosed(
    layout: Layout, at: Conditioned, blanks: Blanks, stories: Stories, *, done: Floats
) -> Layout:
    """Return the layout with hidden doses as expected, and what is in doubt of them.

    Args:
        layout: with the doses as written.
        at: conditioned there or nearby, for the effect and its kernel.
        blanks: the decisions.
        stories: for the readings' view of them.
        done: (n,) chance of hidden work, 0 where work is written.
    """
    term, place = layout.model.terms[blanks.term], layout.border.terms + blanks.term
    more, doubt = np.zeros(term.dose.shape), np.zeros(term.dose.shape)
    more[blanks.unit, blanks.day] = done
    doubt[blanks.unit, blanks.day] = done * (1 - done)
    informed = np.zeros(term.dose.shape)
    informed[blanks.unit, blanks.day] = done * (1 - done) * stories.read
    lasting = _squared(term.kernel, doubt, at) - informed
    rows = layout.rows
    extra = at.mean[place] ** 2 * lasting[rows.unit, rows.day] * (rows.before == 0)
    terms = list(layout.model.terms)
    terms[blanks.term] = replace(term, dose=term.dose + more)
    held = np.bincount(blanks.unit, done * (1 - done) * stories.worth, layout.model.units)
    return replace(
        layout,
        model=replace(layout.model, terms=tuple(terms)),
        rows=replace(rows, variance=rows.variance + extra),
        eased=Eased(blanks.term, held),
    )


def missed(stories: Stories, blanks: Blanks, prior: HyperPrior) -> Missed:
    """Return the belief about the share of unwritten work, from days that were read.

    The chance of the readings given that nothing was written, blank by blank; blanks of one
    morning count by their weight.
    """
    asked = (blanks.written == 0) & stories.read
    odds, chance = np.clip(stories.odds[asked], -50, 50), stories.chance[asked]
    behind = np.log1p(_SHARES[:, None] * np.exp(odds))
    behind -= np.log1p(-(1 - _SHARES[:, None]) * np.minimum(chance, 1 - 1e-12))
    height = (behind * blanks.weight[asked]).sum(axis=1)
    logs = np.log(_SHARES)
    height -= 0.5 * ((logs - np.log(prior.median)) / prior.log_sd) ** 2
    likely = np.exp(height - height.max())
    likely /= likely.sum()
    mean = float(likely @ logs)
    return Missed(mean, float(np.sqrt(likely @ (logs - mean) ** 2)))


def stories_of(
    layout: Layout, at: Conditioned, blanks: Blanks, *, lean: Floats, need: float, held: Floats
) -> Stories:
    """Weigh for each row what its day's readings and the decision say of hidden work.

    Args:
        layout, at: as now believed, the decisions its last rows.
        blanks: the decisions.
        lean: (n,) probit score without the need.
        need: strength of the need, by the level before the work less the prior's.
        held: (n,) hidden doses that the layout holds now.
    """
    near = _near(layout, at, blanks)
    mean, cov, noise, found = near.mean, near.cov, near.noise, near.real
    effect = _effects(layout, at, blanks)
    level, apart = mean[:, 0] - layout.model.level, cov[:, 0, 1:]
    seen = cov[:, 1:, 1:] + _diagonal(noise[:, 1:])
    gain = np.linalg.solve(seen, apart[:, :, None])[:, :, 0]
    spread = np.sqrt(1 + need**2 * np.maximum(cov[:, 0, 0] - (gain * apart).sum(axis=1), 0.0))
    logs = []
    for dose, side in ((0.0, -1.0), (1.0, 1.0)):
        gap = near.gap[:, 1:] + (effect * (held - dose))[:, None] * found[:, 1:]
        weighed = np.linalg.solve(seen, gap[:, :, None])[:, :, 0]
        score = (lean - need * (level + (gain * gap).sum(axis=1))) / spread
        logs.append(-0.5 * (gap * weighed).sum(axis=1) + log_ndtr(side * score))
    plain = (lean - need * level) / np.sqrt(1 + need**2 * np.maximum(cov[:, 0, 0], 0.0))
    ones = found[:, 1:]
    worth = (ones * np.linalg.solve(seen, ones[:, :, None])[:, :, 0]).sum(axis=1)
    return Stories(logs[1] - logs[0], ndtr(plain), worth, ones.any(axis=1))


@dataclass(frozen=True, slots=True)
class _Near:
    """Each decision's level and its day's readings as all other rows foretell them, (n, m).

    Args:
        mean: of the levels, the decision's first.
        cov: (n, m, m) of the levels.
        noise: variance of each row's own error; 1 where there is no row.
        gap: value less mean.
        real: 1 where there is a row.
    """

    mean: Floats
    cov: Floats
    noise: Floats
    gap: Floats
    real: Floats


def _near(layout: Layout, at: Conditioned, blanks: Blanks) -> _Near:
    """Take each decision and its unit's readings of the day out of the record together.

    With S the covariance of all rows, rows B are foretold by the others with covariance
    (S^-1_BB)^-1, and miss by (S^-1_BB)^-1 (S^-1 r)_B.
    """
    groups = _of_the_day(layout, blanks)
    size = (len(groups), groups.shape[1])
    real = groups >= 0
    precision = np.zeros((*size, size[1]))
    pull = np.zeros(size)
    for one in at.chunks:
        fitted, _ = believed(one, layout, at)
        inner = one.inverse - one.inverse @ fitted @ one.inverse
        left = left_over(layout, one, at)
        place = np.full((len(one.batch.unit), len(layout.rows)), -1)
        for k in range(len(place)):
            kept = one.batch.real[k] > 0
            place[k, one.batch.row[k, kept]] = np.flatnonzero(kept)
        for k, unit in enumerate(one.batch.unit):
            mine = np.flatnonzero((blanks.unit == unit) & (place[k, groups[:, 0]] >= 0))
            where = place[k, groups[mine]]
            pair = real[mine][:, :, None] & real[mine][:, None, :]
            block = inner[k][where[:, :, None], where[:, None, :]]
            precision[mine] = np.where(pair, block, 0.0)
            pull[mine] = np.where(real[mine], left[k][where], 0.0)
    precision[:, np.arange(size[1]), np.arange(size[1])] += ~real
    cov = np.linalg.inv(precision)
    gap = (cov @ pull[:, :, None])[:, :, 0]
    noise = np.where(real, noise_variance(layout, at.hyper)[groups], 1.0)
    mean = np.where(real, layout.rows.value[groups] - gap, 0.0)
    return _Near(mean, cov - _diagonal(noise), noise, gap, real.astype(float))


def _of_the_day(layout: Layout, blanks: Blanks) -> Ints:
    """Return (n, m) rows: each decision, then its unit's readings after the work; -1 for none."""
    rows, count = layout.rows, len(blanks.unit)
    first = len(rows) - count
    key, read = rows.unit * layout.model.days + rows.day, np.flatnonzero(rows.before[:first] == 0)
    order = read[np.argsort(key[read], kind="stable")]
    sought = blanks.unit * layout.model.days + blanks.day
    start = np.searchsorted(key[order], sought)
    many = np.searchsorted(key[order], sought, side="right") - start
    out = np.full((count, 1 + max(int(many.max(initial=0)), 1)), -1)
    out[:, 0] = first + np.arange(count)
    for k in range(out.shape[1] - 1):
        there = many > k
        out[there, 1 + k] = order[start[there] + k]
    return out


def _diagonal(values: Floats) -> Floats:
    return values[:, :, None] * np.eye(values.shape[1])


def _squared(kernel: object, doubt: Floats, at: Conditioned) -> Floats:
    """Return the doubt carried on: a pulse's share of variance halves twice as fast."""
    if not isinstance(kernel, Pulse):
        return doubt
    name = kernel.half_life
    return responded(kernel, doubt, {name: at.hyper[name] / 2})[0]


def _effects(layout: Layout, at: Conditioned, blanks: Blanks) -> Floats:
    border = layout.border
    effect = np.full(len(blanks.unit), at.mean[border.terms + blanks.term])
    if blanks.term in layout.model.apart:
        own = border.own(blanks.unit)[:, 1 + layout.model.apart.index(blanks.term)]
        effect = effect + at.mean[own]
    return effect
