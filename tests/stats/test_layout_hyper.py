"""The layout of observations, the search for hyper-parameters, and the mixture about it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import approx_fprime, minimize
from scipy.stats import multivariate_normal
from threadpoolctl import threadpool_info

from greenwright.base.errors import BadInput
from greenwright.stats import HYPERS, Observations, PooledFit, posterior
from greenwright.stats.hyper import at_points, best, log_posterior, mixture, named
from greenwright.stats.layout import lay_out
from greenwright.stats.marginal import shared_cov
from greenwright.stats.pooling import _mixed, one_blas_thread
from tests.stats.test_pooling_patients import PRIOR, simulated


def tiny() -> Observations:
    return Observations(
        value=np.array([5.0, 6.0, 8.0]),
        variance=np.array([0.1, 0.2, 0.3]),
        day=np.array([4.0, 1.0, 4.0]),
        unit=np.array([2, 0, 0]),
        rater=np.array([-1, 1, 0]),
        scale=np.array([0, -1, -1]),
        spot=np.array([-1, 7, 7]),
        n_units=3,
        n_raters=2,
        scale_sd=(0.5,),
    )


def test_layout_by_hand() -> None:
    layout = lay_out(tiny(), level=5.0)
    # level, days 1 and 4, two raters, one scale
    assert layout.width == 6
    assert layout.days.tolist() == [1.0, 4.0]
    (both,) = layout.stacks  # two observations and one: about equal, so side by side
    assert both.unit.tolist() == [0, 2]
    assert both.residual.tolist() == [[1.0, 3.0], [0.0, 0.0]]
    assert both.real.tolist() == [[1, 1], [1, 0]]
    assert both.gap.tolist() == [[[0, 3], [3, 0]], [[0, 0], [0, 0]]]
    assert both.same_spot.tolist() == [[[1, 1], [1, 1]], [[0, 0], [0, 0]]]
    assert both.design.tolist() == [
        [[1, 1, 0, 0, 1, 0], [1, 0, 1, 1, 0, 0]],
        [[1, 0, 1, 0, 0, 1], [0, 0, 0, 0, 0, 0]],
    ]
    assert layout.repeats.count.tolist() == []
    assert layout.scale_variance.tolist() == [0.25]


def test_repeats_by_hand() -> None:
    one = np.zeros(3, dtype=int)
    none = np.full(3, -1)
    o = Observations(
        np.array([4.0, 7.0, 7.0]), np.full(3, 0.2), np.zeros(3), one, none, none, none, n_units=1
    )
    layout = lay_out(o, level=5.0)
    # by hand: mean 6, squares 4 + 1 + 1
    assert layout.stacks[0].residual.tolist() == [[1.0]]
    assert layout.stacks[0].count.tolist() == [[3.0]]
    assert layout.repeats.count.tolist() == [3.0]
    assert layout.repeats.squares == pytest.approx([6.0])
    assert layout.repeats.variance.tolist() == [0.2]


def test_observations_that_differ_in_anything_known_stay_apart() -> None:
    """Same unit and day, but another rater, scale, spot or variance."""
    five = np.zeros(5, dtype=int)
    layout = lay_out(
        Observations(
            value=np.ones(5),
            variance=np.array([0.1, 0.1, 0.1, 0.1, 0.2]),
            day=np.zeros(5),
            unit=five,
            rater=np.array([0, 1, -1, -1, -1]),
            scale=np.array([-1, -1, 0, -1, -1]),
            spot=np.array([-1, -1, -1, 3, -1]),
            n_units=1,
            n_raters=2,
            scale_sd=(1.0,),
        ),
        level=0.0,
    )
    assert layout.stacks[0].real.sum() == 5
    assert layout.repeats.count.size == 0


@pytest.mark.parametrize(
    ("part", "value", "words"),
    [
        ("unit", -1, "beyond its table"),
        ("unit", 3, "beyond its table"),
        ("rater", 2, "beyond its table"),
        ("rater", -2, "beyond its table"),
        ("scale", 1, "beyond its table"),
        ("value", np.nan, "finite"),
        ("variance", -0.1, "not negative"),
        ("variance", np.nan, "not negative"),
        ("day", np.inf, "days must be finite"),
    ],
)
def test_impossible_observations_are_refused(part: str, value: float, words: str) -> None:
    spoiled = getattr(tiny(), part).copy()
    spoiled[1] = value
    with pytest.raises(BadInput, match=words):
        replace(tiny(), **{part: spoiled})


def test_shared_covariance_limits() -> None:
    hyper = named(PRIOR.centre)
    now, far = shared_cov(np.array([0.0, 1e6]), hyper)
    assert now == pytest.approx(hyper["day_sd"] ** 2 + hyper["slow_sd"] ** 2)
    assert far == pytest.approx(0.0, abs=1e-12)


def test_named_is_the_way_back_from_logs() -> None:
    hyper = named(PRIOR.centre)
    assert list(hyper) == list(HYPERS)
    assert hyper["unit_sd"] == pytest.approx(PRIOR.hyper["unit_sd"].median)


def test_the_penalty_is_the_log_normal_prior() -> None:
    layout = lay_out(tiny(), level=5.0)
    shift = np.zeros(len(HYPERS))
    shift[3] = 0.7
    value, at = log_posterior(layout, PRIOR, PRIOR.centre + shift)
    # by hand: (0.7 / 0.8)^2 / 2 = 0.382813, prior log sd 0.8
    assert at.log_likelihood - value == pytest.approx(0.382813, abs=1e-6)


def test_the_best_point_is_flat_and_no_neighbour_beats_it() -> None:
    seen, _, _ = simulated(units=5, days=30)
    layout = lay_out(seen, level=PRIOR.level)
    top = best(layout, PRIOR)

    def height(point: np.ndarray) -> float:
        return log_posterior(layout, PRIOR, point)[0]

    slopes = approx_fprime(top, height, 1e-5)  # reference: scipy's forward differences
    assert slopes == pytest.approx(np.zeros(len(HYPERS)), abs=0.1)
    rng = np.random.default_rng(1)
    for step in 0.2 * rng.standard_normal((20, len(HYPERS))):
        assert height(top + step) < height(top) + 1e-3


@pytest.mark.parametrize(("units", "days", "share"), [(5, 30, 0.6), (2, 4, 1.0), (12, 40, 0.2)])
def test_the_climb_ends_where_another_optimiser_does(units: int, days: int, share: float) -> None:
    seen, _, _ = simulated(units=units, days=days, share=share)
    layout = lay_out(seen, level=PRIOR.level)
    # reference: scipy's Nelder-Mead, which knows no slopes, started at our top
    found = best(layout, PRIOR)
    other = minimize(
        lambda point: -log_posterior(layout, PRIOR, point)[0],
        found,
        method="Nelder-Mead",
        options={"maxiter": 400, "fatol": 1e-6},
    )
    assert -other.fun - log_posterior(layout, PRIOR, found)[0] < 1e-3


def test_no_pairs_is_the_best_point_alone() -> None:
    seen, _, _ = simulated(units=3, days=8)
    layout = lay_out(seen, level=PRIOR.level)
    alone = mixture(layout, PRIOR, pairs=0, rng=np.random.default_rng(0))
    assert alone.points.tolist() == [best(layout, PRIOR).tolist()]
    assert alone.weights.tolist() == [1.0]


def test_points_stay_within_four_sds_of_the_prior() -> None:
    seen, _, _ = simulated(units=3, days=5)
    layout = lay_out(seen, level=PRIOR.level)
    drawn = mixture(layout, PRIOR, pairs=60, rng=np.random.default_rng(0))
    away = (drawn.points - PRIOR.centre) / PRIOR.spread
    assert np.abs(away).max() <= 4 + 1e-9


def test_without_data_the_prior_is_best_and_the_mixture_is_as_wide() -> None:
    none = np.array([], dtype=int)
    empty = Observations(none * 1.0, none * 1.0, none * 1.0, none, none, none, none, n_units=2)
    layout = lay_out(empty, level=0.0)
    assert best(layout, PRIOR) == pytest.approx(PRIOR.centre)
    drawn = mixture(layout, PRIOR, pairs=400, rng=np.random.default_rng(0))
    # 800 antithetic points: the sd of an sd is about 3.5 %
    spread = np.sqrt(drawn.weights @ np.square(drawn.points - PRIOR.centre))
    assert spread == pytest.approx(PRIOR.spread, rel=0.15)


def test_weights_sum_to_one_and_none_rules() -> None:
    seen, _, _ = simulated(units=4, days=20)
    drawn = mixture(lay_out(seen, level=PRIOR.level), PRIOR, pairs=8, rng=np.random.default_rng(0))
    assert drawn.points.shape == (17, len(HYPERS))
    assert drawn.weights.sum() == pytest.approx(1)
    assert drawn.weights.max() < 0.5


def test_the_mixture_widens_what_the_best_point_believes() -> None:
    """Not knowing the variances must cost something when readings are few."""
    seen, _, _ = simulated(units=3, days=8)
    layout = lay_out(seen, level=PRIOR.level)
    drawn = mixture(layout, PRIOR, pairs=20, rng=np.random.default_rng(0))
    alone = at_points(layout, PRIOR, drawn.points[:1])
    wide, narrow = (
        np.trace(posterior(PooledFit(layout, PRIOR, m), [12.0]).cov[0, :, 0, :])
        for m in (drawn, alone)
    )
    assert wide > narrow


def test_mixing_by_hand() -> None:
    means = [np.array([0.0]), np.array([2.0])]
    covs = [np.array([[1.0]]), np.array([[3.0]])]
    mean, cov = _mixed(means, covs, np.array([0.25, 0.75]))
    # by hand: 1.5; 0.25*1 + 0.75*3 + 0.25*1.5^2 + 0.75*0.5^2 = 3.25
    assert mean.tolist() == [1.5]
    assert cov.tolist() == [[3.25]]


def test_posterior_of_a_lone_reading_equals_two_by_two_conditioning() -> None:
    none = np.array([-1])
    lone = Observations(
        np.array([6.0]), np.array([0.5]), np.zeros(1), np.array([0]), none, none, none, n_units=1
    )
    layout = lay_out(lone, level=PRIOR.level)
    fit = PooledFit(layout, PRIOR, at_points(layout, PRIOR, PRIOR.centre[None, :]))
    h = named(PRIOR.centre)
    level = 9 + h["unit_sd"] ** 2 + h["unit_day_sd"] ** 2 + h["day_sd"] ** 2 + h["slow_sd"] ** 2
    read = level + 0.5 + h["noise_sd"] ** 2
    believed = posterior(fit, [0.0])
    # by hand: 5 + level/read (6 - 5), level (1 - level/read)
    assert believed.mean[0, 0] == pytest.approx(5 + level / read, abs=1e-6)
    assert believed.cov[0, 0, 0, 0] == pytest.approx(level * (1 - level / read), abs=1e-6)


def test_three_readings_have_the_density_scipy_gives() -> None:
    o, h = tiny(), named(PRIOR.centre)
    layout = lay_out(o, level=PRIOR.level)
    _, at = log_posterior(layout, PRIOR, PRIOR.centre)
    far = shared_cov(np.array(3.0), h)
    near = shared_cov(np.array(0.0), h)
    own = h["unit_sd"] ** 2 + h["spot_sd"] ** 2
    lag = h["unit_day_sd"] ** 2 * np.exp(-3 / h["unit_correlation"])
    unit, day, noise = h["unit_sd"] ** 2, h["unit_day_sd"] ** 2, h["noise_sd"] ** 2
    rater, spot = h["rater_sd"] ** 2, h["spot_sd"] ** 2
    cov = 9 + np.array(
        [
            [near + unit + day + 0.25 + 0.1 + noise, far, near],
            [far, near + unit + day + spot + rater + 0.2 + noise, far + own + lag],
            [near, far + own + lag, near + unit + day + spot + rater + 0.3 + noise],
        ]
    )
    # reference: scipy's multivariate normal with the covariance written out by hand
    dense = multivariate_normal(np.full(3, 5.0), cov).logpdf(o.value)
    assert at.log_likelihood == pytest.approx(dense, abs=1e-6)


def test_one_thread_is_held_and_given_back() -> None:
    def threads() -> list[int]:
        return [pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"]

    before = threads()
    with one_blas_thread():
        assert set(threads()) <= {1}
    assert threads() == before
