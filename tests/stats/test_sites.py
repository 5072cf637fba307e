"""Sites against exact one-dimensional posteriors, plain fits, and planted scatter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit
from scipy.stats import binom, norm

from greenwright.base.errors import BadInput
from greenwright.stats import (
    HYPERS,
    HyperPrior,
    Observations,
    PooledFit,
    PoolingPrior,
    Sites,
    fit_pooled,
    fit_sited,
    posterior,
)
from greenwright.stats.layout import lay_out, retold
from greenwright.stats.marginal import condition
from greenwright.stats.sites import left_out
from tests.stats.test_pooling_dense import HYPER, dense_cov, some_observations
from tests.stats.test_pooling_patients import PRIOR, simulated

INF = np.inf
FIXED = {
    "unit_sd": 0.6,
    "day_sd": 0.5,
    "unit_day_sd": 0.4,
    "noise_sd": 0.8,
    "rater_sd": 0.7,
    "spot_sd": 0.01,
    "day_correlation": 4.0,
    "unit_correlation": 4.0,
    "slow_sd": 0.3,
    "slow_correlation": 40.0,
}
# A prior so narrow that the hyper-parameters stay where they are.
STILL = PoolingPrior(7.0, 1.5, {k: HyperPrior(v, 1e-4) for k, v in FIXED.items()})
PRIOR_VARIANCE = 1.5**2 + 0.6**2 + 0.5**2 + 0.4**2 + 0.3**2


def one_day(value: list[float], **more: object) -> Observations:
    """Observations of one unit on one day by nobody named."""
    n = len(value)
    none, zero = np.full(n, -1), np.zeros(n)
    held = Observations(np.array(value), zero, zero, zero.astype(int), none, none, none, n_units=1)
    return replace(held, **more)


def no_sites(n: int) -> Sites:
    zero, one = np.zeros(n), np.ones(n)
    return Sites(np.full(n, -INF), np.full(n, INF), zero, zero, zero, one, zero)


def intervals(low: list[float], high: list[float]) -> Sites:
    n = len(low)
    start = np.full(n, 0.02)
    return replace(no_sites(n), low=np.array(low), high=np.array(high), start=start)


def rng() -> np.random.Generator:
    return np.random.default_rng(0)


def told(seen: Observations, sites: Sites, rounds: int = 12) -> tuple[float, float]:
    fit = fit_sited(seen, sites, STILL, rng=rng(), pairs=0, rounds=rounds)
    believed = posterior(fit, [0.0])
    return float(believed.mean[0, 0]), float(believed.cov[0, 0, 0, 0])


def exact(log_likelihood: np.ndarray, grid: np.ndarray) -> tuple[float, float]:
    """Reference: the level's posterior on a fine grid."""
    logs = log_likelihood + norm.logpdf(grid, 7.0, np.sqrt(PRIOR_VARIANCE))
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    mean = weight @ grid
    return float(mean), float(weight @ (grid - mean) ** 2)


GRID = np.linspace(-5, 20, 20_001)


def log_interval(low: float, high: float) -> np.ndarray:
    area = norm.cdf(high, GRID, 0.8) - norm.cdf(low, GRID, 0.8)
    return np.log(np.maximum(area, 1e-300))


@pytest.mark.parametrize(
    ("low", "high"),
    [
        ([6.75], [7.25]),
        ([9.75, 9.75, 9.75], [INF, INF, INF]),
        ([9.5, 8.5, 9.5, 7.5], [INF, 9.5, INF, 8.5]),
        ([-INF, 0.25], [0.25, 0.75]),
    ],
)
def test_rounded_and_piled_up_scores_equal_the_exact_posterior(
    low: list[float], high: list[float]
) -> None:
    value = [min(max(a, 0.0), 10.0) for a in low]
    found = told(one_day(value), intervals(low, high))
    logs = sum(log_interval(a, b) for a, b in zip(low, high, strict=True))
    mean, variance = exact(logs, GRID)
    # Piled-up scores leave a skew posterior: normal sites cost 6 % of its sd, no more.
    assert found[0] == pytest.approx(mean, abs=0.02 * np.sqrt(variance))
    assert np.sqrt(found[1]) == pytest.approx(np.sqrt(variance), rel=0.06)


