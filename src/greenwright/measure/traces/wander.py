"""The path of one ball -> the random walk of its heading, apart from slope and noise."""

from __future__ import annotations

import math

import numpy as np

from greenwright.base.estimate import Estimate
from greenwright.base.evidence import value as number
from greenwright.measure.belief import lognormal_estimate
from greenwright.measure.traces.motion import Floats
from greenwright.measure.traces.rolling import Rolling
from greenwright.roll import RELEASE_SPEED_M_S, STOPPING_LENGTH_M
from greenwright.stats import one_blas_thread

PATH_KEYS = ("trace.correlation_length", "measure.trueness_log.level")
TOO_WIDE = 1.2
"""Sd of the log of T from which on the path's noise hides the wander."""

_BINS, _FINE = 80, 400
_PRIOR_SD = 2.5
_LOG_INDEX = np.linspace(-22.0, -5.0, 86)
_LOG_NOISE = np.linspace(-7.0, 0.7, 81)


def path_index(rolling: Rolling) -> Estimate | None:
    """Return T of one path [m], log-normal; None without positions or hidden by noise.

    The path across the line is a straight line, the curve of a constant side slope, the
    integral of a heading that walks with variance T ds / (2 rho r)^2, and noise of position
    of its own unknown size. What the first two may explain is left out (restricted likelihood).
    2 rho r = 2 c (v / v0)^2 holds on any slope along the roll, so T needs no level.
    """
    if rolling.sideways_m is None:
        return None
    distance, across, weight = _binned(rolling)
    bend = _bend(rolling, distance)
    fixed = np.column_stack([np.ones_like(distance), distance, bend.sum(axis=1)])
    roots = np.sqrt(weight)
    with one_blas_thread():
        seen, modes = _apart(across * roots, bend * roots[:, None], fixed * roots[:, None])
        mean, sd = _posterior(seen, modes)
    if sd > TOO_WIDE:
        return None
    return lognormal_estimate(mean, sd, "m", n=1, basis="readings")


def _binned(rolling: Rolling) -> tuple[Floats, Floats, Floats]:
    """Return distance and position across in equal stretches, and samples in each."""
    s, y = rolling.distance_m, rolling.sideways_m
    edges = np.linspace(s[0], s[-1], min(_BINS, len(s) // 2) + 1)
    place = np.clip(np.searchsorted(edges, s, side="right") - 1, 0, len(edges) - 2)
    count = np.bincount(place, minlength=len(edges) - 1)
    held = count > 0
    sums = [np.bincount(place, weights=w, minlength=len(count)) for w in (s, y)]
    return sums[0][held] / count[held], sums[1][held] / count[held], count[held].astype(float)


def _bend(rolling: Rolling, distance: Floats) -> Floats:
    """Return how a turn of each short stretch moves the path at each distance, T = 1 m."""
    grid = np.linspace(0.0, float(distance[-1]), _FINE + 1)
    middle, step = (grid[1:] + grid[:-1]) / 2, grid[1] - grid[0]
    left = np.maximum(rolling.reach_m - middle, number("trace.correlation_length"))
    pace = np.sqrt(2 * rolling.deceleration.value * left)
    rate = 1 / (2 * STOPPING_LENGTH_M * (pace / RELEASE_SPEED_M_S) ** 2)
    return np.maximum(distance[:, None] - middle, 0.0) * rate * math.sqrt(step)


def _apart(seen: Floats, bend: Floats, fixed: Floats) -> tuple[Floats, Floats]:
    """Return what no fixed curve explains, in independent modes, and each mode's gain of T."""
    free = np.linalg.qr(fixed, mode="complete")[0][:, fixed.shape[1] :]
    gain, modes = np.linalg.eigh(free.T @ (bend @ bend.T) @ free)
    return modes.T @ (free.T @ seen), np.maximum(gain, 0.0)


def _posterior(seen: Floats, gain: Floats) -> tuple[float, float]:
    """Return mean and sd of log T, noise of position summed out, under a very wide prior."""
    index, spread = np.exp(_LOG_INDEX), np.sqrt(np.mean(seen**2) + 1e-12)
    noise = (spread * np.exp(_LOG_NOISE)) ** 2
    variance = index[:, None, None] * gain + noise[None, :, None]
    height = -0.5 * (np.log(variance) + seen**2 / variance).sum(axis=2)
    away = (_LOG_INDEX - number("measure.trueness_log.level")) / _PRIOR_SD
    height = height - 0.5 * away[:, None] ** 2
    weight = np.exp(height - height.max()).sum(axis=1)
    weight /= weight.sum()
    mean = float(weight @ _LOG_INDEX)
    return mean, math.sqrt(float(weight @ (_LOG_INDEX - mean) ** 2))
