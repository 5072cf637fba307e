"""Rolling putts: the lanes against a scalar roller and a general integrator, in one run.

All three roll the same 3 m putt on the same surveyed green: a gentle slope given as a height
grid, one green speed, a heading that wanders. The scalar peer is compiled, in double precision,
with a midpoint step of 1 ms and a chance as cheap as the lanes' own; the integrator is scipy's
solve_ivp on the same forces without chance. The lanes run on all threads, the others on one. Each
rate is the best of several rounds in turn, for what else the machine does can only lower it.
"""

from __future__ import annotations

import math
from functools import cache

import numba
import numpy as np
from scipy.integrate import solve_ivp

from bench.timing import Row, seconds
from greenwright.roll import PULL_M_S2, Aim, HeightGrid, Terrain, resistance
from greenwright.roll.putting import simulate_putts

SPEED_M, WALK = 3.048, 8.15e-5
HOLE_M = 0.05398
LAUNCH, HEADING = 1.94, 0.06


@cache
def green() -> HeightGrid:
    """Return a surveyed green of 15 by 10 m that falls about 1 % to one side."""
    x, y = np.meshgrid(np.arange(-4, 11.1, 0.25), np.arange(-5, 5.1, 0.25))
    return HeightGrid(-4.0, -5.0, 0.25, 0.012 * y + 0.004 * np.cos(0.9 * x + 0.4 * y))


def terrain() -> Terrain:
    """Return that green with its speed and roughness."""
    return Terrain(grid=green(), green_speed_m=SPEED_M, heading_k=WALK)


def aim() -> Aim:
    """Return the putt: 3 m, to die about 0.4 m past; about 6 in 10 are holed."""
    return Aim(start=(0.0, 0.0), hole=(3.0, 0.0), launch_speed=LAUNCH, heading_rad=HEADING)


@numba.njit(error_model="numpy")
def _slope(field, x, y):
    """Return a node field between its nodes on the bench's own grid."""
    u, v = (x + 4.0) / 0.25, (y + 5.0) / 0.25
    j, i = min(max(int(u), 0), 59), min(max(int(v), 0), 39)
    u, v = u - j, v - i
    south = (1 - u) * field[i, j] + u * field[i, j + 1]
    return (1 - v) * south + v * ((1 - u) * field[i + 1, j] + u * field[i + 1, j + 1])


@numba.njit(error_model="numpy")
def _draw(count):
    """Return a nearly normal draw: four bytes of a stirred counter, added."""
    bits = np.uint64(count) * np.uint64(0x9E3779B97F4A7C15)
    bits = (bits ^ (bits >> np.uint64(32))) * np.uint64(0xD6E8FEB86659FD93)
    total = 0.0
    for shift in (24, 32, 40, 48):
        total += float((bits >> np.uint64(shift)) & np.uint64(255))
    return (total - 510.0) / 147.8


@numba.njit(error_model="numpy")
def _scalar(n, dx, dy, rho, out):
    """Roll n putts one after the other by midpoint steps of 1 ms; return the steps."""
    dt, steps = 1e-3, 0
    for ball in range(n):
        x, y, holed = 0.0, 0.0, 0.0
        vx, vy = LAUNCH * math.cos(HEADING), LAUNCH * math.sin(HEADING)
        for _ in range(20000):
            steps += 1
            v2 = vx * vx + vy * vy
            v = math.sqrt(v2)
            gx, gy = _slope(dx, x, y), _slope(dy, x, y)
            drag = PULL_M_S2 / math.sqrt(1 + gx * gx + gy * gy)
            ax, ay = -drag * (rho * vx / v + gx), -drag * (rho * vy / v + gy)
            if v2 <= -(ax * vx + ay * vy) * dt:
                break
            left = max(v2 / (2 * PULL_M_S2 * rho), 0.01)
            turn = math.sqrt(WALK * v * dt) / left * _draw(steps)
            mx, my = vx + 0.5 * dt * ax, vy + 0.5 * dt * ay
            m = math.sqrt(mx * mx + my * my)
            nx = vx - dt * drag * (rho * mx / m + gx)
            ny = vy - dt * drag * (rho * my / m + gy)
            x, y = x + dt * mx, y + dt * my
            vx, vy = nx - turn * ny, ny + turn * nx
            away = (x - 3.0) ** 2 + y * y
            if away < HOLE_M**2 and v <= 1.63 * (1 - away / HOLE_M**2):
                holed = 1.0
                break
        out[ball] = holed
    return steps