def sequential(logs: list[np.ndarray], sweeps: int = 50) -> tuple[float, float]:
    """Reference: expectation propagation of the level alone, site after site, on the grid."""
    pull, precision = np.zeros(len(logs)), np.zeros(len(logs))
    for i in [*range(len(logs))] * sweeps:
        rest = 1 / PRIOR_VARIANCE + precision.sum() - precision[i]
        mean = (7 / PRIOR_VARIANCE + pull.sum() - pull[i]) / rest
        weight = np.exp(logs[i] + norm.logpdf(GRID, mean, rest**-0.5))
        weight /= weight.sum()
        middle = weight @ GRID
        spread = weight @ (GRID - middle) ** 2
        precision[i], pull[i] = 1 / spread - rest, middle / spread - rest * mean
    whole = 1 / PRIOR_VARIANCE + precision.sum()
    return float((7 / PRIOR_VARIANCE + pull.sum()) / whole), float(1 / whole)


@pytest.mark.parametrize("n", [1, 3, 6])
def test_sites_settle_where_expectation_propagation_does(n: int) -> None:
    found = told(one_day([10.0] * n), intervals([9.75] * n, [INF] * n))
    assert found == pytest.approx(sequential([log_interval(9.75, INF)] * n), abs=2e-3)


@pytest.mark.parametrize(("hits", "tries"), [(8, 10), (10, 10), (0, 6), (30, 40)])
def test_counts_equal_the_exact_posterior(hits: int, tries: int) -> None:
    """Link noise of variance 0.3 is integrated by a grid of its own in the reference."""
    noise = np.linspace(-4, 4, 161)
    weight = norm.pdf(noise)
    share = expit((GRID[:, None] + np.sqrt(0.3) * noise[None, :] - 5) / 1.8)
    logs = np.log(binom.pmf(hits, tries, share) @ weight)
    seen = one_day([7.0], variance=np.array([0.3]), noise=np.zeros(1))
    counted = replace(
        no_sites(1),
        hits=np.array([float(hits)]),
        tries=np.array([float(tries)]),
        centre=np.array([5.0]),
        per=np.array([1.8]),
        start=np.array([1.0]),
    )
    mean, variance = exact(logs, GRID)
    found = told(seen, counted)
    assert found[0] == pytest.approx(mean, abs=0.01)
    assert found[1] == pytest.approx(variance, rel=0.02)


def test_two_rounds_are_near_enough() -> None:
    seen, sites = one_day([10.0, 9.0, 10.0]), intervals([9.75, 8.75, 9.75], [INF, 9.25, INF])
    two, many = told(seen, sites, rounds=2), told(seen, sites, rounds=20)
    assert two == pytest.approx(many, rel=0.01)


def test_plain_numbers_are_fitted_as_ever() -> None:
    seen, _, _ = simulated(units=4, days=15)
    plain = posterior(fit_pooled(seen, PRIOR, rng=rng()), [14.0])
    sited = posterior(fit_sited(seen, no_sites(len(seen)), PRIOR, rng=rng()), [14.0])
    sds = [np.sqrt(np.einsum("dudu->du", one.cov)) for one in (sited, plain)]
    # The search ends a little earlier here, so the few points of the mixture differ a little.
    assert np.all(np.abs(sited.mean - plain.mean) < 0.2 * sds[1])
    assert sds[0] == pytest.approx(sds[1], rel=0.15)


