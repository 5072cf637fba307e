"""Invented motion traces with known truth; nothing here is shared with the readers of traces.

A ball slows evenly on its way; its heading walks at random as side slopes turn it, more the slower
it is; its height follows the surface. Sampling, noise and faults are laid on at the end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from greenwright.measure.traces import MotionTrace

RADIUS = 0.02134  # m, ball of 1.68 in
C = 0.2387  # m, rolling resistance times green speed at a release of 1.83 m/s
RELEASE = 1.8288  # m/s


@dataclass(frozen=True)
class Way:
    """The true way of a ball: time, distance, speed, position across, all at 2 kHz."""

    time: np.ndarray
    distance: np.ndarray
    speed: np.ndarray
    across: np.ndarray


def way(
    *,
    slowing: float = 0.55,
    launch: float = 1.8,
    walk: float = 0.0,
    side: float = 0.0,
    seed: int = 0,
) -> Way:
    """Return a ball's way from launch speed [m/s] to rest.

    Args:
        slowing: deceleration [m/s2].
        walk: K [m], variance of r * dpsi over distance, r = v^2 / 2a.
        side: constant side slope over 2 rho, its turn r dpsi / ds.
    """
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, launch / slowing, 1 / 2000)
    speed = launch - slowing * time
    distance = launch * time - slowing * time**2 / 2
    step = speed / 2000
    left = np.maximum(speed**2 / (2 * slowing), 0.01)
    turn = (side * step + np.sqrt(walk * step) * rng.standard_normal(len(time))) / left
    return Way(time, distance, speed, np.cumsum(np.cumsum(turn) * step))


def index_of(walk: float, slowing: float) -> float:
    """T of K at the green speed of a deceleration: 4 (C / S)^2 K."""
    return 4 * (C / (RELEASE**2 / (2 * slowing))) ** 2 * walk


def sampled(one: Way, rate: float) -> tuple[np.ndarray, ...]:
    """Return time, distance, speed and position across at a sampling rate [Hz]."""
    time = np.arange(0.0, one.time[-1], 1 / rate)
    return (time, *(np.interp(time, one.time, v) for v in (one.distance, one.speed, one.across)))


def film(
    one: Way, *, rate: float = 120.0, noise: float = 0.0005, turn: float = 0.4, seed: int = 1
) -> MotionTrace:
    """Return the trace of a film: x and y in a frame turned against the roll [rad], noisy [m]."""
    rng = np.random.default_rng(seed)
    time, along, _, across = sampled(one, rate)
    x = 3 + math.cos(turn) * along - math.sin(turn) * across
    y = 5 + math.sin(turn) * along + math.cos(turn) * across
    blur = noise * rng.standard_normal((2, len(time)))
    return MotionTrace(time_s=time, x_m=x + blur[0], y_m=y + blur[1])


def spinning(one: Way, *, rate: float = 500.0, noise: float = 0.3, seed: int = 1) -> MotionTrace:
    """Return rotation in axes of the ball's own, which turn with it [rad/s]."""
    rng = np.random.default_rng(seed)
    time, along, speed, _ = sampled(one, rate)
    turn, tilt = along / RADIUS, 0.7
    parts = (np.cos(tilt), np.sin(tilt) * np.cos(0.3 * turn), np.sin(tilt) * np.sin(0.3 * turn))
    noisy = [speed / RADIUS * p + noise * rng.standard_normal(len(time)) for p in parts]
    return MotionTrace(time_s=time, wx_rad_s=noisy[0], wy_rad_s=noisy[1], wz_rad_s=noisy[2])


def shaken(
    one: Way,
    *,
    rate: float = 1000.0,
    wave: tuple[float, float] | None = None,
    bumps: tuple[float, ...] = (),
    noise: float = 0.05,
    seed: int = 1,
) -> MotionTrace:
    """Return speed and vertical acceleration [m/s2] with gravity inside.

    Args:
        wave: amplitude and wavelength of the surface [m].
        bumps: distances of knocks of 25 m/s2, half a sine of 10 mm [m].
    """
    rng = np.random.default_rng(seed)
    time, along, speed, _ = sampled(one, rate)
    up = 9.81 + noise * rng.standard_normal(len(time))
    if wave:
        rate_of = 2 * math.pi / wave[1]
        up = up - wave[0] * rate_of**2 * speed**2 * np.sin(rate_of * along)
    for at in bumps:
        near = np.abs(along - at) < 0.005
        up = up + 25 * near * np.cos(math.pi * (along - at) / 0.01)
    noisy = speed + 0.002 * rng.standard_normal(len(time))
    return MotionTrace(time_s=time, speed_m_s=noisy, az_m_s2=up)


def felt(one: Way, *, rate: float = 500.0, rest: float = 1.0, seed: int = 1) -> MotionTrace:
    """Return acceleration along the roll with an offset, and the rest after it [s]."""
    rng = np.random.default_rng(seed)
    slowing = (one.speed[0] - one.speed[-1]) / (one.time[-1] - one.time[0])
    time = np.arange(0.0, one.time[-1] + rest, 1 / rate)
    force = np.where(time < one.time[-1], -slowing, 0.0) + 0.03
    return MotionTrace(time_s=time, ax_m_s2=force + 0.2 * rng.standard_normal(len(time)))
