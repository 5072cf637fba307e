"""Observations that are no plain numbers: rounded and piled-up ones, and counts.

Each is given the normal likelihood ("site") that turns the belief formed from all others into
the same mean and variance as the true likelihood does (expectation propagation). With these
the pooled model is fitted as ever. Where the sites have settled, the slope of the pooled
likelihood by the hyper-parameters is that of the true one, so both are found in turn.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.stats.hyper import PoolingPrior, best, mixture, named
from greenwright.stats.layout import Floats, Ints, Layout, Observations, lay_out, retold
from greenwright.stats.marginal import Conditioned, condition
from greenwright.stats.pooling import PooledFit, one_blas_thread
from greenwright.stats.tilted import count_moments, interval_moments

_LEAST_SHARE = 1e-3
_LEAST_CAVITY = 1e-3
_LONGEST_STEP = 0.7
_MOST_ASKED, _STILL = 6, 0.05
_ROUGH, _FINE = 0.02, 0.002


@dataclass(frozen=True, slots=True)
class Sites:
    """How each of n observations was seen, arrays of length n.

    Args:
        low, high: ends of the interval it lies in [unit]; both infinite = no interval.
        hits, tries: a count that depends on it, see ``count_moments``; tries 0 = no count.
        centre, per: value at which half hit, and value per unit of log odds [unit].
        start: variance of a first normal likelihood about the observation's value [unit
            squared], 0 where it is neither: then value and variance stand as they are.
    """

    low: Floats
    high: Floats
    hits: Floats
    tries: Floats
    centre: Floats
    per: Floats
    start: Floats

    def __post_init__(self) -> None:
        lengths = {len(getattr(self, name)) for name in self.__slots__}
        if len(lengths) != 1:
            raise BadInput("sites need arrays of one length", where="sites")

    @property
    def interval(self) -> Ints:
        """Return the places of the intervals."""
        return np.flatnonzero(np.isfinite(self.low) | np.isfinite(self.high))

    @property
    def count(self) -> Ints:
        """Return the places of the counts."""
        return np.flatnonzero(self.tries > 0)


@dataclass(frozen=True, slots=True)
class _Told:
    """The sites as they stand: value less the level, own variance, and scatter of raters."""

    value: Floats
    variance: Floats
    scatter: Floats
    scatter_log_sd: Floats


@dataclass(frozen=True, slots=True)
class _Case:
    """What does not change from round to round."""

    observations: Observations
    sites: Sites
    prior: PoolingPrior
    bare: Layout
    scatter_prior: float

    @property
    def noise(self) -> Floats:
        share = self.observations.noise
        return np.ones(len(self.observations)) if share is None else share

    def laid(self, told: _Told) -> Layout:
        """Return the layout as the sites now tell it."""
        variance = self.observations.variance + told.variance
        return retold(self.bare, told.value, variance, self.noise * self.squares(told))

    def squares(self, told: _Told) -> Floats:
        rater = self.observations.rater
        own = np.append(told.scatter**2, 1.0)
        return own[np.where(rater < 0, len(told.scatter), rater)]


def fit_sited(
    observations: Observations,
    sites: Sites,
    prior: PoolingPrior,
    *,
    rng: np.random.Generator,
    scatter_log_sd: float = 0.0,
    pairs: int = 8,
    rounds: int = 2,
) -> PooledFit:
    """Fit the pooled model to observations of which some are intervals or counts.

    Args:
        observations: their variance is what is known beside the site's own.
        sites: how each was seen.
        prior: level and hyper-parameters.
        rng: draws the mixture's points.
        scatter_log_sd: prior sd of the log of each rater's noise sd over the common one;
            0 = raters are alike.
        pairs: see ``fit_pooled``.
        rounds: times that sites and hyper-parameters are found in turn.

    Errors: BadInput for impossible observations, sites or priors.
    """
    if len(sites.start) != len(observations):
        raise BadInput("each observation needs its site", where="sites")
    bare = lay_out(observations, level=prior.level, merge=False)
    case = _Case(observations, sites, prior, bare, scatter_log_sd)
    told = _Told(
        np.asarray(observations.value, dtype=float) - prior.level,
        np.asarray(sites.start, dtype=float),
        np.ones(observations.n_raters),
        np.full(observations.n_raters, scatter_log_sd),
    )
    with one_blas_thread():
        point = prior.centre
        for _ in range(rounds if len(observations) else 0):
            point = best(case.laid(told), prior, near=point, gain=_ROUGH)
            told = _settled(case, told, point)
        layout = case.laid(told)
        found = mixture(layout, prior, pairs=pairs, rng=rng, near=point, gain=_FINE)
    return PooledFit(layout, prior, found, told.scatter, told.scatter_log_sd)


def left_out(layout: Layout, at: Conditioned) -> tuple[Floats, Floats]:
    """Return for each row what the others leave unsaid: weighted residual and precision.

    The belief about a row formed from all others is normal with mean
    residual - first / second and variance 1 / second (its own noise included).
    """
    rows = sum(int(stack.real.sum()) for stack in layout.stacks)
    pull, precision = np.zeros(rows), np.ones(rows)
    for piece, alpha in zip(at.solved, at.alpha, strict=True):
        shared = np.einsum("bni,bni->bn", piece.weighted @ at.cov, piece.weighted)
        own = np.diagonal(piece.inverse, axis1=1, axis2=2) - shared
        real = piece.stack.real > 0
        pull[piece.stack.row[real]] = alpha[real]
        precision[piece.stack.row[real]] = own[real]
    return pull, precision


def _settled(case: _Case, told: _Told, point: Floats) -> _Told:
    """Return the sites at a point of the hyper-parameters, asked again until they hardly move."""
    for _ in range(_MOST_ASKED):
        before, (told, cavity) = told, _updated(case, told, point)
        moved = np.abs(told.value - before.value) / np.sqrt(told.variance + cavity)
        widened = np.abs(told.variance - before.variance) / (told.variance + cavity)
        if max(moved.max(initial=0.0), widened.max(initial=0.0)) < _STILL:
            break
    return told


def _updated(case: _Case, told: _Told, point: Floats) -> tuple[_Told, Floats]:
    """Return the sites and scatters that the model at a point asks, and each site's cavity."""
    layout = case.laid(told)
    at = condition(layout, named(point), level_sd=case.prior.level_sd)
    pull, precision = (rows[layout.place] for rows in left_out(layout, at))
    whole = 1 / precision
    cavity = np.maximum(whole - told.variance, _LEAST_CAVITY * whole)
    mean = told.value - pull * whole
    fresh = _scattered(case, told, at, pull=pull, precision=precision)
    return _sited(case, fresh, mean, cavity), cavity


