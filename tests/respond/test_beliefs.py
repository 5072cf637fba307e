"""Mixtures of normals and of log-normals: moments, quantiles, chances, means."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import lognorm, norm

from greenwright.respond.beliefs import Beliefs, average

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)


def one(mean: float, sd: float, *, log: bool = False) -> Beliefs:
    return Beliefs(np.array([[mean]]), np.array([[sd]]), np.ones(1), log)


def test_one_normal_has_the_normal_s_quantiles() -> None:
    found = one(3.0, 0.2).quantiles()[:, 0]
    # scipy.stats.norm
    assert found == pytest.approx(norm(3.0, 0.2).ppf(SHARES), abs=1e-9)


def test_one_log_normal_has_the_log_normal_s_quantiles_and_moments() -> None:
    held = one(1.0, 0.4, log=True)
    known = lognorm(s=0.4, scale=np.exp(1.0))  # scipy.stats.lognorm
    assert held.quantiles()[:, 0] == pytest.approx(known.ppf(SHARES), rel=1e-9)
    assert held.mean[0] == pytest.approx(known.mean(), rel=1e-12)
    assert held.sd[0] == pytest.approx(known.std(), rel=1e-12)
    # By the formula itself: exp(m + s^2 / 2) = exp(1.08)
    assert held.mean[0] == pytest.approx(np.exp(1.08), rel=1e-12)


def test_a_mixture_s_quantile_has_its_share_below() -> None:
    held = Beliefs(np.array([[0.0], [2.0]]), np.array([[0.5], [1.0]]), np.array([0.3, 0.7]))
    found = held.quantiles()
    below = np.array([held.shares_below(row)[0] for row in found])
    assert below == pytest.approx(SHARES, abs=1e-9)
    # By hand: 0.3 x 0 + 0.7 x 2; variance 0.3 x 0.25 + 0.7 x 1 + 0.3 x 0.7 x 4
    assert held.mean[0] == pytest.approx(1.4)
    assert held.sd[0] ** 2 == pytest.approx(0.075 + 0.7 + 0.84)


def test_the_chance_of_a_band_is_what_lies_between_its_ends() -> None:
    held = one(3.0, 0.2)
    assert held.chance(2.8, 3.2)[0] == pytest.approx(0.6826894921, abs=1e-9)  # one sd each way
    assert held.chance(None, 3.0)[0] == pytest.approx(0.5)
    assert held.chance(None, None)[0] == 1.0
    assert one(0.0, 0.3, log=True).chance(1.0, None)[0] == pytest.approx(0.5)
    assert one(0.0, 0.3, log=True).chance(-1.0, 1.0)[0] == pytest.approx(0.5)


def test_what_is_certain_has_no_range() -> None:
    held = one(2.0, 0.0)
    assert held.quantiles()[:, 0] == pytest.approx(np.full(5, 2.0))
    assert held.chance(1.9, 2.1)[0] == 1.0


def test_the_mean_of_normals_is_normal() -> None:
    cov = np.array([[[0.04, 0.01], [0.01, 0.09]]])
    mean, sd = average(np.array([[2.0, 4.0]]), cov, log=False)
    # By hand: (0.04 + 0.09 + 2 x 0.01) / 4
    assert (mean[0], sd[0] ** 2) == (pytest.approx(3.0), pytest.approx(0.0375))


def test_the_mean_of_log_normals_has_its_exact_moments() -> None:
    means, cov = np.array([[0.5, 1.0]]), np.array([[[0.09, 0.03], [0.03, 0.04]]])
    mean, sd = average(means, cov, log=True)
    held = one(float(mean[0]), float(sd[0]), log=True)
    drawn = np.exp(np.random.default_rng(0).multivariate_normal(means[0], cov[0], 400_000))
    whole = drawn.mean(axis=1)  # 400,000 draws: error of the mean about 0.001
    assert held.mean[0] == pytest.approx(whole.mean(), abs=0.004)
    assert held.sd[0] == pytest.approx(whole.std(), rel=0.01)
    # The shape is a matched log-normal: its ends lie within one hundredth of the draws'.
    assert held.quantiles()[:, 0] == pytest.approx(np.quantile(whole, SHARES), rel=0.01)


def test_estimates_stay_on_the_scale() -> None:
    held = one(9.9, 0.5).estimates("score", n=7, ends=(0.0, 10.0))[0]
    assert held.high == 10.0 and held.n == 7 and held.basis == "model"
    assert held.quantiles == pytest.approx(
        {"0.05": 9.9 - 1.6448536 * 0.5, "0.25": 9.9 - 0.6744898 * 0.5, "0.5": 9.9, "0.75": 10.0,
         "0.95": 10.0}
    )  # fmt: skip
