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
        (7.0, 0.01),  # by hand: 1/200 x 2
        (5.0, 0.04),  # by hand: 1/200 x 8
        (9.5, 0.0),
    ],
)
def test_rate_by_hand(score: float, rate: float) -> None:
    assert complaint_rate(score) == pytest.approx(rate, rel=1e-12)


def test_just_under_the_threshold_one_round_in_two_hundred_complains() -> None:
    assert complaint_rate(7.999999) == pytest.approx(1 / 200, rel=1e-5)


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
    # by hand: 60 rounds; greens at 7 and 6 cost 0.01 and 0.02 a round, mean 0.015
    assert expected_complaints(60, [7.0, 6.0]) == pytest.approx(0.9)


def test_expected_by_day_and_draw() -> None:
    scores = np.array([[[7.0, 6.0], [8.0, 8.0]]])
    found = expected_complaints(np.array([60.0, 90.0]), scores)
    assert np.asarray(found).tolist() == [[pytest.approx(0.9), 0.0]]


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
def test_complaints_double_with_every_doubling_score(score: float) -> None:
    doubling = value("complaints.doubling_score")
    # by hand: 2^((t - (s - d)) / d) = 2 x 2^((t - s) / d)
    assert complaint_rate(score - doubling) == pytest.approx(2 * complaint_rate(score))


def test_the_worst_surface_by_hand() -> None:
    # by hand: 1/200 x 2^8 = 1.28 complaints a round, every doubling counted down from 8 to 0
    assert complaint_rate(0.0) == pytest.approx(1.28)


def test_one_bad_green_of_eighteen_is_an_eighteenth_of_a_bad_course() -> None:
    scores = np.full(18, 9.0)
    scores[4] = 5.0
    # by hand: 180 rounds x 0.04 / 18
    assert expected_complaints(180, scores) == pytest.approx(0.4)
    assert expected_complaints(180, np.full(18, 5.0)) == pytest.approx(7.2)


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
