"""Climbing hills whose tops are known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import rosen, rosen_der

from greenwright.stats.ascent import climb


def test_a_bowl_upside_down_is_climbed_in_one_step_with_the_right_bend() -> None:
    bend = np.array([[3.0, 1.0], [1.0, 2.0]])
    peak = np.array([1.0, -0.5])

    def hill(x: np.ndarray) -> tuple[float, np.ndarray]:
        away = x - peak
        return 5 - 0.5 * float(away @ bend @ away), -bend @ away

    top = climb(hill, np.zeros(2), bend)
    assert top.point == pytest.approx(peak)
    assert top.height == pytest.approx(5)
    assert top.evaluations == 2  # the start and the top


@settings(deadline=None)
@given(st.integers(0, 1000), st.floats(0.01, 100))
def test_any_bowl_is_climbed_from_a_wrong_bend(seed: int, guess: float) -> None:
    rng = np.random.default_rng(seed)
    root = rng.standard_normal((4, 4))
    bend, peak = root @ root.T + 0.1 * np.eye(4), rng.standard_normal(4)

    def hill(x: np.ndarray) -> tuple[float, np.ndarray]:
        return -0.5 * float((x - peak) @ bend @ (x - peak)), -bend @ (x - peak)

    top = climb(hill, np.zeros(4), guess * np.eye(4), gain=1e-9)
    assert top.height > -1e-3


def test_a_banana_shaped_ridge() -> None:
    # reference: scipy's Rosenbrock function, whose valley ends at (1, 1)
    top = climb(
        lambda x: (-float(rosen(x)), -rosen_der(x)), np.array([-1.2, 1.0]), np.eye(2), gain=1e-10
    )
    assert top.point == pytest.approx([1.0, 1.0], abs=1e-3)


def test_a_start_on_the_top_stays_there() -> None:
    top = climb(lambda x: (-float(x @ x), -2 * x), np.zeros(3), np.eye(3))
    assert top.point.tolist() == [0, 0, 0]
    assert top.evaluations == 1


def test_a_hill_without_a_top_ends_after_the_steps_allowed() -> None:
    top = climb(lambda x: (float(x[0]), np.ones(1)), np.zeros(1), np.eye(1), most_steps=7)
    assert top.evaluations == 8
    assert 0 < top.height <= 14  # no step longer than two


def test_a_slope_that_lies_ends_the_climb() -> None:
    top = climb(lambda x: (-float(x @ x), 2 * x), np.ones(2), np.eye(2))
    assert top.point.tolist() == [1, 1]
