"""Putts of a round: against putts simulated one by one, remembered totals, and limits."""

from __future__ import annotations

import time

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.base.evidence import look_up, value
from greenwright.golfers import Player, custom_player, player, putts_per_round
from greenwright.golfers.putting_round import expected_putts
from greenwright.golfers.stroke import stroke_draws
from greenwright.golfers.telling import rounds_to_tell
from greenwright.roll.constants import HOLE_RADIUS_M, RELEASE_SPEED_M_S


def simulated(who: Player, distance: float, speed: float, k: float, *, n: int = 150_000) -> float:
    """Return mean putts to hole out, every putt drawn: this test's own simulator."""
    rng, a = np.random.default_rng(11), RELEASE_SPEED_M_S**2 / (2 * speed)
    left, putts = np.full(n, distance), 0
    for _ in range(9):
        putts += len(left)
        u = (left + who.overshoot_m) * (1 + who.distance_sd * rng.standard_normal(len(left)))
        u = np.maximum(u, 0.01)
        r, whole = np.maximum(u - left, 1e-12), np.maximum(u, left)
        at_hole = np.maximum(k * (whole - 2 * r * np.log(whole / r) - r**2 / whole), 0)
        angle = who.angle_sd * rng.standard_normal(len(left))
        walked = np.sqrt(at_hole) * rng.standard_normal(len(left))
        v = np.sqrt(2 * a * r)
        half = HOLE_RADIUS_M * np.sqrt(np.maximum(1 - v / who.capture_speed, 0))
        dropped = (u > left) & (np.abs(angle * left + walked) < half)
        beyond = np.sqrt(np.maximum(k * u - at_hole, 0)) * rng.standard_normal(len(left))
        leave = np.hypot(u - left, angle * u + walked + beyond)
        left = np.maximum(leave, 0.02)[~dropped]
    return putts / n


@pytest.mark.parametrize("name", ["tour", "90"])
@pytest.mark.parametrize("k", [0.0, 5e-4])
def test_expected_putts_are_those_of_putts_drawn_one_by_one(name: str, k: float) -> None:
    held = player(name)
    bare = custom_player(held.angle_sd, held.distance_sd)
    one = stroke_draws(bare, n=1, rng=np.random.default_rng(1))
    distances = (1.0, 3.0, 6.0, 15.0)
    found = expected_putts(distances, green_speed_m=3.0, player=one, heading_k=k)[0]
    drawn = [simulated(bare, d, 3.0, k) for d in distances]
    # Monte-Carlo error 0.0015
    assert found == pytest.approx(np.array(drawn), abs=0.008)


def test_from_beside_the_hole_it_is_one_putt() -> None:
    one = stroke_draws(custom_player(0.01, 0.05), n=1, rng=np.random.default_rng(1))
    assert expected_putts([0.1], green_speed_m=3.0, player=one)[0, 0] == pytest.approx(1, abs=1e-4)


def surface(trueness: float, n: int = 100) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(2)
    return {
        "speed_draws": 3.0 + 0.1 * rng.standard_normal(n),
        "trueness_draws": trueness * np.exp(0.3 * rng.standard_normal(n)),
    }


@pytest.mark.parametrize("name", ["tour", "90"])
def test_totals_are_near_what_is_remembered(name: str) -> None:
    entry = look_up(f"players.{name}.putts_per_round")  # memory: about 29, and 34 to 35
    found = putts_per_round(player(name), **surface(3e-6), seed=1)
    assert entry.sd is not None
    assert abs(found.now.value - value(entry.key)) < 2 * entry.sd
    assert found.now.low < value(entry.key) < found.now.high


def test_good_putters_lose_most_and_nobody_gains() -> None:
    tour, middling = (putts_per_round(player(n), **surface(6e-6), seed=1) for n in ("tour", "90"))
    assert tour.extra.value > middling.extra.value > 0
    assert middling.extra.low > 0
    for held in (tour, middling):
        assert held.extra.value == pytest.approx(held.now.value - held.perfect.value)
        assert held.rounds_to_tell == rounds_to_tell(held.extra.value, held.round_sd)


def test_a_rougher_surface_costs_more_putts() -> None:
    extras = [
        putts_per_round(player("90"), **surface(t), seed=1).extra.value
        for t in (1e-6, 3e-6, 1e-5, 3e-5)
    ]
    assert extras == sorted(extras)


def test_a_true_surface_costs_none() -> None:
    found = putts_per_round(player("90"), **surface(0.0), seed=1)
    assert found.extra.value == 0.0
    assert found.rounds_to_tell is None


def test_the_difference_leans_less_on_first_putts_than_the_total() -> None:
    found = putts_per_round(player("90"), **surface(6e-6), seed=1)
    assert found.extra.high - found.extra.low < 0.2 * (found.now.high - found.now.low)


def test_one_round_scatters_by_some_putts() -> None:
    # memory: putts of one player vary by about two and a half from round to round
    found = putts_per_round(player("90"), **surface(3e-6), seed=1)
    assert 1.8 < found.round_sd < 3.5


def test_the_same_seed_gives_the_same_answer_and_many_draws_are_thinned() -> None:
    many = surface(4e-6, n=1000)
    one, two = (putts_per_round(player("tour"), **many, seed=4) for _ in range(2))
    assert one == two
    few = putts_per_round(player("tour"), **surface(4e-6), seed=4)
    assert one.extra.value == pytest.approx(few.extra.value, rel=0.15)


def test_quick_enough_for_a_page() -> None:
    drawn = surface(4e-6)

    def once() -> float:
        started = time.perf_counter()
        putts_per_round(player("90"), **drawn, seed=1)
        return time.perf_counter() - started

    assert min(once() for _ in range(3)) < 0.4


@pytest.mark.parametrize(("speeds", "truths"), [([3.0], [1e-6]), ([3.0, 3.0], [1e-6] * 3)])
def test_draws_that_do_not_match_are_refused(speeds: list[float], truths: list[float]) -> None:
    with pytest.raises(BadInput, match="as many draws"):
        putts_per_round(player("90"), speed_draws=speeds, trueness_draws=truths, seed=1)
