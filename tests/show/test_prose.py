"""Sentences in the reader's units, against conversions by hand and by the international tables."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.tables import vocabulary
from greenwright.base.values import Course
from greenwright.show import terms
from greenwright.show.prose import prose
from tests.show.handmade import FEET, METRES, US
from tests.show.reading_back import numbers

US_M = Course(course="fen", name="Fen", display_units="us", speed_units="m")


@pytest.mark.parametrize(
    ("text", "metric", "us"),
    [
        # 1 in = 25.4 mm: 3.40 mm = 0.1339 in, 25 mm = 0.984 in, 0.25 mm = 0.0098 in
        ("cut at 3.40 mm", "cut at 3.40 mm", "cut at 0.134 in"),
        ("rain of 25 mm", "rain of 25 mm", "rain of 0.98 in"),
        ("height 0.25 mm lower", "height 0.25 mm lower", "height 0.01 in lower"),
        # 32 degC = 89.6 degF; -2 degC = 28.4 degF
        ("over 32 degC", "over 32 °C", "over 90 °F"),
        ("down to -2 degC", "down to −2 °C", "down to 28 °F"),
        # 0.5 L = 0.017657 ft3, on 1 m2: x 92.903 = 1.640 ft3 on 1000 ft2
        ("0.5 L/m2 of sand", "0.5 L/m² of sand", "1.6 ft³/1000 ft² of sand"),
        # 4.88243 g/m2 = 1 lb/1000 ft2
        ("50 g/m2 of product", "50 g/m² of product", "10 lb/1000 ft² of product"),
        ("10 mL/m2", "10 mL/m²", "0.93 L/1000 ft²"),
        # 1 m2 = 10.7639 ft2
        ("over 500 m2", "over 500 m²", "over 5382 ft²"),
        ("no measure at all", "no measure at all", "no measure at all"),
        ("5 % of the surface", "5 % of the surface", "5 % of the surface"),
        ("120 min", "120 min", "120 min"),
    ],
)
def test_measures_in_both_systems(text: str, metric: str, us: str) -> None:
    assert prose(text, METRES) == metric
    assert prose(text, US_M) == us


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("balls 0.23 m apart", "balls 9 in apart"),  # 0.23 / 0.0254 = 9.06
        ("rolled 2.87 m", "rolled 9'5\""),  # 2.87 / 0.0254 = 112.99 in
        ("-0.10 m slower", "−4 in slower"),
        ("+0.10 m faster", "+4 in faster"),
    ],
)
def test_lengths_follow_the_speed_s_units(text: str, shown: str) -> None:
    assert prose(text, FEET) == prose(text, US) == shown
    assert prose(text, METRES) == text.replace("-", "−")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("between -1.0 and +1.0", "between −1.0 and +1.0"),
        ("-0.0 smoothness, +0.0 later", "0.0 smoothness, 0.0 later"),
        ("by 2026-06-05 at the latest", "by 5 June 2026 at the latest"),
        ("no day 2026-13-45", "no day 2026-13-45"),
        ("Mehlich-3 and dew-point", "Mehlich-3 and dew-point"),
        ("8.0 to 10.0 is wanted", "8.0 to 10.0 is wanted"),
        ("greens 1, 2, 3, 4 and 9.", "greens 1–4 and 9."),
        ("greens 4, 10, 11 and 18. Read", "greens 4, 10, 11 and 18. Read"),
        ("greens 7, 8 and practice", "greens 7, 8 and practice"),
        ("min_height_mm clashes", "the lowest height of cut clashes"),
    ],
)
def test_signs_days_greens_and_limits(text: str, shown: str) -> None:
    assert prose(text, METRES) == shown


def test_every_limit_of_the_record_has_words() -> None:
    assert set(terms.LIMITS) == set(vocabulary("limit"))
    assert not any("_" in words for words in terms.LIMITS.values())


@given(st.text(max_size=60))
def test_prose_never_breaks_and_said_twice_says_the_same(text: str) -> None:
    once = prose(text, METRES)
    assert prose(once, METRES) == once


@given(st.floats(0.01, 5000), st.integers(0, 3))
def test_a_converted_measure_is_right_to_its_digits(size: float, decimals: int) -> None:
    written = f"{size:.{decimals}f}"
    (shown,) = numbers(prose(f"{written} mm", US))
    true = float(written) / 25.4  # inch by definition
    decimals_shown = len(re.search(r"(?:\.(\d+))? in", prose(f"{written} mm", US))[1] or "")
    assert abs(shown - true) <= max(0.5 * 10**-3, 0.05 * true, 0.5 * 10**-decimals_shown)
