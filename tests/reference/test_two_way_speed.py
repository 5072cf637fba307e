"""Two-way rolls against tables computed elsewhere and against an equation solver.

Both tables: computed from v0^2 = (10/7) g (rho cos t +- sin t) d with v0 = 1.8288 m/s in a
separate worksheet and checked there against an ODE; printed digits are compared.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from greenwright.roll import ramp_rolls, two_way_speed

FOOT = 0.3048

# up [ft], down [ft], plain mean [ft], 2UD/(U+D) [ft], slope as sin theta [%]
INVERSE = [
    (9, 11, 10.0, 9.900, 0.79),
    (8, 12, 10.0, 9.600, 1.63),
    (7, 14, 10.5, 9.333, 2.80),
    (6, 12, 9.0, 8.000, 3.26),
    (5, 15, 10.0, 7.500, 5.22),
]
# slope as tan theta, up [ft], down [ft] of a green of 10 ft; plain mean minus 10 [ft]
FORWARD = [
    (0.01, 8.868, 11.464, 0.17),
    (0.02, 7.968, 13.432, 0.70),
    (0.03, 7.234, 16.215, 1.72),
    (0.04, 6.625, 20.454, 3.54),
]


@pytest.mark.parametrize(("up", "down", "mean", "level", "sine_pct"), INVERSE)
def test_inverse_table(up: float, down: float, mean: float, level: float, sine_pct: float) -> None:
    two = two_way_speed(up * FOOT, down * FOOT)
    assert (up + down) / 2 == mean
    assert two.level_speed_m / FOOT == pytest.approx(level, abs=5.01e-4)
    sine = two.slope / np.sqrt(1 + two.slope**2)
    assert 100 * sine == pytest.approx(sine_pct, abs=5.01e-3)


@pytest.mark.parametrize(("slope", "up", "down", "excess"), FORWARD)
def test_forward_table(slope: float, up: float, down: float, excess: float) -> None:
    rolls = np.array(ramp_rolls(10 * FOOT, slope)) / FOOT
    assert rolls == pytest.approx([up, down], abs=5.01e-4)
    assert rolls.mean() - 10 == pytest.approx(excess, abs=5.01e-3)


def roll_by_equation(level_m: float, slope: float) -> float:
    """Distance to rest from dv/dt = -(5/7) g (rho cos t + sin t), solved numerically."""
    v0, g, angle = 1.8288, 9.80665, np.arctan(slope)
    rho = v0**2 * 7 / (10 * g * level_m)  # level stopping distance, by hand
    force = (5 / 7) * g * (rho * np.cos(angle) + np.sin(angle))

    def rest(_t: float, y: np.ndarray) -> float:
        return y[1]

    rest.terminal = True
    path = solve_ivp(
        lambda _t, y: [y[1], -force], (0, 60), [0.0, v0], events=rest, rtol=1e-10, atol=1e-12
    )
    return float(path.y_events[0][0][0])


@pytest.mark.parametrize("slope", [-0.03, 0.0, 0.005, 0.02, 0.05])
@pytest.mark.parametrize("level_ft", [6, 10, 13])
def test_against_an_equation_solver(level_ft: float, slope: float) -> None:
    level = level_ft * FOOT
    up, down = roll_by_equation(level, slope), roll_by_equation(level, -slope)
    assert ramp_rolls(level, slope) == pytest.approx((up, down), rel=1e-7)
    two = two_way_speed(up, down)
    assert two.slope == pytest.approx(slope, abs=1e-7)
    assert two.level_speed_m == pytest.approx(level / np.cos(np.arctan(slope)), rel=1e-7)
