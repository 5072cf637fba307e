"""Exports are safe, faithful and the same each time: load(export(x)) = x."""

from __future__ import annotations

import csv
import json
from datetime import date, time
from pathlib import Path

import pytest

from greenwright import record
from greenwright.base.errors import StoreError
from greenwright.base.values import Snapshot
from greenwright.record.exporting import DANGEROUS
from tests.record.made import DAY, NOW, WHO, load, load_folder, parsed, readings, roll
from tests.record.test_answers import made_answer

EVER = date(2100, 1, 1)


def again(store: record.Store, folder: Path) -> Snapshot:
    """Return the record after export and loading into a new store."""
    record.export_record(store, folder / "out", course=None)
    with record.open_store(folder / "again.db", create=True) as other:
        report = load_folder(other, folder / "out")
        assert report.refusals == ()
        return record.snapshot(other, None, on=EVER)


def cells(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / name).open(newline="", encoding="utf-8") as text:
        return list(csv.DictReader(text))


def test_the_small_record_comes_back_the_same(small: record.Store, tmp_path: Path) -> None:
    assert again(small, tmp_path) == record.snapshot(small, None, on=EVER)


def test_an_export_loaded_into_its_own_record_adds_nothing(
    small: record.Store, tmp_path: Path
) -> None:
    row = readings(small)[0]
    record.correct(small, "readings", row.id, {"green": "2"}, course=None, why="w", **WHO)
    record.withdraw(small, "readings", readings(small)[3].id, course=None, why="w", **WHO)
    record.export_record(small, tmp_path / "out", course=None)
    report = load_folder(small, tmp_path / "out")
    assert (report.total.new, report.total.revised, report.total.refused) == (0, 0, 0)


