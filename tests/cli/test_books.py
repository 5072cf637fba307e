"""greenwright export, audit, backup, restore, demo."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Call

DAY = ("--on", "2026-06-05")


def today(call: Call, path: Path) -> dict:
    got = call("ask", "today", "--record", path, *DAY, "--json").json
    got["made_by"].pop("seconds")
    return got


def test_a_sound_record_is_called_sound(small: Path, call: Call) -> None:
    assert call("audit", "--record", small).out.strip() == "The record is sound."
    assert call("audit", "--record", small, "--json").json == {"sound": True, "problems": []}


def test_a_backup_restored_answers_the_same(small: Path, tmp_path: Path, call: Call) -> None:
    copy, back = tmp_path / "copy.db", tmp_path / "back.db"
    assert call("backup", copy, "--record", small).code == 0
    assert call("restore", copy, "--record", back).code == 0
    assert today(call, back) == today(call, small)


def test_restore_keeps_what_it_replaces(small: Path, tmp_path: Path, call: Call) -> None:
    copy, there = tmp_path / "copy.db", tmp_path / "there.db"
    call("backup", copy, "--record", small)
    there.write_bytes(b"mine")
    got = call("restore", copy, "--record", there)
    assert got.code == 0 and "is kept as" in got.out
    aside = [path for path in tmp_path.iterdir() if path.read_bytes() == b"mine"]
    assert len(aside) == 1 and aside[0].name in got.out


def test_a_damaged_backup_is_refused(small: Path, tmp_path: Path, call: Call) -> None:
    copy = tmp_path / "copy.db"
    call("backup", copy, "--record", small)
    copy.write_bytes(copy.read_bytes()[: copy.stat().st_size // 2])
    got = call("restore", copy, "--record", tmp_path / "new.db")
    assert got.code == 1 and "copy.db" in got.err and not (tmp_path / "new.db").exists()


def test_what_is_exported_loads_again(small: Path, tmp_path: Path, call: Call) -> None:
    folder, other = tmp_path / "out", tmp_path / "other.db"
    assert call("export", folder, "--record", small).code == 0
    assert (folder / "datapackage.json").exists() and (folder / "readings.csv").exists()
    got = call("load", folder, "--record", other, *DAY, "--json")
    assert got.code == 0 and got.json["refused"] == 0, got.json["refusals"]
    assert today(call, other) == today(call, small)


@pytest.mark.parametrize("words", [("export", "x"), ("audit",), ("backup", "x")])
def test_without_a_record_there_is_nothing_to_do(
    tmp_path: Path, call: Call, words: tuple[str, ...]
) -> None:
    got = call(words[0], *(tmp_path / w for w in words[1:]), "--record", tmp_path / "none.db")
    assert got.code == 1 and "none.db" in got.err and not list(tmp_path.iterdir())


@pytest.fixture(scope="module")
def demo(call: Call, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    made = call("demo", "--record", path, "--on", "2026-06-12")
    assert made.code == 0, made.err
    assert "invented" in made.out
    return path


def test_the_demo_answers_today(demo: Path, call: Call) -> None:
    got = call("ask", "today", "--record", demo, "--on", "2026-06-12", "--json")
    assert got.code == 0
    greens = {f["green"] for f in got.json["findings"]}
    assert len(greens) >= 19  # eighteen greens and the course


def test_the_demo_does_not_overwrite(demo: Path, call: Call) -> None:
    before = demo.stat().st_size
    got = call("demo", "--record", demo)
    assert got.code == 2 and "exists already" in got.err and demo.stat().st_size == before


def test_the_demo_exports_as_json_package(demo: Path, tmp_path: Path, call: Call) -> None:
    assert call("export", tmp_path / "d", "--record", demo).code == 0
    package = json.loads((tmp_path / "d" / "datapackage.json").read_text(encoding="utf-8"))
    assert {"readings", "work", "weather"} <= {r["name"] for r in package["resources"]}
