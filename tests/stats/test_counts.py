"""Counts in time: hand-calculated information, brute-force integration, known patients."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.optimize import brentq, minimize
from scipy.stats import nbinom

from greenwright.base.errors import BadInput
from greenwright.stats.counts import (
    CountPrior,
    Counts,
    chance_positive,
    count_draws,
    fit_counts,
)

NONE = (1e-6, 1e-6, 1e-6)
STILL = (1e-4, 1e-4, 1e-4)
DAY = (1.0, 1.0, 1.0)


def prior(
    means: tuple[float, ...] = (0.0,),
    sd: float = 30.0,
    *,
    over: tuple[float, float, float] = NONE,
    wander: tuple[float, float, float] = STILL,
    memory: tuple[float, float, float] = DAY,
) -> CountPrior:
    return CountPrior(np.array(means), np.full(len(means), sd), over, wander, memory)


def level(count: list[float], **more: object) -> Counts:
    y = np.array(count, dtype=float)
    return Counts(y, np.ones(len(y)), np.arange(len(y)) * 1.0, np.ones((len(y), 1)), **more)  # type: ignore[arg-type]


def test_a_plain_rate_by_hand() -> None:
    fit = fit_counts(level([3, 0, 5, 2, 0, 2]), prior())
    # by hand: 12 in 6 intervals, log 2; the information of a Poisson log rate is its count, 12
    assert fit.mean[0] == pytest.approx(np.log(2), abs=2e-3)
    assert fit.cov[0, 0] == pytest.approx(1 / 12, rel=2e-3)


def test_exposure_is_what_the_mean_is_proportional_to() -> None:
    y = np.array([4.0, 8.0, 12.0])
    counts = Counts(y, np.array([10.0, 20.0, 30.0]), np.arange(3.0), np.ones((3, 1)))
    # by hand: 24 in 60
    assert fit_counts(counts, prior()).mean[0] == pytest.approx(np.log(0.4), abs=2e-3)


def test_clustering_costs_information_by_hand() -> None:
    y = [2.0] * 40
    fit = fit_counts(level(y), prior(over=(1.0, 1.0, 1.0)))
    # by hand: expected information of a log mean is m / (1 + w m) = 2 / 3 an interval; with
    # every count at its mean the observed one, m (1 + w y) / (1 + w m)^2, is the same
    assert fit.cov[0, 0] == pytest.approx(3 / 80, rel=2e-3)


def test_spells_cost_information_by_hand() -> None:
    n, sd, memory = 400, 0.5, 8.0
    fit = fit_counts(level([50.0] * n), prior(wander=(sd,) * 3, memory=(memory,) * 3))
    keep = np.exp(-1 / memory)
    # by hand: variance of the mean of a long stationary series, s^2/n (1 + k)/(1 - k), and of
    # the counts themselves; the ends of the series make a percent or two
    expected = sd**2 / n * (1 + keep) / (1 - keep) + 1 / (50 * n)
    assert fit.cov[0, 0] == pytest.approx(expected, rel=0.04)


def test_a_gap_in_time_lets_the_spell_fade() -> None:
    y, x = np.array([20.0, 20.0, 20.0, 20.0]), np.ones((4, 1))
    held = prior(wander=(0.8,) * 3, memory=(5.0,) * 3)
    close = fit_counts(Counts(y, np.ones(4), np.array([0.0, 1, 2, 3]), x), held)
    apart = fit_counts(Counts(y, np.ones(4), np.array([0.0, 50, 100, 150]), x), held)
    # by hand: far apart, four independent intervals of variance s^2 + 1/20 each
    assert apart.cov[0, 0] == pytest.approx((0.64 + 0.05) / 4, rel=0.01)
    assert close.cov[0, 0] > 2 * apart.cov[0, 0]


def test_intervals_known_only_because_of_a_count_give_the_truncated_estimate() -> None:
    y = [1.0, 1, 2, 1, 3, 1, 2, 1]
    fit = fit_counts(level(y, unseen=np.ones(8)), prior())
    # outside: the zero-truncated Poisson mean, rate / (1 - exp(-rate)) = mean count 1.5
    rate = brentq(lambda r: r / (1 - np.exp(-r)) - 1.5, 0.01, 5)
    assert np.exp(fit.mean[0]) == pytest.approx(rate, rel=2e-3)
    assert fit.mean[0] < fit_counts(level(y), prior()).mean[0]


def test_half_hidden_zeros_lie_between() -> None:
    y = [0.0, 0, 0, 1, 1, 2, 1, 3]
    rates = [fit_counts(level(y, unseen=np.full(8, u)), prior()).mean[0] for u in (0, 0.5, 0.9)]
    # by hand: the more zeros went unwritten, the lower the rate behind those that were
    assert rates[0] > rates[1] > rates[2]


def test_a_regression_agrees_with_a_direct_search() -> None:
    rng = np.random.default_rng(3)
    x = np.column_stack([np.ones(80), rng.standard_normal(80)])
    y = rng.poisson(2 * np.exp(x @ [0.2, 0.5])).astype(float)
    fit = fit_counts(Counts(y, np.full(80, 2.0), np.arange(80.0), x), prior((0.0, 0.0)))

    def lack(b: np.ndarray) -> float:
        return float((2 * np.exp(x @ b) - y * (x @ b)).sum())

    # outside: scipy's simplex search on the Poisson likelihood
    direct = minimize(lack, np.zeros(2), method="Nelder-Mead", options={"xatol": 1e-7}).x
    assert fit.mean == pytest.approx(direct, abs=2e-3)


def test_laplace_agrees_with_brute_force_on_two_intervals() -> None:
    y, w, sd, memory = np.array([3.0, 0.0]), 0.5, 0.7, 2.0
    held = CountPrior(np.array([0.0]), np.array([1.0]), (w,) * 3, (sd,) * 3, (memory,) * 3)
    fit = fit_counts(level(y.tolist()), held)
    # outside: the three-dimensional integral on a grid, negative binomial from scipy.stats
    b, z1, z2 = np.meshgrid(*[np.linspace(-4, 4, 121)] * 3, indexing="ij")
    k = np.exp(-1 / memory)
    log = -(b**2) / 2 - z1**2 / (2 * sd**2) - (z2 - k * z1) ** 2 / (2 * sd**2 * (1 - k**2))
    for count, z in zip(y, (z1, z2), strict=True):
        log = log + nbinom.logpmf(count, 1 / w, 1 / (1 + w * np.exp(b + z)))
    weight = np.exp(log - log.max())
    mean = (weight * b).sum() / weight.sum()
    sd_b = np.sqrt((weight * (b - mean) ** 2).sum() / weight.sum())
    assert fit.mean[0] == pytest.approx(mean, abs=0.06)
    assert np.sqrt(fit.cov[0, 0]) == pytest.approx(sd_b, rel=0.06)


def test_nothing_counted_leaves_the_prior() -> None:
    held = prior((1.0, -2.0), 0.5)
    fit = fit_counts(Counts(*[np.zeros(0)] * 3, np.zeros((0, 2))), held)
    # by hand
    assert fit.mean.tolist() == pytest.approx([1.0, -2.0])
    assert np.sqrt(np.diag(fit.cov)).tolist() == pytest.approx([0.5, 0.5])


def test_all_zeros_lower_the_rate_and_stay_finite() -> None:
    held = prior((0.0,), 1.0, over=(0.5, 1, 2), wander=(0.1, 0.5, 1), memory=(3, 8, 20))
    rates = [fit_counts(level([0.0] * n), held).mean[0] for n in (0, 5, 50, 500)]
    assert np.isfinite(rates).all()
    assert rates == sorted(rates, reverse=True)


def test_one_interval_is_enough() -> None:
    assert fit_counts(level([2.0]), prior((0.0,), 1.0)).mean[0] > 0


def simulated(rng: np.random.Generator, n: int, slope: float) -> Counts:
    """Gamma-mixed counts with autoregressive spells: this test's own simulator."""
    z, x = np.zeros(n), np.zeros(n)
    for i in range(1, n):
        z[i] = 0.85 * z[i - 1] + 0.25 * rng.standard_normal()
        x[i] = 0.9 * x[i - 1] + 0.4 * rng.standard_normal()
    mean = 0.6 * np.exp(slope * x + z)
    y = rng.poisson(mean * rng.gamma(1.5, 1 / 1.5, n)).astype(float)
    return Counts(y, np.ones(n), np.arange(n) * 1.0, np.column_stack([np.ones(n), x]))


