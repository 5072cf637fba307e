"""The scenarios: equally likely draws of every green's level on every day ahead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from greenwright.advise.ahead import HORIZON_DAYS, DayAhead, days_ahead
from greenwright.advise.targets import Band, band, wanted
from greenwright.base.tables import quantities
from greenwright.base.values import Snapshot
from greenwright.measure import Surface
from greenwright.respond import MEMORY_DAYS, Responses, WorkPath, past_work, shift

Floats = NDArray[np.float64]
START = MEMORY_DAYS + 1
"""Place of the first day ahead along the path's day axis."""

QUALITY = "quality"


@dataclass(frozen=True, slots=True)
class World:
    """Everything a plan is judged against.

    Args:
        greens: in play, in playing order.
        days: the days ahead.
        surfaces: the surfaces that a target speaks of, by quantity.
        bands: their bands, (greens, days).
        base: quantity -> (draws, greens, days): level had the surface of its last reading stayed,
            with the scatter of days to come, without the effect of any work.
        path: past work of these greens with empty days ahead.
        responses: the effects as draws.
        missing: (quantity, method) with a target and no reading.
        quality: (greens,) expected quality today at the height in force, nan where never read.
    """

    greens: tuple[str, ...]
    days: tuple[DayAhead, ...]
    surfaces: Mapping[str, Surface]
    bands: Mapping[str, Band]
    base: Mapping[str, Floats]
    path: WorkPath
    responses: Responses
    missing: tuple[tuple[str, str], ...]
    quality: Floats

    @property
    def dates(self) -> tuple[date, ...]:
        """Return the dates ahead."""
        return tuple(d.date for d in self.days)

    def levels(self, path: WorkPath, quantity: str) -> Floats:
        """Return the level (draws, greens, days ahead) [unit] under a path of work."""
        moved = shift(self.responses, path, quantity)[:, :, START:]
        held = quantities()[quantity]
        return np.clip(self.base[quantity] + moved, held.low, held.high)


def build_world(
    snapshot: Snapshot,
    surfaces: Mapping[str, Surface],
    responses: Responses,
    *,
    seed: int,
    horizon: int = HORIZON_DAYS,
) -> World:
    """Return the scenarios of the days ahead.

    The level of a day ahead is today's belief, less what past work still gave on the day of the
    last reading, plus what work gives on that day, plus the scatter of days (a stationary process
    that starts at today's state).

    Args:
        snapshot: the record.
        surfaces: today's surfaces by quantity.
        responses: effects as draws; its number of draws sets that of the scenarios.
        seed: fixes the draws.
        horizon: days ahead.
    """
    greens = tuple(g.green for g in snapshot.greens if g.in_play)
    days = days_ahead(snapshot, horizon)
    path = of_greens(past_work(snapshot, ahead=horizon), greens)
    named = {(s.quantity, s.method): s for s in surfaces.values() if s is not None}
    found, missing = _matched(snapshot, named)
    dates = [d.date for d in days]
    bands = {q: band(snapshot, q, method=m, greens=greens, days=dates) for (q, m) in found}
    rng = np.random.default_rng([seed, 11])
    base = {
        q: _base(found[q, m], path, responses, rng=rng, horizon=horizon) for (q, m) in sorted(found)
    }
    return World(
        greens,
        days,
        {q: s for (q, _), s in found.items()},
        bands,
        base,
        path,
        responses,
        missing,
        _quality_today(named.get((QUALITY, "")), path, responses),
    )


def of_greens(path: WorkPath, greens: tuple[str, ...]) -> WorkPath:
    """Return the part of a path that speaks of some greens."""
    rows = [path.greens.index(g) for g in greens]
    return replace(
        path,
        greens=greens,
        doses={act: dose[rows] for act, dose in path.doses.items()},
        bench_mm=path.bench_mm[rows],
        mown=path.mown[rows],
        growth=path.growth[rows],
    )


