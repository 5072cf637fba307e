"""A long sampling run of the dynamic model, to hold its quick mixture against.

Hamiltonian moves over the hyper-parameters alone, everything else integrated exactly, in
coordinates in which the posterior is about round. ``python -m tests.calibration.long_records``
prints a table of five records; it takes minutes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from greenwright.stats.dynamic import DynamicFit
from greenwright.stats.dynamic.fitting import log_posterior
from greenwright.stats.dynamic.slope import slopes
from greenwright.stats.pooling import one_blas_thread

Floats = np.ndarray
Seen = tuple[float, Floats, Floats]
Place = Callable[[Floats], Seen]
"""Point -> (log density, its slope, what to keep of the point)."""

_WANTED, _SPAN = 0.8, 1.6


@dataclass(frozen=True)
class Runs:
    """Chains: kept (chains, draws, k), points (chains, draws, d), share of moves accepted."""

    kept: Floats
    points: Floats
    accepted: float
    evaluations: int


@dataclass(frozen=True)
class Long:
    """Effects by a long run: mean and sd, half-lives' logs likewise, and how far to trust it."""

    mean: Floats
    sd: Floats
    log_shape: tuple[Floats, Floats]
    r_hat: float
    effective: float
    runs: Runs


class Stepper:
    """Finds the step length at which a share of moves is accepted, by dual averaging."""

    def __init__(self, first: float) -> None:
        self.centre, self.error, self.count, self.settled = np.log(10 * first), 0.0, 0, 0.0
        self.step = first

    def learn(self, accepted: float) -> None:
        """Move the step after one move; gains 0.05, delay 10, decay 0.75 are common practice."""
        self.count += 1
        weight = 1 / (self.count + 10)
        self.error += weight * (_WANTED - accepted - self.error)
        log_step = self.centre - np.sqrt(self.count) / 0.05 * self.error
        fade = self.count**-0.75
        self.settled = fade * log_step + (1 - fade) * self.settled
        self.step = float(np.exp(np.clip(log_step, -6, 0.7)))

    def settle(self) -> None:
        self.step = float(np.exp(np.clip(self.settled, -6, 0.7)))


def move(
    place: Place, point: Floats, here: Seen, *, step: float, rng: np.random.Generator
) -> tuple[Floats, Seen, float, int]:
    """Leap from a point; return where the chain is then, what is there, chance, evaluations."""
    push = rng.standard_normal(len(point))
    energy = here[0] - 0.5 * push @ push
    count = max(1, min(24, round(rng.uniform(0.5, 1.0) * _SPAN / step)))
    at, there = point, here
    for _ in range(count):
        push = push + 0.5 * step * there[1]
        at = at + step * push
        there = place(at)
        if not np.isfinite(there[0]):
            return point, here, 0.0, count
        push = push + 0.5 * step * there[1]
    chance = float(np.exp(min(0.0, there[0] - 0.5 * push @ push - energy)))
    moved = rng.random() < chance
    return (at, there, chance, count) if moved else (point, here, chance, count)


def chain(
    place: Place, start: Floats, *, warm: int, draws: int, rng: np.random.Generator
) -> tuple[list[Floats], list[Floats], float, int]:
    """Run one chain; return what was kept, the points, mean chance, evaluations."""
    point, here, stepper = start, place(start), Stepper(0.3)
    kept, points, chances, spent = [], [], [], 1
    for k in range(warm + draws):
        point, here, chance, count = move(place, point, here, step=stepper.step, rng=rng)
        spent += count
        if k < warm:
            stepper.learn(chance)
            if k == warm - 1:
                stepper.settle()
            continue
        kept.append(here[2])
        points.append(point)
        chances.append(chance)
    return kept, points, float(np.mean(chances)), spent


