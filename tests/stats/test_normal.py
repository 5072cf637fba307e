"""The normal curve and the gamma derivatives of the standard library's making, against scipy."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special

from greenwright.base.errors import BadInput
from greenwright.stats import normal_area, normal_quantile
from greenwright.stats.binomial import digamma, trigamma


@given(st.floats(-37, 37))
def test_areas_equal_scipy_far_into_the_tails(z: float) -> None:
    assert float(normal_area(z)) == pytest.approx(float(special.ndtr(z)), rel=1e-11, abs=1e-300)


@given(st.floats(1e-12, 1 - 1e-12))
def test_quantiles_equal_scipy(share: float) -> None:
    assert float(normal_quantile(share)) == pytest.approx(float(special.ndtri(share)), abs=1e-9)


def test_shapes_are_kept_and_infinity_is_the_whole() -> None:
    assert normal_area([[0.0, np.inf], [-np.inf, 1.0]]).shape == (2, 2)
    assert normal_area([-np.inf, np.inf]).tolist() == [0.0, 1.0]
    assert normal_quantile(np.full((3, 1, 2), 0.5)).tolist() == np.zeros((3, 1, 2)).tolist()


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, 1.1, float("nan")])
def test_no_quantile_where_no_point_reaches(share: float) -> None:
    with pytest.raises(BadInput, match="between 0 and 1"):
        normal_quantile([0.5, share])


@given(st.floats(0.01, 1e6))
def test_gamma_derivatives_equal_scipy(x: float) -> None:
    assert digamma(x) == pytest.approx(float(special.digamma(x)), rel=1e-12, abs=1e-12)
    assert trigamma(x) == pytest.approx(float(special.polygamma(1, x)), rel=1e-12)


def test_a_question_of_today_loads_no_scientific_library_but_numpy() -> None:
    """Each of these costs a cold start a fifth of a second or more."""
    code = "import sys, greenwright.measure, greenwright.respond; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "numpy" in done.stdout.split()
    assert not {"scipy", "pandas", "pint", "sqlalchemy"} & set(done.stdout.split())
