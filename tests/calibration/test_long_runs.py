"""The quick mixture against long sampling runs, and the sampler against what is known."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.stats.dynamic import fit_dynamic
from tests.calibration.long_records import RECORDS, Beside, beside, line
from tests.calibration.long_runs import (
    Place,
    Stepper,
    effective,
    move,
    place_about,
    sample,
    split_r_hat,
)

SMALL = next(iter(RECORDS))


def normal(mean: np.ndarray, cov: np.ndarray) -> Place:
    """The log density of a normal, its slope, and the point itself to keep."""
    precision = np.linalg.inv(cov)

    def place(point: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
        away = point - mean
        return -0.5 * float(away @ precision @ away), -precision @ away, point

    return place


def test_a_known_normal_is_sampled() -> None:
    """Mean and covariance as put in, within what the effective draws allow."""
    mean, cov = np.array([0.5, -1.0, 0.0]), np.array([[1.0, 0.5, 0], [0.5, 1.5, 0], [0, 0, 0.4]])
    runs = sample(normal(mean, cov), 3, warm=200, draws=1500, seed=1)
    drawn = runs.kept.reshape(-1, 3)
    worth = min(effective(runs.kept[:, :, k]) for k in range(3))
    assert worth > 1000
    error = 4 * np.sqrt(np.diagonal(cov) / worth)
    assert (np.abs(drawn.mean(axis=0) - mean) < error).all()
    assert np.cov(drawn.T) == pytest.approx(cov, abs=0.15)
    assert 0.6 < runs.accepted < 0.95


def test_a_skewed_density_is_sampled() -> None:
    """Logs of a gamma of shape 3: digamma(3) = 0.9228, root of trigamma(3) 0.6284 (memory)."""

    def place(point: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
        grown = np.exp(point[0])
        return float(3 * point[0] - grown), np.array([3 - grown]), point

    runs = sample(place, 1, warm=200, draws=2000, seed=2)
    assert runs.kept.mean() == pytest.approx(0.9228, abs=0.05)
    assert runs.kept.std() == pytest.approx(0.6284, abs=0.04)


def test_short_steps_keep_energy() -> None:
    """The leap conserves energy to the second order: short steps are nearly always accepted."""
    rng, place = np.random.default_rng(3), normal(np.zeros(2), np.eye(2))
    point = np.array([1.0, -0.5])
    chances = {}
    for step in (0.05, 1.6):
        chances[step] = np.mean(
            [move(place, point, place(point), step=step, rng=rng)[2] for _ in range(200)]
        )
    assert chances[0.05] > 0.999
    assert chances[1.6] < chances[0.05]


def test_a_leap_off_the_edge_stays_where_it_was() -> None:
    def place(point: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
        return (0.0 if abs(point[0]) < 0.01 else -np.inf), np.zeros(1), point

    start = np.zeros(1)
    at, _, chance, _ = move(place, start, place(start), step=0.5, rng=np.random.default_rng(1))
    assert at is start and chance == 0.0


def test_the_step_falls_until_enough_is_accepted() -> None:
    stepper = Stepper(1.0)
    for _ in range(400):
        stepper.learn(float(np.exp(-2 * stepper.step)))
    stepper.settle()
    # exp(-2 s) = 0.8 at s = 0.1116.
    assert stepper.step == pytest.approx(0.1116, rel=0.1)


def test_effective_draws_of_a_known_chain() -> None:
    """A chain that keeps a share r of itself is worth (1 - r) / (1 + r) of its draws."""
    rng, keep = np.random.default_rng(5), 0.6
    chain = rng.standard_normal((4, 4000))
    for k in range(1, 4000):
        chain[:, k] = keep * chain[:, k - 1] + np.sqrt(1 - keep**2) * chain[:, k]
    assert effective(chain) == pytest.approx(16000 * 0.4 / 1.6, rel=0.15)
    assert split_r_hat(chain) < 1.01


def test_chains_that_differ_are_seen() -> None:
    chain = np.random.default_rng(6).standard_normal((4, 500))
    chain[0] += 1.0
    assert split_r_hat(chain) > 1.05
    drifting = np.random.default_rng(7).standard_normal((4, 500)) + np.linspace(0, 2, 500)
    assert split_r_hat(drifting) > 1.05


def test_the_posterior_has_the_slope_it_says() -> None:
    """Central differences of the log density in whitened coordinates."""
    model, rows = RECORDS[SMALL]()
    fit = fit_dynamic(model, rows, rng=np.random.default_rng(0), pairs=0)
    place, point = place_about(fit), 0.3 * np.random.default_rng(1).standard_normal(len(fit.top))
    steps = 1e-4 * np.eye(len(point))
    apart = [(place(point + e)[0] - place(point - e)[0]) / 2e-4 for e in steps]
    assert place(point)[1] == pytest.approx(np.array(apart), abs=1e-4)


@pytest.fixture(scope="module")
def small() -> Beside:
    return beside(RECORDS[SMALL](), warm=60, draws=150)


def test_the_long_run_settles(small: Beside) -> None:
    assert small.long.r_hat < 1.06
    assert small.long.effective > 80


def test_the_mixture_agrees_with_the_long_run(small: Beside) -> None:
    assert small.agree, line(SMALL, small)


def test_half_lives_agree_with_the_long_run(small: Beside) -> None:
    """Looser: the run itself knows them to a tenth of an sd only."""
    assert np.abs(small.shape_shift).max() < 0.3
    assert np.abs(small.shape_ratio - 1).max() < 0.2
