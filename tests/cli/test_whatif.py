"""Options of the question golfers: any unit, and none for the other questions."""

from __future__ import annotations

from pathlib import Path

import pytest

from greenwright.base.errors import BadInput
from greenwright.cli.whatif import given, length
from tests.cli.conftest import Call


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ({"speed": "10ft"}, {"speed_m": 3.048}),
        ({"speed": "9'6\""}, {"speed_m": 2.8956}),
        ({"distance": "3 m"}, {"distance_m": 3.0}),
        ({"distance": "2.5"}, {"distance_m": 2.5}),
        ({"trueness": "2e-6 m"}, {"trueness_t": 2e-6}),
        ({"trueness": "0.002 mm"}, {"trueness_t": 2e-6}),
        ({"trueness": "6 mm/m"}, {"sideways_mm_per_m": 6.0}),
        ({"smoothness": 7.5, "rounds": 90.0, "green": "3", "player": "tour"},
         {"smoothness": 7.5, "rounds": 90.0, "green": "3", "player": "tour"}),
    ],
)  # fmt: skip
def test_options_come_in_any_unit(typed: dict, wanted: dict) -> None:
    got = given(typed)
    assert list(got) == list(wanted)
    for name, number in wanted.items():
        assert got[name] == (pytest.approx(number) if isinstance(number, float) else number)


@pytest.mark.parametrize("text", ["6", "six mm/m", "6 deg", "6 %", "", "6 kg"])
def test_a_trueness_without_its_unit_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="is no trueness") as caught:
        given({"trueness": text})
    assert "6 mm/m" in str(caught.value) and caught.value.where == "--trueness"


@pytest.mark.parametrize("text", ["fast", "10 kg", "", "9'13\""])
def test_a_length_that_is_none_names_its_option(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        length(text, where="--speed")
    assert caught.value.where == "--speed" and "10ft" in str(caught.value)


@pytest.mark.parametrize("question", ["today", "effects", "week"])
@pytest.mark.parametrize(
    ("option", "text"),
    [("--rounds", "80"), ("--speed", "10ft"), ("--green", "1"), ("--heights", "g.asc")],
)
def test_no_other_question_takes_them(
    small: Path, call: Call, question: str, option: str, text: str
) -> None:
    got = call("ask", question, "--record", small, option, text)
    assert (got.code, got.out) == (2, "")
    assert f"{option} is no option of the question {question}" in got.err
