"""Feet and inches, by the international foot (0.3048 m) and inch (0.0254 m)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.base.lengths import feet_inches, inches, parse_feet_inches


@pytest.mark.parametrize(
    "text",
    ["9'6\"", "9' 6\"", "9-6", "9 ft 6 in", "9ft6in", "9 feet 6 inches", "9’6”", "9'6", "9.5 ft"],
)
def test_writings_of_nine_foot_six(text):
    assert parse_feet_inches(text) == pytest.approx(114 * 0.0254)  # by hand: 9 x 12 + 6 = 114 in


@pytest.mark.parametrize("text", ["2.5", "2.5 m", "96 in", "", "ft", "-3", "9--6", "9-", "nine ft"])
def test_what_is_not_feet_and_inches(text):
    assert parse_feet_inches(text) is None


@pytest.mark.parametrize("text", ["9'12\"", "9-13", "9 ft 12 in"])
def test_twelve_or_more_inches(text):
    with pytest.raises(BadInput, match="12 or more inches"):
        parse_feet_inches(text)


def test_shown_in_whole_inches():
    assert feet_inches(9.6 * 0.3048) == "9'7\""  # by hand: 115.2 in
    assert feet_inches(3.0479) == "10'0\""  # by hand: 119.996 in rounds to 120
    assert inches(0.1524) == "6 in"  # by hand


@given(st.integers(0, 40), st.integers(0, 11))
def test_written_and_read_back(feet, rest):
    text = f"{feet}'{rest}\""
    assert feet_inches(parse_feet_inches(text)) == text
