"""The stationary process: precision and bridge against the dense covariance they come from."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.stats.dynamic.wander import bridge, chain, chain_slopes

TIMES = np.array([0.0, 1.0, 1.5, 4.0, 11.0])
SD, TIME = 0.3, 2.7


def covariance(times: np.ndarray, sd: float = SD, time: float = TIME) -> np.ndarray:
    return sd**2 * np.exp(-np.abs(times[:, None] - times[None, :]) / time)


def test_the_chain_is_the_inverse_of_the_covariance() -> None:
    found = chain(TIMES, SD, TIME)
    whole = np.diag(found.diagonal) + np.diag(found.beside, 1) + np.diag(found.beside, -1)
    assert whole == pytest.approx(np.linalg.inv(covariance(TIMES)), abs=1e-9)
    assert found.log_det == pytest.approx(-np.linalg.slogdet(covariance(TIMES))[1], abs=1e-10)


def test_chain_slopes_are_those_of_the_expected_log_density() -> None:
    moments = np.array([[0.3, 0.1, 0, 0, 0]] * 5) + np.diag(np.arange(1.0, 6.0))
    moments = moments @ moments.T

    def expected(sd: float, time: float) -> float:
        inverse = np.linalg.inv(covariance(TIMES, sd, time))
        return 0.5 * (np.linalg.slogdet(inverse)[1] - float((inverse * moments).sum()))

    by_sd, by_time = chain_slopes(
        np.diff(TIMES), (np.diag(moments), np.diag(moments, 1)), sd=SD, time=TIME
    )
    up, down = np.exp(1e-5), np.exp(-1e-5)
    numeric_sd = (expected(SD * up, TIME) - expected(SD * down, TIME)) / 2e-5
    numeric_time = (expected(SD, TIME * up) - expected(SD, TIME * down)) / 2e-5
    assert by_sd == pytest.approx(numeric_sd, rel=1e-6)
    assert by_time == pytest.approx(numeric_time, rel=1e-6)


@pytest.mark.parametrize("knots", [[], [0.5], [12.0], [-0.5, 5.5]])
def test_the_bridge_is_the_normal_conditioned_on_its_knots(knots: list[float]) -> None:
    inside = TIMES[:4] if len(knots) == 2 else TIMES
    cut = np.array(knots)
    found = bridge(inside[None, :], cut, TIME)
    joint = covariance(np.append(inside, cut), 1.0)
    n = len(inside)
    weights = joint[:n, n:] @ np.linalg.inv(joint[n:, n:])
    assert found.weights[0] == pytest.approx(weights, abs=1e-12)
    left = joint[:n, :n] - weights @ joint[n:, :n]
    assert found.left[0] == pytest.approx(left, abs=1e-12)
    up, down = (bridge(inside[None, :], cut, TIME * np.exp(s)) for s in (1e-5, -1e-5))
    assert found.by_left == pytest.approx((up.left - down.left) / 2e-5, abs=1e-8)
    assert found.by_weights == pytest.approx((up.weights - down.weights) / 2e-5, abs=1e-8)
