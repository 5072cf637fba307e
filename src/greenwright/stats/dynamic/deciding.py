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
from greenwright.stats.dynamic.left_out import LeftOut
from greenwright.stats.dynamic.model import Floats, Ints, joined, readings
from greenwright.stats.dynamic.propagating import (
    BLANK,
    Decisions,
    Seen,
    Sites,
    pushes_given,
    score_of,
    seen_with,
    sites_given,
    with_sites,
)
from greenwright.stats.dynamic.reach import Blanks
from greenwright.stats.dynamic.unwritten import (
    Asked,
    Missed,
    dosed,
    idle_chance,
    missed,
    odds_of,
    redrawn,
    share_drawn,
)
from greenwright.stats.pooling import one_blas_thread

_SWEEPS = 4
_DRAWN, _BETWEEN = 3, 2
_STEPS = 5
_GAIN = 0.02


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
class _Hidden:
    """Where the drawing of unwritten work stands.

    Args:
        blanks: what nothing is written of.
        held: (stories,) the last draw: 1 done and not written.
        shares: of all work, the part not written, draw by draw.
    """

    blanks: Blanks
    held: Floats
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _State:
    """Where the joint fit stands: hyper-parameters, pushes with need, sites, what is not written.

    Args:
        layout: with hidden doses as drawn.
        done: (n,) 1 where each decision was to work.
        hidden: None where all is taken as written.
    """

    top: Floats
    pushes: Floats
    cov: Floats
    sites: Sites
    layout: Layout
    done: Floats
    hidden: _Hidden | None = None


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
        variance=BLANK,
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
    sites = Sites(np.full(len(decisions.done), 1 / BLANK), np.zeros(len(decisions.done)))
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
        sites=Sites(np.full(count, 1 / BLANK), np.zeros(count)),
        layout=layout,
        done=decisions.done,
    )
    for _ in range(rounds):
        state = _swept(layout, decisions, state, widths=widths, rng=rng)
        state = replace(state, top=_climbed(fit, state))
        state = replace(state, hidden=state.hidden or _first(decisions, layout))
    if state.hidden is not None:
        for _ in range(_DRAWN):
            state = _swept(layout, decisions, state, widths=widths, rng=rng)
        state = replace(state, top=_climbed(fit, state))
    else:
        state = _swept(layout, decisions, state, widths=widths, rng=rng)
    seen = seen_with(state.layout, named(layout.model, state.top), state.sites)
    chance = ndtr(score_of(decisions, seen.before, state.pushes)[0])
    mixed, states = _mixed(fit, layout, decisions, state, rng=rng)
    done = found = None
    if state.hidden is not None and states[-1].hidden is not None:
        done = mixed.weights @ np.array([one.done for one in states])
        found = missed(states[-1].hidden.shares[len(states[-1].hidden.shares) // 2 :])
        expected = dosed(layout, state.hidden.blanks, done[_blank(decisions)], by_story=False)
        mixed = replace(mixed, layout=replace(state.layout, model=expected.model))
    choice = Choice(state.pushes[:-1], float(state.pushes[-1]), state.cov, chance, done, found)
    return DecidedFit(mixed, choice)


def _blank(decisions: Decisions) -> Ints:
    return np.flatnonzero(decisions.done == 0)


def _first(decisions: Decisions, layout: Layout) -> _Hidden | None:
    """Return the start of drawing: nothing hidden."""
    if decisions.unwritten is None:
        return None
    names = [term.name for term in layout.model.terms]
    if decisions.term not in names:
        raise BadInput(f"no term {decisions.term!r}", expected=", ".join(names))
    blank, each = _blank(decisions), np.arange(len(decisions.done))
    stories, story = np.unique(_or(decisions.story, each)[blank], return_inverse=True)
    goes, go = np.unique(_or(decisions.lost, each)[blank], return_inverse=True)
    lost, kind = np.zeros(len(stories), dtype=np.intp), np.zeros(len(goes), dtype=np.intp)
    lost[story] = go
    kind[go] = _or(decisions.kind, 0 * each)[blank]
    blanks = Blanks(
        row=len(layout.rows) - len(each) + blank,
        unit=decisions.unit[blank],
        day=decisions.day[blank],
        story=story,
        lost=lost,
        kind=kind,
        term=names.index(decisions.term),
    )
    return _Hidden(blanks, np.zeros(len(stories)), ())


def _or(given: Ints | None, otherwise: Ints) -> Ints:
    return otherwise if given is None else given


def _swept(
    layout: Layout,
    decisions: Decisions,
    state: _State,
    *,
    widths: Floats,
    rng: np.random.Generator,
) -> _State:
    """Propagate a few times at fixed hyper-parameters, and draw what was not written.

    Args:
        layout: with the doses as written; those of the state are as drawn.
    """
    hyper = named(layout.model, state.top)
    for _ in range(_SWEEPS):
        seen = seen_with(state.layout, hyper, state.sites)
        pushes, cov = pushes_given(
            decisions, seen.before, pushes=state.pushes, done=state.done, widths=widths
        )
        state = replace(state, pushes=pushes, cov=cov)
        state = _redrawn(layout, decisions, state, seen=seen, rng=rng)
        state = replace(state, sites=_sited(decisions, seen, state))
    return state


def _redrawn(
    layout: Layout,
    decisions: Decisions,
    state: _State,
    *,
    seen: Seen,
    rng: np.random.Generator,
) -> _State:
    """Draw anew what hides behind the blanks, the pushes as they stand."""
    if state.hidden is None or decisions.unwritten is None:
        return state
    blanks, held, blank = state.hidden.blanks, state.hidden.held, _blank(decisions)
    asked = Asked(
        lean=decisions.features[blank] @ state.pushes[:-1],
        need=float(state.pushes[-1]),
        share=decisions.share[blank],
    )
    before = LeftOut(seen.before.mean[blank], seen.before.variance[blank])
    odds = odds_of(seen.layout, seen.at, blanks, seen=before, asked=asked, held=held, rng=rng)
    idle = idle_chance(seen.layout, seen.at, blanks, asked=asked, known=seen.known)
    share = share_drawn(blanks, odds, idle, decisions.unwritten, rng=rng)
    held = redrawn(blanks, odds, held, share=share, rng=rng)
    done = decisions.done.copy()
    done[blank] = held[blanks.story]
    return replace(
        state,
        layout=dosed(layout, blanks, held),
        done=done,
        hidden=_Hidden(blanks, held, (*state.hidden.shares, _part(done, decisions))),
    )


def _climbed(fit: DynamicFit, state: _State) -> Floats:
    """Climb the hyper-parameters with the sites held.

    Where sites have settled, the slope with them held is that of the whole evidence. It matters:
    readings alone see a level that work has been smoothing, and take it for a calmer one.
    """
    here, bend = with_sites(state.layout, state.sites), np.linalg.inv(fit.root @ fit.root.T)
    return climb(lambda z: hill(here, z), state.top, bend, gain=_GAIN, most_steps=_STEPS).point


def _part(done: Floats, decisions: Decisions) -> float:
    """Return which part of the work done was not written, half an act of either kept open."""
    hidden = float(((done - decisions.done) * decisions.share).sum())
    return (hidden + 0.5) / (float((done * decisions.share).sum()) + 1.0)


def _mixed(
    fit: DynamicFit,
    layout: Layout,
    decisions: Decisions,
    state: _State,
    *,
    rng: np.random.Generator,
) -> tuple[DynamicFit, list[_State]]:
    """Return the mixture about the new top, each point with its own draw of how decisions fall."""
    points = points_about(state.top, fit.root, fit.steps)
    here = with_sites(state.layout, state.sites)
    heights = np.array([log_posterior(here, point)[0] for point in points])
    half, width = (len(points) - 1) // 2, len(state.pushes)
    drawn = rng.standard_normal((half, width))
    moved = np.vstack([np.zeros((1, width)), drawn, -drawn])
    tried = state.pushes + moved @ np.linalg.cholesky(state.cov).T
    found, states = [], []
    for point, tries in zip(points, tried, strict=True):
        state, hyper = replace(state, pushes=tries), named(layout.model, point)
        for _ in range(_BETWEEN if state.hidden else 0):
            seen = seen_with(state.layout, hyper, state.sites)
            state = _redrawn(layout, decisions, state, seen=seen, rng=rng)
            state = replace(state, sites=_sited(decisions, seen, state))
        states.append(state)
        found.append(_propagate(state, hyper, decisions, sweeps=1 if state.hidden else 2))
    weights = weights_of(heights, fit.steps)
    whole = replace(fit, layout=state.layout, top=state.top, weights=weights, at=tuple(found))
    return whole, states


def _sited(decisions: Decisions, seen: Seen, state: _State) -> Sites:
    return sites_given(
        decisions, seen.before, pushes=state.pushes, done=state.done, sites=state.sites
    )


def _propagate(
    state: _State, hyper: Mapping[str, float], decisions: Decisions, *, sweeps: int
) -> Conditioned:
    """Return the model conditioned on readings and decisions, pushes held."""
    for _ in range(sweeps):
        seen = seen_with(state.layout, hyper, state.sites)
        state = replace(state, sites=_sited(decisions, seen, state))
    return condition(with_sites(state.layout, state.sites), hyper)
