"""Complaints: the elicited rate by hand, batch equals loop, limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value
from greenwright.golfers import chance_of_any, complaint_rate, expected_complaints


@pytest.mark.parametrize(
    ("score", "rate"),
    [
        (8.0, 0.0),  # by hand: nobody from the threshold up
        (7.0, 0.0098058),  # by hand: 1/200 x 2 = 1/100; 1 / sqrt(100^2 + 20^2)
        (5.0, 0.0312348),  # by hand: 1/200 x 8 = 1/25; 1 / sqrt(25^2 + 20^2)
        (9.5, 0.0),
    ],
)
def test_rate_by_hand(score: float, rate: float) -> None:
    assert complaint_rate(score) == pytest.approx(rate, rel=1e-5)


def test_just_under_the_threshold_one_round_in_two_hundred_complains() -> None:
    # by hand: flattened by the most, 1 / sqrt(200^2 + 20^2), half a percent less
    assert complaint_rate(7.999999) == pytest.approx(1 / np.sqrt(40_400), rel=1e-5)
    assert complaint_rate(7.999999) == pytest.approx(1 / 200, rel=0.006)


def test_many_scores_equal_one_by_one() -> None:
    scores = np.array([[4.0, 7.5], [8.0, 10.0]])
    one_by_one = [complaint_rate(s) for s in scores.ravel()]
    assert np.asarray(complaint_rate(scores)).ravel().tolist() == one_by_one


@given(st.floats(0, 10), st.floats(0, 10))
def test_a_worse_surface_never_brings_fewer(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert complaint_rate(low) >= complaint_rate(high)


def test_scores_beyond_the_scale_count_as_its_end() -> None:
    assert complaint_rate(-3.0) == complaint_rate(0.0)
    assert complaint_rate(11.0) == 0.0


def test_expected_by_hand() -> None:
    # by hand: 60 rounds; greens at 7 and 6 cost 1/101.98 and 1/53.85 a round, mean 0.014188
    assert expected_complaints(60, [7.0, 6.0]) == pytest.approx(0.85127, rel=1e-4)


def test_expected_by_day_and_draw() -> None:
    scores = np.array([[[7.0, 6.0], [8.0, 8.0]]])
    found = expected_complaints(np.array([60.0, 90.0]), scores)
    assert np.asarray(found).tolist() == [[pytest.approx(0.85127, rel=1e-4), 0.0]]


def test_chance_of_any_is_poisson() -> None:
    # by hand: 1 - exp(-0.9) = 0.5934
    assert chance_of_any(0.9) == pytest.approx(0.5934, abs=5e-5)
    assert chance_of_any(0.0) == 0.0
    # by hand: for rare events the chance is the expectation itself
    assert chance_of_any(1e-12) == pytest.approx(1e-12, rel=1e-6)


@pytest.mark.parametrize(("rounds", "scores"), [(-1, [7.0]), (10, [])])
def test_nonsense_is_refused(rounds: float, scores: list[float]) -> None:
    with pytest.raises(BadInput):
        expected_complaints(rounds, scores)


@pytest.mark.parametrize("score", [7.9, 7.0, 4.5, 2.0])
def test_complaints_double_with_every_doubling_score_until_they_near_the_most(score: float) -> None:
    doubling, most = value("complaints.doubling_score"), value("complaints.most_per_round")
    here, worse = (float(complaint_rate(s)) for s in (score, score - doubling))
    # by hand: 1 / rate^2 - 1 / most^2 is a quarter of itself one doubling further down
    assert 1 / worse**2 - 1 / most**2 == pytest.approx((1 / here**2 - 1 / most**2) / 4, rel=1e-6)


@pytest.mark.parametrize("score", [7.0, 7.25, 7.5, 7.99])
def test_near_the_threshold_the_flattening_is_not_felt(score: float) -> None:
    # by hand: at score 7 the rule's 1/100 is a fifth of the most: sqrt(1 + 1/25) = 1.0198
    plain = 0.005 * 2 ** (8 - score)
    assert plain * 0.98 < complaint_rate(score) < plain


def test_the_worst_surface_by_hand() -> None:
    # by hand: 1/200 x 2^8 = 1.28 a round by the rule; the most, 1/20, holds it down
    assert complaint_rate(0.0) == pytest.approx(0.05, rel=1e-3)
    assert complaint_rate(0.0) < value("complaints.most_per_round")


def test_a_week_on_a_poor_surface_stays_credible() -> None:
    # by hand: 60 rounds a day, 420 in the week; score 4 said 33.6 unflattened; at most 21
    week = 7 * expected_complaints(60, np.full(18, 4.0))
    assert 15 < week < 21


def test_one_bad_green_of_eighteen_is_an_eighteenth_of_a_bad_course() -> None:
    scores = np.full(18, 9.0)
    scores[4] = 5.0
    # by hand: 180 rounds x 0.0312348 / 18
    assert expected_complaints(180, scores) == pytest.approx(0.312348, rel=1e-5)
    assert expected_complaints(180, np.full(18, 5.0)) == pytest.approx(5.62226, rel=1e-5)


@given(st.floats(0, 500), st.lists(st.floats(0, 10), min_size=1, max_size=18))
def test_complaints_grow_with_rounds_and_are_never_negative(rounds: float, scores: list) -> None:
    one, two = expected_complaints(rounds, scores), expected_complaints(2 * rounds, scores)
    assert two == pytest.approx(2 * one)
    assert 0 <= one <= rounds * complaint_rate(min(scores)) + 1e-9
    assert 0 <= chance_of_any(one) <= min(1.0, one + 1e-12)


def test_no_rounds_no_complaints() -> None:
    assert expected_complaints(0, [0.0, 1.0]) == 0.0


def test_a_score_or_a_day_that_is_not_a_number_is_not_taken_for_a_good_one() -> None:
    with pytest.raises(BadInput, match="score of every green"):
        complaint_rate([7.0, np.nan])
    with pytest.raises(BadInput, match="not negative"):
        expected_complaints(np.nan, [7.0])
    for bad in (-0.1, np.nan):
        with pytest.raises(BadInput, match="fewer than none"):
            chance_of_any([1.0, bad])


def test_chances_of_many_days_keep_their_shape() -> None:
    # by hand: 1 - exp(-0.5) = 0.3935, 1 - exp(-2) = 0.8647
    found = np.asarray(chance_of_any([[0.0, 0.5], [2.0, 50.0]]))
    assert found == pytest.approx(np.array([[0, 0.3935], [0.8647, 1.0]]), abs=5e-5)
