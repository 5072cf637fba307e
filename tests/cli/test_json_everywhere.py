"""--json is one JSON object on standard output, whatever was asked and however it went."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import SMALL, Call

DAY = ("--on", "2026-06-05")
# Exit codes of answers.md: 0 answered, 1 the record cannot answer, 2 usage, 3 a refused file.
RIGHT = [
    (("ask", "today", *DAY), 0, {"question", "findings", "made_by"}),
    (("ask", "effects", *DAY), 0, {"question", "findings", "made_by"}),
    (("ask", "week", *DAY), 0, {"question", "choices", "plans", "leave_outs"}),
    (("load", SMALL, *DAY), 3, {"read", "kept", "refused", "files", "refusals"}),
    (("load", SMALL, *DAY, "--dry-run"), 3, {"read", "kept", "refused", "dry_run"}),
    (("load", SMALL, *DAY, "--all-or-nothing"), 3, {"read", "written"}),
    (("audit",), 0, {"sound", "problems"}),
]
ALONE = [
    (("reckon",), 0, {"calculators"}),
    (("reckon", "rate"), 0, {"reckon", "arguments", "equation", "example"}),
    (("reckon", "rate", "amount=1 g/m2"), 0, {"reckon", "inputs", "result", "display", "valid"}),
    (("evidence",), 0, {"evidence"}),
    (("evidence", "growth.c4"), 0, {"evidence"}),
    (("schema",), 0, {"$schema", "properties"}),
    (("version",), 0, {"version"}),
]
WRONG = [
    ((), 2),
    (("nosuch",), 2),
    (("ask",), 2),
    (("ask", "tomorrow"), 2),
    (("ask", "check"), 2),
    (("ask", "today", "--bogus"), 2),
    (("ask", "today", "--on", "5 June"), 2),
    (("ask", "today", "--on", "0001-01-01", "--record", "{record}"), 2),
    (("ask", "today", "--on", "2020-01-01", "--record", "{record}"), 1),
    (("ask", "week", "--on", "2020-01-01", "--record", "{record}"), 1),
    (("ask", "today", "--course", "elsewhere", "--record", "{record}"), 1),
    (("ask", "today", "--record", "{none}"), 1),
    (("ask", "today", "--record", "{folder}"), 1),
    (("load",), 2),
    (("load", "{none}", "--record", "{record}"), 3),
    (("load", "{letter}", "--record", "{record}"), 3),
    (("export",), 2),
    (("export", "{folder}/out", "--record", "{none}"), 1),
    (("audit", "--record", "{letter}"), 1),
    (("backup", "{record}", "--record", "{record}"), 1),
    (("backup", "{folder}/no/such/copy.db", "--record", "{record}"), 1),
    (("restore", "{letter}", "--record", "{none}"), 1),
    (("restore", "{none}", "--record", "{folder}/x.db"), 1),
    (("demo", "--record", "{record}"), 2),
    (("demo", "--seed", "-1", "--record", "{none}"), 2),
    (("demo", "--record", "{folder}/no/such/demo.db"), 1),
    (("reckon", "nosuch"), 2),
    (("reckon", "rate", "amount"), 2),
    (("reckon", "rate", "amount=1 furlong"), 2),
    (("reckon", "rate", "amount=1 g/m2", "--units", "imperial"), 2),
    (("reckon", "rate", "amount=1 g/m2", "--speed", "yd"), 2),
    (("evidence", "no.such.key"), 2),
    (("version", "extra"), 2),
]


@pytest.fixture
def places(small: Path, tmp_path: Path) -> dict[str, str]:
    letter = tmp_path / "letter.db"
    letter.write_text("Dear committee, " * 300, encoding="utf-8")
    found = {"record": small, "none": tmp_path / "none.db", "folder": tmp_path, "letter": letter}
    return {name: str(path) for name, path in found.items()}


def shown(part: object) -> str:
    """Return a test's name that is the same in every process: sets have no order of their own."""
    if isinstance(part, set):
        return "-".join(sorted(part))[:40]
    return (
        " ".join(Path(str(word)).name for word in part)[:60]
        if isinstance(part, tuple)
        else str(part)
    )


@pytest.mark.parametrize(("words", "code", "keys"), RIGHT, ids=shown)
def test_of_the_record(small: Path, call: Call, words: tuple, code: int, keys: set[str]) -> None:
    got = call(*words, "--record", small, "--json")
    assert got.code == code and keys <= set(got.json) and got.err == ""


@pytest.mark.parametrize(("words", "code", "keys"), ALONE, ids=shown)
def test_without_a_record(call: Call, words: tuple, code: int, keys: set[str]) -> None:
    got = call(*words, "--json")
    assert got.code == code and keys <= set(got.json) and got.err == ""


@pytest.mark.parametrize(("words", "code"), WRONG, ids=shown)
def test_what_went_wrong(
    places: dict[str, str], call: Call, words: tuple[str, ...], code: int
) -> None:
    got = call(*(word.format(**places) for word in words), "--json")
    assert got.code == code
    assert set(got.json) == {"error"}
    assert set(got.json["error"]) == {"what", "where", "expected", "do"}
    assert got.json["error"]["what"] and "Traceback" not in got.err and got.err


@pytest.mark.parametrize(("words", "code"), WRONG[1:], ids=shown)
def test_in_words_a_fault_leaves_standard_output_empty(
    places: dict[str, str], call: Call, words: tuple[str, ...], code: int
) -> None:
    got = call(*(word.format(**places) for word in words))
    assert (got.code, got.out) == (code, "") and got.err.strip()


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        (("export", "{folder}/out"), {"folder"}),
        (("backup", "{folder}/copy.db"), {"file", "rows"}),
    ],
)
def test_what_was_done(
    places: dict[str, str], small: Path, call: Call, words: tuple[str, ...], keys: set[str]
) -> None:
    got = call(*(word.format(**places) for word in words), "--record", small, "--json")
    assert got.code == 0 and set(got.json) == keys and got.err == ""


def test_restoring_says_where_the_old_one_is(small: Path, tmp_path: Path, call: Call) -> None:
    copy, there = tmp_path / "copy.db", tmp_path / "there.db"
    call("backup", copy, "--record", small)
    got = call("restore", copy, "--record", there, "--json").json
    assert got == {"record": str(there), "aside": None}
    again = call("restore", copy, "--record", there, "--json").json
    assert Path(again["aside"]).exists() and again["record"] == str(there)


def test_making_the_demo(tmp_path: Path, call: Call) -> None:
    got = call("demo", "--record", tmp_path / "d.db", "--on", "2026-06-12", "--json")
    assert got.code == 0 and got.json["rows"] > 10_000 and got.err == ""


@pytest.mark.parametrize("words", [["nosuch"], ["ask", "today", "--bogus"], ["load"]])
def test_a_process_of_its_own_says_the_same(words: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "greenwright", *words, "--json"],
        capture_output=True,
        text=True,
        check=False,
        encoding="utf-8",
    )
    assert done.returncode == 2 and "Usage:" in done.stderr
    assert set(json.loads(done.stdout)) == {"error"}


def test_an_unsound_record_is_an_answer_with_exit_one(
    small: Path, call: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    from greenwright.desk import books

    monkeypatch.setattr(books, "audit", lambda _: ("readings: 1 row is out of step",))
    got = call("audit", "--record", small, "--json")
    assert got.code == 1 and got.json["sound"] is False
    assert got.json["problems"] == ["readings: 1 row is out of step"]
    assert call("audit", "--record", small).out.strip() == "readings: 1 row is out of step"
