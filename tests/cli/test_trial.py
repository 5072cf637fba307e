"""`greenwright trial`: a data file from anywhere, its faults, its script, and a design."""

from __future__ import annotations

import json
import runpy
from pathlib import Path

import pytest
from typer.testing import CliRunner

from greenwright.cli.app import app
from tests.desk.records import load_small

DATA = Path(__file__).resolve().parents[1] / "data" / "trials"
OATS = ["--layout", "split-plot", "--response", "Y", "--blocks", "B", "--whole", "V", "--sub", "N"]


def run(*words: str):
    return CliRunner().invoke(app, ["trial", *words])


def analysed(name: str, *words: str) -> dict:
    got = run("analyse", str(DATA / f"{name}.csv"), *words, "--json")
    assert got.exit_code == 0, got.output
    return json.loads(got.stdout)


def test_oats_as_json() -> None:
    told = analysed("oats", *OATS)
    assert told["question"] == "trial" and told["trial"]["method"] == "strata"
    by_term = {row["term"]: row for row in told["findings"]}
    # Reference page of MASS: V F 1.485 (2, 10), N F 37.686 (3, 45), V:N 0.303.
    assert by_term["V"]["F"] == pytest.approx(1.485, abs=5e-4)
    assert (by_term["V"]["df"], by_term["V"]["df_error"]) == (2, 10)
    assert by_term["N"]["F"] == pytest.approx(37.686, abs=5e-4)
    assert by_term["V:N"]["F"] == pytest.approx(0.303, abs=5e-4)
    assert by_term["V"]["stratum"] == "whole plots"
    assert len(told["contrasts"]) == 9
    for one in told["contrasts"]:
        assert one["low"] < one["value"] < one["high"]
    assert told["variances"].keys() == {"blocks", "whole plots", "sub-plots"}


def test_two_levels_have_an_estimate() -> None:
    told = analysed("corn_hybrid_density", "--layout", "crd", "--response", "Resp",
                    "--treatments", "A,B")  # fmt: skip
    held = {row["term"]: row["estimate"] for row in told["findings"]}
    assert any(one is not None for one in held.values())
    one = next(one for one in held.values() if one is not None)
    assert set(one) == {"value", "unit", "sd", "low", "high", "level", "n", "basis"}


def test_words_begin_with_the_findings() -> None:
    got = run("analyse", str(DATA / "oats.csv"), *OATS)
    lines = got.stdout.splitlines()
    assert lines[0] == "oats.csv: Y, split-plot."
    assert any(line.startswith("N makes a difference") for line in lines[:6])
    assert "Checks" in lines and "<0.0001" in got.stdout


def test_other_separators_and_a_margin(tmp_path: Path) -> None:
    text = (DATA / "plant_growth.csv").read_text("utf-8").replace(",", ";")
    path = tmp_path / "other.csv"
    path.write_text(text, "utf-8")
    got = run("analyse", str(path), "--layout", "crd", "--response", "weight", "--treatments",
              "group", "--control", "ctrl", "--margin", "1.5", "--unit", "g", "--json")  # fmt: skip
    told = json.loads(got.stdout)
    assert [c["adjusted"] for c in told["contrasts"]] == ["dunnett", "dunnett"]
    assert all(c["no_worse"] is True for c in told["contrasts"])
    assert {c["unit"] for c in told["contrasts"]} == {"g"}


def test_a_trend_and_an_order() -> None:
    told = analysed("oats", *OATS, "--trend", "N")
    assert {"N linear", "N quadratic", "N cubic"} <= {row["term"] for row in told["findings"]}
    plain = analysed("turnip_density", "--layout", "rcb", "--response", "yield", "--treatments",
                     "spacing,density", "--blocks", "block", "--order", "1")  # fmt: skip
    assert {row["term"] for row in plain["findings"]} == {"spacing", "density"}


FAULTS = [
    (["--layout", "split-plot", "--response", "Y", "--blocks", "B"], 2, "needs --whole"),
    (["--layout", "rcb", "--response", "Z", "--treatments", "V", "--blocks", "B"], 2, "no column"),
    (["--layout", "wish", "--response", "Y"], 2, "no layout named"),
    (["--layout", "crd", "--response", "V", "--treatments", "N"], 2, "not a number"),
    (["--layout", "crd", "--response", "Y", "--treatments", "V", "--sub", "N"], 2, "has no --sub"),
    (["--layout", "crd", "--response", "Y", "--treatments", "V", "--control", "X"], 2, "no level"),
    (["--layout", "crd", "--response", "Y", "--treatments", "V", "--trend", "V"], 2, "no dose"),
    (["--layout", "crd", "--response", " ", "--treatments", "V"], 2, "holds the readings"),
]


@pytest.mark.parametrize(("words", "code", "why"), FAULTS)
def test_faults_say_what_and_where(words: list[str], code: int, why: str) -> None:
    got = run("analyse", str(DATA / "oats.csv"), *words, "--json")
    assert got.exit_code == code
    told = json.loads(got.stdout)["error"]
    assert why in told["what"] and told["where"]


BAD_FILES = {
    "empty": "",
    "head only": "a,b\n",
    "twice": "a,a\n1,2\n",
    "ragged": "a,b\n1,2\n3\n",
}


@pytest.mark.parametrize("name", BAD_FILES)
def test_files_that_are_no_tables_are_refused(name: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(BAD_FILES[name], "utf-8")
    got = run("analyse", str(path), "--layout", "crd", "--response", "a", "--treatments", "b")
    assert got.exit_code == 3 and "bad.csv" in got.stderr


def test_no_such_file_and_no_text(tmp_path: Path) -> None:
    words = ["--layout", "crd", "--response", "a", "--treatments", "b"]
    assert run("analyse", str(tmp_path / "none.csv"), *words).exit_code == 3
    path = tmp_path / "odd.csv"
    path.write_bytes(b"a,b\n\xff\xfe,1\n")
    got = run("analyse", str(path), *words)
    assert got.exit_code == 3 and "UTF-8" in got.stderr


def test_the_script_makes_the_same_analysis(tmp_path: Path, capsys) -> None:
    data = tmp_path / "oats.csv"
    data.write_text((DATA / "oats.csv").read_text("utf-8"), "utf-8")
    script = tmp_path / "again.py"
    got = run("analyse", str(data), *OATS, "--json", "--script", str(script))
    held = runpy.run_path(str(script))
    assert held["answer"]["findings"] == json.loads(got.stdout)["findings"]
    assert "N makes a difference" in capsys.readouterr().out


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("cli-trial") / "small.db"
    load_small(path)
    return path


def test_a_design_is_kept_by_name(record: Path) -> None:
    base = ["--record", str(record), "--on", "2026-06-05"]
    got = run("design", "spring", *base, "--treatments", "as usual,brushed", "--greens", "1,2",
              "--seed", "4", "--json")  # fmt: skip
    assert got.exit_code == 0, got.output
    told = json.loads(got.stdout)
    assert told["trial"]["seed"] == 4 and len(told["plan"]) == 8
    again = json.loads(run("design", "spring", *base, "--json").stdout)
    assert again["plan"] == told["plan"] and again["state"]["kept"] is True
    text = run("design", "spring", *base)
    assert "As usual or brushed?" in text.stdout.replace("spring: ", "")
    assert run("design", "autumn", *base).exit_code == 2
