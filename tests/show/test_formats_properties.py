"""Numbers in print, read back: right to half of the last digit, in order, without stray signs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.estimate import Estimate
from greenwright.base.tables import quantities
from greenwright.base.values import Course
from greenwright.show import formats
from tests.show.drawn import COURSES, estimates
from tests.show.handmade import FEET, METRES, US
from tests.show.reading_back import inches, numbers, places

KNOWN = st.sampled_from(list(quantities().values()))
SPEEDS = st.floats(1.2, 5.0)


@given(SPEEDS, st.floats(0.001, 0.14))
def test_a_speed_is_right_to_the_inch_while_its_range_is_narrow(value: float, half: float) -> None:
    held = Estimate(value, "m", half / 1.645, value - half, value + half)
    printed = inches(formats.level(held, "green_speed", FEET))
    # half of 0.14 m is 5.5 in: under 6 in, so whole inches
    for shown, true in zip(printed, (value, value - half, value + half), strict=True):
        assert abs(shown - true / 0.0254) <= 0.5 + 1e-6


@given(st.data(), KNOWN, COURSES)
def test_a_printed_range_holds_its_middle(
    data: st.DataObject, known: object, course: Course
) -> None:
    text = formats.level(data.draw(estimates(known.unit)), known.key, course)
    held = inches(text) or numbers(text.replace(" of 10", "").replace(" of 9", ""))
    held = [n for n in held if n not in (1000.0,)] if "1000" in text else held
    if len(held) == 3:
        assert held[1] <= held[0] <= held[2]


@given(st.floats(-3, 3), st.floats(0.01, 2))
def test_a_change_has_the_digits_its_range_allows(value: float, half: float) -> None:
    held = Estimate(value, "m", half / 1.645, value - half, value + half)
    text = formats.change(held, "green_speed", METRES)
    if text == "none":
        assert abs(value) + half < 0.01
        return
    step = 10.0 ** -places(text)
    # the last digit stands for no more than half of the half width (or for a hundredth)
    assert step <= max(half / 2, 0.01) * (1 + 1e-6)
    for printed, true in zip(numbers(text), (value, value - half, value + half), strict=True):
        assert abs(printed - true) <= step / 2 + 1e-9


@given(st.floats(0, 1), st.floats(0, 1))
def test_chances_never_fall_as_they_grow(p: float, q: float) -> None:
    def order(x: float) -> float:
        text = formats.chance(x)
        amount, top = numbers(text)
        size = amount / top
        return size - 1e-6 if "less" in text else size + 1e-6 if "more" in text else size

    assert (order(p) <= order(q)) if p <= q else (order(p) >= order(q))


@given(st.floats(0, 1))
def test_a_chance_in_words_is_near_the_number(p: float) -> None:
    text = formats.chance(p)
    amount, top = numbers(text)
    if text.startswith("less"):
        assert p < amount / top
    elif text.startswith("more"):
        assert p > amount / top
    else:
        assert abs(p - amount / top) <= 0.051


@given(st.floats(0, 200))
def test_hours_are_right_to_what_they_print(h: float) -> None:
    text = formats.hours(h)
    (shown,) = numbers(text)
    minutes = shown if text.endswith("min") else 60 * shown
    assert abs(minutes - 60 * h) <= (1 if h < 1 else 3.01 if h < 9.95 else 30.01)
    assert (text == "0 h") == (h == 0)


@given(st.floats(-1e6, 1e6), st.sampled_from(["EUR", "SEK", ""]))
def test_money_is_whole_and_signed_only_below_zero(amount: float, currency: str) -> None:
    text = formats.money(amount, currency)
    (shown,) = numbers(text.replace(",", "").replace("€", ""))
    assert abs(shown - amount) <= 0.5
    assert ("−" in text) == (round(amount) < 0) and "-" not in text


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [(-12.6, "EUR", "−€13"), (-0.2, "GBP", "£0"), (1234.5, "", "1,234"), (99.5, "NOK", "100 NOK")],
)
def test_money_by_hand(amount: float, currency: str, text: str) -> None:
    assert formats.money(amount, currency) == text


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        # by hand: 12.7 mm = 0.5 in; 3.175 mm = 0.125 in; 1.8 x 20 + 32 = 68
        (3.175, 12.7, "0.125–0.5 in"),
        (None, 3.175, "at most 0.125 in"),
        (None, None, ""),
    ],
)
def test_bands_in_inches(low: float | None, high: float | None, text: str) -> None:
    assert formats.band(low, high, unit="mm", quantity="height_of_cut", course=US) == text


@given(st.floats(-50, 50))
def test_temperatures_follow_their_definition(t_c: float) -> None:
    (shown,) = numbers(formats.point(t_c, "degC", "soil_temperature", US))
    assert abs(shown - (1.8 * t_c + 32)) <= 0.5  # degF by definition


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(-0.004, 2, "0.00"), (0.0, 1, "0.0"), (-1234.5, 1, "−1234.5"), (95.0, -1, "100")],
)
def test_nothing_has_no_sign(value: float, decimals: int, text: str) -> None:
    assert formats.number(value, decimals) == text
    assert formats.number(-0.0, decimals, signed=True).lstrip("0.") == ""