def test_nothing_observed_gives_the_prior() -> None:
    seen = one_day([])
    fit = fit_sited(seen, no_sites(0), STILL, rng=rng(), pairs=0)
    believed = posterior(fit, [0.0])
    assert believed.mean[0, 0] == pytest.approx(7.0)
    assert believed.cov[0, 0, 0, 0] == pytest.approx(PRIOR_VARIANCE, rel=1e-3)


def test_sites_of_another_length_are_refused() -> None:
    with pytest.raises(BadInput, match="its site"):
        fit_sited(one_day([7.0]), no_sites(2), STILL, rng=rng())
    with pytest.raises(BadInput, match="one length"):
        replace(no_sites(2), low=np.zeros(3))


def test_what_the_others_say_equals_leaving_one_out() -> None:
    """Reference: the dense normal of all but one, conditioned by the textbook."""
    o = some_observations()
    layout = lay_out(o, level=7.0, merge=False)
    at = condition(layout, HYPER, level_sd=1.5)
    pull, precision = (a[layout.place] for a in left_out(layout, at))
    cov, away = dense_cov(o, HYPER), o.value - 7.0
    for i in (0, 7, 39):
        rest = np.delete(np.arange(len(o)), i)
        lever = np.linalg.solve(cov[np.ix_(rest, rest)], cov[rest, i])
        assert away[i] - pull[i] / precision[i] == pytest.approx(lever @ away[rest], abs=1e-5)
        assert 1 / precision[i] == pytest.approx(cov[i, i] - lever @ cov[rest, i], abs=1e-5)


def test_a_layout_told_otherwise_is_the_layout_of_the_other_words() -> None:
    o, chance = some_observations(), np.random.default_rng(4)
    value, variance = o.value + chance.standard_normal(40), chance.uniform(0, 1, 40)
    noise = chance.uniform(0, 2, 40)
    one = retold(lay_out(o, level=7.0, merge=False), value - 7.0, variance, noise)
    other = lay_out(replace(o, value=value, variance=variance, noise=noise), level=7.0, merge=False)
    first, second = (condition(lay, HYPER, level_sd=1.5) for lay in (one, other))
    assert first.log_likelihood == pytest.approx(second.log_likelihood, abs=1e-8)


def scattered(sds: tuple[float, ...], seed: int = 1) -> Observations:
    """Return the simulated patients read by raters who scatter differently."""
    seen, truth, _ = simulated(units=8, days=50, seed=seed)
    chance = np.random.default_rng(seed)
    noise = np.array(sds)[seen.rater] * chance.standard_normal(len(seen))
    return replace(seen, value=truth[seen.day.astype(int), seen.unit] + noise)


def learnt(sds: tuple[float, ...], log_sd: float = 0.5) -> PooledFit:
    seen = scattered(sds)
    return fit_sited(
        seen, no_sites(len(seen)), PRIOR, rng=rng(), scatter_log_sd=log_sd, pairs=0, rounds=6
    )


def test_raters_who_scatter_differently_are_told_apart() -> None:
    fit = learnt((0.2, 0.4, 0.8))
    sds = fit.scatter * fit.hyper["noise_sd"]
    # planted; about 80 readings each
    assert np.all(np.abs(np.log(sds / [0.2, 0.4, 0.8])) < 2.5 * fit.scatter_log_sd)
    # the narrowest is told least well: most of what is seen of it is the units' own process
    assert 0.5 > fit.scatter_log_sd[0] > fit.scatter_log_sd[1] > fit.scatter_log_sd[2] > 0.05


def test_raters_alike_stay_alike_and_none_is_learnt_where_none_is_asked() -> None:
    assert learnt((0.4, 0.4, 0.4)).scatter == pytest.approx(np.ones(3), abs=0.2)
    assert learnt((0.2, 0.4, 0.8), log_sd=0.0).scatter.tolist() == [1.0, 1.0, 1.0]


def test_hypers_are_all_named() -> None:
    assert set(FIXED) == set(HYPERS)
