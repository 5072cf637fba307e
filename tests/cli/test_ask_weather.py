"""greenwright ask weather: words, JSON, its options, and what is refused."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest

from greenwright.base.answer import answer_schema
from tests.cli.conftest import Call
from tests.desk.records import load_small

DAY = ("--on", "2026-06-05")


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("weather") / "small.db"
    load_small(path)
    return path


def test_in_words(small: Path, call: Call) -> None:
    got = call("ask", "weather", "--record", small, *DAY)
    assert got.code == 0, got.err
    assert got.out.startswith("What does the weather do?") and "refill line" in got.out
    assert "The days ahead" in got.out and "add --full" in got.out


def test_as_json_with_every_option(small: Path, call: Call) -> None:
    options = ("--days", "3", "--threshold", "dollar_spot=0.3", "--threshold", "brown_patch=5",
               "--crop-coefficient", "0.7", "--root-depth", "4 in")  # fmt: skip
    got = call("ask", "weather", "--record", small, *DAY, *options, "--json")
    assert got.code == 0, got.err
    jsonschema.validate(got.json, answer_schema())
    assert max(row["date"] for row in got.json["findings"]) == "2026-06-08"
    told = {row["name"]: row["threshold"] for row in got.json["risks"]}
    assert (told["dollar_spot"], told["brown_patch"]) == (0.3, 5.0)
    greens = got.json["water"]["greens"]
    assert {row["crop_coefficient"] for row in greens} == {0.7}
    assert greens[0]["root_depth_mm"] == pytest.approx(101.6)  # by hand: 4 · 25.4


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--days", "15"), "1 to 14"),
        (("--threshold", "dollar_spot"), "dollar_spot=0.3"),
        (("--threshold", "rust=1"), "no disease model"),
        (("--root-depth", "deep"), "--root-depth"),
        (("--crop-coefficient", "2.85"), "0.05 to 1.5"),
        (("--event", "Cup"), "no option of the question weather"),
    ],
)
def test_slips_are_told(small: Path, call: Call, options: tuple[str, ...], told: str) -> None:
    got = call("ask", "weather", "--record", small, *DAY, *options)
    assert got.code == 2 and told in got.err


def test_other_questions_take_none_of_it(small: Path, call: Call) -> None:
    got = call("ask", "today", "--record", small, *DAY, "--threshold", "dollar_spot=0.3")
    assert got.code == 2 and "weather" in got.err
