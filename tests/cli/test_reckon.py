"""greenwright reckon: a list, a usage, words and JSON."""

from __future__ import annotations

import pytest

from greenwright.desk.reckon import calculators
from tests.cli.conftest import Call


def test_without_a_name_it_lists_every_calculation(call: Call) -> None:
    got = call("reckon")
    assert got.code == 0
    assert all(name in got.out for name in calculators())


@pytest.mark.parametrize("name", calculators())
def test_without_values_it_says_how(call: Call, name: str) -> None:
    got = call("reckon", name)
    assert got.code == 0 and "Equation:" in got.out and "Example:" in got.out


@pytest.mark.parametrize("name", calculators())
def test_the_example_it_prints_runs(call: Call, name: str) -> None:
    example = calculators()[name].examples[0].inputs
    got = call("reckon", name, *(f"{key}={value}" for key, value in example.items()))
    assert got.code == 0 and got.err == ""


def test_json_holds_inputs_and_results_in_si(call: Call) -> None:
    got = call("reckon", "two-way-speed", "up=8ft", "down=9'6\"", "--json").json
    assert got["inputs"]["up"] == {
        "value": pytest.approx(2.4384),
        "unit": "m",
    }  # by hand: 8 x .3048
    assert got["inputs"]["down"]["value"] == pytest.approx(2.8956)  # by hand: 9.5 x 0.3048
    assert got["result"]["level_speed"]["value"] == pytest.approx(2.647406, abs=1e-6)  # 2UD/(U+D)
    assert got["display"]["level_speed"] == "8'8\""


def test_units_of_the_display_can_be_chosen(call: Call) -> None:
    words = ("reckon", "two-way-speed", "up=8ft", "down=12ft", "--speed", "m")
    assert "2.93 m" in call(*words).out  # by hand: 9.6 ft is 2.926 m


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("two-way", "up=8ft"), "Did you mean two-way-speed?"),
        (("two-way-speed", "up"), "not key=value"),
        (("two-way-speed", "up=8ft"), "down is missing"),
        (("two-way-speed", "up=8ft", "up=9ft", "down=9ft"), "given twice"),
        (("two-way-speed", "up=8ft", "down=9ft", "--units", "imperial"), "metric | us"),
        (("rate", "amount=3"), "has no unit"),
    ],
)
def test_slips_are_told(call: Call, words: tuple[str, ...], says: str) -> None:
    got = call("reckon", *words)
    assert got.code == 2 and says in got.err and "Traceback" not in got.err
