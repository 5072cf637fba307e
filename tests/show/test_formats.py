"""Numbers in print, against values worked out by hand."""

from __future__ import annotations

import pytest

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.show import formats
from tests.show.handmade import FEET, METRES, US


def between(value: float, low: float, high: float, unit: str) -> Estimate:
    return Estimate(value, unit, (high - low) / 3.29, low, high)


@pytest.mark.parametrize(
    ("metres", "text"),
    [
        # by hand: 113, 109 and 116 in x 0.0254
        ((2.8702, 2.7686, 2.9464), "9'5\" (9'1\"–9'8\")"),
        # by hand: 96, 90 and 102 in: half width 6 in, so steps of 3 in
        ((2.4384, 2.286, 2.5908), "8'0\" (7'6\"–8'6\")"),
        # by hand: 110 in rounds to 108 in steps of 6 (half width 24 in)
        ((2.794, 2.1844, 3.4036), "9'0\" (7'0\"–11'0\")"),
    ],
)
def test_speed_in_feet(metres: tuple[float, float, float], text: str) -> None:
    assert formats.level(between(*metres, "m"), "green_speed", FEET) == text


def test_speed_in_metres_as_the_course_likes() -> None:
    # half width 0.085 m allows two decimals: a tenth of it or so is the last digit
    held = between(2.868, 2.783, 2.953, "m")
    assert formats.level(held, "green_speed", METRES) == "2.87 m (2.78–2.95)"


@pytest.mark.parametrize(
    ("value", "half", "text"),
    [(7.43, 0.41, "7.4 of 10 (7.0–7.8)"), (7.43, 3.0, "7 of 10 (4–10)")],
)
def test_a_score_says_of_what_and_never_more_digits_than_its_range(
    value: float, half: float, text: str
) -> None:
    held = between(value, value - half, value + half, "score")
    assert formats.level(held, "smoothness", FEET) == text


def test_a_range_never_leaves_what_is_possible() -> None:
    held = between(9.6, 8.9, 10.3, "score")
    assert formats.level(held, "smoothness", FEET) == "9.6 of 10 (8.9–10.0)"


def test_a_wide_range_rounds_to_tens() -> None:
    # half width 60: the last digit stands for 10
    held = between(143.0, 83.0, 203.0, "mL/m2")
    assert formats.level(held, "clippings", FEET) == "140 mL/m² (80–200)"


def test_height_of_cut_in_both_systems() -> None:
    # by hand: 3.175 mm = 0.125 in exactly
    assert formats.point(3.175, "mm", "height_of_cut", US) == "0.125 in"
    assert formats.point(3.4, "mm", "height_of_cut", FEET) == "3.4 mm"


def test_temperature_and_clippings_in_us_units() -> None:
    # by hand: 20 degC = 68 degF; 10 mL/m2 x 92.903 m2 = 0.929 L
    assert formats.point(20.0, "degC", "soil_temperature", US) == "68 °F"
    assert formats.point(10.0, "mL/m2", "clippings", US) == "0.9 L/1000 ft²"


def test_changes_carry_their_sign_and_range() -> None:
    # by hand: 0.1524 m = 6 in; sd 0.0463 m = 1.823 in, 1.645 sd = 3.0 in
    held = normal_estimate(0.1524, 0.0463, "m")
    assert formats.change(held, "green_speed", FEET) == "+6.0 in (+3.0 to +9.0)" or (
        formats.change(held, "green_speed", FEET) == "+6 in (+3 to +9)"
    )
    assert formats.change(held, "green_speed", METRES) == "+0.15 m (+0.08 to +0.23)"


def test_a_falling_change_has_a_true_minus() -> None:
    held = between(-0.6, -1.0, -0.2, "score")
    assert formats.change(held, "smoothness", FEET) == "−0.6 (−1.0 to −0.2)"


def test_bands_with_one_end_or_two() -> None:
    speed = {"unit": "m", "quantity": "green_speed", "course": FEET}
    # by hand: 2.7432 m = 9 ft, 3.048 m = 10 ft
    assert formats.band(2.7432, 3.048, **speed) == "9'0\"–10'0\""
    assert formats.band(2.7432, None, **speed) == "at least 9'0\""
    assert formats.band(None, 3.048, **speed) == "at most 10'0\""
    score = {"unit": "score", "quantity": "smoothness", "course": FEET}
    assert formats.band(8.0, 10.0, **score) == "8–10"
    wet = {"unit": "%", "quantity": "moisture", "course": FEET}
    assert formats.band(15.0, 22.0, **wet) == "15–22 %"


@pytest.mark.parametrize(
    ("p", "text"),
    [
        (0.0, "less than 1 in 100"),
        (0.03, "less than 1 in 20"),
        (0.06, "about 1 in 10"),
        (0.34, "about 3 in 10"),
        (0.94, "about 9 in 10"),
        (0.97, "more than 19 in 20"),
        (1.0, "more than 99 in 100"),
    ],
)
def test_chances_in_words_and_number(p: float, text: str) -> None:
    assert formats.chance(p) == text


def test_hours_and_money() -> None:
    assert [formats.hours(h) for h in (0.0, 0.25, 0.999, 1.25, 12.0)] == [
        "0 h",
        "15 min",
        "1 h",
        "1.2 h",
        "12 h",
    ]
    assert formats.money(1012.4, "GBP") == "£1,012"
    assert formats.money(10, "") == "10"
