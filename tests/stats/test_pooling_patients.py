"""The pooled model on known patients: simulated truth, thin data, degenerate data."""

from __future__ import annotations

import time

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.stats import (
    HYPERS,
    HyperPrior,
    Observations,
    PoolingPrior,
    fit_pooled,
    posterior,
)

TRUTH = {
    "unit_sd": 0.6,
    "day_sd": 0.8,
    "unit_day_sd": 0.3,
    "noise_sd": 0.25,
    "rater_sd": 0.5,
    "spot_sd": 0.2,
    "day_correlation": 5.0,
    "unit_correlation": 3.0,
    "slow_sd": 0.2,
    "slow_correlation": 40.0,
}
# Priors are off the truth on purpose: half of each sd, and wide.
PRIOR = PoolingPrior(5.0, 3.0, {k: HyperPrior(v / 2, 0.8) for k, v in TRUTH.items()})


def walk(rng: np.random.Generator, days: int, shape: tuple[int, ...], *, sd: float, time_d: float):
    keep = np.exp(-1 / time_d)
    path = [sd * rng.standard_normal(shape)]
    for _ in range(days - 1):
        step = sd * np.sqrt(1 - keep**2) * rng.standard_normal(shape)
        path.append(keep * path[-1] + step)
    return np.array(path)


def simulated(
    *, units: int = 12, days: int = 60, share: float = 0.6, seed: int = 1
) -> tuple[Observations, np.ndarray, np.ndarray]:
    """Return observations, true level by day and unit, true rater shifts."""
    rng = np.random.default_rng(seed)
    shared = walk(rng, days, (1,), sd=TRUTH["day_sd"], time_d=TRUTH["day_correlation"])
    own = walk(rng, days, (units,), sd=TRUTH["unit_day_sd"], time_d=TRUTH["unit_correlation"])
    truth = 7 + shared + own + TRUTH["unit_sd"] * rng.standard_normal(units)
    shifts = np.array([0.6, -0.5, 0.0])
    day, unit = np.nonzero(rng.random((days, units)) < share)
    rater = rng.integers(0, 3, len(day))
    noise = TRUTH["noise_sd"] * rng.standard_normal(len(day))
    none = np.full(len(day), -1)
    return (
        Observations(
            value=truth[day, unit] + shifts[rater] + noise,
            variance=np.zeros(len(day)),
            day=day.astype(float),
            unit=unit,
            rater=rater,
            scale=none,
            spot=none,
            n_units=units,
            n_raters=3,
        ),
        truth,
        shifts,
    )


def few(values: list[float], *, unit: list[int], rater: list[int], n_units: int) -> Observations:
    n = len(values)
    none = np.full(n, -1)
    return Observations(
        np.array(values),
        np.full(n, 0.01),
        np.arange(n, dtype=float),
        np.array(unit, dtype=int),
        np.array(rater, dtype=int),
        none,
        none,
        n_units=n_units,
        n_raters=max([*rater, -1]) + 1,
    )


def rng() -> np.random.Generator:
    return np.random.default_rng(0)


def test_recovers_variances_and_raters() -> None:
    seen, truth, shifts = simulated()
    fit = fit_pooled(seen, PRIOR, rng=rng())
    for name in ("unit_sd", "day_sd", "unit_day_sd", "noise_sd"):
        # truth planted above; 12 units and 60 days leave an sd within a factor of about 1.6
        assert TRUTH[name] / 1.6 < fit.hyper[name] < TRUTH[name] * 1.6, name
    believed = posterior(fit, [59.0])
    apart = believed.rater_mean - believed.rater_mean.mean()
    assert apart == pytest.approx(shifts - shifts.mean(), abs=0.1)  # planted shifts
    assert np.all(np.abs(believed.rater_mean - shifts) < 3 * believed.rater_sd)
    errors = believed.mean[0] - truth[59]
    assert np.std(errors) < 0.25  # own noise sd 0.25 before any pooling


def test_same_generator_same_answer() -> None:
    seen, _, _ = simulated(units=4, days=15)
    one, other = (posterior(fit_pooled(seen, PRIOR, rng=rng()), [14.0]) for _ in range(2))
    assert np.array_equal(one.mean, other.mean)
    assert np.array_equal(one.cov, other.cov)


def test_order_of_observations_does_not_matter() -> None:
    seen, _, _ = simulated(units=4, days=15)
    turned = np.random.default_rng(5).permutation(len(seen))
    arrays = ("value", "variance", "day", "unit", "rater", "scale", "spot")
    mixed = Observations(
        **{name: getattr(seen, name)[turned] for name in arrays}, n_units=4, n_raters=3
    )
    one, other = (posterior(fit_pooled(o, PRIOR, rng=rng()), [14.0]) for o in (seen, mixed))
    assert one.mean == pytest.approx(other.mean, abs=1e-4)


