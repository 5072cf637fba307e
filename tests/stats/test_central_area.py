"""The quick normal area against the standard library, and its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.stats.central_area import area_below, central_area


def test_as_exact_as_promised_everywhere() -> None:
    z = np.linspace(0, 9, 20_011)
    # outside: math.erf of the standard library
    exact = np.array([math.erf(x / math.sqrt(2)) for x in z])
    assert np.abs(central_area(z) - exact).max() < 1e-9


@pytest.mark.parametrize(
    ("z", "area"), [(1.0, 0.682689), (1.644854, 0.9), (1.959964, 0.95), (2.575829, 0.99)]
)
def test_the_textbook_areas(z: float, area: float) -> None:
    # outside: table of the normal curve
    assert float(central_area(z)) == pytest.approx(area, abs=1e-6)
    assert float(area_below(-z)) == pytest.approx((1 - area) / 2, abs=1e-6)


@given(st.floats(-50, 50))
def test_odd_and_within_one(z: float) -> None:
    there, back = float(central_area(z)), float(central_area(-z))
    assert there == -back
    assert -1 <= there <= 1


def test_far_out_is_everything_and_shapes_are_kept() -> None:
    assert central_area([[np.inf, -np.inf], [0.0, 100.0]]).tolist() == [[1, -1], [0, 1]]
    assert central_area(np.zeros((2, 0, 3))).shape == (2, 0, 3)
