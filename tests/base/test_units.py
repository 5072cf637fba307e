"""Units: outside figures, refusals, and conversions that must come back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.tables import firmness_methods, kinds, practices
from greenwright.base.unit_table import ucum
from greenwright.base.units import (
    number,
    quantity,
    rate_display,
    same_dimension,
    slips,
    split_quantity,
    to_unit,
)

# Arithmetic from the international pound (0.45359237 kg) and foot (0.3048 m), rounded as printed.
POUND_AND_FOOT = [
    (1, "lb/1000 ft2", "g/m2", 4.8824),
    (1, "lb/1000 ft2", "kg/ha", 48.824),
    (1, "lb/1000 ft2", "lb/acre", 43.56),
    (1, "g/m2", "lb/1000 ft2", 0.20482),
    (1, "g/m2", "oz/1000 ft2", 3.277),
    (1, "g/m2", "kg/ha", 10),
    (1, "g/m2", "lb/acre", 8.922),
    (1, "fl oz/1000 ft2", "mL/m2", 0.3183),
    (1, "gal/1000 ft2", "L/m2", 0.040746),
    (1, "gal/acre", "L/ha", 9.354),
]


@pytest.mark.parametrize(("value", "unit", "wanted", "outside"), POUND_AND_FOOT)
def test_rates_of_the_trade(value, unit, wanted, outside):
    assert to_unit(value, unit, wanted) == pytest.approx(outside, rel=2e-4)


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "expected"),
    [
        (96, "in", "m", 2.4384),  # by hand: 96 x 0.0254
        (0.125, "in", "mm", 3.175),  # by hand: 0.125 x 25.4
        (235, "cm", "m", 2.35),  # by hand
        (50, "degF", "degC", 10),  # by hand: (50 - 32) x 5 / 9
        (-40, "°F", "degC", -40),  # the point where both scales meet
        (0, "degC", "degF", 32),  # melting ice
        (1, "mS/cm", "dS/m", 1),  # by hand: 1e-3 S / 1e-2 m = 0.1 S/m
        (1, "%", "mg/kg", 10_000),  # by hand
        (1, "ppm", "mg/kg", 1),  # by definition
        (0.24, "m3/m3", "%", 24),  # by hand
        (2.5, "ft3/1000ft2", "L/m2", 0.762),  # by hand: 0.0025 ft = 0.762 mm
    ],
)
def test_hand_conversions(value, unit, wanted, expected):
    assert to_unit(value, unit, wanted) == pytest.approx(expected, abs=1e-9, rel=1e-12)


@pytest.mark.parametrize("unit", ["L/m2", "l/m²", "L m-2", "litres per square metre", "mm"])
def test_volume_on_an_area_is_a_depth(unit):
    assert to_unit(0.5, unit, "mm") == 0.5


@pytest.mark.parametrize(
    "spelled",
    [
        "lb/1000ft2",
        "lb/1000 ft²",
        "lb per 1000 sq ft",
        "lbs/1,000 sq. ft.",
        "pounds/1000 square feet",
        "LB/1000FT2",
    ],
)
def test_spellings_of_one_rate_agree(spelled):
    assert to_unit(1, spelled, "g/m2") == to_unit(1, "lb/1000 ft2", "g/m2")


@pytest.mark.parametrize("spelled", ["%", "% VWC", "%VWC", "VWC %", "percent", "pct"])
def test_water_content_is_a_percentage(spelled):
    assert to_unit(24.0, spelled, "%") == 24.0


@pytest.mark.parametrize(
    ("unit", "wanted"),
    [
        ("score", "%"),
        ("count", "%"),
        ("%", "count"),
        ("score", "rating"),
        ("pass", "count"),
        ("m", "g/m2"),
        ("degC", "m"),
        ("lb", "lb/1000 ft2"),
    ],
)
def test_wrong_dimension_is_refused_by_name(unit, wanted):
    with pytest.raises(BadInput, match="cannot be turned into"):
        to_unit(1, unit, wanted)
    assert not same_dimension(unit, wanted)


@pytest.mark.parametrize(
    "unit", ["", "parrots", "9**9", "9**9**9", "ft/", "/m", "m m m m __import__", "m" * 41, "1000"]
)
def test_unknown_units_are_refused(unit):
    with pytest.raises(BadInput, match="not a unit"):
        to_unit(1, unit, "m")


@pytest.mark.parametrize("value", [True, math.nan, math.inf])
def test_only_finite_numbers_are_converted(value):
    with pytest.raises(BadInput):
        to_unit(value, "m", "m")


@pytest.mark.parametrize(
    "word", ["True", "nan", "inf", "-inf", "None", "NA", "", "1_000", "٣", "1e999", "0x1F", "2,5"]
)
def test_words_are_no_numbers(word):
    with pytest.raises(BadInput, match="not a number"):
        number(word)


def test_a_decimal_comma_is_named():
    with pytest.raises(BadInput, match="decimal point"):
        number("2,5")


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("8 ft", 2.4384),  # by hand: 8 x 0.3048
        ("9'6\"", 2.8956),  # by hand: 114 x 0.0254
        ("9-6", 2.8956),
        ("9 ft 6 in", 2.8956),
        ("6 in", 0.1524),  # by hand
        ('96"', 2.4384),
        ("2.4 m", 2.4),
        ("240 cm", 2.4),
        ("2.4", 2.4),
    ],
)
def test_lengths_as_they_are_written(text, metres):
    assert quantity(text, default_unit="m", wanted="m") == pytest.approx(metres, abs=1e-12)


def test_a_rate_in_one_cell():
    # 0.1 lb/1000 ft2 is the usual foliar dose of 0.49 g/m2: the international pound and foot
    assert quantity("0.1 lb/1000ft2", default_unit="g/m2", wanted="g/m2") == pytest.approx(
        0.48824, abs=1e-5
    )


def test_number_and_unit_are_told_apart():
    assert split_quantity("24 % VWC") == (24.0, "% VWC")
    assert split_quantity("-3") == (-3.0, "")
    for text in ("fast", "m 2", "2 000", "5-"):
        with pytest.raises(BadInput):
            split_quantity(text)


def test_twelve_inches_are_refused():
    with pytest.raises(BadInput, match="12 or more inches"):
        quantity("9'12\"", default_unit="m", wanted="m")


def test_every_canonical_unit_has_a_code():
    methods = {m.unit for m in firmness_methods().values()}
    used = {k.unit for k in kinds().values()} | {p.unit for p in practices().values()} | methods
    assert all(ucum(unit) for unit in used - {"own"})
    # Codes as the UCUM specification prints them: Cel, [g], annotations in braces
    assert (ucum("degC"), ucum("g"), ucum("count"), ucum("")) == ("Cel", "[g]", "{count}", "1")
    with pytest.raises(UnknownKey):
        ucum("furlong")


def test_every_unit_of_a_practice_is_known():
    for practice in practices().values():
        for unit in practice.units:
            assert to_unit(1.0, unit, unit) == 1.0
            same_dimension(unit, "m")


def test_slips_are_units_of_the_same_kind():
    for unit in ("m", "mm", "degC", "g/m2", "mL/m2", "L/m2", "mm/m"):
        assert all(same_dimension(other, unit) for other in slips(unit))


def test_rates_are_shown_as_the_course_writes_them():
    assert rate_display(0.48824, "us") == "0.1 lb/1000 ft2"
    assert rate_display(0.48824, "metric") == "0.488 g/m2"


@given(
    st.floats(-1e6, 1e6),
    st.sampled_from([("m", "ft"), ("degC", "degF"), ("g/m2", "lb/acre"), ("mL/m2", "floz/acre")]),
)
def test_there_and_back_again(value, pair):
    there = to_unit(value, *pair)
    assert to_unit(there, pair[1], pair[0]) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.text(max_size=50))
def test_no_text_crashes_the_reader(text):
    try:
        value = quantity(text, default_unit="m", wanted="m")
    except BadInput:
        return
    assert math.isfinite(value)
