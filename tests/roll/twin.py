"""A second ball for the tests: plain scalar Python, double precision, written on its own.

Classical Runge-Kutta of fourth order in time on place and velocity; the roughness turns the
velocity by a normal draw after each step. It shares no line with the program's rollers.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.integrate import solve_ivp

G, V0, SEVENTHS = 9.80665, 1.8288, 5 / 7
HOLE = 0.05398


def friction(speed_m: float) -> float:
    """Rolling resistance: on the level a ball released at V0 stops after the green speed."""
    return V0**2 / (2 * SEVENTHS * G * speed_m)


def force(state: tuple, slope: tuple, rho: float) -> tuple:
    _, _, vx, vy = state
    down = SEVENTHS * G / math.sqrt(1 + slope[0] ** 2 + slope[1] ** 2)
    v = math.hypot(vx, vy)
    return (vx, vy, -down * (rho * vx / v + slope[0]), -down * (rho * vy / v + slope[1]))


def added(state: tuple, rate: tuple, dt: float) -> tuple:
    return tuple(s + dt * r for s, r in zip(state, rate, strict=True))


def roll(
    start: tuple,
    slope: tuple,
    speed_m: float,
    *,
    walk: float = 0.0,
    dt: float = 1e-3,
    rng: np.random.Generator | None = None,
    cut: float = 0.01,
) -> tuple[float, float]:
    """Return where a ball stops; start = (x, y, vx, vy)."""
    rho, state = friction(speed_m), start
    while True:
        v = math.hypot(state[2], state[3])
        a = force(state, slope, rho)
        slowing = -(a[2] * state[2] + a[3] * state[3]) / v
        if v <= slowing * dt:
            left = v * v / (2 * slowing)
            return state[0] + left * state[2] / v, state[1] + left * state[3] / v
        b = force(added(state, a, dt / 2), slope, rho)
        c = force(added(state, b, dt / 2), slope, rho)
        d = force(added(state, c, dt), slope, rho)
        mean = tuple((p + 2 * q + 2 * r + s) / 6 for p, q, r, s in zip(a, b, c, d, strict=True))
        state = added(state, mean, dt)
        if rng is not None:
            left = max(v * v / (2 * SEVENTHS * G * rho), cut)
            turn = math.sqrt(walk * v * dt) / left * rng.standard_normal()
            x, y, vx, vy = state
            sine, cosine = math.sin(turn), math.cos(turn)
            state = (x, y, cosine * vx - sine * vy, sine * vx + cosine * vy)


def integrated(speed_m: float, slope: tuple, launch: float, heading: float) -> tuple[float, float]:
    """Return where a general integrator (DOP853, rtol 1e-12) brings a ball to rest.

    It is stopped at 1 mm/s, from where less than 1 micrometre is left.
    """
    rho = friction(speed_m)

    def slow(_: float, state: np.ndarray) -> float:
        return math.hypot(state[2], state[3]) - 1e-3

    slow.terminal = True  # type: ignore[attr-defined]
    start = [0.0, 0.0, launch * math.cos(heading), launch * math.sin(heading)]
    got = solve_ivp(lambda _, s: force(tuple(s), slope, rho), (0, 60), start, method="DOP853",
                    events=slow, rtol=1e-12, atol=1e-14)  # fmt: skip
    return float(got.y[0, -1]), float(got.y[1, -1])