@numba.njit(fastmath={"contract"}, parallel=True)
def _peak(n, out):
    """Run chains of 64 multiply-adds over numbers that stay in the nearest cache."""
    for lot in numba.prange(out.size):
        held = np.full(1024, np.float32(0.5))
        for _ in range(n):
            for i in range(1024):
                x = held[i]
                for _link in range(64):
                    x = x * np.float32(0.999) + np.float32(0.0005)
                held[i] = x
        out[lot] = held.sum()


def _integrated() -> None:
    rho, field = float(resistance(SPEED_M)), green()

    def force(_: float, state: np.ndarray) -> list[float]:
        x, y, vx, vy = state
        gx, gy = (float(part) for part in field.gradient(x, y))
        drag, v = PULL_M_S2 / math.sqrt(1 + gx * gx + gy * gy), math.hypot(vx, vy)
        return [vx, vy, -drag * (rho * vx / v + gx), -drag * (rho * vy / v + gy)]

    def slow(_: float, state: np.ndarray) -> float:
        return math.hypot(state[2], state[3]) - 1e-3

    slow.terminal = True  # type: ignore[attr-defined]
    start = [0.0, 0.0, LAUNCH * math.cos(HEADING), LAUNCH * math.sin(HEADING)]
    solve_ivp(force, (0.0, 10.0), start, events=slow, rtol=1e-6, atol=1e-9)


FLOPS = 78
"""Additions and multiplications in single precision of one lane's step away from the hole, counted
by hand; a division counts as one, the counting of chance (whole numbers) as none."""
MANY, FEW, TURNS, ROUNDS = 200_000, 400, 1000, 7


def _rates() -> dict[str, float]:
    """Return putts per second of each, and the single-precision peak [1/s]."""
    dy, dx = (np.ascontiguousarray(part) for part in np.gradient(green().heights_m, 0.25))
    rho, out, lots = float(resistance(SPEED_M)), np.zeros(FEW), np.zeros(numba.get_num_threads())
    work = {
        "lanes": (lambda: simulate_putts(terrain(), aim(), n=MANY), MANY),
        "scalar": (lambda: _scalar(FEW, dx, dy, rho, out), FEW),
        "integrated": (_integrated, 1),
        "peak": (lambda: _peak(TURNS, lots), 2 * 64 * 1024 * TURNS * lots.size),
    }
    for call, _ in work.values():
        call()
    best = dict.fromkeys(work, 0.0)
    for _ in range(ROUNDS):
        for name, (call, amount) in work.items():
            best[name] = max(best[name], amount / seconds(call))
    return best


def rows() -> list[Row]:
    """Return the rates and their ratios."""
    rate = _rates()
    steps = rate["lanes"] * simulate_putts(terrain(), aim(), n=MANY).steps / MANY
    share = FLOPS * steps / rate["peak"]
    told = f"{rate['lanes']:,.0f} putts/s, {steps / 1e6:,.0f} M steps/s"
    return [
        Row(
            "3 m putts: lanes against a scalar midpoint at 1 ms",
            rate["lanes"] / rate["scalar"],
            "x",
            60.0,
            at_most=False,
            beside=f"{told}, {share:.0%} of the measured {rate['peak'] / 1e9:,.0f} GFlop/s single "
            f"precision; scalar {rate['scalar']:,.0f} putts/s",
        ),
        Row(
            "3 m putts: lanes against solve_ivp",
            rate["lanes"] / rate["integrated"],
            "x",
            1000.0,
            at_most=False,
            beside=f"solve_ivp {rate['integrated']:,.0f} putts/s",
        ),
    ]
