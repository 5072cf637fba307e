"""The structured model against dense linear algebra written out observation by observation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import approx_fprime
from scipy.stats import multivariate_normal

from greenwright.stats import HYPERS, HyperPrior, Observations, PooledFit, PoolingPrior, posterior
from greenwright.stats.hyper import at_points
from greenwright.stats.layout import lay_out
from greenwright.stats.marginal import condition, gradient

HYPER = {
    "unit_sd": 0.5,
    "day_sd": 0.8,
    "unit_day_sd": 0.4,
    "noise_sd": 0.3,
    "rater_sd": 0.6,
    "spot_sd": 0.35,
    "day_correlation": 4.0,
    "unit_correlation": 2.5,
    "slow_sd": 0.45,
    "slow_correlation": 20.0,
}
LEVEL, LEVEL_SD, SCALE_SD = 7.0, 1.5, (0.9, 0.4)
PRIOR = PoolingPrior(LEVEL, LEVEL_SD, {k: HyperPrior(v, 0.5) for k, v in HYPER.items()})


def some_observations(n: int = 40, seed: int = 3) -> Observations:
    rng = np.random.default_rng(seed)
    return Observations(
        value=7 + rng.standard_normal(n),
        variance=rng.uniform(0, 0.2, n),
        day=rng.integers(0, 15, n).astype(float),
        unit=rng.integers(0, 4, n),  # unit 4 of 5 is never observed
        rater=rng.integers(-1, 3, n),
        scale=rng.integers(-1, 2, n),
        spot=rng.integers(-1, 3, n),
        n_units=5,
        n_raters=3,
        scale_sd=SCALE_SD,
    )


def dense_cov(o: Observations, h: dict[str, float]) -> np.ndarray:
    """Covariance of the observations, each pair by the model's own words."""
    n = len(o)
    cov = np.zeros((n, n))
    for i in range(n):
        for j in range(n):
            gap = abs(o.day[i] - o.day[j])
            cov[i, j] = LEVEL_SD**2 + h["day_sd"] ** 2 * np.exp(-gap / h["day_correlation"])
            cov[i, j] += h["slow_sd"] ** 2 * np.exp(-gap / h["slow_correlation"])
            if o.unit[i] == o.unit[j]:
                cov[i, j] += h["unit_sd"] ** 2
                cov[i, j] += h["unit_day_sd"] ** 2 * np.exp(-gap / h["unit_correlation"])
                if o.spot[i] == o.spot[j] >= 0:
                    cov[i, j] += h["spot_sd"] ** 2
            if o.rater[i] == o.rater[j] >= 0:
                cov[i, j] += h["rater_sd"] ** 2
            if o.scale[i] == o.scale[j] >= 0:
                cov[i, j] += SCALE_SD[o.scale[i]] ** 2
        cov[i, i] += o.variance[i] + h["noise_sd"] ** 2
    return cov


def dense_cross(o: Observations, h: dict[str, float], day: float, unit: int) -> np.ndarray:
    gap = np.abs(o.day - day)
    own = h["unit_sd"] ** 2 + h["unit_day_sd"] ** 2 * np.exp(-gap / h["unit_correlation"])
    shared = LEVEL_SD**2 + h["day_sd"] ** 2 * np.exp(-gap / h["day_correlation"])
    shared = shared + h["slow_sd"] ** 2 * np.exp(-gap / h["slow_correlation"])
    return shared + np.where(o.unit == unit, own, 0.0)


def repeated(o: Observations, times: list[int], rng: np.random.Generator) -> Observations:
    """Return observations with some of them read again: alike in all but the value."""
    rows = np.repeat(np.arange(len(o)), times)
    rng.shuffle(rows)
    names = ("variance", "day", "unit", "rater", "scale", "spot")
    alike = {name: getattr(o, name)[rows] for name in names}
    value = o.value[rows] + 0.3 * rng.standard_normal(len(rows))
    return replace(o, value=value, **alike)