def sample(place: Place, width: int, *, warm: int, draws: int, seed: int, chains: int = 4) -> Runs:
    """Run chains from points drawn a little wider than the Laplace curve."""
    made = []
    for k in range(chains):
        rng = np.random.default_rng([seed, k])
        start = 1.2 * rng.standard_normal(width)
        made.append(chain(place, start, warm=warm, draws=draws, rng=rng))
    return Runs(
        np.array([m[0] for m in made]),
        np.array([m[1] for m in made]),
        float(np.mean([m[2] for m in made])),
        sum(m[3] for m in made),
    )


def split_r_hat(values: Floats) -> float:
    """Return how much wider half-chains are together than each alone; (chains, draws).

    >>> bool(split_r_hat(np.random.default_rng(1).standard_normal((4, 500))) < 1.02)
    True
    """
    half = values.shape[1] // 2
    parts = np.concatenate([values[:, :half], values[:, -half:]])
    within = parts.var(axis=1, ddof=1).mean()
    between = half * parts.mean(axis=1).var(ddof=1)
    return float(np.sqrt(((half - 1) * within + between) / (half * within)))


def effective(values: Floats) -> float:
    """Return how many independent draws the chains are worth; (chains, draws).

    Autocorrelations are summed in pairs as long as these stay positive and fall.
    """
    chains, n = values.shape
    away = values - values.mean(axis=1, keepdims=True)
    lags = [np.mean([a[: n - k] @ a[k:] / n for a in away]) for k in range(n // 2)]
    within = lags[0] * n / (n - 1)
    total = within * (n - 1) / n + values.mean(axis=1).var(ddof=1)
    rho = 1 - (within - np.array(lags)) / total
    rho[0] = 1.0
    pairs = rho[: len(rho) // 2 * 2].reshape(-1, 2).sum(axis=1)
    fall = np.minimum.accumulate(pairs)
    stop = int(np.argmax(fall <= 0)) if (fall <= 0).any() else len(fall)
    return float(chains * n / max(-1 + 2 * fall[:stop].sum(), 1 / np.log10(chains * n)))


def place_about(fit: DynamicFit) -> Place:
    """Return the log posterior in coordinates whitened by the fit's Laplace curve."""
    layout = fit.layout
    spread = np.array([p.log_sd for p in layout.model.hypers.values()])
    terms = np.arange(layout.border.terms, layout.border.fixed)

    def place(point: Floats) -> Seen:
        z = fit.top + fit.root @ point
        if np.abs(z).max() > 8:
            return -np.inf, point, point
        height, at = log_posterior(layout, z)
        slope = spread * np.array(list(slopes(layout, at).values())) - z
        return height, fit.root.T @ slope, np.append(at.mean[terms], np.diagonal(at.cov)[terms])

    return place


def long_run(fit: DynamicFit, *, warm: int, draws: int, seed: int, chains: int = 4) -> Long:
    """Sample the hyper-parameters; effects are known exactly at each draw of them."""
    with one_blas_thread():
        place = place_about(fit)
        runs = sample(place, len(fit.top), warm=warm, draws=draws, seed=seed, chains=chains)
    count = len(fit.layout.model.terms)
    means, variances = runs.kept[:, :, :count], runs.kept[:, :, count:]
    names = list(fit.layout.model.hypers)
    shapes = [names.index(h) for h in fit.layout.model.shapes]
    z = fit.top + runs.points @ fit.root.T
    logs = z[:, :, shapes] * [p.log_sd for p in fit.layout.model.shapes.values()]
    watched = [*np.moveaxis(means, 2, 0), *np.moveaxis(runs.points, 2, 0)]
    return Long(
        mean=means.mean(axis=(0, 1)),
        sd=np.sqrt(variances.mean(axis=(0, 1)) + means.var(axis=(0, 1))),
        log_shape=(logs.mean(axis=(0, 1)), logs.std(axis=(0, 1))),
        r_hat=max(split_r_hat(v) for v in watched),
        effective=min(effective(v) for v in watched),
        runs=runs,
    )
