"""The reckoner reads every spelling of a unit, and refuses every unit of another kind.

Sizes of units: the international yard and pound (1959), the US gallon of 231 cubic inches, the
litre of 0.001 m3, all by definition.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.desk.reckon import Argument, Calculator, calculators, reckon
from greenwright.desk.reckon.fitting import ends_text

LB_G, FT_M, GAL_L, OZ_G, ACRE_M2 = 453.59237, 0.3048, 3.785411784, 28.349523125, 4046.8564224
LENGTHS = {
    "m": 1.0, "cm": 0.01, "mm": 0.001, "ft": FT_M, "foot": FT_M, "feet": FT_M, "'": FT_M,
    "in": FT_M / 12, "inch": FT_M / 12, "inches": FT_M / 12, "yd": 3 * FT_M, "yards": 3 * FT_M,
    "metre": 1.0, "meters": 1.0,
}  # fmt: skip
RATES = {
    "g/m2": 1.0, "g/m²": 1.0, "g m-2": 1.0, "kg/ha": 0.1, "kg ha-1": 0.1, "kg/m2": 1000.0,
    "g/100m2": 0.01, "lb/1000ft2": LB_G / (1000 * FT_M**2), "lb/1000 ft2": LB_G / (1000 * FT_M**2),
    "lbs/1000 sq ft": LB_G / (1000 * FT_M**2), "lb/acre": LB_G / ACRE_M2, "lb/ac": LB_G / ACRE_M2,
    "oz/1000ft2": OZ_G / (1000 * FT_M**2),
}  # fmt: skip
VOLUMES = {
    "mL/m2": 1.0, "ml/m²": 1.0, "L/ha": 0.1, "l/ha": 0.1, "L/m2": 1000.0, "L/100m2": 10.0,
    "gal/acre": 1000 * GAL_L / ACRE_M2, "floz/1000ft2": 1000 * GAL_L / 128 / (1000 * FT_M**2),
    "fl oz/1000 ft2": 1000 * GAL_L / 128 / (1000 * FT_M**2),
}  # fmt: skip
TEMPERATURES = {
    "degC": (1.0, 0.0), "°C": (1.0, 0.0), "C": (1.0, 0.0), "degF": (1 / 1.8, -32 / 1.8),
    "°F": (1 / 1.8, -32 / 1.8), "F": (1 / 1.8, -32 / 1.8), "K": (1.0, -273.15),
}  # fmt: skip
DENSITIES = {"kg/m3": 1.0, "g/cm3": 1000.0, "g/cm³": 1000.0, "kg/L": 1000.0, "t/m3": 1000.0}
CONTENTS = {"mg/kg": 1.0, "ppm": 1.0, "g/kg": 1000.0, "%": 10_000.0, "ug/g": 1.0}
KINDS = {
    "length": ("3 m", "9'6\"", "12 in"),
    "rate": ("1 g/m2", "1 lb/1000ft2"),
    "volume": ("1 mL/m2", "3 floz/1000ft2"),
    "temperature": ("20 degC", "68 degF"),
    "density": ("1.5 g/cm3",),
    "content": ("50 mg/kg", "50 ppm"),
    "mass": ("2 kg", "3 lb"),
    "time": ("4 h", "2 days"),
    "score": ("7 score",),
    "share": ("2 %", "4 mm/m"),
    "angle": ("30 deg", "0.5 rad", "30°"),
    "count": ("3 count",),
    "velocity": ("1.5 m/s", "5 ft/s"),
}
SOIL = {"element": "K", "test": "50", "use": "8", "reserve": "37"}


@pytest.mark.parametrize(("unit", "size"), LENGTHS.items())
def test_lengths(unit: str, size: float) -> None:
    typed = {"up": f"{2.5 / size:.9g} {unit}", "down": f"{3.0 / size:.9g}{unit}"}
    got = reckon("two-way-speed", typed).result["level_speed"].number
    assert got == pytest.approx(2 * 2.5 * 3.0 / 5.5, rel=1e-7)  # by hand: 2UD/(U + D)


@pytest.mark.parametrize(("unit", "size"), RATES.items())
def test_rates_of_mass(unit: str, size: float) -> None:
    got = reckon("rate", {"amount": f"3 {unit}"}).result["rate_si"]
    assert got.unit == "g/m2" and got.number == pytest.approx(3 * size)


@pytest.mark.parametrize(("unit", "size"), VOLUMES.items())
def test_rates_of_volume(unit: str, size: float) -> None:
    got = reckon("rate", {"amount": f"3 {unit}", "to": "mL/m2"}).result["rate_si"]
    assert got.unit == "mL/m2" and got.number == pytest.approx(3 * size)


@pytest.mark.parametrize(("unit", "line"), TEMPERATURES.items())
def test_temperatures_have_their_true_zero(unit: str, line: tuple[float, float]) -> None:
    slope, shift = line
    typed = {"t_mean": f"{(12.5 - shift) / slope:.9g} {unit}", "grass": "c3"}
    held = reckon("growth-potential", typed).inputs["t_mean"]
    assert held.unit == "degC" and held.number == pytest.approx(12.5)


@pytest.mark.parametrize(("unit", "size"), DENSITIES.items())
def test_densities(unit: str, size: float) -> None:
    held = reckon("soil-need", {**SOIL, "density": f"{1600 / size:g} {unit}"}).inputs["density"]
    assert held.number == pytest.approx(1600.0)


@pytest.mark.parametrize(("unit", "size"), CONTENTS.items())
def test_contents_of_the_soil(unit: str, size: float) -> None:
    held = reckon("soil-need", {**SOIL, "test": f"{120 / size:.9g} {unit}"}).inputs["test"]
    assert held.unit == "mg/kg" and held.number == pytest.approx(120.0)


ARGUMENTS = [(c, a) for c in calculators().values() for a in c.arguments if a.kind == "quantity"]
FITS = {
    "m": {"length"},
    "g/m2": {"rate"},
    "degC": {"temperature"},
    "mg/kg": {"content", "share"},
    "kg/m3": {"density"},
    "1": {"share"},
    "rad": {"angle"},
    "count": {"count"},
    "score": {"score"},
    "m/s": {"velocity"},
    "km/h": {"velocity"},
    "kg": {"mass"},
    "h": {"time"},
}
EITHER_OR = {
    *(("holing", name) for name in ("angle_sd", "distance_sd")),
    *(("sand", name) for name in ("depth", "volume", "mass")),
}
"""Arguments that come together or not at all, or of which one must be given."""


def sample(calculator: Calculator, argument: Argument) -> dict[str, str]:
    """Return the first worked example that gives the argument, or the first of all."""
    examples = [e.inputs for e in calculator.examples]
    return dict(next((e for e in examples if argument.name in e), examples[0]))


def written(number: float, unit: str) -> str:
    # A share that is read as percent when bare needs its unit said.
    return f"{number!r} m/m" if unit == "1" else f"{number!r} {unit}"


@pytest.mark.parametrize(("calculator", "argument"), ARGUMENTS, ids=lambda x: x.name)
def test_no_unit_of_another_kind_is_taken(calculator: Calculator, argument: Argument) -> None:
    fits = {kind for unit in argument.units for kind in FITS.get(unit, {"volume"})}
    for kind in KINDS.keys() - fits:
        for text in KINDS[kind]:
            # a depth of water is a volume on an area: 1 L/m2 = 1 mm
            if "volume" in fits and kind == "length":
                continue
            with pytest.raises(BadInput) as caught:
                reckon(calculator.name, {**sample(calculator, argument), argument.name: text})
            assert caught.value.where == argument.name, (kind, text)


@pytest.mark.parametrize(("calculator", "argument"), ARGUMENTS, ids=lambda x: x.name)
def test_the_ends_of_a_range_are_inside_and_what_is_past_them_is_not(
    calculator: Calculator, argument: Argument
) -> None:
    unit = argument.units[0]
    for end, side in ((argument.low, -1), (argument.high, 1)):
        with pytest.raises(BadInput, match="outside the range") as caught:
            past = end + side * max(abs(end) * 1e-6, 1e-9)
            given_ = {**sample(calculator, argument), argument.name: written(past, unit)}
            reckon(calculator.name, given_)
        assert caught.value.expected == ends_text(argument.low, argument.high, unit)
        assert caught.value.where == argument.name
        try:
            given_[argument.name] = written(end, unit)
            reckon(calculator.name, given_)
        except BadInput as error:
            # the result, or this argument beside the others, is what cannot be
            assert "outside the range" not in error.what


@pytest.mark.parametrize(
    "text", ["", " ", "nan", "inf", "-inf", "1e999", "3,5", "None", "½", "1 2"]
)
@pytest.mark.parametrize(("calculator", "argument"), ARGUMENTS, ids=lambda x: x.name)
def test_what_is_no_number_is_refused_or_falls_back(
    calculator: Calculator, argument: Argument, text: str
) -> None:
    typed = {**sample(calculator, argument), argument.name: text}
    optional = not argument.required
    if not text.strip() and optional and (calculator.name, argument.name) not in EITHER_OR:
        assert reckon(calculator.name, typed).as_dict()["valid"]
        return
    with pytest.raises(BadInput):
        reckon(calculator.name, typed)


@given(st.floats(-9e5, 9e5), st.sampled_from(["metric", "us"]))
def test_a_displayed_rate_reads_back(balance: float, units: str) -> None:
    from greenwright.desk.reckon.display import displayed
    from greenwright.desk.reckon.shape import Given

    soil = calculators()["soil-need"]
    result = {o.key: Given(balance, "g/m2") for o in soil.outcomes}
    text = displayed(soil, result, display_units=units, speed_units="ft")["balance"]
    number, unit = text.split(" ", 1)
    assert unit == ("g/m2" if units == "metric" else "lb/1000 ft2")
    assert re.fullmatch(r"−?\d+(\.\d*[1-9])?", number) and number != "−0"
    size = 1.0 if units == "metric" else RATES["lb/1000 ft2"]
    shown = float(number.replace("−", "-")) * size
    assert shown == pytest.approx(balance, rel=6e-3, abs=1e-12)


@pytest.mark.parametrize(
    ("up", "down", "slope"),
    # by hand: 0.7·36/64.348·(1/U − 1/D) in feet; level lines have no sign
    [("9ft", "9ft", "0.0 %"), ("8ft", "12ft", "1.6 %"), ("12ft", "8ft", "−1.6 %")],
)
def test_slopes_carry_a_true_minus_and_none_on_nothing(up: str, down: str, slope: str) -> None:
    assert reckon("two-way-speed", {"up": up, "down": down}).display["slope"] == slope