def fit_at(o: Observations, prior: PoolingPrior = PRIOR) -> PooledFit:
    layout = lay_out(o, level=prior.level)
    return PooledFit(layout, prior, at_points(layout, prior, prior.centre[None, :]))


def test_log_likelihood_equals_the_dense_normal_density() -> None:
    o = some_observations()
    at = condition(lay_out(o, level=LEVEL), HYPER, level_sd=LEVEL_SD)
    # reference: scipy's multivariate normal density with the covariance written out above
    dense = multivariate_normal(np.full(len(o), LEVEL), dense_cov(o, HYPER)).logpdf(o.value)
    assert at.log_likelihood == pytest.approx(dense, abs=1e-5)


def test_gradient_equals_finite_differences_of_the_likelihood() -> None:
    layout = lay_out(some_observations(), level=LEVEL)

    def value(point: np.ndarray) -> float:
        hyper = dict(zip(HYPERS, np.exp(point), strict=True))
        return condition(layout, hyper, level_sd=LEVEL_SD).log_likelihood

    point = np.log([HYPER[name] for name in HYPERS])
    slopes = gradient(layout, condition(layout, HYPER, level_sd=LEVEL_SD))
    # reference: scipy's forward differences
    assert slopes == pytest.approx(approx_fprime(point, value, 1e-6), abs=2e-4)


def test_readings_alike_are_merged_without_changing_a_word() -> None:
    rng = np.random.default_rng(8)
    o = repeated(some_observations(), [1, 3, 2, 1, 5] * 8, rng)
    layout = lay_out(o, level=LEVEL)
    assert sum(float(s.real.sum()) for s in layout.stacks) == 40  # of 96
    at = condition(layout, HYPER, level_sd=LEVEL_SD)
    # reference: scipy's multivariate normal of all 96, nothing merged
    dense = multivariate_normal(np.full(len(o), LEVEL), dense_cov(o, HYPER)).logpdf(o.value)
    assert at.log_likelihood == pytest.approx(dense, abs=1e-5)

    def value(point: np.ndarray) -> float:
        hyper = dict(zip(HYPERS, np.exp(point), strict=True))
        return multivariate_normal(np.full(len(o), LEVEL), dense_cov(o, hyper)).logpdf(o.value)

    point = np.log([HYPER[name] for name in HYPERS])
    slopes = approx_fprime(point, value, 1e-6)
    assert gradient(layout, at) == pytest.approx(slopes, abs=5e-4)


def test_the_order_of_observations_does_not_matter() -> None:
    o = some_observations()
    names = ("value", "variance", "day", "unit", "rater", "scale", "spot")
    turned = replace(o, **{name: getattr(o, name)[::-1] for name in names})
    one, other = posterior(fit_at(o), [3.0, 9.0]), posterior(fit_at(turned), [3.0, 9.0])
    assert one.mean == pytest.approx(other.mean, abs=1e-9)
    assert one.cov == pytest.approx(other.cov, abs=1e-9)


def test_units_of_very_unequal_size_share_no_padding() -> None:
    rng = np.random.default_rng(5)
    unit = np.repeat([0, 1, 2, 3], [40, 3, 30, 1])
    rng.shuffle(unit)
    o = replace(some_observations(74), unit=unit)
    layout = lay_out(o, level=LEVEL)
    assert [(s.unit.tolist(), s.residual.shape[1]) for s in layout.stacks] == [
        ([0, 2], 40),
        ([1, 3], 3),
    ]
    dense = multivariate_normal(np.full(len(o), LEVEL), dense_cov(o, HYPER)).logpdf(o.value)
    found = condition(layout, HYPER, level_sd=LEVEL_SD).log_likelihood
    assert found == pytest.approx(dense, abs=1e-5)


