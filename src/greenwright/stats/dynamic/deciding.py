"""Work done by need: the decision modelled with the very level that it looked at.

Whoever decides sees the level before the day's work, or something like it, and works more where
it is low. Then worked days were worse beforehand, and a model of readings alone, which cannot
know the level of a morning but through later readings, credits the work with too little. Here
the chance of the work is

    P(done) = Phi(features . pushes - need x (level before work - the prior's level))

with the level before work the model's own, latent: level, unit, covariates, what earlier work left,
both processes. Each decision thereby reads the level a little (a site), and readings and
decisions are believed together, by expectation propagation: the probit factors enter as
readings of known variance that match the moments.

Sound if what the decider knew of the level beyond the features is the level itself and an error
of his own that says nothing of the reading to come. Features that push the decision but not the
level (weekdays, events) help to tell the two apart.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr

from greenwright.base.errors import BadInput
from greenwright.stats.ascent import climb
from greenwright.stats.dynamic.evidence import Conditioned, condition
from greenwright.stats.dynamic.fitting import (
    DynamicFit,
    hill,
    log_posterior,
    named,
    points_about,
    weights_of,
)
from greenwright.stats.dynamic.layout import Layout, lay_out
from greenwright.stats.dynamic.left_out import LeftOut, left_out
from greenwright.stats.dynamic.model import Floats, Ints, joined, readings
from greenwright.stats.dynamic.unwritten import (
    Blanks,
    Missed,
    Stories,
    dosed,
    hidden,
    missed,
    stories_of,
    told,
)
from greenwright.stats.hyper import HyperPrior
from greenwright.stats.pooling import one_blas_thread

_BLANK = 100.0
_DAMPING = 0.9
_NEWTON = 4
_SWEEPS = 4
_STEPS = 5
_GAIN = 0.02
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
    """

    unit: Ints
    day: Ints
    done: Floats
    features: Floats
    share: Floats
    term: str = ""
    unwritten: HyperPrior | None = None

    def __post_init__(self) -> None:
        """Refuse rows that do not belong together."""
        sizes = {len(getattr(self, n)) for n in ("unit", "day", "done", "features", "share")}
        if len(sizes) != 1 or self.features.ndim != 2:
            raise BadInput("decisions need as many features and shares as units and days")


@dataclass(frozen=True, slots=True)
class Choice:
    """How the decisions were made.

    Args:
        pushes: (k,) of the features, on the probit scale.
        need: how much a level lower by one unit of the outcome pushes.
        cov: (k + 1, k + 1) of both, need last.
        chance: (n,) of each decision, given all but itself.
        done: (n,) chance that the work was done, written or not; None = as written.
        missed: what is believed of the share of work never written; None = all was.
    """

    pushes: Floats
    need: float
    cov: Floats
    chance: Floats
    done: Floats | None = None
    missed: Missed | None = None

    @property
    def need_sd(self) -> float:
        """Return the sd of the need."""
        return float(np.sqrt(self.cov[-1, -1]))

    @property
    def coin_flips(self) -> float:
        """Return how many tosses of a fair coin the decisions are worth: 4 x sum of p (1 - p)."""
        return float(4 * (self.chance * (1 - self.chance)).sum())


@dataclass(frozen=True, slots=True)
class DecidedFit:
    """A fit to readings and decisions, and how the decisions were made."""

    fit: DynamicFit
    choice: Choice


@dataclass(frozen=True, slots=True)
class _Sites:
    """Readings that stand for decisions: precision and precision x value of each."""

    precision: Floats
    shift: Floats


@dataclass(frozen=True, slots=True)
class _State:
    """Where the joint fit stands: hyper-parameters, pushes with need, sites, what is not written.

    Args:
        layout: with hidden doses as expected.
        done: (n,) chance that each decision was to work; 1 and 0 where nothing is missing.
    """

    top: Floats
    pushes: Floats
    cov: Floats
    sites: _Sites
    layout: Layout
    done: Floats
    missed: Missed | None = None
    stories: Stories | None = None


def fit_decided(
    fit: DynamicFit,
    decisions: Decisions,
    *,
    rng: np.random.Generator,
    push_sd: float = 2.0,
    need_sd: float,
    rounds: int = 3,
) -> DecidedFit:
    """Fit readings and decisions together, hyper-parameters included.

    Args:
        fit: of the readings alone.
        decisions: on one practice.
        rng: draws how the decisions were made, one for each point of the mixture.
        push_sd: prior sd of each push.
        need_sd: prior sd of the need [1 / unit of the outcome].
        rounds: of propagation and climbing in turn.
    """
    rows, count = fit.layout.rows, len(decisions.done)
    blank = readings(
        np.full(count, fit.layout.model.level),
        decisions.unit,
        decisions.day,
        count=np.full(count, np.inf),
        variance=_BLANK,
        before=1.0,
        settled=0.0,
    )
    layout = lay_out(fit.layout.model, joined(rows, blank))
    widths = np.full(decisions.features.shape[1] + 1, push_sd)
    widths[-1] = need_sd
    with one_blas_thread():
        return _decided(fit, layout, decisions, widths=widths, rounds=rounds, rng=rng)


