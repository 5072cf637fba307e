"""greenwright ask forecast and ask why: options, words, JSON, and what is refused."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest

from greenwright.base.answer import answer_schema
from tests.cli.conftest import Call
from tests.desk.played import load_played

DAY = ("--on", "2026-06-05")


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return load_played(tmp_path_factory.mktemp("played"))


def test_a_forecast_of_some_days_is_json(played: Path, call: Call) -> None:
    got = call("ask", "forecast", "--record", played, *DAY, "--days", "3", "--json")
    assert got.code == 0, got.err
    jsonschema.validate(got.json, answer_schema())
    assert {row["date"] for row in got.json["findings"]} == {f"2026-06-0{d}" for d in (6, 7, 8)}


def test_an_event_is_named_in_words(played: Path, call: Call) -> None:
    got = call("ask", "forecast", "--record", played, *DAY, "--event", "Hollow Trophy")
    assert got.code == 0, got.err
    assert "Hollow Trophy" in got.out and "Green speed" in got.out


def test_why_takes_its_days_and_greens(played: Path, call: Call) -> None:
    days = ("--from", "2026-05-20", "--until", "2026-06-01", "--green", "2")
    got = call("ask", "why", "--record", played, *DAY, *days, "--json")
    assert got.code == 0, got.err
    ends = {(row["green"], row["from"], row["to"]) for row in got.json["findings"]}
    assert ends == {("2", "2026-05-20", "2026-06-01")}
    told = call("ask", "why", "--record", played, *DAY, "--green", "2", "--against", "1")
    assert told.code == 0 and "Why" in told.out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("forecast", "--days", "15"), "1 to 14"),
        (("forecast", "--event", "Moon Cup"), "Moon Cup"),
        (("why", "--green", "19"), "no green '19'"),
        (("why", "--from", "last week"), "not a day"),
        (("why", "--days", "3"), "--days is no option of the question why"),
        (("today", "--until", "2026-06-01"), "or ask why"),
        (("forecast", "--green", "1"), "or ask golfers or why"),
    ],
)
def test_slips_are_told_in_plain_words(
    played: Path, call: Call, words: tuple[str, ...], says: str
) -> None:
    got = call("ask", *words, "--record", played, *DAY)
    assert (got.code, got.out) == (2, "")
    assert says in " ".join(got.err.split())
