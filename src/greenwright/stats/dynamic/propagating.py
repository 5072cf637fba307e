"""Decisions read the level: expectation propagation of their probit factors.

Each decision enters as a reading of known variance that matches the moments its factor gives the
level. What is known of its own level without it, and how it was pushed, are both taken from the
model conditioned on all rows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import log_ndtr

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic.evidence import Conditioned, condition
from greenwright.stats.dynamic.layout import Layout
from greenwright.stats.dynamic.left_out import LeftOut, Weighed, left_out, weighed
from greenwright.stats.dynamic.model import Floats, Ints
from greenwright.stats.hyper import HyperPrior

BLANK = 100.0
"""Variance of a reading that says nothing."""
_DAMPING = 0.9
_NEWTON = 4
_LONGEST = 3.0


@dataclass(frozen=True, slots=True)
class Decisions:
    """Decisions on one practice, one row each: only those that were open.

    Args:
        unit, day: where and when, places in the model's calendar.
        done: 1 where the work was done, else 0.
        features: (n, k) what else pushed the decision, a column of ones included.
        share: (n,) weight: 1, or 1/m where one decision held for m units together.
        term: the term whose doses may be missing where nothing is written.
        unwritten: prior of the share of done work that was not written; None = all was.
        story: (n,) numbers: rows with the same were done, or not done, together; None = each alone.
        lost: (n,) numbers: rows with the same were written, or not written, in one go; None =
            each alone.
        kind: (n,) numbers: goes of one kind are forgotten alike; None = all.
    """

    unit: Ints
    day: Ints
    done: Floats
    features: Floats
    share: Floats
    term: str = ""
    unwritten: HyperPrior | None = None
    story: Ints | None = None
    lost: Ints | None = None
    kind: Ints | None = None

    def __post_init__(self) -> None:
        """Refuse rows that do not belong together."""
        sizes = {len(getattr(self, n)) for n in ("unit", "day", "done", "features", "share")}
        if len(sizes) != 1 or self.features.ndim != 2:
            raise BadInput("decisions need as many features and shares as units and days")


@dataclass(frozen=True, slots=True)
class Sites:
    """Readings that stand for decisions: precision and precision x value of each."""

    precision: Floats
    shift: Floats


@dataclass(frozen=True, slots=True)
class Seen:
    """The model conditioned on readings and sites, and what it says of the decisions.

    Args:
        layout, at: conditioned.
        known: inverse covariance of all rows.
        before: (n,) each decision's level less the prior's, as if it had not been decided.
    """

    layout: Layout
    at: Conditioned
    known: tuple[Weighed, ...]
    before: LeftOut


def seen_with(layout: Layout, hyper: Mapping[str, float], sites: Sites) -> Seen:
    """Return the model conditioned on readings and sites, and each decision's level without it."""
    here = with_sites(layout, sites)
    at, count = condition(here, hyper), len(sites.shift)
    known = weighed(here, at)
    without = left_out(here, at, known=known)
    level = without.mean[-count:] - layout.model.level
    return Seen(here, at, known, LeftOut(level, without.variance[-count:]))


def with_sites(layout: Layout, sites: Sites) -> Layout:
    """Return the layout with its last rows reading what the sites say."""
    value, variance = layout.rows.value.copy(), layout.rows.variance.copy()
    count = len(sites.shift)
    value[-count:] = layout.model.level + sites.shift / sites.precision
    variance[-count:] = 1 / sites.precision
    return replace(layout, rows=replace(layout.rows, value=value, variance=variance))


def score_of(decisions: Decisions, seen: LeftOut, pushes: Floats) -> tuple[Floats, Floats]:
    """Return each decision's score towards doing, and its scale."""
    scale = np.sqrt(1 + pushes[-1] ** 2 * seen.variance)
    return (decisions.features @ pushes[:-1] - pushes[-1] * seen.mean) / scale, scale


def pushes_given(
    decisions: Decisions, seen: LeftOut, *, pushes: Floats, done: Floats, widths: Floats
) -> tuple[Floats, Floats]:
    """Return pushes and need of highest posterior density given the levels seen, and their cov."""
    cov = np.diag(widths**2)
    for _ in range(_NEWTON):
        score, scale = score_of(decisions, seen, pushes)
        turn = -seen.mean / scale - score * pushes[-1] * seen.variance / scale**2
        loads = np.column_stack([decisions.features / scale[:, None], turn])
        slope, bend = told(score, done)
        bent = (loads.T * (bend * decisions.share)) @ loads
        cov = np.linalg.inv(bent + np.diag(1 / widths**2))
        step = cov @ (loads.T @ (slope * decisions.share) - pushes / widths**2)
        pushes = pushes + step * min(1.0, _LONGEST / float(np.abs(step / widths).max() + 1e-12))
    return pushes, cov


def told(score: Floats, done: Floats) -> tuple[Floats, Floats]:
    """Return slope and downward bend, by the probit score, of the log chance of the decisions.

    Args:
        score: (n,) argument of the normal area.
        done: (n,) 1 where the work was done, 0 where not, between them where only a chance is.
    """
    density = -0.5 * score**2 - 0.5 * np.log(2 * np.pi)
    ahead, back = np.exp(density - log_ndtr(score)), np.exp(density - log_ndtr(-score))
    bend = done * ahead * (score + ahead) + (1 - done) * back * (back - score)
    return done * ahead - (1 - done) * back, bend


def sites_given(
    decisions: Decisions, seen: LeftOut, *, pushes: Floats, done: Floats, sites: Sites
) -> Sites:
    """Return sites that give each level the moments it has with its decision known."""
    need, variance = pushes[-1], seen.variance
    score, scale = score_of(decisions, seen, pushes)
    by_score, bend = told(score, done)
    slope, bend = -need * by_score / scale, need**2 * bend / scale**2
    kept = np.maximum(1 - variance * bend, 1e-6)
    precision = np.maximum(bend / kept, 1 / BLANK)
    shift = precision * seen.mean + slope / kept
    share = decisions.share
    return Sites(
        np.maximum((1 - _DAMPING) * sites.precision + _DAMPING * share * precision, 1 / BLANK),
        (1 - _DAMPING) * sites.shift + _DAMPING * share * shift,
    )
