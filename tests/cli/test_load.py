"""greenwright load: the small record is kept and refused exactly as it must be."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import SMALL, Call, Called

DAY = ("--on", "2026-06-05")
# What the makers of the small record say a correct load keeps and refuses.
EXPECTED = json.loads((SMALL / "expected.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def first(call: Call, tmp_path_factory: pytest.TempPathFactory) -> tuple[Called, Path]:
    path = tmp_path_factory.mktemp("load") / "course.db"
    return call("load", SMALL, "--record", path, *DAY, "--json", "--who", "ana"), path


def test_every_row_is_kept_or_refused_by_name(first: tuple[Called, Path]) -> None:
    called, path = first
    assert called.code == 3 and path.exists()
    got = called.json
    counts = {n: {k: c[k] for k in ("read", "kept", "refused")} for n, c in got["files"].items()}
    assert counts == EXPECTED["files"]
    for word in ("read", "kept", "refused"):
        assert got[word] == sum(count[word] for count in EXPECTED["files"].values())
    assert got["read"] == got["kept"] + got["refused"]


def test_refusals_name_file_row_and_column(first: tuple[Called, Path]) -> None:
    got = first[0].json["refusals"]
    assert [(r["file"], r["row"], r["column"]) for r in got] == [
        (r["file"], r["row"], r["column"]) for r in EXPECTED["refusals"]
    ]
    assert all(r["why"] for r in got) and all("value" in r for r in got)


def test_making_a_record_is_told_apart_from_the_answer(first: tuple[Called, Path]) -> None:
    called, path = first
    assert f"Made a new record: {path}" in called.err
    assert "Made a new record" not in called.out


def test_loading_twice_adds_nothing(first: tuple[Called, Path], call: Call) -> None:
    again = call("load", SMALL, "--record", first[1], *DAY, "--json")
    assert again.code == 3 and "Made a new record" not in again.err
    files = again.json["files"].values()
    assert all(count["new"] == count["revised"] == 0 for count in files)
    assert sum(count["same"] for count in files) == again.json["kept"]
    assert again.json["changes"] == []


def test_words_say_the_same(small: Path, call: Call) -> None:
    told = call("load", SMALL, "--record", small, *DAY).out
    # 96 kept, 109 read, 13 refused: the sums of expected.json, added by hand
    assert "Kept 96 of 109 rows read, refused 13." in told
    assert "readings.csv row 32, green '9'" in told and "weather.csv row 26" in told
    assert "left alone: README.md, expected.json" in told


def test_a_dry_run_writes_nothing(tmp_path: Path, call: Call) -> None:
    path = tmp_path / "none.db"
    dry = call("load", SMALL, "--record", path, *DAY, "--dry-run")
    assert dry.code == 3 and dry.out.startswith("Would keep 96 of 109")
    assert list(tmp_path.iterdir()) == []


def test_all_or_nothing_keeps_nothing(tmp_path: Path, call: Call) -> None:
    path = tmp_path / "all.db"
    got = call("load", SMALL, "--record", path, *DAY, "--all-or-nothing", "--json")
    assert got.code == 3 and got.json["written"] is False
    assert not path.exists()
    words = call("load", SMALL, "--record", path, *DAY, "--all-or-nothing").out
    assert "Nothing was written" in words


def test_a_changed_value_is_shown_before_and_after(small: Path, tmp_path: Path, call: Call) -> None:
    text = (SMALL / "rounds.csv").read_text(encoding="utf-8").replace(",62", ",64")
    (tmp_path / "rounds.csv").write_text(text, encoding="utf-8")
    dry = call("load", tmp_path, "--record", small, *DAY, "--dry-run")
    assert dry.code == 0 and "Would change" in dry.out and "62" in dry.out and "64" in dry.out
    done = call("load", tmp_path, "--record", small, *DAY, "--json", "--why", "miscounted")
    assert done.code == 0 and done.json["files"]["rounds.csv"]["revised"] == 1
    back = call("load", SMALL / "rounds.csv", "--record", small, *DAY, "--json")
    assert back.json["files"]["rounds.csv"]["revised"] == 1


@pytest.mark.parametrize("name", ["no-such-folder", "notes.txt"])
def test_a_path_that_is_no_record_leaves_no_file_behind(
    tmp_path: Path, call: Call, name: str
) -> None:
    (tmp_path / "notes.txt").write_text("hello", encoding="utf-8")
    path = tmp_path / "new.db"
    got = call("load", tmp_path / name, "--record", path, *DAY)
    assert got.code in (1, 2, 3) and got.err.startswith("greenwright: ")
    assert not path.exists() and "Traceback" not in got.err
