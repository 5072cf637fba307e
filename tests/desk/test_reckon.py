"""The reckoner: every worked example, every unit, every refusal."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import look_up
from greenwright.desk.reckon import Calculator, WorkedExample, calculators, reckon

# The result keys that programs may rely on.
ENDS = ("", "_low", "_high")
FIXED = {
    "two-way-speed": {"level_speed", "slope"},
    "ramp-slope": {"up", "down"},
    "putt-speed": {"launch_speed", "arrival_speed", "time"},
    "break": {"downhill", "across"},
    "capture": {"max_speed"},
    "holing": {"chance", "chance_perfect"},
    "trueness": {
        f"{key}{end}"
        for key in ("sideways_sd_per_length", "heading_k", "trueness_t")
        for end in ENDS
    },
    "speed-sample": {"standard_error"},
    "compare-sample": {"n"},
    "rate": {"rate"},
    "growth-potential": {"growth_potential"},
    "soil-need": {"need", "need_oxide"},
    "nitrogen-plan": {"n_year", *(f"n_month_{k}" for k in range(1, 13))},
    "clippings-nitrogen": {"dry_mass", "nitrogen"},
    "soil-index": {"index"},
    "oxide": {"oxide"},
    "product-for": {"product_rate", "product", "cost"},
    "acidity": {"caco3_per_100kg"},
    "sprayer": {"nozzle_flow"},
    "tank": {"area", "product", "concentration"},
    "sand": {"depth", "volume", "mass"},
    "core-area": {"area_affected", "holes_per_area", "fill_volume", "fill_mass"},
    "om-dilution": {"om_after"},
    "reference-et": {"eto", "delta", "gamma", "es", "ea", "Ra", "N", "Rs", "Rso", "Rn", "G", "u2"},
    "water-store": {"total_available", "readily_available", "days"},
    "degree-days": {"degree_days"},
    "regulator-left": {"part_left", "top_up"},
    "dollar-spot": {"probability", "above_threshold"},
    "brown-patch": {"index", "above_threshold"},
    "anthracnose": {"index", "above_threshold"},
}
# The argument names that programs may rely on, in this order.
ARGUMENTS = {
    "two-way-speed": "up down",
    "ramp-slope": "speed slope",
    "putt-speed": "distance speed slope past",
    "break": "launch_speed speed slope angle",
    "capture": "offset",
    "holing": "distance speed player angle_sd distance_sd trueness",
    "trueness": "offsets length speed",
    "speed-sample": "stations rolls sd_station sd_roll",
    "compare-sample": "sd difference power design",
    "growth-potential": "t_mean grass",
    "soil-need": "element test use reserve depth density",
    "rate": "amount to",
    "nitrogen-plan": "t_mean n_max grass",
    "clippings-nitrogen": "volume grass leaf_n",
    "soil-index": "element test",
    "oxide": "element amount",
    "product-for": "nutrient rate grade area price",
    "acidity": "n_pct s_pct p_pct cl_pct ca_pct mg_pct k_pct na_pct material",
    "sprayer": "volume_rate speed spacing",
    "tank": "tank volume_rate rate",
    "sand": "depth volume mass area density",
    "core-area": "diameter spacing spacing2 depth",
    "om-dilution": "om depth sand",
    "reference-et": "t_min t_max latitude elevation day rh_min rh_max ea wind wind_height "
    "sunshine solar",
    "water-store": "field_capacity wilting_point depth p etc",
    "degree-days": "t_min t_max base",
    "regulator-left": "degree_days half_life rate",
    "dollar-spot": "rh_mean t_mean",
    "brown-patch": "rh_mean t_min",
    "anthracnose": "wet_hours t_mean",
}
EXAMPLES = [(c, e) for c in calculators().values() for e in c.examples]


@pytest.mark.parametrize(("calculator", "example"), EXAMPLES)
def test_worked_examples_hold(calculator: Calculator, example: WorkedExample) -> None:
    got = reckon(calculator.name, example.inputs).as_dict()
    for key, expected in example.expected.items():
        # Each example states its origin; see the registry.
        assert got["result"][key]["value"] == pytest.approx(expected, abs=example.within), key
    assert example.origin


@pytest.mark.parametrize("calculator", calculators().values(), ids=lambda c: c.name)
def test_every_calculator_explains_itself(calculator: Calculator) -> None:
    assert calculator.examples and calculator.equation and calculator.validity
    assert {o.key for o in calculator.outcomes} >= FIXED[calculator.name]
    names = [argument.name for argument in calculator.arguments]
    wanted = ARGUMENTS[calculator.name].split()
    assert names[: len(wanted)] == wanted
    for argument in calculator.arguments:
        assert argument.label and argument.help
        assert (argument.kind in ("quantity", "list")) == bool(argument.units)
    for key in calculator.evidence:
        assert look_up(key).grade


@pytest.mark.parametrize("calculator", calculators().values(), ids=lambda c: c.name)
def test_json_has_the_published_shape(calculator: Calculator) -> None:
    got = json.loads(json.dumps(reckon(calculator.name, calculator.examples[0].inputs).as_dict()))
    assert list(got) == ["reckon", "inputs", "result", "display", "valid", "notes", "sources"]
    assert got["reckon"] == calculator.name and got["valid"] is True
    assert set(got["display"]) == set(got["result"])
    for row in [*got["inputs"].values(), *got["result"].values()]:
        assert set(row) == {"value", "unit"}
    for source in got["sources"]:
        assert set(source) == {"key", "value", "unit", "grade", "citation"}


@pytest.mark.parametrize(
    ("up", "down"),
    [
        ("8ft", "9'6\""),
        ("8 ft", "9-6"),
        ("96 in", "9 ft 6 in"),
        ("2.4384", "2.8956 m"),
        (2.4384, 2.8956),
        ("243.84 cm", "2895.6mm"),
    ],
)
def test_any_unit_of_length_will_do(up: str | float, down: str | float) -> None:
    got = reckon("two-way-speed", {"up": up, "down": down}).as_dict()["result"]
    # by hand: 2·8·9.5/17.5 = 8.685714 ft; x 0.3048 = 2.647406 m
    assert got["level_speed"]["value"] == pytest.approx(2.647406, abs=1e-6)
    assert got["level_speed"]["unit"] == "m" and got["slope"]["unit"] == "1"


def test_a_number_alone_says_what_it_was_read_as() -> None:
    got = reckon("two-way-speed", {"up": "2.4", "down": "2.9 m"})
    assert got.notes == ("up: 2.4 read as m",)


@pytest.mark.parametrize(
    ("display_units", "speed_units", "speed", "rate"),
    [
        # by hand: 2.647406 m is 104.23 in = 8'8"; 6.05 g/m2 / 4.88243 = 1.239 lb/1000 ft2
        ("metric", "ft", "8'8\"", "6.05 g/m2"),
        ("us", "m", "2.65 m", "1.24 lb/1000 ft2"),
    ],
)
def test_results_speak_the_units_of_the_course(
    display_units: str, speed_units: str, speed: str, rate: str
) -> None:
    units = {"display_units": display_units, "speed_units": speed_units}
    rolls = reckon("two-way-speed", {"up": "8ft", "down": "9.5ft"}, **units)
    soil = {"element": "K", "test": "50", "use": "8", "reserve": "37"}
    assert rolls.display["level_speed"] == speed
    assert reckon("soil-need", soil, **units).display["need"] == rate


@given(st.floats(0.001, 900))
def test_a_rate_comes_back_through_any_unit(amount: float) -> None:
    there = reckon("rate", {"amount": f"{amount!r} g/m2", "to": "lb/acre"}).result["rate"]
    back = reckon("rate", {"amount": f"{there.value!r} lb/acre"}).result["rate"]
    assert back.unit == "g/m2" and back.number == pytest.approx(amount)


@pytest.mark.parametrize(
    ("amount", "to", "expected"),
    [
        ("1 lb/1000ft2", "kg/ha", 48.824),  # by hand: 453.59237 g / 92.90304 m2 · 10
        ("1 lb/1000ft2", "lb/acre", 43.56),  # by hand: an acre is 43,560 ft2
        ("1 g/m2", "kg/ha", 10.0),  # by hand
        ("1 gal/acre", "L/ha", 9.354),  # by hand: 3.785412 L / 0.40468564 ha
        ("400 L/ha", "mL/m2", 40.0),  # by hand
    ],
)
def test_rates_convert(amount: str, to: str, expected: float) -> None:
    got = reckon("rate", {"amount": amount, "to": to}).result["rate"]
    assert got.unit == to and got.number == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize(
    ("t_mean", "grass", "expected"),
    [
        ("20", "creeping bentgrass", 1.0),  # by hand: at the optimum
        ("86 degF", "C3", 0.1915),  # by hand: 30 °C; exp(−½(10/5.5)²)
        ("35", "ultradwarf bermudagrass", 1.0),  # warm-season grass keeps 1 above its optimum
        ("18 degC", "annual bluegrass", 1.0),  # its own optimum
    ],
)
def test_growth_potential(t_mean: str, grass: str, expected: float) -> None:
    got = reckon("growth-potential", {"t_mean": t_mean, "grass": grass}).result
    assert got["growth_potential"].number == pytest.approx(expected, abs=5e-5)


def test_growth_potential_names_the_constants_it_used() -> None:
    keys = {s["key"] for s in reckon("growth-potential", {"t_mean": "20", "grass": "c4"}).sources}
    assert {"growth.c4.optimum", "growth.c4.width", "growth.c4.cap"} <= keys


def test_soil_need_takes_the_minimum_where_no_reserve_is_given() -> None:
    got = reckon("soil-need", {"element": "k", "test": "50 ppm", "use": "8"})
    # by hand: 37 mg/kg · 0.15 = 5.55 g/m2
    assert got.result["reserve"].number == pytest.approx(5.55)
    assert any("37 mg/kg" in note for note in got.notes)
    assert "soil.mehlich3.K.minimum" in {s["key"] for s in got.sources}


REFUSED = [
    ("two-way-speed", {"up": "8ft"}, BadInput, "down is missing"),
    ("two-way-speed", {"up": "8ft", "down": "twelve"}, BadInput, "down"),
    ("two-way-speed", {"up": "nan", "down": "12ft"}, BadInput, "up"),
    ("two-way-speed", {"up": "8 kg", "down": "12ft"}, BadInput, "'kg' is no unit of this"),
    ("two-way-speed", {"up": "80ft", "down": "80ft"}, BadInput, "outside the range"),
    ("two-way-speed", {"up": "8", "down": "12"}, BadInput, "write up=8ft"),
    ("two-way-speed", {"up": "8ft", "dwon": "9ft"}, UnknownKey, "Did you mean down"),
    ("two-way-speed", {"up": "8'13\"", "down": "9ft"}, BadInput, "12 or more inches"),
    ("rate", {"amount": "0.1"}, BadInput, "has no unit"),
    ("rate", {"amount": "5 kg"}, BadInput, "no unit of this"),
    ("rate", {"amount": "5 g/m2", "to": "mL/m2"}, BadInput, "cannot be turned into"),
    ("rate", {"amount": "5 g/m2", "to": "furlong/week"}, BadInput, "furlong"),
    ("rate", {"amount": "-5 g/m2"}, BadInput, "outside the range"),
    ("growth-potential", {"t_mean": "77"}, BadInput, "outside the range"),
    ("growth-potential", {"t_mean": "20", "grass": "moss"}, BadInput, "creeping bentgrass"),
    ("soil-need", {"element": "N", "test": "5", "use": "8"}, BadInput, "K | P | Ca"),
    ("soil-need", {"element": "K", "test": "-5", "use": "8"}, BadInput, "outside the range"),
    ("no-such", {}, UnknownKey, "two-way-speed, ramp-slope, putt-speed, break, capture, holing"),
    ("two-way-sped", {}, UnknownKey, "Did you mean two-way-speed"),
]


@pytest.mark.parametrize(("name", "inputs", "error", "says"), REFUSED)
def test_refusals_say_what_to_do(
    name: str, inputs: dict[str, str], error: type[Exception], says: str
) -> None:
    with pytest.raises(error) as caught:
        reckon(name, inputs)
    assert says in str(caught.value)
    assert caught.value.exit_code == 2


@pytest.mark.parametrize(
    ("up", "down", "says"), [("12ft", "8ft", "swapped"), ("5ft", "15.5ft", "steep")]
)
def test_odd_rolls_are_remarked_upon(up: str, down: str, says: str) -> None:
    assert any(says in note for note in reckon("two-way-speed", {"up": up, "down": down}).notes)


def test_a_rich_soil_is_told_so() -> None:
    got = reckon("soil-need", {"element": "K", "test": "300", "use": "8"})
    assert got.result["need"].number == 0
    assert any("nothing is needed" in note for note in got.notes)
    assert any("label" in note for note in got.notes)
