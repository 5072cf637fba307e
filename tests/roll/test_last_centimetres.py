"""How a slow ball ends: rest in closed form, the crawl, the drop, and the chance by counting."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from scipy.stats import kstest, norm

from greenwright.roll import Aim, Terrain, break_on_plane
from greenwright.roll.chance import BYTES_SD, STREAM, keys, mixed, nearly_normal, normal, salt
from greenwright.roll.resting import (
    CAUGHT,
    GOING,
    RESTED,
    comes_to_rest,
    crawled,
    drops,
    last_way,
)
from greenwright.roll.stroke import launched
from tests.roll.twin import HOLE, SEVENTHS, G, friction, integrated

RHO = friction(3.0)
PULL = SEVENTHS * G


def moving(speed: float, angle: float, x: float = 5.0, y: float = 5.0):  # type: ignore[no-untyped-def]
    return x, y, math.cos(angle), math.sin(angle), speed**2


@pytest.mark.parametrize("angle", [0.0, 1.0, -2.5])
def test_on_the_level_the_last_way_is_straight(angle: float) -> None:
    x, y, _, _, held = last_way(moving(0.3, angle), (0.0, 0.0, RHO, 0.0), 0.0, 0.01)
    way = 0.09 / (2 * PULL * RHO)  # by hand: v^2 / 2a
    assert (x, y) == pytest.approx((way * math.cos(angle), way * math.sin(angle)))
    assert held == 1


@settings(max_examples=40, deadline=None, derandomize=True)
@given(some.floats(0.005, 0.06), some.floats(-3.0, 3.0), some.floats(0.05, 0.5))
def test_on_a_slope_the_last_way_is_the_closed_form_of_the_break(
    slope: float, angle: float, speed: float
) -> None:
    # the ground rises towards -x, so that downhill is +x, as the break counts its angle
    x, y, *_ = last_way(moving(speed, angle), (-slope, 0.0, RHO, 0.0), 0.0, 0.01)
    rest = break_on_plane(speed, 3.0, slope, abs(angle))
    assert x == pytest.approx(rest.downhill_m, rel=1e-6, abs=1e-9)
    assert y == pytest.approx(math.copysign(rest.across_m, angle), rel=1e-6, abs=1e-8)


@pytest.mark.parametrize("slope", [(0.02, -0.03), (-0.05, 0.01), (0.0, 0.06)])
def test_on_any_slope_the_last_way_is_an_integrator_s(slope: tuple[float, float]) -> None:
    x, y, *_ = last_way(moving(0.4, 0.7), (*slope, RHO, 0.0), 0.0, 0.01)
    assert (x, y) == pytest.approx(integrated(3.0, slope, 0.4, 0.7), abs=5e-6)


@pytest.mark.parametrize("left", [0.004, 0.01, 0.05, 0.2])
def test_the_last_turn_has_the_size_of_the_walk_still_to_come(left: float) -> None:
    walk, cut = 1e-4, 0.01
    ball = moving(math.sqrt(2 * PULL * RHO * left), 0.0)
    x, y, *_ = last_way(ball, (0.0, 0.0, RHO, walk), 1.0, cut)
    # by hand: variance K times the integral of (u / max(u, cut))^2 over the way to go
    seen = left - cut + cut / 3 if left > cut else left**3 / (3 * cut**2)
    turn = math.sqrt(walk * seen) / left
    assert math.atan2(y, x) == pytest.approx(turn)
    assert math.hypot(x, y) == pytest.approx(left)


@pytest.mark.parametrize("share", [1.0, 1.5])
def test_no_closed_form_where_no_friction_holds(share: float) -> None:
    steep = (share * RHO, 0.0, RHO, 0.0)
    assert last_way(moving(0.3, 0.0), steep, 0.0, 0.01)[0::4] == (0.0, 0.0)
    assert not comes_to_rest(0.01, steep, False)


def test_on_uneven_ground_a_ball_is_ended_only_near_its_rest() -> None:
    under = (0.0, 0.0, RHO, 0.0)
    near, far = (2 * PULL * RHO * way for way in (0.24, 0.26))  # by hand: 0.25 m is the reach
    assert comes_to_rest(near, under, True) and not comes_to_rest(far, under, True)
    assert comes_to_rest(far, under, False)


@pytest.mark.parametrize(
    ("ball", "way", "limit", "falls"),
    [
        (moving(0.3, 0.0, -0.10, 0.0), (0.09, 0.0), 1.63, True),  # by hand: rests 10 mm short
        (moving(0.3, 0.0, -0.10, 0.0), (0.04, 0.0), 1.63, False),  # by hand: 60 mm short
        (moving(0.3, 0.0, -0.10, 0.0), (0.20, 0.0), 1.63, True),  # by hand: crosses slowly
        (moving(0.3, 0.0, -0.10, 0.0), (0.20, 0.0), 0.2, False),  # 0.3 sqrt(1/2) = 0.212
        (moving(0.3, 0.0, -0.10, 0.0), (0.20, 0.0), 0.22, True),
        (moving(0.3, 0.0, -0.10, 0.055), (0.20, 0.0), 1.63, False),  # by hand: beside it
        (moving(0.3, 0.0, 0.06, 0.0), (0.20, 0.0), 1.63, False),  # by hand: going away
        (moving(0.0, 0.0, 0.06, 0.0), (0.0, 0.0), 1.63, False),  # by hand: lies still
        (moving(0.0, 0.0, 0.05, 0.0), (0.0, 0.0), 1.63, True),
    ],
)
def test_what_drops_on_its_last_way(ball, way, limit: float, falls: bool) -> None:  # type: ignore[no-untyped-def]
    assert drops(ball, *way, limit) is falls


def test_a_crawl_on_the_level_ends_where_even_slowing_says() -> None:
    x, y, _, _, _, fate = crawled(moving(0.2, 0.5), (0.0, 0.0, RHO, 0.0), 1.63, 1.0)
    way = 0.04 / (2 * PULL * RHO)  # by hand: v^2 / 2a = 36 mm
    assert fate == RESTED
    assert math.hypot(x - 5, y - 5) == pytest.approx(way, abs=5e-4)


def test_a_crawl_into_the_hole_is_caught_and_a_long_one_goes_on() -> None:
    level = (0.0, 0.0, RHO, 0.0)
    assert crawled(moving(0.3, 0.0, -0.06, 0.0), level, 1.63, 1.0)[-1] == CAUGHT
    x, _, _, _, energy, fate = crawled(moving(0.8, 0.0), level, 1.63, 0.078)
    assert fate == GOING and 0.078 <= x - 5 < 0.08
    assert energy == pytest.approx(0.64 - 2 * PULL * RHO * (x - 5), rel=1e-3)  # by hand


def test_a_ball_too_slow_for_a_steep_bank_turns_round() -> None:
    bank = (0.2, 0.0, RHO, 0.0)
    x, _, cx, _, energy, fate = crawled(moving(0.25, 0.0), bank, 1.63, 0.5)
    assert fate == GOING and cx == pytest.approx(-1.0) and x < 5
    # by hand: up h = v^2 / 2a(0.2 + rho), down the rest of the half metre at a(0.2 - rho)
    drag = PULL / math.sqrt(1.04)
    up = 0.0625 / (2 * drag * (0.2 + RHO))
    assert energy == pytest.approx(2 * drag * (0.2 - RHO) * (0.5 - up), rel=0.02)


def test_no_two_words_are_stirred_to_one() -> None:
    words = mixed(np.arange(200_000))
    assert len(np.unique(words)) == 200_000  # by hand: each round can be undone
    bits = (words[:, None] >> np.arange(32, dtype=np.uint32)) & np.uint32(1)
    assert bits.mean(axis=0) == pytest.approx(np.full(32, 0.5), abs=0.006)


def test_four_bytes_are_nearly_normal() -> None:
    first, second = keys(3, np.arange(4), "heading")
    draws = np.concatenate(
        [nearly_normal(a, b, np.arange(50_000)) for a, b in zip(first, second, strict=True)]
    )
    assert pytest.approx(147.801, abs=1e-3) == BYTES_SD  # by hand: root of 4 (256^2 - 1) / 12
    assert abs(draws.mean()) < 0.012 and draws.std() == pytest.approx(1.0, abs=0.01)
    assert np.abs(draws).max() <= 510 / BYTES_SD  # by hand: all four bytes 0 or 255
    # by hand: a sum of four flat laws has a kurtosis of 3 - 1.2 / 4
    assert (draws**4).mean() == pytest.approx(2.7, abs=0.06)
    assert abs(np.corrcoef(draws[:-1], draws[1:])[0, 1]) < 0.012


@pytest.mark.parametrize("stream", sorted(STREAM))
def test_each_stream_draws_normals(stream: str) -> None:
    draws = normal(11, np.arange(20_000), stream)
    assert kstest(draws, norm.cdf).pvalue > 1e-3  # origin: scipy's test of Kolmogorov


def test_streams_and_seeds_tell_nothing_of_each_other() -> None:
    draws = [normal(7, np.arange(20_000), stream) for stream in STREAM]
    draws.append(normal(7 + 2**32, np.arange(20_000), "angle"))
    for one, two in itertools.combinations(draws, 2):
        assert abs(np.corrcoef(one, two)[0, 1]) < 0.035  # five times 1 / sqrt(20 000)
    assert len({int(salt(seed, s)) for seed in (0, 1, 2**32, -1) for s in STREAM}) == 20


def test_a_ball_s_draw_does_not_depend_on_its_company() -> None:
    whole = normal(5, np.arange(100), "distance")
    assert normal(5, [17], "distance") == pytest.approx(whole[[17]], abs=0)


def test_strokes_scatter_as_asked_and_never_below_a_twentieth() -> None:
    aim = Aim(start=(0, 0), hole=(3, 0), launch_speed=1.6, heading_rad=0.2, angle_sd=0.03)
    wild = Aim(start=(0, 0), hole=(3, 0), launch_speed=1.6, heading_rad=0.2, distance_sd=2.0)
    plain = launched(Terrain(), aim, n=5000, seed=1)
    assert plain.energy == pytest.approx(np.full(5000, 2.56))  # by hand: 1.6^2
    assert plain.heading.mean() == pytest.approx(0.2, abs=0.002)
    assert plain.heading.std() == pytest.approx(0.03, rel=0.05)
    assert np.all(plain.resistance == 1) and np.all(plain.limit == 1)
    assert launched(Terrain(), wild, n=5000, seed=1).energy.min() == pytest.approx(0.128)


def test_the_rim_and_the_way_differ_from_ball_to_ball() -> None:
    green = Terrain(green_speed_m=3.0, distance_noise_m=0.003, rim_spread=0.1)
    aim = Aim(start=(0, 0), hole=(HOLE + 1, 0), launch_speed=1.8288, heading_rad=0.0)
    got = launched(green, aim, n=5000, seed=2)
    # by hand: sd of the roll is sqrt(0.003 x 3) m on 3 m
    assert (1 / got.resistance).std() == pytest.approx(math.sqrt(0.009) / 3, rel=0.05)
    assert got.limit.std() == pytest.approx(0.1, rel=0.05)
