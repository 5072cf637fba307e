"""The parts behind a trace's reading, each against a closed form, a library or hand numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import chi2, poisson

from greenwright.base.estimate import normal_estimate
from greenwright.base.evidence import value as number
from greenwright.measure.belief import lognormal_estimate
from greenwright.measure.traces import MotionTrace
from greenwright.measure.traces.motion import check
from greenwright.measure.traces.readings import green_speed_of, ramp_roll, wander_of
from greenwright.measure.traces.rolling import (
    _arc,
    _correlation_time,
    _least_squares,
    _line,
    rolling_part,
)
from greenwright.measure.traces.vertical import (
    Band,
    _rate,
    _rms,
    bands,
    events_per_metre,
    gravity_inside,
)
from greenwright.measure.traces.wander import _bend, _posterior, path_index
from greenwright.roll.roughness import heading_walk, sideways_variance

from .rolled_balls import film, index_of, sampled, shaken, spinning, way

# --- lines and slopes of speed ---------------------------------------------------------------


def test_a_straight_line_is_laid_along_the_roll() -> None:
    x = np.linspace(0, 3, 200)
    along, across = _line(1 + 0.6 * x, 2 + 0.8 * x)
    # the direction (0.6, 0.8) has length one: distances along it are x itself
    assert along[-1] - along[0] == pytest.approx(3.0)
    assert across == pytest.approx(np.zeros(200), abs=1e-12)


def test_left_of_the_roll_is_positive() -> None:
    x = np.linspace(0, 3, 200)
    _, across = _line(x, 0.1 * np.sin(math.pi * x / 3))
    # the chord starts at the mean of the first twentieth, 8 mm up
    assert across[100] == pytest.approx(0.1, abs=0.01)


def test_the_way_along_a_curve_is_its_arc() -> None:
    angle = np.linspace(0, 0.6, 400)
    along, across = 5 * np.sin(angle), 5 * (1 - np.cos(angle))
    way_along = _arc(along, across)
    # an arc of radius 5 m and 0.6 rad is 3 m long
    assert way_along[-1] - way_along[0] == pytest.approx(3.0, rel=1e-3)


def test_noise_across_does_not_lengthen_the_way() -> None:
    rng, along = np.random.default_rng(1), np.linspace(0, 3, 500)
    way_along = _arc(along, 0.002 * rng.standard_normal(500))
    assert way_along[-1] - way_along[0] == pytest.approx(3.0, rel=1e-4)


def test_least_squares_is_the_textbooks() -> None:
    time, seen = np.arange(4.0), np.array([1.0, 0.0, -1.0, -2.0])
    fit, cov = _least_squares(np.column_stack([np.ones(4), time]), seen)
    # by hand: the four lie on 1 - t
    assert fit == pytest.approx([1.0, -1.0])
    assert cov == pytest.approx(np.zeros((2, 2)), abs=1e-12)


def test_white_noise_keeps_its_plain_covariance() -> None:
    rng, time = np.random.default_rng(2), np.linspace(0, 1, 2000)
    design = np.column_stack([np.ones(2000), time])
    _, cov = _least_squares(design, 0.1 * rng.standard_normal(2000))
    # var of a slope: sigma^2 / sum (t - mean)^2 = 0.01 / (2000 / 12)
    assert cov[1, 1] == pytest.approx(0.01 / (2000 / 12), rel=0.35)


def test_correlated_noise_widens_it() -> None:
    rng, left = np.random.default_rng(3), np.zeros(20_000)
    for i in range(1, len(left)):
        left[i] = 0.8 * left[i - 1] + rng.standard_normal()
    # an autoregression of 0.8 has correlation time (1 + 0.8) / (1 - 0.8) = 9
    assert _correlation_time(left) == pytest.approx(9.0, rel=0.25)
    assert _correlation_time(np.zeros(50)) == 1.0


def test_speed_and_distance_follow_the_law_of_even_slowing() -> None:
    one = way(slowing=0.5, launch=1.6)
    found = rolling_part(spinning(one))
    time = found.part.time_s - found.part.time_s[0]
    assert found.speed_m_s == pytest.approx(1.6 - 0.5 * time, abs=0.01)
    assert found.distance_m == pytest.approx(1.6 * time - 0.25 * time**2, abs=0.01)
    # level stopping distance at the first sample: 1.6^2 / (2 * 0.5)
    assert found.reach_m == pytest.approx(2.56, rel=0.01)


# --- from deceleration to the ramp's roll ----------------------------------------------------


@pytest.mark.parametrize(
    ("slowing", "feet"),
    # table of deceleration by green speed, a = v0^2 / 2S: worked from 6 ft/s
    [(1.3716, 4), (0.6858, 8), (0.5486, 10), (0.4572, 12), (0.3919, 14)],
)
def test_deceleration_becomes_the_ramps_roll(slowing: float, feet: float) -> None:
    got = ramp_roll(normal_estimate(slowing, 0.01, "m/s2"))
    assert got.value == pytest.approx(0.3048 * feet, rel=2e-4)
    # S goes with 1 / a: the same relative sd, and ends that change places
    assert got.sd / got.value == pytest.approx(0.01 / slowing)
    assert got.low < got.value < got.high


def test_one_roll_of_a_green_is_worth_less_than_itself() -> None:
    roll = normal_estimate(3.0, 0.01, "m")
    expected = math.hypot(0.01, number("measure.one_way_sd"), number("measure.roll_sd_within_set"))
    assert green_speed_of(roll).sd == pytest.approx(expected)


def test_wander_carries_half_of_both_log_sds() -> None:
    index = lognormal_estimate(math.log(2e-6), 0.6, "m", n=1, basis="readings")
    got = wander_of(index, normal_estimate(3.0, 0.3, "m"))
    # by hand: half of hypot(0.6, 0.1) = 0.304
    assert math.log(got.high / got.value) == pytest.approx(1.645 * 0.304, rel=0.005)
    assert wander_of(None, normal_estimate(3.0, 0.3, "m")) is None


# --- wander ----------------------------------------------------------------------------------


def test_turns_move_the_path_as_the_closed_form_says() -> None:
    found = rolling_part(film(way(), noise=1e-5))
    index, at = 2e-6, np.array([0.5, 1.0, 2.0, 2.5])
    moved = _bend(found, np.append(at, found.length_m))[:-1]
    # the closed form starts from the first sample, its whole way the level stopping distance
    walk = heading_walk(index, 1.8288**2 / (2 * found.deceleration.value))
    closed = [sideways_variance(walk, found.reach_m, found.reach_m - s) for s in at]
    assert index * (moved**2).sum(axis=1) == pytest.approx(closed, rel=0.02)


def test_the_posterior_of_plain_variances_is_the_chi_squares() -> None:
    rng = np.random.default_rng(4)
    gain = np.ones(400)
    mean, sd = _posterior(np.sqrt(2e-6) * rng.standard_normal(400), gain)
    # gains alike: surface and noise cannot be told apart, so T lies at or below the sum
    assert mean < math.log(2e-6) + 0.2 and sd > 0.3
    steep = np.concatenate([np.full(100, 1.0), np.full(100, 1e-9)])
    sure = np.sqrt(2e-6 * steep + 1e-10) * rng.standard_normal(200)
    mean, sd = _posterior(sure, steep)
    # 100 free squares: sd of the log variance sqrt(2 / 100)
    assert mean == pytest.approx(math.log(2e-6), abs=0.4)
    assert sd == pytest.approx(math.sqrt(2 / 100), rel=0.2)


def test_a_side_slope_is_not_taken_for_wander() -> None:
    flat, tilted = (
        path_index(rolling_part(film(way(walk=4e-5, side=side, seed=6), noise=2e-4)))
        for side in (0.0, 0.01)
    )
    assert tilted.value == pytest.approx(flat.value, rel=0.25)


def test_rougher_surfaces_read_rougher() -> None:
    read = [
        np.mean(
            [math.log(path_index(rolling_part(film(way(walk=k, seed=s)))).value) for s in range(8)]
        )
        for k in (2e-5, 2e-4, 2e-3)
    ]
    # a factor ten in K is 2.3 in the log of T
    assert np.all(np.diff(read) > 1.5)


def test_true_green_is_bounded_not_found() -> None:
    got = path_index(rolling_part(film(way(walk=0.0), noise=1e-4)))
    assert got is None or got.value < index_of(1e-5, 0.55)


# --- vertical --------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [0, 1, 5, 30])
def test_ends_of_a_rate_are_the_exact_poissons(count: int) -> None:
    got = _rate(count, 2.0)
    # the ends leave 5 % on either side (scipy.stats.poisson, an independent implementation)
    assert poisson.cdf(count, 2 * got.high) == pytest.approx(0.05, rel=1e-6)
    if count:
        assert poisson.sf(count - 1, 2 * got.low) == pytest.approx(0.05, rel=1e-6)


def test_ends_of_an_rms_are_the_chi_squares() -> None:
    got = _rms(0.25e-6, 10)
    # by hand: root of 10 / chi2 quantile, for 0.5 mm (scipy.stats.chi2)
    assert got.value == pytest.approx(0.5)
    assert got.low == pytest.approx(0.5 * math.sqrt(10 / chi2.ppf(0.95, 10)))
    assert got.high == pytest.approx(0.5 * math.sqrt(10 / chi2.ppf(0.05, 10)))


def test_knocks_within_the_contact_length_are_one() -> None:
    near = events_per_metre(rolling_part(shaken(way(), bumps=(1.0, 1.008))))
    apart = events_per_metre(rolling_part(shaken(way(), bumps=(1.0, 1.1))))
    assert (near.n, apart.n) == (1, 2)


@pytest.mark.parametrize(("level", "inside"), [(9.81, True), (-9.81, True), (0.0, False)])
def test_gravity_is_known_by_its_size(level: float, inside: bool) -> None:
    assert gravity_inside(level + 0.3 * np.sin(np.arange(200.0))) is inside


def test_without_a_vertical_channel_no_band_is_told() -> None:
    told = bands(rolling_part(film(way())), 0.03)
    assert all(isinstance(b, Band) and b.rms is None and b.why for b in told)


def test_a_short_roll_shows_no_long_waves() -> None:
    told = bands(rolling_part(shaken(way(launch=0.9))), 0.004)
    assert told[-1].rms is None and "short" in told[-1].why


def test_a_falling_spectrum_is_given_back() -> None:
    """Heights of spectrum G = g n^-3: variance of a band is g / 2 (1/n1^2 - 1/n2^2)."""
    rng, g = np.random.default_rng(5), 1e-7
    one = way()
    time, along, speed, _ = sampled(one, 1000.0)
    n = np.arange(0.5, 60, 0.02)
    size, turn = np.sqrt(2 * g * n**-3 * 0.02), rng.uniform(0, 2 * math.pi, len(n))
    waves = [a * (2 * math.pi * k) ** 2 * np.sin(2 * math.pi * k * along + p)
             for a, k, p in zip(size, n, turn, strict=True)]  # fmt: skip
    trace = MotionTrace(time_s=time, speed_m_s=speed, az_m_s2=-np.sum(waves, axis=0) * speed**2)
    for band in bands(rolling_part(trace), 0.004)[:3]:
        expected = 1000 * math.sqrt(g / 2 * (band.high_m**2 - band.low_m**2))
        assert band.rms.low * 0.8 < expected < band.rms.high * 1.25


# --- checks ----------------------------------------------------------------------------------


def test_a_trace_keeps_what_it_was_given() -> None:
    one = film(way(), rate=100)
    check(one)
    assert one.rate_hz == pytest.approx(100.0)
    assert set(one.channels()) == {"x_m", "y_m"}
    assert len(one.part(10, 30).time_s) == 20
    assert one.part(10, 30).x_m == pytest.approx(one.x_m[10:30])
