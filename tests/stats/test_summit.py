"""The top of a likelihood by finite differences, against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.stats.summit import summit


def test_a_correlated_normal_is_found_exactly() -> None:
    middle, cov = np.array([1.0, -2.0]), np.array([[2.0, 0.6], [0.6, 0.5]])
    inverse = np.linalg.inv(cov)
    found = summit(
        lambda x: -float((x - middle) @ inverse @ (x - middle)) / 2, np.zeros(2), np.ones(2)
    )
    # by hand: mode and covariance of a normal are its own
    assert found.point == pytest.approx(middle, abs=1e-5)
    assert found.cov == pytest.approx(cov, abs=1e-4)


def test_a_binomial_on_the_logit_scale_by_hand() -> None:
    made, tried = 30.0, 40.0
    found = summit(
        lambda x: float(made * x[0] - tried * np.log1p(np.exp(x[0]))), np.zeros(1), np.ones(1)
    )
    # by hand: log(30/10), variance 1/30 + 1/10
    assert found.point[0] == pytest.approx(np.log(3), abs=1e-4)
    assert found.cov[0, 0] == pytest.approx(1 / 30 + 1 / 10, rel=1e-4)


def test_the_unit_of_the_search_changes_nothing() -> None:
    def height(x: np.ndarray) -> float:
        return -float((x[0] - 1e-3) ** 2) / (2 * 1e-8)

    fine, coarse = (summit(height, np.zeros(1), np.array([s])) for s in (1e-4, 1e-3))
    assert fine.point == pytest.approx(coarse.point, rel=1e-3)
    assert fine.cov[0, 0] == pytest.approx(1e-8, rel=1e-3)


def test_a_direction_without_information_stays_wide_not_broken() -> None:
    found = summit(lambda x: -float(x[0] ** 2) / 2, np.zeros(2), np.ones(2))
    assert np.isfinite(found.cov).all() and found.cov[1, 1] > 1e4