def _sited(case: _Case, told: _Told, mean: Floats, cavity: Floats) -> _Told:
    """Return the sites that turn each cavity into the moments of the true product."""
    value, variance = told.value.copy(), told.variance.copy()
    for rows, moments in ((case.sites.interval, _of_interval), (case.sites.count, _of_count)):
        if len(rows):
            level = case.prior.level
            middle, spread = moments(case.sites, rows, mean[rows] + level, cavity[rows])
            value[rows], variance[rows] = _matching(
                mean[rows], cavity[rows], mean=middle - level, variance=spread
            )
    return replace(told, value=value, variance=variance)


def _of_interval(sites: Sites, rows: Ints, mean: Floats, variance: Floats) -> tuple[Floats, Floats]:
    return interval_moments(mean, variance, low=sites.low[rows], high=sites.high[rows])


def _of_count(sites: Sites, rows: Ints, mean: Floats, variance: Floats) -> tuple[Floats, Floats]:
    seen = {name: getattr(sites, name)[rows] for name in ("hits", "tries", "centre", "per")}
    return count_moments(mean, variance, **seen)


def _matching(
    before: Floats, spread: Floats, *, mean: Floats, variance: Floats
) -> tuple[Floats, Floats]:
    """Return value and variance of the normal likelihood that turns one belief into another.

    A likelihood that says next to nothing keeps a thousandth of the belief's precision.
    """
    precision = np.maximum(1 / variance - 1 / spread, _LEAST_SHARE / spread)
    value = (mean * (1 / spread + precision) - before / spread) / precision
    return value, 1 / precision


def _scattered(
    case: _Case, told: _Told, at: Conditioned, *, pull: Floats, precision: Floats
) -> _Told:
    """Return the scatter of each rater after one scoring step on its log.

    Slope and expected bend of the log likelihood by the log of an sd s of variance N in the
    whole: sum N (pull^2 - precision) and 2 sum (N precision)^2.
    """
    if not case.scatter_prior:
        return told
    rater, many = case.observations.rater, case.observations.n_raters
    named_ones = rater >= 0
    noise = at.hyper["noise_sd"] ** 2 * case.noise * case.squares(told)
    parts = (noise * (pull**2 - precision), 2 * (noise * precision) ** 2)
    slope, bend = (
        np.bincount(rater[named_ones], weights=part[named_ones], minlength=many) for part in parts
    )
    logs = np.log(told.scatter)
    slope, bend = slope - logs / case.scatter_prior**2, bend + 1 / case.scatter_prior**2
    step = np.clip(slope / bend, -_LONGEST_STEP, _LONGEST_STEP)
    return replace(told, scatter=np.exp(logs + step), scatter_log_sd=1 / np.sqrt(bend))
