"""Chances with their range, shares of a hundred, distances, gaps and large counts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.show import formats
from tests.show.handmade import FEET, METRES, US
from tests.show.reading_back import numbers

ENDS = st.tuples(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1)).map(sorted)


def belief(low: float, value: float, high: float) -> Estimate:
    return Estimate(value, "1", 0.1, low, high)


@pytest.mark.parametrize(
    ("ends", "text"),
    [
        ((0.1, 0.31, 0.52), "about 3 in 10 (1–5 in 10)"),
        ((0.28, 0.31, 0.33), "about 3 in 10"),
        ((0.0, 0.02, 0.03), "less than 1 in 20"),
        ((0.0, 0.005, 0.3), "less than 1 in 100 (up to 3 in 10)"),
        ((0.7, 0.96, 1.0), "more than 19 in 20 (at least 7 in 10)"),
        ((0.99, 0.995, 1.0), "more than 99 in 100"),
    ],
)
def test_chances_with_their_range(ends: tuple[float, float, float], text: str) -> None:
    assert formats.likely(belief(*ends)) == text


@given(ENDS)
def test_a_chance_starts_as_it_does_alone_and_its_range_is_in_order(ends: list[float]) -> None:
    text = formats.likely(belief(*ends))
    assert text.startswith(formats.chance(ends[1]))
    tail = text.removeprefix(formats.chance(ends[1]))
    if "–" in tail:
        low, high, ten = numbers(tail)
        assert low <= high <= ten == 10
        assert abs(low / 10 - ends[0]) <= 0.051 and abs(high / 10 - ends[2]) <= 0.051


@given(ENDS)
def test_shares_stay_between_none_and_all(ends: list[float]) -> None:
    held = formats.of_hundred(belief(*ends))
    middle, hundred, low, high = numbers(held)
    assert hundred == 100 and 0 <= low <= middle <= high <= 100


def test_beliefs_that_leave_what_can_be_are_drawn_back() -> None:
    # by hand: 0.95 -+ 1.645 x 0.1 = 0.79 and over one; 0.02 + 1.645 x 0.2 = 0.35
    assert formats.of_hundred(normal_estimate(0.95, 0.1, "1")) == "95 of 100 (79–100)"
    assert formats.of_hundred(normal_estimate(0.02, 0.2, "1")) == "2 of 100 (0–35)"


@pytest.mark.parametrize(
    ("metres", "feet", "metric"),
    [
        # by hand: 0.3048 m a foot; 1.98 m is 77.95 in
        (0.3048, "1 ft", "0.3 m"),
        (3.048, "10 ft", "3.05 m"),
        (1.98, "6'6\"", "1.98 m"),
        (0.61, "2 ft", "0.61 m"),
    ],
)
def test_distances(metres: float, feet: str, metric: str) -> None:
    assert formats.distance(metres, FEET) == feet
    assert formats.distance(metres, METRES) == metric


@given(st.floats(0.3, 20))
def test_distances_are_right_to_half_an_inch(metres: float) -> None:
    text = formats.distance(metres, FEET)
    found = numbers(text.replace("'", " "))
    inches = 12 * found[0] + (found[1] if len(found) > 1 else 0)
    assert abs(inches * 0.0254 - metres) <= 0.0127 + 1e-9


@given(st.integers(1, 10**12))
def test_counts_keep_two_figures(count: int) -> None:
    text = formats.roughly(count)
    shown = int(text.replace(",", ""))
    assert abs(shown - count) <= 0.05 * count + 0.5
    assert len(text.replace(",", "").rstrip("0")) <= 2


@pytest.mark.parametrize(
    ("size", "unit", "quantity", "course", "text"),
    [
        # by hand: 0.1778 m = 7 in
        (0.1778, "m", "green_speed", FEET, "7 in"),
        (0.1778, "m", "green_speed", METRES, "0.18 m"),
        (1.5, "score", "smoothness", FEET, "1.5 points"),
        (1.0, "score", "smoothness", FEET, "1 point"),
    ],
)
def test_gaps(size: float, unit: str, quantity: str, course: object, text: str) -> None:
    assert formats.gap(size, unit, quantity, course) == text


def test_spreads_have_no_sign_and_do_not_start_below_nothing() -> None:
    # by hand: 0.1 m = 3.94 in +- 1.645 x 0.1 m = 6.48 in
    assert formats.spread(normal_estimate(0.1, 0.1, "m"), "green_speed", FEET) == "4 in (0–10)"
    # by hand: 0.3 -+ 0.164
    told = formats.spread(normal_estimate(0.3, 0.1, "score"), "smoothness", US)
    assert told == "0.30 (0.14–0.46)"


def test_plain_counts_have_no_unit() -> None:
    assert formats.level(normal_estimate(1.2, 0.4, "1"), "", FEET) == "1.2 (0.5–1.9)"
