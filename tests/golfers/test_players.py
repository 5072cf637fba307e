"""Players: the classes, their spread, and a player recovered from his putts."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.base.evidence import evidence, value
from greenwright.base.values import Putts
from greenwright.golfers import (
    PLAYERS,
    Player,
    custom_player,
    fit_player,
    fit_players,
    holing_chance,
    player,
    player_keys,
)
from greenwright.golfers.stroke import column, stroke, stroke_draws

DISTANCES = (0.9, 1.5, 2.4, 4.0, 7.0)
SPEED = 3.048


@pytest.mark.parametrize("name", PLAYERS)
def test_classes_are_their_entries_and_state_their_capture_speed(name: str) -> None:
    held = player(name)
    numbers = (held.angle_sd, held.distance_sd, held.overshoot_m, held.capture_speed)
    assert numbers == tuple(value(k) for k in player_keys(name)[:4])
    assert held.capture_speed == 1.32  # the fitted physical model, not 1.63
    assert set(player_keys(name)) <= set(evidence())
    assert held.n_putts == 0


def test_within_a_class_the_half_made_distance_hardly_moves() -> None:
    held = player("90")
    drawn = column(stroke_draws(held, n=2000, rng=np.random.default_rng(1)))
    half = value("players.half_made.90")
    chances = np.asarray(holing_chance([half], green_speed_m=SPEED, player=drawn))[:, 0]
    # the trade-off is held to first order: aiming much shorter or farther costs both ways
    assert chances.mean() == pytest.approx(0.5, abs=0.03)
    # by hand: a half-made distance 7 % off moves the chance by about its slope,
    # d p / d log(distance) = -0.40 between 4.5 and 5.5 ft: 0.028; curvature adds some
    near, far = (
        float(holing_chance(half * f, green_speed_m=SPEED, player=held)) for f in (0.93, 1.07)
    )
    assert chances.std() == pytest.approx((near - far) / 2, rel=0.35)


def test_distance_and_direction_trade_off() -> None:
    spread = np.array(player("90").spread)
    assert np.linalg.eigvalsh(spread).min() > 0
    # who is worse at distance must be better at direction to make as many
    assert spread[0, 1] < 0
    # stated sds: 0.03 of 0.15, and 0.15 m
    assert np.sqrt(spread[1, 1]) == pytest.approx(0.2)
    assert np.sqrt(spread[2, 2]) == pytest.approx(0.15)


def test_a_player_of_ones_own_is_taken_as_stated() -> None:
    held = custom_player(0.02, 0.1, name="me")
    drawn = stroke_draws(held, n=5, rng=np.random.default_rng(1))
    assert drawn.angle_sd.tolist() == [0.02] * 5
    assert float(stroke(held).distance_sd) == 0.1
    assert held.name == "me"


def test_nonsense_is_refused() -> None:
    with pytest.raises(BadInput, match="no player"):
        player("scratch")
    for angle, relative in ((-0.1, 0.1), (0.1, 0.0), (float("nan"), 0.1)):
        with pytest.raises(BadInput, match="errors that cannot be"):
            custom_player(angle, relative)


def putted(
    truth: Player, tries: int, rng: np.random.Generator, *, name: str = "me", days: int = 4
) -> list[Putts]:
    chances = np.asarray(holing_chance(DISTANCES, green_speed_m=SPEED, player=truth))
    return [
        Putts(
            date=date(2026, 5, 1) + timedelta(days=t),
            distance_m=d,
            tried=tries,
            made=int(rng.binomial(tries, p)),
            player=name,
        )
        for t in range(days)
        for d, p in zip(DISTANCES, chances.tolist(), strict=True)
    ]


def test_many_putts_give_the_player_back() -> None:
    truth = Player("me", 0.026, 0.14, 0.41, 1.32, SPEED)
    found = fit_player(putted(truth, 400, np.random.default_rng(2)), green_speed_m=SPEED)
    assert found is not None
    assert found.n_putts == 8000
    sd = np.sqrt(found.spread[0][0])
    assert abs(np.log(found.angle_sd / 0.026)) < 2.5 * sd
    assert sd < 0.08
    there, here = (
        np.asarray(holing_chance(DISTANCES, green_speed_m=SPEED, player=p)) for p in (truth, found)
    )
    assert here == pytest.approx(there, abs=0.02)


def test_few_putts_leave_the_90_shooter_almost_alone() -> None:
    truth = custom_player(0.015, 0.08)
    few, many = (
        fit_player(putted(truth, n, np.random.default_rng(3)), green_speed_m=SPEED)
        for n in (2, 100)
    )
    assert few is not None and many is not None
    assert abs(np.log(many.angle_sd / 0.015)) < abs(np.log(few.angle_sd / 0.015)) + 0.1
    assert few.spread[0][0] > 2 * many.spread[0][0]
    # counts say little of distance control: its spread stays most of the prior's 0.25
    assert np.sqrt(many.spread[1][1]) > 0.15


def test_ninety_percent_intervals_of_the_direction_hold_the_truth() -> None:
    hits, records = 0, 120
    for seed in range(records):
        rng = np.random.default_rng(seed)
        # truths drawn as the prior believes
        truth = Player(
            "me",
            0.0326 * float(np.exp(0.4 * rng.standard_normal())),
            0.15 * float(np.exp(0.2 * rng.standard_normal())),
            max(0.41 + 0.1 * float(rng.standard_normal()), 0.05),
            1.32,
            SPEED,
        )
        found = fit_player(putted(truth, 15, rng), green_speed_m=SPEED)
        assert found is not None
        off = abs(np.log(found.angle_sd / truth.angle_sd))
        hits += off < 1.645 * np.sqrt(found.spread[0][0])
    # binomial sd 2.7 points
    assert 0.83 <= hits / records <= 0.98


def test_days_that_scatter_beyond_chance_weigh_less() -> None:
    truth = custom_player(0.026, 0.14)
    even = putted(truth, 60, np.random.default_rng(4))
    rng = np.random.default_rng(4)
    uneven = []
    for day in range(4):
        moody = custom_player(0.026 * (0.6, 1.6, 0.7, 1.5)[day], 0.14)
        uneven += putted(moody, 60, rng, days=1)
    calm, wild = (fit_player(rows, green_speed_m=SPEED) for rows in (even, uneven))
    assert calm is not None and wild is not None
    assert wild.spread[0][0] > 1.3 * calm.spread[0][0]


def test_too_few_putts_are_no_player() -> None:
    row = Putts(date=date(2026, 5, 1), distance_m=1.5, tried=19, made=9, player="me")
    assert fit_player([row]) is None
    assert fit_player([]) is None
    assert fit_players([]) == ()


def test_one_player_for_each_name_in_order() -> None:
    rng = np.random.default_rng(5)
    rows = putted(custom_player(0.03, 0.15), 30, rng, name="90")
    rows += putted(custom_player(0.02, 0.1), 30, rng, name="ana")
    rows += putted(custom_player(0.02, 0.1), 1, rng, name="rare", days=1)
    found = fit_players(rows, green_speed_m=SPEED)
    assert [p.name for p in found] == ["90", "ana"]
    assert found[1].angle_sd < found[0].angle_sd
    both = fit_player(rows)
    assert both is not None and both.name == "club"
    assert found[0].angle_sd > both.angle_sd > found[1].angle_sd


def test_all_made_or_none_made_stay_finite() -> None:
    for made in (0, 40):
        row = Putts(date=date(2026, 5, 1), distance_m=1.5, tried=40, made=made)
        found = fit_player([row])
        assert found is not None
        assert 0.003 < found.angle_sd < 0.4
        assert np.isfinite(np.array(found.spread)).all()
