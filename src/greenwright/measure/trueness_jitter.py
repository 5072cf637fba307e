"""Surface and launcher told apart: sets of equal rolls -> what they say of log T.

Each set's variance is sigma0^2 L^2 + K L + rounding, and its sum of squares over it is
chi-square. sigma0 is one for all sets of a launcher, K = T S^2 / (4 c^2) one for a place, log T
of places scatter about a level. All is summed on grids; nothing is assumed normal until the end.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.base.estimate import Z90
from greenwright.base.evidence import look_up
from greenwright.base.evidence import value as number
from greenwright.measure.trueness_sets import OffsetSet
from greenwright.measure.trueness_speed import SpeedBeside
from greenwright.roll.roughness import heading_walk
from greenwright.stats import one_blas_thread

Floats = NDArray[np.float64]

LAUNCHER_KEY = "measure.trueness.launcher_jitter"

_LOG_T = np.linspace(-20.0, -7.0, 201)
_GRID_VARIANCE = float(_LOG_T[1] - _LOG_T[0]) ** 2 / 12
_N_JITTERS, _N_LEVELS, _REACH = 81, 61, 4.0
_TAIL = 4.0
_LEAST_PRECISION = 0.05
_LEAST_TOLD, _FURTHEST = 0.2, 3.0
_FAMILY = "measure.trueness_log"


@dataclass(frozen=True, slots=True)
class PlaceSays:
    """What the rolls of one place say of log T: a normal likelihood, launcher's error apart."""

    log_t: float
    variance: float


@dataclass(frozen=True, slots=True)
class LauncherSays:
    """What the rolls of one launcher say.

    Args:
        places: one for each place, in the order given.
        shift_sd: sd of the error in log T that all places share, as the launcher's own
            jitter is known only so well.
        jitter: median and sd of log of sigma0 [rad].
    """

    places: tuple[PlaceSays, ...]
    shift_sd: float
    jitter_rad: float
    jitter_log_sd: float


@dataclass(frozen=True, slots=True)
class _Beliefs:
    """The joint belief on the grid of launchers' jitter and level of log T."""

    jitter: Floats
    level_mean: float
    level_variance: float


def told_apart(
    places: Sequence[Sequence[OffsetSet]], speeds: Sequence[SpeedBeside]
) -> LauncherSays:
    """Return what one launcher's rolls say of log T at each place.

    Args:
        places: for each place the sets rolled there (one length or more).
        speeds: the green speed at each place.

    Where only one length was ever rolled, the jitter comes from the prior
    (measure.trueness.launcher_jitter) and `shift_sd` is as wide as it leaves it.
    """
    logs = np.array([_log_likelihood(s, v) for s, v in zip(places, speeds, strict=True)])
    with one_blas_thread():
        beliefs = _beliefs(np.exp(logs - logs.max(axis=(1, 2), keepdims=True)))
        centre, variance = _conditional(logs, beliefs)
    return _shared_out(centre, variance, beliefs)


def jitter_grid() -> tuple[Floats, Floats]:
    """Return log sigma0 on its grid and its log prior density.

    The density is Student's with four degrees of freedom: a launcher far out of the ordinary is
    likelier than a course far out of it.
    """
    entry = look_up(LAUNCHER_KEY)
    median = math.log(number(LAUNCHER_KEY))
    spread = math.log((entry.high or 0.0) / (entry.low or 1.0)) / (2 * Z90)
    steps = np.linspace(-4.0, 4.0, _N_JITTERS)
    return median + spread * steps, -(_TAIL + 1) / 2 * np.log1p(steps**2 / _TAIL)


def scatter_variance() -> float:
    """Return the prior variance of log T of a place about the course's level."""
    names = ("green_sd", "day_sd", "green_day_sd", "noise_sd")
    return sum(number(f"{_FAMILY}.{name}") ** 2 for name in names)