def _matched(
    snapshot: Snapshot, named: Mapping[tuple[str, str], Surface]
) -> tuple[dict[tuple[str, str], Surface], tuple[tuple[str, str], ...]]:
    """Return the surfaces that a target speaks of, one a quantity, and the targets without."""
    found: dict[tuple[str, str], Surface] = {}
    missing = []
    for quantity, method in wanted(snapshot):
        fits = [k for k in named if k[0] == quantity and method in ("", k[1])]
        if not fits or quantity not in quantities():
            missing.append((quantity, method))
        elif all(q != quantity for q, _ in found):
            found[quantity, method] = named[fits[0]]
    return found, tuple(missing)


def _base(
    surface: Surface,
    path: WorkPath,
    responses: Responses,
    *,
    rng: np.random.Generator,
    horizon: int,
) -> Floats:
    n = responses.n_draws
    mean, cov = _belief(surface, path.greens)
    today = mean + _normals(rng, n, len(mean)) @ _root(cov).T
    seen = shift(responses, path, surface.quantity)
    at_reading = np.stack(
        [seen[:, i, _reading_day(surface, path, g)] for i, g in enumerate(path.greens)], axis=1
    )
    return (today - at_reading)[:, :, None] + _scatter(surface, rng, n, (len(mean), horizon))


def _belief(surface: Surface, greens: tuple[str, ...]) -> tuple[Floats, Floats]:
    """Return mean and covariance of some greens; one never known takes the course's."""
    known = [surface.greens.index(g) if g in surface.greens else -1 for g in greens]
    spread = surface.between_greens_sd.value if surface.between_greens_sd else 0.0
    wide = surface.course.sd**2 + spread**2
    mean = np.array([surface.course.value if i < 0 else surface.mean[i] for i in known])
    cov = np.array(
        [[surface.cov[i, j] if min(i, j) >= 0 else 0.0 for j in known] for i in known]
    ).reshape(len(greens), len(greens))
    for place, i in enumerate(known):
        if i < 0:
            cov[place, place] = wide
    return mean, cov


def _reading_day(surface: Surface, path: WorkPath, green: str) -> int:
    place = surface.greens.index(green) if green in surface.greens else None
    last = surface.last_read[place] if place is not None else None
    last = last or surface.course_last_read or surface.on
    return int(np.clip(path.day(last), 0, START - 1))


def _scatter(surface: Surface, rng: np.random.Generator, n: int, shape: tuple[int, int]) -> Floats:
    """Return paths of the day-to-day processes from today's state on, (draws, greens, days)."""
    greens, horizon = shape
    shared = _drift(rng, n, (1, horizon), days=surface.correlation_days)
    slow = _drift(rng, n, (1, horizon), days=surface.slow_days)
    own = _drift(rng, n, (greens, horizon), days=surface.green_correlation_days)
    return surface.day_sd * shared + surface.slow_sd * slow + surface.green_day_sd * own


def _drift(rng: np.random.Generator, n: int, shape: tuple[int, int], *, days: float) -> Floats:
    keep = np.exp(-1.0 / max(days, 1e-9))
    steps = np.stack([_normals(rng, n, shape[0]) for _ in range(shape[1])], axis=2)
    out = np.zeros((n, *shape))
    now = np.zeros((n, shape[0]))
    for day in range(shape[1]):
        now = keep * now + np.sqrt(1 - keep**2) * steps[:, :, day]
        out[:, :, day] = now
    return out


def _normals(rng: np.random.Generator, n: int, width: int) -> Floats:
    """Return n standard normal rows whose second half mirrors the first: their mean is exact."""
    half = rng.standard_normal(((n + 1) // 2, width))
    return np.concatenate([half, -half])[:n]


def _root(cov: Floats) -> Floats:
    values, vectors = np.linalg.eigh((cov + cov.T) / 2)
    return vectors * np.sqrt(np.maximum(values, 0.0))


def _quality_today(surface: Surface | None, path: WorkPath, responses: Responses) -> Floats:
    """Return expected quality today, carried from its last reading by the height since then."""
    if surface is None:
        return np.full(len(path.greens), np.nan)
    moved = shift(responses, path, QUALITY).mean(axis=0)
    since = [
        moved[i, START - 1] - moved[i, _reading_day(surface, path, g)]
        for i, g in enumerate(path.greens)
    ]
    return _belief(surface, path.greens)[0] + np.array(since)
