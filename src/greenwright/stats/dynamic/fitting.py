"""Hyper-parameters: the best point, and a weighted mixture about it that carries their doubt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from greenwright.stats.ascent import climb
from greenwright.stats.dynamic.evidence import Conditioned, condition
from greenwright.stats.dynamic.layout import Layout, lay_out
from greenwright.stats.dynamic.model import DynamicModel, Floats, Readings
from greenwright.stats.dynamic.slope import slopes
from greenwright.stats.pooling import one_blas_thread

_STEP = 0.05
_LEAST_BEND = 0.7
REACH = 4.0


@dataclass(frozen=True, slots=True)
class DynamicFit:
    """A fitted model.

    Args:
        layout: of the readings.
        top: (k,) best point, in prior sds of the log hyper-parameters from their medians.
        root: (k, k) root of the inverse curvature of the log posterior there.
        steps: (m, k) standard normal steps of the mixture's points, the first all zero.
        weights: (m,) sum 1.
        at: the model conditioned at each point, the best first.
        evaluations: of the likelihood, spent in all.
    """

    layout: Layout
    top: Floats
    root: Floats
    steps: Floats
    weights: Floats
    at: tuple[Conditioned, ...]
    evaluations: int

    @property
    def hyper(self) -> Mapping[str, float]:
        """Return the best hyper-parameters by name."""
        return self.at[0].hyper

    @property
    def effective(self) -> float:
        """Return how many equally weighted points the mixture is worth."""
        return float(1 / np.square(self.weights).sum())


def fit_dynamic(
    model: DynamicModel,
    rows: Readings,
    *,
    rng: np.random.Generator,
    pairs: int = 8,
    gain: float = 1e-3,
    knots: Floats | None = None,
) -> DynamicFit:
    """Fit the model: climb to the best hyper-parameters, then weigh points drawn about them.

    Args:
        model: what acts, with priors.
        rows: any number of readings, none included (then the prior speaks).
        rng: draws the mixture's points.
        pairs: antithetic pairs of points; 0 = the best point alone.
        gain: log density worth another step of the climb.
        knots: days to cut time at; see ``lay_out``.

    Errors: BadInput for readings the model does not know.
    """
    layout = lay_out(model, rows, knots=knots)
    with one_blas_thread():
        start = np.zeros(len(model.hypers))
        top = climb(lambda z: hill(layout, z), start, _first_bend(layout), gain=gain)
        point, root = _bent(layout, top.point)
        steps = _steps(len(start), pairs=pairs, rng=rng)
        spent = top.evaluations + len(start) + len(steps) + 1
        return _mixed(layout, point, root, steps=steps, spent=spent)


def refit(
    fit: DynamicFit, model: DynamicModel, rows: Readings, *, gain: float = 0.02
) -> DynamicFit:
    """Fit again after more readings: from the old top, with the old curvature and steps.

    Args:
        fit: of the same model before, its calendar and doses perhaps shorter.
        model: the model now.
        rows: all readings, old and new.
        gain: log density worth another step of the climb. While none is, the mixture's points
            stay, their weights move, and only the periods that have changed are worked out.

    Right while the new readings are few beside the old ones; else ``fit_dynamic``.
    """
    layout = lay_out(model, rows)
    with one_blas_thread():
        bend = np.linalg.inv(fit.root @ fit.root.T)
        top = climb(lambda z: hill(layout, z), fit.top, bend, gain=gain)
        spent = top.evaluations + len(fit.steps)
        return _mixed(layout, top.point, fit.root, steps=fit.steps, spent=spent, known=fit.at)


def named(model: DynamicModel, point: Floats) -> dict[str, float]:
    """Return hyper-parameters by name at a point in prior sds from the medians of their logs."""
    made = {}
    for away, (name, prior) in zip(point, model.hypers.items(), strict=True):
        made[name] = float(prior.median * np.exp(prior.log_sd * away))
    return made


def log_posterior(
    layout: Layout, point: Floats, known: Conditioned | None = None
) -> tuple[float, Conditioned]:
    """Return the log posterior density (up to a constant) and the model conditioned there."""
    at = condition(layout, named(layout.model, point), known=known)
    return at.log_likelihood - 0.5 * float(point @ point), at


def hill(layout: Layout, point: Floats) -> tuple[float, Floats]:
    """Return log posterior density and its slope at a point of the hyper-parameters."""
    height, at = log_posterior(layout, point)
    spread = np.array([p.log_sd for p in layout.model.hypers.values()])
    return height, spread * np.array(list(slopes(layout, at).values())) - point


def _first_bend(layout: Layout) -> Floats:
    """Guess the curvature: the log of an sd seen in m independent things bends by about m."""
    rows, model = len(layout.rows) / 4, layout.model
    seen = {"noise_sd": rows + float(layout.rows.free.sum()), "set_sd": rows, "own_sd": rows}
    seen |= {"own_time": rows / 4, "unit_sd": model.units / 2.0}
    seen |= {"day_sd": len(layout.grid) / 2, "day_time": len(layout.grid) / 4}
    spread = np.array([p.log_sd for p in model.hypers.values()])
    return np.diag(1 + np.array([seen.get(name, 1.0) for name in model.hypers]) * spread**2)


def _bent(layout: Layout, top: Floats) -> tuple[Floats, Floats]:
    """Return the top, nearer by a last step, and the symmetric root of the inverse curvature.

    Flat directions keep the prior's width. The symmetric root changes little when the curvature
    does, so a warm and a cold start with the same steps weigh nearly the same points.
    """
    here = hill(layout, top)[1]
    steps = _STEP * np.eye(len(top))
    bend = np.array([here - hill(layout, top + step)[1] for step in steps]) / _STEP
    values, vectors = np.linalg.eigh((bend + bend.T) / 2)
    root = (vectors / np.sqrt(np.clip(values, _LEAST_BEND, None))) @ vectors.T
    last = root @ here
    return top + root @ (last * min(1.0, 1 / max(np.abs(last).max(), 1e-9))), root


def _steps(width: int, *, pairs: int, rng: np.random.Generator) -> Floats:
    """Return no step, then antithetic ones in directions at right angles, each as far as any.

    With as many pairs as hyper-parameters every direction is covered alike, and the steps have
    exactly the variance of normal ones; with fewer they have it on average.
    """
    whole = [_turned(width, rng) for _ in range(-(-pairs // max(width, 1)))]
    reach = np.sqrt(width * (2 * pairs + 1) / (2 * pairs)) if pairs else 0.0
    drawn = reach * np.vstack([np.zeros((0, width)), *whole])[:pairs]
    return np.vstack([np.zeros((1, width)), drawn, -drawn])


def _turned(width: int, rng: np.random.Generator) -> Floats:
    """Return directions at right angles, turned by chance."""
    return np.linalg.qr(rng.standard_normal((width, width)))[0]


def points_about(top: Floats, root: Floats, steps: Floats) -> Floats:
    """Return the mixture's points, none farther out than four prior sds."""
    return np.clip(top + steps @ root.T, -REACH, REACH)


def weights_of(heights: Floats, steps: Floats) -> Floats:
    """Weigh points by how likely they are against how likely they were drawn; none may rule."""
    logs = heights + 0.5 * np.square(steps).sum(axis=1)
    if len(logs) > 1:
        # The middle is where the climb ended, not a draw: it weighs as the median draw does.
        logs[0] = np.median(logs[1:])
    weights = np.exp(logs - logs.max())
    capped = np.minimum(weights, weights.mean() * np.sqrt(len(weights)))
    return capped / capped.sum()


def _mixed(
    layout: Layout,
    top: Floats,
    root: Floats,
    *,
    steps: Floats,
    spent: int,
    known: tuple[Conditioned, ...] = (),
) -> DynamicFit:
    points = points_about(top, root, steps)
    had = known or (None,) * len(points)
    found = [log_posterior(layout, point, at) for point, at in zip(points, had, strict=True)]
    weights = weights_of(np.array([height for height, _ in found]), steps)
    return DynamicFit(layout, top, root, steps, weights, tuple(at for _, at in found), spent)
