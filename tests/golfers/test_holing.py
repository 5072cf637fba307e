"""Holing: shapes, batch equals loop, limits, estimates with their intervals."""

from __future__ import annotations

import time
from math import erf, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.golfers import (
    HOLING_DISTANCES_M,
    Player,
    custom_player,
    holing_chance,
    holing_estimates,
    player,
    putts_to_tell,
)
from greenwright.golfers.stroke import column, stroke_draws
from greenwright.roll.capture import capture_half_width
from greenwright.roll.constants import HOLE_RADIUS_M
from greenwright.roll.roughness import heading_walk

TOUR = player("tour")


def test_the_distances_are_those_of_the_answer() -> None:
    # by hand: 2, 3, 4, 5, 7, 10, 15, 20, 30 ft
    assert [round(d, 2) for d in HOLING_DISTANCES_M] == [
        0.61,
        0.91,
        1.22,
        1.52,
        2.13,
        3.05,
        4.57,
        6.1,
        9.14,
    ]


def test_batch_equals_loop() -> None:
    d, k = np.array([0.6, 2.0, 5.0]), np.array([0.0, 1e-4])
    whole = np.asarray(
        holing_chance(d[:, None], green_speed_m=3.0, heading_k=k[None, :], player=TOUR)
    )
    one_by_one = [
        [holing_chance(x, green_speed_m=3.0, heading_k=y, player=TOUR) for y in k] for x in d
    ]
    assert whole == pytest.approx(np.array(one_by_one), abs=1e-12)


def test_draws_of_a_player_broadcast_against_distances() -> None:
    held = stroke_draws(TOUR, n=7, rng=np.random.default_rng(1))
    found = np.asarray(
        holing_chance([1.0, 2.0], green_speed_m=np.full((7, 1), 3.0), player=column(held))
    )
    assert found.shape == (7, 2)
    alone = Player(
        "one",
        float(held.angle_sd[3]),
        float(held.distance_sd[3]),
        float(held.overshoot_m[3]),
        1.32,
        3.0,
    )
    assert found[3, 1] == pytest.approx(holing_chance(2.0, green_speed_m=3.0, player=alone))


def test_a_sure_player_dying_past_the_hole_never_misses() -> None:
    sure = custom_player(0.0, 0.02)
    assert holing_chance(1.0, green_speed_m=3.0, player=sure) == pytest.approx(1.0, abs=1e-7)


def test_a_direction_error_alone_by_hand() -> None:
    # by hand: with hardly any error of distance the ball arrives at v = sqrt(2 a 0.41);
    # P = 2 Phi(w(v) / (angle d)) - 1
    who = Player("exact", 0.02, 1e-4, 0.41, 1.32, 3.0)
    v = np.sqrt(1.8288**2 / 3.0 * 0.41)
    half = float(capture_half_width(v, centre_limit=1.32))
    assert half == pytest.approx(HOLE_RADIUS_M * np.sqrt(1 - v / 1.32))
    # outside: normal table by the error function of the standard library
    expected = erf(half / (0.02 * 2.0) / sqrt(2))
    assert holing_chance(2.0, green_speed_m=3.0, player=who) == pytest.approx(expected, abs=1e-5)


def test_a_ball_sent_too_fast_or_too_short_never_drops() -> None:
    fast = Player("fast", 0.0, 0.01, 3.0, 1.32, 3.0)
    assert holing_chance(2.0, green_speed_m=3.0, player=fast) == pytest.approx(0.0, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.3, 15), st.floats(1.8, 4.5), st.floats(0, 1e-3), st.floats(0, 1e-3),
    st.floats(0.002, 0.05), st.floats(0.03, 0.25),
)  # fmt: skip
def test_rougher_is_never_better_and_chances_are_chances(
    d: float, speed: float, k1: float, k2: float, angle: float, relative: float
) -> None:
    who, (smooth, rough) = custom_player(angle, relative), sorted((k1, k2))
    better, worse = (
        float(holing_chance(d, green_speed_m=speed, heading_k=k, player=who))
        for k in (smooth, rough)
    )
    assert 0 <= worse <= better + 1e-7 <= 1 + 2e-6


@settings(max_examples=40, deadline=None)
@given(st.floats(0.5, 10), st.floats(0.5, 10), st.floats(0, 5e-4))
def test_farther_is_never_easier(a: float, b: float, k: float) -> None:
    near, far = sorted((a, b))
    chances = [
        float(holing_chance(d, green_speed_m=3.0, heading_k=k, player=TOUR)) for d in (near, far)
    ]
    assert chances[1] <= chances[0] + 1e-7


def surface(n: int = 200, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    return 3.0 + 0.1 * rng.standard_normal(n), 6e-6 * np.exp(0.3 * rng.standard_normal(n))


def test_estimates_hold_their_parts_together() -> None:
    speed, trueness = surface()
    found = holing_estimates(
        HOLING_DISTANCES_M, TOUR, speed_draws=speed, trueness_draws=trueness, seed=3
    )
    for held in found:
        assert held.now.value == pytest.approx(held.chance)
        assert held.lost.value == pytest.approx(held.chance_perfect - held.chance)
        assert 0 <= held.lost.low <= held.lost.high
        assert held.now.low < held.chance < held.now.high
        assert held.putts_to_tell == putts_to_tell(held.chance_perfect, held.chance)
        assert held.player == "tour"
    assert [held.distance_m for held in found] == list(HOLING_DISTANCES_M)


def test_a_known_surface_and_player_leave_nothing_unsure() -> None:
    who = custom_player(0.02, 0.1)
    (held,) = holing_estimates(
        [2.0], who, speed_draws=[3.0, 3.0], trueness_draws=[4e-6, 4e-6], seed=1
    )
    k = heading_walk(4e-6, 3.0)
    assert held.now.sd == pytest.approx(0.0, abs=1e-12)
    assert held.chance == pytest.approx(
        holing_chance(2.0, green_speed_m=3.0, heading_k=k, player=who)
    )


def test_a_true_surface_loses_nothing_and_nobody_can_tell() -> None:
    speed, _ = surface()
    (held,) = holing_estimates([1.5], TOUR, speed_draws=speed, trueness_draws=np.zeros(200), seed=1)
    assert held.lost.value == 0.0
    assert held.putts_to_tell is None


def test_good_putters_lose_most() -> None:
    speed, trueness = surface()
    lost = [
        holing_estimates([1.524], player(n), speed_draws=speed, trueness_draws=trueness, seed=1)[
            0
        ].lost.value
        for n in ("tour", "90")
    ]
    # the holing table: from 5 ft a tour player loses 6.1 points where a 90-shooter loses 2.4
    assert lost[0] > 1.5 * lost[1]


def test_two_players_at_nine_distances_and_two_hundred_draws_are_quick() -> None:
    speed, trueness = surface()

    def once() -> float:
        started = time.perf_counter()
        for name in ("tour", "90"):
            holing_estimates(
                HOLING_DISTANCES_M,
                player(name),
                speed_draws=speed,
                trueness_draws=trueness,
                seed=1,
            )
        return time.perf_counter() - started

    # aim 50 ms; the best of five, with room for a busy machine
    assert min(once() for _ in range(5)) < 0.15


@pytest.mark.parametrize(
    ("d", "speed", "k"), [(0.0, 3.0, 0.0), (1.0, 0.0, 0.0), (1.0, 3.0, -1e-6), (np.nan, 3.0, 0.0)]
)
def test_nonsense_is_refused(d: float, speed: float, k: float) -> None:
    with pytest.raises(BadInput, match="holing chance needs"):
        holing_chance(d, green_speed_m=speed, heading_k=k, player=TOUR)
