"""The small record made by hand: every row kept or refused exactly as its expected.json says."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from greenwright.intake import read_paths

FOLDER = Path(__file__).parents[1] / "data" / "record-small"
EXPECTED = json.loads((FOLDER / "expected.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def parsed():
    files, ignored = read_paths([FOLDER], today=date.fromisoformat(EXPECTED["as_of"]))
    assert ignored == ("README.md", "expected.json")
    return files


def test_counts_of_every_file(parsed):
    counts = {
        f"{f.name}.csv": {"read": f.read, "refused": len(f.refusals), "kept": len(f.rows)}
        for f in parsed
    }
    assert counts == EXPECTED["files"]


def test_every_refusal_by_file_row_and_column(parsed):
    found = sorted((r.file, r.row, r.column) for f in parsed for r in f.refusals)
    assert found == sorted((r["file"], r["row"], r["column"]) for r in EXPECTED["refusals"])


def test_every_refusal_says_what_to_do(parsed):
    for refusal in (r for f in parsed for r in f.refusals):
        assert refusal.why and refusal.do


def test_refusals_show_the_cell_as_written(parsed):
    shown = {(r.file, r.row): r.value for f in parsed for r in f.refusals}
    # the cells of the folder, by eye
    assert shown[("readings.csv", 38)] == "nan"
    assert shown[("weather.csv", 26)] == "12"
    assert shown[("work.csv", 11)] == "-1"


def test_six_writings_of_eight_and_twelve_feet(parsed):
    readings = next(f for f in parsed if f.name == "readings")
    values = [row.fields["value"] for row in readings.rows[:6]]
    # by hand: 8 ft = 2.4384 m, 12 ft = 3.6576 m
    assert values == pytest.approx([2.4384] * 3 + [3.6576] * 3, abs=1e-12)
    assert [row.fields["given"] for row in readings.rows[:3]] == ["8'0\"", "8 ft", "96 in"]


def test_files_come_in_the_order_of_loading(parsed):
    assert [f.name for f in parsed][:4] == ["course", "greens", "stations", "readings"]
    assert all(len(f.sha256) == 64 for f in parsed)
