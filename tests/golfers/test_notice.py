"""Noticing: the elicited curve by hand, the average over belief, pairs of greens."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.base.evidence import look_up, value
from greenwright.golfers import (
    any_two_notice,
    notice_belief,
    notice_chance,
    notice_keys,
    pair_notice,
    worst_pair,
)
from greenwright.golfers.notice import NOTICED

INCH = 0.0254
SPEED = "green_speed"


def test_half_of_players_notice_seven_inches_exactly() -> None:
    assert notice_chance(0.1778, SPEED) == 0.5  # elicited: 7 in = 0.1778 m
    assert notice_chance(-7 * INCH, SPEED) == pytest.approx(0.5, abs=1e-12)


@pytest.mark.parametrize(("inches", "share"), [(6, 0.25), (8, 0.75)])
def test_six_and_eight_inches_are_the_quarter_points(inches: float, share: float) -> None:
    # elicited: 6 to 8 in (common practice) read as the middle half
    assert notice_chance(inches * INCH, SPEED) == pytest.approx(share, abs=1e-5)


def test_no_difference_is_hardly_ever_noticed() -> None:
    # by hand: 7 in are 4.72 spreads of 1.4826 in below zero: 1.2e-6
    assert notice_chance(0.0, SPEED) == pytest.approx(1.2e-6, abs=2e-7)
    assert notice_chance(1.0, SPEED) == pytest.approx(1.0)


@pytest.mark.parametrize("quantity", ["smoothness", "trueness_score"])
def test_scores_have_their_own_curves(quantity: str) -> None:
    # elicited: half notice 1.5 points; by hand: a spread (0.75) more is Phi(1) = 0.8413
    assert notice_chance(1.5, quantity) == 0.5
    assert notice_chance([2.25, -2.25], quantity) == pytest.approx(0.841345, abs=1e-6)


@given(st.floats(-2, 2), st.floats(-2, 2))
def test_a_larger_difference_is_noticed_more_often_either_way(a: float, b: float) -> None:
    small, large = sorted((abs(a), abs(b)))
    assert notice_chance(small, SPEED) <= notice_chance(-large, SPEED)


def test_every_curve_has_its_two_entries_and_they_are_marked_elicited() -> None:
    for quantity in NOTICED:
        for key in notice_keys(quantity):
            entry = look_up(key)
            assert (entry.grade, entry.uncertainty) == ("elicited", "elicited")
            assert entry.sd is not None and entry.sd > 0


def test_a_known_difference_still_leaves_the_threshold_unsure() -> None:
    known = notice_belief(np.full(20_000, 7 * INCH), SPEED, seed=1)
    assert known.value == pytest.approx(0.5, abs=0.02)
    # by hand: threshold sd 1 in against a spread of 1.48 in: about Phi(+-1.645 / 1.48) = 13-87 %
    assert known.low == pytest.approx(0.13, abs=0.05)
    assert known.high == pytest.approx(0.87, abs=0.05)
    assert (known.unit, known.basis) == ("1", "draws")


def test_the_chance_is_averaged_over_belief_not_taken_at_its_middle() -> None:
    rng = np.random.default_rng(4)
    unsure = notice_belief(0.3 * rng.standard_normal(20_000), SPEED, seed=2)
    # outside: direct integration of Phi((|d| - t)/s) over d ~ N(0, 0.3^2), t, s log-normal with
    # the entries' mean and sd, this test's own draws
    t, t_sd = value("notice.speed_threshold"), look_up("notice.speed_threshold").sd
    s, s_sd = value("notice.speed_spread"), look_up("notice.speed_spread").sd
    assert t_sd is not None and s_sd is not None
    d = np.abs(0.3 * rng.standard_normal(200_000))
    felt = d > t + t_sd * rng.standard_normal(200_000) + s * rng.standard_normal(200_000)
    assert unsure.value == pytest.approx(felt.mean(), abs=0.01)
    assert unsure.value > 100 * notice_chance(0.0, SPEED)


def test_the_same_seed_gives_the_same_answer() -> None:
    draws = np.random.default_rng(1).standard_normal(500)
    assert notice_belief(draws, SPEED, seed=3) == notice_belief(draws, SPEED, seed=3)


def levels(*greens: float, n: int = 4000, noise: float = 0.0, seed: int = 0) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return np.array(greens) + noise * rng.standard_normal((n, len(greens)))


def test_pairs_follow_playing_order() -> None:
    held = levels(3.0, 3.0, 3.6, 3.6)
    # by hand: one of three steps is felt almost surely, two not at all
    assert pair_notice(held, SPEED, seed=1).value == pytest.approx(1 / 3, abs=0.01)
    worst = worst_pair(held, SPEED, seed=1)
    assert (worst.first, worst.second) == (1, 2)
    assert worst.chance.value > 0.99
    # by hand: of six pairs, four are of a slow and a fast green
    assert any_two_notice(held, SPEED, seed=1).value == pytest.approx(4 / 6, abs=0.01)


def test_two_greens_are_one_pair() -> None:
    held = levels(3.0, 3.1, noise=0.1)
    pair = pair_notice(held, SPEED, seed=5)
    belief = notice_belief(np.diff(held, axis=1)[:, 0], SPEED, seed=5)
    assert pair == belief == any_two_notice(held, SPEED, seed=5)


def test_even_greens_that_are_hardly_known_may_be_felt() -> None:
    sure, unsure = (any_two_notice(levels(3, 3, 3, noise=sd), SPEED, seed=1).value
                    for sd in (0.01, 0.2))  # fmt: skip
    assert sure < 0.01 < 0.2 < unsure


def test_nonsense_is_refused() -> None:
    with pytest.raises(BadInput, match="nobody has said"):
        notice_chance(0.1, "firmness")
    with pytest.raises(BadInput, match="must be a number"):
        notice_chance([0.1, np.nan], SPEED)
    with pytest.raises(BadInput, match="at least two"):
        notice_belief([0.1], SPEED, seed=1)
    for bad in (np.ones((5, 1)), np.ones(5), np.full((5, 3), np.nan)):
        with pytest.raises(BadInput, match="at least two greens"):
            pair_notice(bad, SPEED, seed=1)