WIDE = {"over": (0.4, 1.0, 2.2), "wander": (0.25, 0.5, 1.2), "memory": (3.0, 10.0, 30.0)}


def covered(slope: float, level_: float, records: int, shrink: float) -> float:
    hits = 0
    for seed in range(records):
        fit = fit_counts(
            simulated(np.random.default_rng(seed), 150, slope), prior((0.0, 0.0), 1.5, **WIDE)
        )
        reach = level_ * shrink * np.sqrt(fit.cov[1, 1])
        hits += abs(fit.mean[1] - slope) < reach
    return hits / records


def test_ninety_percent_intervals_of_the_slope_hold_the_truth() -> None:
    # 1.645 sd = 90 %; 150 records: binomial sd 2.4 points, so three of them about 0.90
    assert 0.83 <= covered(0.5, 1.645, 150, 1.0) <= 0.97


def test_an_estimator_that_is_too_sure_is_caught() -> None:
    # planted: sd x 0.5 holds the truth 59 % of the time if the sd is right
    assert covered(0.5, 1.645, 60, 0.5) < 0.75


def test_serial_spells_are_seen_in_the_weights() -> None:
    calm, wild = np.random.default_rng(5), np.random.default_rng(5)
    quiet = level(calm.poisson(3, 200).tolist())
    spells = 3 * np.exp(np.repeat(wild.standard_normal(10), 20))
    held = prior((0.0,), 2.0, **WIDE)
    restless = level(wild.poisson(spells).tolist())
    sds = [(f.weights @ f.wander_sd) for f in (fit_counts(c, held) for c in (quiet, restless))]
    assert sds[0] < 0.4 < 0.5 < sds[1]