def _log_likelihood(sets: Sequence[OffsetSet], speed: SpeedBeside) -> Floats:
    """Return the log likelihood of a place over (jitter, log T)."""
    jitter = np.exp(2 * jitter_grid()[0])[:, None]
    walk = np.asarray(heading_walk(np.exp(_LOG_T), speed.metres))[None, :]
    total = np.zeros((_N_JITTERS, len(_LOG_T)))
    for one in sets:
        length = one.length_m or speed.metres
        variance = jitter * length**2 + walk * length + one.rounding_m2
        total -= 0.5 * (one.freedom * np.log(variance) + one.squares_m2 / variance)
    return total


def _beliefs(like: Floats) -> _Beliefs:
    level, level_sd = number(f"{_FAMILY}.level"), number(f"{_FAMILY}.level_sd")
    levels = level + level_sd * np.linspace(-_REACH, _REACH, _N_LEVELS)
    kernel = _normal(_LOG_T[:, None] - levels, scatter_variance())
    seen = np.log(like @ kernel + 1e-300).sum(axis=0)
    joint = seen + jitter_grid()[1][:, None] - 0.5 * ((levels - level) / level_sd) ** 2
    weight = np.exp(joint - joint.max())
    weight /= weight.sum()
    of_level = weight.sum(axis=0)
    mean = float(of_level @ levels)
    return _Beliefs(weight.sum(axis=1), mean, float(of_level @ (levels - mean) ** 2))


def _conditional(logs: Floats, beliefs: _Beliefs) -> tuple[Floats, Floats]:
    """Return the normal likelihood of each place's log T (centre, variance) at each jitter.

    Moments are matched under what the other places suggest, which is then taken off again.
    """
    around = scatter_variance() + beliefs.level_variance
    logs = logs - 0.5 * (_LOG_T - beliefs.level_mean) ** 2 / around
    weight = np.exp(logs - logs.max(axis=2, keepdims=True))
    weight /= weight.sum(axis=2, keepdims=True)
    mean = weight @ _LOG_T
    variance = np.maximum(weight @ _LOG_T**2 - mean**2, _GRID_VARIANCE)
    precision = 1 / variance - 1 / around
    known = np.maximum(precision, _LEAST_PRECISION)
    centre = (mean / variance - beliefs.level_mean / around) / known
    return np.where(precision > _LEAST_PRECISION, centre, mean), 1 / known


def _shared_out(centre: Floats, variance: Floats, beliefs: _Beliefs) -> LauncherSays:
    """Share the launcher's uncertainty out: what all places share, and each place's own."""
    jitter, scatter = beliefs.jitter, scatter_variance()
    weight = 1 / (variance + scatter)
    common = (weight * centre).sum(axis=0) / weight.sum(axis=0)
    apart = centre - common
    own = apart @ jitter
    each = variance @ jitter + ((apart - own[:, None]) ** 2) @ jitter
    level, shift_variance = _level_likelihood(beliefs, float((1 / (each + scatter)).sum()))
    logs = jitter_grid()[0]
    middle = float(jitter @ logs)
    return LauncherSays(
        places=tuple(PlaceSays(float(t + level), float(v)) for t, v in zip(own, each, strict=True)),
        shift_sd=math.sqrt(shift_variance),
        jitter_rad=math.exp(middle),
        jitter_log_sd=math.sqrt(float(jitter @ (logs - middle) ** 2)),
    )


def _level_likelihood(beliefs: _Beliefs, information: float) -> tuple[float, float]:
    """Return the level that the rolls alone suggest, and its variance beyond their noise.

    The prior of the level is taken off, as the pooled model will put it on again. Where the
    rolls hardly narrow the level (one length, a launcher out of the ordinary) what they suggest
    is kept within reach of what is believed after them.
    """
    level, prior = number(f"{_FAMILY}.level"), number(f"{_FAMILY}.level_sd") ** 2
    precision = max(1 / beliefs.level_variance - 1 / prior, _LEAST_TOLD)
    beyond = (beliefs.level_mean - level) / (prior * precision)
    told = beliefs.level_mean + min(max(beyond, -_FURTHEST), _FURTHEST)
    return told, max(1 / precision - 1 / information, 0.0)


def _normal(away: Floats, variance: float) -> Floats:
    return np.exp(-0.5 * away**2 / variance)