def test_intervals_widen_day_by_day_after_the_last_reading() -> None:
    seen, _, _ = simulated(days=30)
    believed = posterior(fit_pooled(seen, PRIOR, rng=rng()), 29.0 + np.arange(0, 40, 3))
    variance = np.einsum("dudu->du", believed.cov)
    assert np.all(np.diff(variance, axis=0) > 0)


def test_joint_days_give_the_change_with_its_covariance() -> None:
    seen, _, _ = simulated(days=30)
    fit = fit_pooled(seen, PRIOR, rng=rng())
    both, alone = posterior(fit, [29.0, 22.0]), posterior(fit, [22.0])
    assert both.mean[1] == pytest.approx(alone.mean[0])
    change = both.cov[0, 0, 0, 0] + both.cov[1, 0, 1, 0] - 2 * both.cov[0, 0, 1, 0]
    assert 0 < change < both.cov[0, 0, 0, 0] + both.cov[1, 0, 1, 0]


def test_nothing_observed_gives_the_prior() -> None:
    fit = fit_pooled(few([], unit=[], rater=[], n_units=3), PRIOR, rng=rng(), pairs=0)
    believed = posterior(fit, [0.0])
    assert believed.mean[0] == pytest.approx([5, 5, 5])
    # by hand: 3^2 + 0.3^2 + 0.4^2 + 0.15^2 + 0.1^2, the halved sds of the prior medians
    assert believed.cov[0, 0, 0, 0] == pytest.approx(9 + 0.09 + 0.16 + 0.0225 + 0.01)


@pytest.mark.parametrize(
    ("values", "unit", "rater"),
    [
        ([7.0], [0], [-1]),
        ([7.0, 7.5], [0, 0], [0, 1]),
        ([7.0, 4.0], [0, 1], [0, 1]),  # one rater per unit: confounded
        ([6.0] * 30, [0] * 30, [0] * 30),  # constant
        ([6.0] * 30, [0, 1, 2] * 10, [0] * 30),
        ([0.0, 1e4], [0, 1], [-1, -1]),
    ],
)
def test_thin_and_degenerate_data_stay_finite(
    values: list[float], unit: list[int], rater: list[int]
) -> None:
    believed = posterior(
        fit_pooled(few(values, unit=unit, rater=rater, n_units=3), PRIOR, rng=rng()), [40.0, 33.0]
    )
    assert np.isfinite(believed.mean).all()
    assert np.isfinite(believed.cov).all()
    assert np.linalg.eigvalsh(believed.cov.reshape(6, 6)).min() > 0


def test_confounded_rater_keeps_the_doubt() -> None:
    """One rater per unit: the units' difference must stay as wide as raters may differ."""
    day = [7.0, 4.0] * 15
    alone = few(day, unit=[0, 1] * 15, rater=[-1, -1] * 15, n_units=2)
    owned = few(day, unit=[0, 1] * 15, rater=[0, 1] * 15, n_units=2)
    sds = []
    for seen in (alone, owned):
        cov = posterior(fit_pooled(seen, PRIOR, rng=rng()), [29.0]).cov[0, :, 0, :]
        sds.append(np.sqrt(cov[0, 0] + cov[1, 1] - 2 * cov[0, 1]))
    assert sds[1] > 1.5 * sds[0]
    # sqrt(2) x prior median of the rater sd, by hand: 0.354
    assert sds[1] > 0.354


def test_refuses_what_cannot_be() -> None:
    with pytest.raises(BadInput, match="one length"):
        none = np.array([-1])
        Observations(
            np.ones(2), np.ones(1), np.ones(1), np.zeros(1, int), none, none, none, n_units=1
        )
    with pytest.raises(BadInput, match="beyond"):
        few([1.0], unit=[3], rater=[-1], n_units=2)
    with pytest.raises(BadInput, match="finite"):
        few([float("nan")], unit=[0], rater=[-1], n_units=2)
    with pytest.raises(BadInput, match="lacks"):
        PoolingPrior(0.0, 1.0, {})
    with pytest.raises(BadInput, match="above zero"):
        HyperPrior(0.0, 1.0)


def test_a_season_of_eighteen_units_is_quick() -> None:
    seen, _, _ = simulated(units=18, days=90, share=0.6)
    assert len(seen) > 900
    fit_pooled(seen, PRIOR, rng=rng())
    start = time.process_time()
    posterior(fit_pooled(seen, PRIOR, rng=rng()), [89.0, 82.0])
    # measured 0.25 s on two cores; the limit leaves room for a slower machine
    assert time.process_time() - start < 1.5
    assert set(PRIOR.hyper) == set(HYPERS)
