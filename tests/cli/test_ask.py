"""greenwright ask: words, JSON, days, and every way it can fail."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from greenwright.base.answer import answer_schema
from greenwright.desk import QUESTIONS_READY
from tests.cli.conftest import Call

DAY = ("--on", "2026-06-05")
READY = ("today", "effects", "week", "track")


@pytest.mark.parametrize("question", READY)
def test_json_obeys_the_schema(small: Path, call: Call, question: str) -> None:
    got = call("ask", question, "--record", small, *DAY, "--json")
    assert got.code == 0, got.err
    jsonschema.validate(got.json, answer_schema())
    assert got.json["question"] == question and got.json["as_of"] == "2026-06-05"


@pytest.mark.parametrize("question", READY)
def test_nothing_but_the_answer_stands_on_standard_output(small: Path, question: str) -> None:
    # In a process of its own: a library that prints past Python would be seen here only.
    words = [sys.executable, "-m", "greenwright", "ask", question, "--record", str(small), *DAY]
    done = subprocess.run([*words, "--json"], capture_output=True, check=True)
    assert json.loads(done.stdout)["question"] == question and done.stderr == b""
    told = subprocess.run(words, capture_output=True, check=True)
    assert told.stdout.decode("utf-8").splitlines()[0].endswith("?")


@pytest.mark.parametrize("question", READY)
def test_the_same_answer_comes_again(small: Path, call: Call, question: str) -> None:
    first, again = (call("ask", question, "--record", small, *DAY, "--json").json for _ in range(2))
    for answer in (first, again):
        answer["made_by"].pop("seconds")
    assert first == again


@pytest.mark.parametrize("question", READY)
def test_words_name_the_course(small: Path, call: Call, question: str) -> None:
    got = call("ask", question, "--record", small, *DAY)
    assert got.code == 0 and "Heron Fen" in got.out and got.err == ""
    assert "Estimate(" not in got.out and "nan" not in got.out.lower().split()


def test_the_day_before_sees_nothing_of_the_day(small: Path, call: Call) -> None:
    got = call("ask", "today", "--record", small, "--on", "2026-06-04", "--json").json
    assert got["record"]["last_reading"] == "2026-06-03"
    assert "2026-06-05" not in {finding["last_read"] for finding in got["findings"]}


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("ask", "check"), 2, "not in this version"),
        (("ask", "tomorrow"), 2, "no question named 'tomorrow'"),
        (("ask", "today", "--on", "5 June"), 2, "2026-06-05"),
        (("ask", "today", "--on", "2026-06-31"), 2, "not a day"),
        (("ask", "today", "--course", "elsewhere"), 1, "heron"),
        (("ask", "today", "--on", "2020-01-01"), 1, "no reading"),
    ],
)
def test_faults_are_told_in_plain_words(
    small: Path, call: Call, words: tuple[str, ...], code: int, says: str
) -> None:
    got = call(*words, "--record", small)
    assert (got.code, got.out) == (code, "")
    assert got.err.startswith("greenwright: ") and says in got.err
    assert "Traceback" not in got.err


def test_a_fault_is_json_too_where_json_was_asked_for(small: Path, call: Call) -> None:
    got = call("ask", "tomorrow", "--record", small, "--json")
    assert got.code == 2 and set(got.json) == {"error"}
    assert set(got.json["error"]) == {"what", "where", "expected", "do"}
    assert ", ".join(QUESTIONS_READY) in got.json["error"]["expected"]


def test_a_missing_record_is_named(tmp_path: Path, call: Call) -> None:
    got = call("ask", "today", "--record", tmp_path / "none.db")
    assert got.code == 1 and "none.db" in got.err and not list(tmp_path.iterdir())


def test_a_file_that_is_no_record_is_named(tmp_path: Path, call: Call) -> None:
    path = tmp_path / "letter.db"
    path.write_text("Dear committee, " * 200, encoding="utf-8")
    got = call("ask", "today", "--record", path)
    assert got.code == 1 and "letter.db" in got.err and "Traceback" not in got.err
    assert path.read_text(encoding="utf-8").startswith("Dear committee")