def test_draws_agree_with_the_mixture_and_repeat() -> None:
    fit = fit_counts(simulated(np.random.default_rng(1), 100, 0.5), prior((0.0, 0.0), 1.0, **WIDE))
    one = count_draws(fit, n=40_000, rng=np.random.default_rng(2))
    two = count_draws(fit, n=40_000, rng=np.random.default_rng(2))
    assert np.array_equal(one.coefficients, two.coefficients)
    # by hand: Monte-Carlo error sd / 200
    assert one.coefficients.mean(axis=0) == pytest.approx(fit.mean, abs=0.008)
    assert np.cov(one.coefficients.T) == pytest.approx(fit.cov, abs=0.01)
    share = float((one.coefficients[:, 1] > 0).mean())
    assert chance_positive(fit, 1) == pytest.approx(share, abs=0.01)


def test_weights_sum_to_one_over_the_whole_grid() -> None:
    fit = fit_counts(level([1.0, 0, 4]), prior((0.0,), 1.0, **WIDE))
    assert fit.weights.sum() == pytest.approx(1.0)
    points = set(zip(fit.overdispersion, fit.wander_sd, fit.memory, strict=True))
    assert points == set(itertools.product(WIDE["over"], WIDE["wander"], WIDE["memory"]))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"exposure": np.array([1.0, 0.0])}, "above zero"),
        ({"count": np.array([1.0, -1.0])}, "none negative"),
        ({"time": np.array([1.0, 1.0])}, "must increase"),
        ({"time": np.array([1.0])}, "differ in length"),
        ({"design": np.ones((3, 1))}, "above zero"),
    ],
)
def test_nonsense_is_refused(change: dict[str, np.ndarray], words: str) -> None:
    fine = {
        "count": np.array([1.0, 2.0]),
        "exposure": np.ones(2),
        "time": np.arange(2.0),
        "design": np.ones((2, 1)),
    }
    with pytest.raises(BadInput, match=words):
        Counts(**(fine | change))


def test_a_prior_of_another_length_is_refused() -> None:
    with pytest.raises(BadInput, match="number of coefficients"):
        fit_counts(level([1.0]), prior((0.0, 0.0)))
