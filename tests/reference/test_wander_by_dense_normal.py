"""The wander of one path, against the same model written as one dense normal law.

The reference builds the covariance of the path point by point from its integral, takes the fixed
curves out by a very wide prior on them, and sums over T and noise with scipy.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.linalg import cho_factor, cho_solve

from greenwright.measure.traces.rolling import Rolling, rolling_part
from greenwright.measure.traces.wander import path_index
from tests.measure.rolled_balls import film, way

C, RELEASE, CUT = 0.2387, 1.8288, 0.01  # m, m/s, m
LEVEL, LEVEL_SD = -13.122363, 2.5  # very wide prior of log T about the evidence table's level
LOG_T = np.linspace(-20, -7, 40)
LOG_NOISE = np.linspace(math.log(3e-5), math.log(5e-3), 40)


def turn_rate(rolling: Rolling, at: float) -> float:
    """1 / (2 rho r) at a distance: v^2 = 2a (reach - s), 2 rho r = 2 C (v / v0)^2."""
    left = max(rolling.reach_m - at, CUT)
    return 1 / (2 * C * 2 * rolling.deceleration.value * left / RELEASE**2)


def covariance(rolling: Rolling, at: np.ndarray) -> np.ndarray:
    made = np.empty((len(at), len(at)))
    for i, a in enumerate(at):
        for j, b in enumerate(at[: i + 1]):
            law = quad(
                lambda u, a=a, b=b: (a - u) * (b - u) * turn_rate(rolling, u) ** 2,
                0.0,
                min(a, b),
                limit=200,
            )[0]
            made[i, j] = made[j, i] = law
    return made


def side_slope(rolling: Rolling, at: np.ndarray) -> np.ndarray:
    return np.array([quad(lambda u, a=a: (a - u) * turn_rate(rolling, u), 0.0, a)[0] for a in at])


def binned(rolling: Rolling, n: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    ends = np.searchsorted(rolling.distance_m, np.linspace(0, rolling.length_m, n + 1)[1:-1])
    parts = [p for p in np.split(np.arange(len(rolling.distance_m)), ends) if len(p)]
    mean = [(rolling.distance_m[p].mean(), rolling.sideways_m[p].mean(), len(p)) for p in parts]
    return tuple(np.array(v) for v in zip(*mean, strict=True))


def normal_height(seen: np.ndarray, cov: np.ndarray) -> float:
    root = cho_factor(cov, lower=True)
    return -np.log(np.diag(root[0])).sum() - 0.5 * float(seen @ cho_solve(root, seen))


def by_dense_normal(rolling: Rolling) -> tuple[float, float]:
    at, across, count = binned(rolling, 80)
    walk, curve = covariance(rolling, at), side_slope(rolling, at)
    fixed = np.column_stack([np.ones_like(at), at, curve / curve.max()])
    wide = fixed @ fixed.T  # a metre either way, a radian, a metre of bend
    height = np.empty((len(LOG_T), len(LOG_NOISE)))
    for i, t in enumerate(LOG_T):
        for j, s in enumerate(LOG_NOISE):
            whole = math.exp(t) * walk + np.diag(math.exp(2 * s) / count) + wide
            height[i, j] = normal_height(across, whole)
        height[i] -= 0.5 * ((t - LEVEL) / LEVEL_SD) ** 2
    weight = np.exp(height - height.max()).sum(axis=1)
    weight /= weight.sum()
    mean = float(weight @ LOG_T)
    return mean, math.sqrt(float(weight @ (LOG_T - mean) ** 2))


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("noise", [2e-4, 1e-3])
def test_the_modes_agree_with_the_dense_law(seed: int, noise: float) -> None:
    rolling = rolling_part(film(way(walk=8e-5, side=0.003, seed=seed), noise=noise, seed=seed))
    mean, sd = by_dense_normal(rolling)
    got = path_index(rolling)
    assert math.log(got.value) == pytest.approx(mean, abs=0.03)
    assert math.log(got.high / got.low) / (2 * 1.6449) == pytest.approx(sd, rel=0.03)