def overruled(
    decided: DecidedFit, decisions: Decisions, *, need: float, sweeps: int = 4
) -> Conditioned:
    """Return the model conditioned as if decisions had looked at the level ``need`` strongly.

    What an effect becomes under a need that nobody recorded shows how far it rests on it.
    """
    pushes = np.append(decided.choice.pushes, need)
    sites = _Sites(np.full(len(decisions.done), 1 / _BLANK), np.zeros(len(decisions.done)))
    with one_blas_thread():
        layout, hyper = decided.fit.layout, decided.fit.hyper
        done = decisions.done if decided.choice.done is None else decided.choice.done
        start = _State(decided.fit.top, pushes, decided.choice.cov, sites, layout, done)
        return _propagate(start, hyper, decisions, sweeps=sweeps)


def _decided(
    fit: DynamicFit,
    layout: Layout,
    decisions: Decisions,
    *,
    widths: Floats,
    rounds: int,
    rng: np.random.Generator,
) -> DecidedFit:
    count = len(decisions.done)
    state = _State(
        top=fit.top,
        pushes=np.zeros(len(widths)),
        cov=np.diag(widths**2),
        sites=_Sites(np.full(count, 1 / _BLANK), np.zeros(count)),
        layout=layout,
        done=decisions.done,
    )
    for _ in range(rounds):
        state = _swept(layout, decisions, state, widths)
        state = replace(state, top=_climbed(fit, state))
    state = _swept(layout, decisions, state, widths)
    _, seen = _seen(state.layout, named(layout.model, state.top), state.sites)
    chance = ndtr(_score(decisions, seen, state.pushes)[0])
    choice = Choice(
        state.pushes[:-1], float(state.pushes[-1]), state.cov, chance, state.done, state.missed
    )
    return DecidedFit(_mixed(fit, layout, decisions, state, rng=rng), choice)


def _blanks(decisions: Decisions, layout: Layout) -> Blanks:
    names = [term.name for term in layout.model.terms]
    if decisions.term not in names:
        raise BadInput(f"no term {decisions.term!r}", expected=", ".join(names))
    term = names.index(decisions.term)
    return Blanks(decisions.unit, decisions.day, decisions.done, decisions.share, term)


def _swept(layout: Layout, decisions: Decisions, state: _State, widths: Floats) -> _State:
    """Propagate a few times at fixed hyper-parameters, and see what was not written.

    Args:
        layout: with the doses as written; those of the state are as expected.
    """
    hyper = named(layout.model, state.top)
    for sweep in range(_SWEEPS):
        _, seen = _seen(state.layout, hyper, state.sites)
        pushes, cov = _pushed(decisions, seen, state, widths)
        state = replace(state, pushes=pushes, cov=cov)
        state = replace(state, sites=_moved(decisions, seen, state))
        if decisions.unwritten is not None and sweep:
            state = _uncovered(layout, decisions, state, prior=decisions.unwritten)
    return state


def _uncovered(layout: Layout, decisions: Decisions, state: _State, *, prior: HyperPrior) -> _State:
    """Weigh what may hide behind each blank, and dose it so."""
    blanks = _blanks(decisions, layout)
    here = _with(state.layout, state.sites)
    at = condition(here, named(layout.model, state.top))
    held = np.where(decisions.done > 0, 0.0, state.done)
    lean, need = decisions.features @ state.pushes[:-1], float(state.pushes[-1])
    stories = stories_of(here, at, blanks, lean=lean, need=need, held=held)
    found = missed(stories, blanks, prior)
    more = hidden(stories, decisions.done, found.share)
    return replace(
        state,
        layout=dosed(layout, at, blanks, stories, done=more),
        done=decisions.done + more,
        missed=found,
        stories=stories,
    )


def _climbed(fit: DynamicFit, state: _State) -> Floats:
    """Climb the hyper-parameters with the sites held.

    Where sites have settled, the slope with them held is that of the whole evidence. It matters:
    readings alone see a level that work has been smoothing, and take it for a calmer one.
    """
    here, bend = _with(state.layout, state.sites), np.linalg.inv(fit.root @ fit.root.T)
    return climb(lambda z: hill(here, z), state.top, bend, gain=_GAIN, most_steps=_STEPS).point