@pytest.mark.parametrize("repeats", [False, True])
def test_posterior_equals_dense_conditioning(repeats: bool) -> None:
    o, days = some_observations(), [14.0, 7.0, 25.0]
    if repeats:
        o = repeated(o, [2, 1, 1, 3] * 10, np.random.default_rng(2))
    seen = posterior(fit_at(o), days)
    cov = dense_cov(o, HYPER)
    pairs = [(d, u) for d in days for u in range(5)]
    cross = np.array([dense_cross(o, HYPER, d, u) for d, u in pairs])
    prior = np.array(
        [
            [
                LEVEL_SD**2
                + HYPER["day_sd"] ** 2 * np.exp(-abs(d - e) / HYPER["day_correlation"])
                + HYPER["slow_sd"] ** 2 * np.exp(-abs(d - e) / HYPER["slow_correlation"])
                + (u == v)
                * (
                    HYPER["unit_sd"] ** 2
                    + HYPER["unit_day_sd"] ** 2 * np.exp(-abs(d - e) / HYPER["unit_correlation"])
                )
                for e, v in pairs
            ]
            for d, u in pairs
        ]
    )
    # reference: textbook conditioning of a joint normal
    mean = LEVEL + cross @ np.linalg.solve(cov, o.value - LEVEL)
    left = prior - cross @ np.linalg.solve(cov, cross.T)
    assert seen.mean.ravel() == pytest.approx(mean, abs=1e-6)
    assert seen.cov.reshape(15, 15) == pytest.approx(left, abs=1e-6)


def test_rater_and_scale_shifts_equal_dense_conditioning() -> None:
    o = some_observations()
    seen, inverse = posterior(fit_at(o), [0.0]), np.linalg.inv(dense_cov(o, HYPER))
    for r in range(3):
        cross = HYPER["rater_sd"] ** 2 * (o.rater == r)
        assert seen.rater_mean[r] == pytest.approx(cross @ inverse @ (o.value - LEVEL), abs=1e-6)
        left = HYPER["rater_sd"] ** 2 - cross @ inverse @ cross
        assert seen.rater_sd[r] ** 2 == pytest.approx(left, abs=1e-6)
    for k, sd in enumerate(SCALE_SD):
        cross = sd**2 * (o.scale == k)
        assert seen.scale_mean[k] == pytest.approx(cross @ inverse @ (o.value - LEVEL), abs=1e-6)


def test_one_way_random_effects_by_the_hand_formula() -> None:
    """Two units, no time, no raters: shrinkage as every textbook has it."""
    tiny = 1e-7
    hyper = dict.fromkeys(HYPERS, tiny) | {
        "unit_sd": 2.0,
        "noise_sd": 1.0,
        "day_correlation": 1.0,
        "unit_correlation": 1.0,
        "slow_correlation": 1.0,
    }
    prior = PoolingPrior(0.0, 1e4, {k: HyperPrior(v, 0.5) for k, v in hyper.items()})
    value = np.array([1.0, 3.0, 8.0])
    none = np.full(3, -1)
    o = Observations(
        value, np.zeros(3), np.zeros(3), np.array([0, 0, 1]), none, none, none, n_units=2
    )
    seen = posterior(fit_at(o, prior), [0.0])
    # by hand: unit means 2 (n=2) and 8 (n=1), precisions of a mean 1/(4 + 1/2) and 1/(4 + 1),
    # level = (2/4.5 + 8/5) / (1/4.5 + 1/5) = 4.842105; shrink 4/4.5 and 4/5 towards it:
    # 4.842105 + 0.888889 (2 - 4.842105) = 2.315789; 4.842105 + 0.8 (8 - 4.842105) = 7.368421
    assert seen.mean[0] == pytest.approx([2.315789, 7.368421], abs=1e-4)
    # by hand: variance 4 (1 - s) + (1 - s)^2 / (1/4.5 + 1/5), s = 8/9: 0.444444 + 0.029240
    assert seen.cov[0, 0, 0, 0] == pytest.approx(0.473684, abs=1e-4)
