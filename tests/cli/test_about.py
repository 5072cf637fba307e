"""What the program tells of itself, how quickly, and how it meets a slip."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from greenwright import __version__
from greenwright.base.answer import answer_schema
from greenwright.base.evidence import evidence
from tests.cli.conftest import Call

COMMANDS = (
    "ask", "load", "export", "audit", "backup", "restore", "demo", "reckon", "evidence",
    "schema", "version",
)  # fmt: skip
HEAVY = ("numpy", "pandas", "scipy", "sqlalchemy", "highspy", "altair", "pint", "fastapi", "rich")


def test_help_names_every_command(call: Call) -> None:
    told = call("--help").out
    assert all(f"\n  {name} " in told for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(call: Call, name: str) -> None:
    got = call(name, "--help")
    assert got.code == 0 and "Usage:" in got.out


def test_nothing_heavy_is_loaded_for_help() -> None:
    code = f"import greenwright.main, sys; print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("words", [[], ["nonsense"], ["ask"], ["ask", "today", "--nonsense"]])
def test_wrong_usage_leaves_with_two(words: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "greenwright", *words], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2 and "Traceback" not in done.stderr


def test_the_module_is_the_command(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "greenwright", "ask", "today", "--record", "none.db"]
    done = subprocess.run(words, capture_output=True, text=True, check=False, cwd=tmp_path)
    assert done.returncode == 1 and done.stderr.startswith("greenwright: none.db")


def test_version(call: Call) -> None:
    assert call("version").out.strip() == f"greenwright {__version__}"


def test_schema_is_the_published_one(call: Call) -> None:
    got = call("schema").json
    assert got == answer_schema()
    jsonschema.Draft202012Validator.check_schema(got)


def test_evidence_prints_the_whole_table(call: Call) -> None:
    lines = call("evidence").out.splitlines()
    assert len(lines) == len(evidence())
    told = call("evidence", "--json").json["evidence"]
    assert {source["key"] for source in told} == set(evidence())


def test_evidence_prints_one_entry_whole(call: Call) -> None:
    told = call("evidence", "soil.mehlich3.K.minimum").out
    # the published minimum for potassium
    assert told.startswith("soil.mehlich3.K.minimum = 37.0 mg/kg (published)")
    assert "PeerJ Preprints" in told and "holds for" in told


def test_evidence_prints_a_family(call: Call) -> None:
    told = call("evidence", "growth.c4").out.splitlines()
    assert told and all(line.startswith("growth.c4.") for line in told)


def test_an_unknown_key_is_met_with_near_ones(call: Call) -> None:
    got = call("evidence", "growth.c5.optimum")
    assert got.code == 2 and "growth.c" in got.err


@pytest.mark.parametrize("locale", ["C", "C.UTF-8"])
def test_what_is_printed_is_utf8_whatever_the_locale(locale: str) -> None:
    words = [sys.executable, "-m", "greenwright", "reckon", "soil-need"]
    setting = {"LC_ALL": locale, "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PATH": ""}
    done = subprocess.run(words, capture_output=True, check=True, env=setting)
    assert "use + reserve − present" in done.stdout.decode("utf-8")