def _mixed(
    fit: DynamicFit,
    layout: Layout,
    decisions: Decisions,
    state: _State,
    *,
    rng: np.random.Generator,
) -> DynamicFit:
    """Return the mixture about the new top, each point with its own draw of pushes and need."""
    points = points_about(state.top, fit.root, fit.steps)
    here = _with(state.layout, state.sites)
    heights = np.array([log_posterior(here, point)[0] for point in points])
    half, width = (len(points) - 1) // 2, len(state.pushes)
    drawn = rng.standard_normal((half, width + (state.missed is not None)))
    moved = np.vstack([np.zeros((1, drawn.shape[1])), drawn, -drawn])
    tried = state.pushes + moved[:, :width] @ np.linalg.cholesky(state.cov).T
    found = []
    for point, tries, step in zip(points, tried, moved, strict=True):
        here = _otherwise(layout, decisions, replace(state, pushes=tries), step=step[-1])
        found.append(_propagate(here, named(layout.model, point), decisions, sweeps=2))
    weights = weights_of(heights, fit.steps)
    return replace(fit, layout=state.layout, top=state.top, weights=weights, at=tuple(found))


def _otherwise(layout: Layout, decisions: Decisions, state: _State, *, step: float) -> _State:
    """Return the state had the share of unwritten work been some sds off."""
    if state.missed is None or state.stories is None:
        return state
    more = hidden(state.stories, decisions.done, float(state.missed.moved(np.array(step))))
    at = condition(_with(state.layout, state.sites), named(layout.model, state.top))
    made = dosed(layout, at, _blanks(decisions, layout), state.stories, done=more)
    return replace(state, layout=made, done=decisions.done + more)


def _propagate(
    state: _State, hyper: Mapping[str, float], decisions: Decisions, *, sweeps: int
) -> Conditioned:
    """Return the model conditioned on readings and decisions, pushes held."""
    for _ in range(sweeps):
        _, seen = _seen(state.layout, hyper, state.sites)
        state = replace(state, sites=_moved(decisions, seen, state))
    return condition(_with(state.layout, state.sites), hyper)


def _seen(layout: Layout, hyper: Mapping[str, float], sites: _Sites) -> tuple[Conditioned, LeftOut]:
    """Return the model conditioned on readings and sites, and each decision's level without it."""
    here = _with(layout, sites)
    at, count = condition(here, hyper), len(sites.shift)
    without = left_out(here, at)
    level = without.mean[-count:] - layout.model.level
    return at, LeftOut(level, without.variance[-count:])


def _with(layout: Layout, sites: _Sites) -> Layout:
    value, variance = layout.rows.value.copy(), layout.rows.variance.copy()
    count = len(sites.shift)
    value[-count:] = layout.model.level + sites.shift / sites.precision
    variance[-count:] = 1 / sites.precision
    return replace(layout, rows=replace(layout.rows, value=value, variance=variance))


def _score(decisions: Decisions, seen: LeftOut, pushes: Floats) -> tuple[Floats, Floats]:
    """Return each decision's score towards doing, and its scale."""
    scale = np.sqrt(1 + pushes[-1] ** 2 * seen.variance)
    return (decisions.features @ pushes[:-1] - pushes[-1] * seen.mean) / scale, scale


def _pushed(
    decisions: Decisions, seen: LeftOut, state: _State, widths: Floats
) -> tuple[Floats, Floats]:
    """Return pushes and need of highest posterior density given the levels seen, and their cov."""
    pushes, cov = state.pushes, state.cov
    for _ in range(_NEWTON):
        score, scale = _score(decisions, seen, pushes)
        turn = -seen.mean / scale - score * pushes[-1] * seen.variance / scale**2
        loads = np.column_stack([decisions.features / scale[:, None], turn])
        slope, bend = told(score, state.done, state.done * (1 - state.done))
        bent = (loads.T * (bend * decisions.share)) @ loads
        cov = np.linalg.inv(bent + np.diag(1 / widths**2))
        step = cov @ (loads.T @ (slope * decisions.share) - pushes / widths**2)
        pushes = pushes + step * min(1.0, _LONGEST / float(np.abs(step / widths).max() + 1e-12))
    return pushes, cov


def _moved(decisions: Decisions, seen: LeftOut, state: _State) -> _Sites:
    """Return sites that give each level the moments it has with its decision known."""
    need, variance, sites = state.pushes[-1], seen.variance, state.sites
    score, scale = _score(decisions, seen, state.pushes)
    by_score, bend = told(score, state.done, state.done * (1 - state.done))
    slope, bend = -need * by_score / scale, need**2 * bend / scale**2
    kept = np.maximum(1 - variance * bend, 1e-6)
    precision = np.maximum(bend / kept, 1 / _BLANK)
    shift = precision * seen.mean + slope / kept
    share = decisions.share
    return _Sites(
        np.maximum((1 - _DAMPING) * sites.precision + _DAMPING * share * precision, 1 / _BLANK),
        (1 - _DAMPING) * sites.shift + _DAMPING * share * shift,
    )