def test_equal_content_gives_equal_bytes(small: record.Store, tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    record.export_record(small, one, course=None)
    record.export_record(small, two, course=None)
    names = sorted(p.relative_to(one) for p in one.rglob("*") if p.is_file())
    assert names == sorted(p.relative_to(two) for p in two.rglob("*") if p.is_file())
    assert all((one / n).read_bytes() == (two / n).read_bytes() for n in names)


def test_quantities_keep_the_way_they_were_written(small: record.Store, tmp_path: Path) -> None:
    record.export_record(small, tmp_path / "out", course=None)
    written = {(r["value"], r["unit"]) for r in cells(tmp_path / "out", "readings.csv")}
    # As readings.csv of the small record has them.
    assert {("8'0\"", ""), ("8 ft", ""), ("96 in", "")} < written


@pytest.mark.parametrize("start", DANGEROUS)
def test_no_text_cell_is_a_live_formula(store: record.Store, tmp_path: Path, start: str) -> None:
    text = f"{start}cmd|' /C calc'!A1"
    row = roll(instrument=text, note=text, station=text.strip(), other={"sky": text})
    load(store, parsed("greens", {"green": "1"}), parsed("readings", row))
    seen = again(store, tmp_path).readings[0]
    assert (seen.instrument, seen.note, seen.other) == (text, text, {"sky": text})
    for name in ("readings.csv", "history/readings.csv"):
        for line in cells(tmp_path / "out", name):
            live = [c for n, c in line.items() if c.startswith(DANGEROUS) and c[0] != "'"]
            assert live == []


def test_a_negative_number_stays_a_number(store: record.Store, tmp_path: Path) -> None:
    row = roll(-30.0, kind="end_offset", unit="mm", given="")
    load(store, parsed("stations", {"green": "1", "station": "C", "slope_pct": -0.3}))
    load(store, parsed("readings", row))
    record.export_record(store, tmp_path / "out", course=None)
    assert cells(tmp_path / "out", "stations.csv")[0]["slope_pct"] == "-0.3"
    assert cells(tmp_path / "out", "readings.csv")[0]["value"] == "-30.0"


def test_the_package_describes_every_file(small: record.Store, tmp_path: Path) -> None:
    record.export_record(small, tmp_path / "out", course=None)
    package = json.loads((tmp_path / "out" / "datapackage.json").read_text("utf-8"))
    assert package["greenwright"] == {"format": 1, "escaped": True, "course": "heron"}
    by_name = {r["name"]: r for r in package["resources"]}
    for resource in by_name.values():
        with (tmp_path / "out" / resource["path"]).open(newline="") as text:
            header = next(csv.reader(text))
        assert [f["name"] for f in resource["schema"]["fields"]] == header
    weather = {f["name"]: f for f in by_name["weather"]["schema"]["fields"]}
    # UCUM: Cel is the degree Celsius, MJ/m2 the megajoule for the square metre.
    assert weather["t_min_c"]["unit"] == "Cel" and weather["solar_mj_m2"]["unit"] == "MJ/m2"
    assert weather["date"]["type"] == "date" and weather["t_min_c"]["type"] == "number"
    assert by_name["greens"]["schema"]["primaryKey"] == ["green"]
    assert "primaryKey" not in by_name["readings"]["schema"]


def test_history_and_advice_are_written(store: record.Store, tmp_path: Path) -> None:
    load(store, parsed("rounds", {"date": DAY, "rounds": 60.0}))
    load(store, parsed("rounds", {"date": DAY, "rounds": 62.0}), why="counted again")
    record.keep_answer(store, made_answer(), course=None, now=NOW)
    record.export_record(store, tmp_path / "out", course=None)
    past = cells(tmp_path / "out", "history/rounds.csv")
    assert [(p["number"], p["rounds"], p["why"]) for p in past] == [
        ("1", "60.0", ""),
        ("2", "62.0", "counted again"),
    ]
    assert json.loads(cells(tmp_path / "out", "advice.csv")[0]["answer"]) == made_answer().as_dict()


def test_an_id_is_written_only_where_a_row_needs_it(store: record.Store, tmp_path: Path) -> None:
    own = "0b1e2c3d-0000-4000-8000-000000000001"
    load(store, parsed("readings", roll(), roll(2.6), roll(2.7, observer="ben", id=own)))
    record.export_record(store, tmp_path / "out", course=None)
    assert sorted(r["id"] for r in cells(tmp_path / "out", "readings.csv")) == ["", "", own]
    load(store, parsed("rounds", {"date": DAY, "rounds": 60.0}))
    record.export_record(store, tmp_path / "out", course=None)
    assert "id" not in cells(tmp_path / "out", "rounds.csv")[0]


def test_an_earlier_export_is_replaced_and_nothing_else(
    store: record.Store, small: record.Store, tmp_path: Path
) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "letter.txt").write_text("keep me")
    with pytest.raises(StoreError, match="other files than an earlier export"):
        record.export_record(small, mine, course=None)
    assert [p.name for p in mine.iterdir()] == ["letter.txt"]


def test_files_of_an_earlier_export_do_not_linger(store: record.Store, tmp_path: Path) -> None:
    load(store, parsed("rounds", {"date": DAY, "rounds": 60.0}))
    record.export_record(store, tmp_path / "out", course=None)
    row = record.snapshot(store, None, on=DAY).rounds[0]
    record.withdraw(store, "rounds", row.id, course=None, why="w", **WHO)
    done = record.export_record(store, tmp_path / "out", course=None)
    assert not (tmp_path / "out" / "rounds.csv").exists()
    assert (tmp_path / "out" / "history" / "rounds.csv").exists()
    assert done.rows == {"course": 1}


def test_times_with_seconds_come_back(store: record.Store, tmp_path: Path) -> None:
    times = [time(6), time(6, 5), time(6, 5, 7), time(0)]
    load(store, parsed("greens", {"green": "1"}))
    load(store, parsed("readings", *(roll(time=t) for t in times)))
    assert sorted(r.time for r in again(store, tmp_path).readings) == sorted(times)
