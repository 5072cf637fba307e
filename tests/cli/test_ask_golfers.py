"""`greenwright ask golfers`, as a person or a program calls it."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest

from greenwright.base.answer import answer_schema
from tests.cli.conftest import Call

ON = ("--on", "2026-06-05")


@pytest.fixture(scope="module")
def grid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    rows = "\n".join([" ".join(f"{0.005 * c:.3f}" for c in range(33))] * 33)
    head = "ncols 33\nnrows 33\nxllcorner 0\nyllcorner 0\ncellsize 0.25\n"
    path = tmp_path_factory.mktemp("heights") / "green-1.asc"
    path.write_text(head + rows + "\n", encoding="utf-8")
    return path


def test_json_obeys_the_schema(small: Path, call: Call) -> None:
    got = call("ask", "golfers", "--record", small, *ON, "--json")
    assert got.code == 0 and got.err == ""
    jsonschema.validate(got.json, answer_schema())
    assert {r["what"] for r in got.json["findings"]} == {"notice", "complaints", "holing"}


def test_every_option_reaches_the_answer(small: Path, call: Call, grid: Path) -> None:
    got = call(
        "ask", "golfers", "--record", small, *ON, "--json", "--rounds", "80", "--speed", "10ft",
        "--smoothness", "6.5", "--trueness", "2e-6 m", "--green", "1", "--player", "tour",
        "--distance", "8ft", "--heights", grid,
    )  # fmt: skip
    assert got.code == 0, got.err
    held = got.json["what_if"]
    assert held["given"] == ["speed_m", "smoothness", "trueness_t"]
    assert held["speed_m"] == pytest.approx(3.048) and held["smoothness"] == 6.5
    assert held["trueness_t"] == 2e-6 and got.json["now"]["rounds"] == 80
    putts = got.json["putts"]
    assert (putts["green"], putts["player"], putts["heights"]) == ("1", "tour", "green-1.asc")
    assert putts["distance_m"] == pytest.approx(2.4384)
    assert putts["speed_m"] == pytest.approx(3.048) and putts["trueness_t"] == 2e-6
    # by hand: 5 mm in each cell of 0.25 m
    assert putts["slope"] == pytest.approx(0.02)
    distances = {r["distance_m"] for r in got.json["findings"] if r["player"] == "tour"}
    assert any(d == pytest.approx(2.4384) for d in distances if d)


def test_millimetres_a_metre_are_taken_at_the_speed_of_the_day(small: Path, call: Call) -> None:
    got = call("ask", "golfers", "--record", small, *ON, "--json", "--trueness", "6 mm/m").json
    speed = got["now"]["green_speed"]["value"]
    # by hand: c = 1.8288²/((10/7)·9.80665) = 0.2387315 m, T = (2·c·0.006)²/S
    expected = (2 * 0.2387315 * 0.006) ** 2 / speed
    assert got["what_if"]["trueness_t"] == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--speed", "fast"), "--speed"),
        (("--speed", "40ft"), "1 to 5.5 m"),
        (("--smoothness", "11"), "0 to 10"),
        (("--trueness", "6"), "6 mm/m"),
        (("--player", "pro"), "tour, 90"),
        (("--green", "99"), "1, 2, 3"),
        (("--heights", "none.asc"), "no such file"),
        (("--distance", "90ft"), "0.3 to 20 m"),
    ],
)
def test_a_slip_is_told_in_plain_words(
    small: Path, call: Call, words: tuple[str, str], says: str
) -> None:
    got = call("ask", "golfers", "--record", small, *ON, *words)
    assert (got.code, got.out) == (2, "") and says in got.err
    told = call("ask", "golfers", "--record", small, *ON, *words, "--json")
    assert told.code == 2 and set(told.json) == {"error"}


def test_a_number_that_is_none_is_wrong_usage(small: Path, call: Call) -> None:
    assert call("ask", "golfers", "--record", small, "--rounds", "many").code == 2
