"""Paths: what is read, what is ignored by name, what our own export escaped."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from greenwright.base.errors import RefusedInput
from greenwright.base.values import Known
from greenwright.intake import read_paths
from tests.intake.conftest import COURSE, TODAY

ROUNDS = "date,rounds\n2026-06-01,60\n"


def test_a_single_file_and_its_checksum(tmp_path):
    path = tmp_path / "rounds.csv"
    path.write_text(ROUNDS)
    (file,), ignored = read_paths([path], today=TODAY)
    assert (file.name, file.source, file.read, ignored) == ("rounds", "rounds.csv", 1, ())
    assert file.sha256 == hashlib.sha256(ROUNDS.encode()).hexdigest()


def test_what_is_not_of_the_record_is_listed(tmp_path):
    for name in ("README.md", "advice.csv", "greens.geojson", "green-1.asc", "datapackage.json"):
        (tmp_path / name).write_text("{}")
    (tmp_path / "history").mkdir()
    parsed, ignored = read_paths([tmp_path], today=TODAY)
    assert parsed == ()
    later = "(kept for a later version)"
    assert set(ignored) == {
        "README.md", "advice.csv", f"greens.geojson {later}", f"green-1.asc {later}", "history/"
    }  # fmt: skip


@pytest.mark.parametrize("name", ["nothing.csv", "odd.csv", "notes.txt"])
def test_a_named_path_that_is_not_of_the_record_is_an_error(tmp_path, name):
    if name != "nothing.csv":
        (tmp_path / name).write_text("x")
    with pytest.raises(RefusedInput):
        read_paths([tmp_path / name], today=TODAY)


def test_nothing_is_written(tmp_path):
    (tmp_path / "rounds.csv").write_text(ROUNDS)
    before = {p: p.stat().st_mtime_ns for p in tmp_path.iterdir()}
    read_paths([tmp_path], today=TODAY)
    assert {p: p.stat().st_mtime_ns for p in tmp_path.iterdir()} == before


NOTES = ["=1+1", "+1", "-0.3", "@x", "'quoted", "''", "plain", "it's"]


def _notes(folder: Path, *, escaped: bool) -> list[str]:
    lines = ["date,rounds,note"]
    for day, note in enumerate(NOTES, 1):
        dangerous = note[0] in "=+-@'"
        lines.append(f"2026-05-{day:02d},60,{chr(39) if escaped and dangerous else ''}{note}")
    (folder / "rounds.csv").write_text("\n".join(lines))
    (file,), _ = read_paths([folder], today=TODAY)
    return [row.fields["note"] for row in file.rows]


def test_our_own_export_loses_exactly_one_apostrophe(tmp_path):
    assert _notes(tmp_path, escaped=False) == NOTES
    package = {"greenwright": {"escaped": True}}
    (tmp_path / "datapackage.json").write_text(json.dumps(package))
    assert _notes(tmp_path, escaped=True) == NOTES


@pytest.mark.parametrize("package", ["", "[]", "{", '{"greenwright": 1}', '{"greenwright": {}}'])
def test_another_package_escapes_nothing(tmp_path, package):
    (tmp_path / "datapackage.json").write_text(package)
    assert _notes(tmp_path, escaped=False) == NOTES


def test_known_greens_are_added_to_those_there_are(tmp_path):
    (tmp_path / "greens.csv").write_text("green,group\n4,C\n")
    (tmp_path / "work.csv").write_text(
        "date,green,practice\n2026-06-01,1;4,roll\n2026-06-01,C,roll\n"
    )
    (_, work), _ = read_paths([tmp_path], today=TODAY, known=COURSE)
    assert len(work.rows) == 2
    (_, work), _ = read_paths([tmp_path], today=TODAY, known=Known())
    assert [r.row for r in work.refusals] == [2]


def test_an_escaped_column_name_comes_back_as_it_was(tmp_path):
    (tmp_path / "rounds.csv").write_text("date,rounds,'=x,'tis\n2026-05-01,60,a,b\n", "utf-8")
    (tmp_path / "datapackage.json").write_text('{"greenwright": {"escaped": true}}', "utf-8")
    (parsed,), _ = read_paths([tmp_path], today=TODAY)
    assert parsed.unknown_columns == ("=x", "'tis")
    assert parsed.rows[0].fields["other"] == {"=x": "a", "'tis": "b"}
