"""Loads: rows read = kept + refused, the same adds nothing, a changed value is a revision."""

from __future__ import annotations

import json
from datetime import date, datetime
from pathlib import Path

import pytest

from greenwright import record
from greenwright.base.errors import BadInput, CannotAnswer, RefusedInput
from greenwright.base.values import FileCount, ParsedFile
from tests.record.made import (
    DAY,
    SMALL,
    course,
    load,
    load_folder,
    parsed,
    readings,
    refusal,
    roll,
)


def test_the_small_record_is_kept_and_refused_as_expected(empty: record.Store) -> None:
    report = load_folder(empty, SMALL)
    expected = json.loads((SMALL / "expected.json").read_text("utf-8"))
    counts = {
        n: {"read": c.read, "refused": c.refused, "kept": c.kept} for n, c in report.files.items()
    }
    assert counts == expected["files"]
    assert report.total.new == report.total.kept
    assert {(r.file, r.row, r.column) for r in report.refusals} == {
        (r["file"], r["row"], r["column"]) for r in expected["refusals"]
    }
    assert report.course == "heron" and not report.dry_run


def test_the_same_files_twice_add_nothing(small: record.Store) -> None:
    before = record.snapshot(small, None, on=DAY)
    report = load_folder(small, SMALL)
    assert (report.total.new, report.total.revised) == (0, 0)
    assert report.total.same == report.total.kept
    assert report.changes == ()
    assert record.snapshot(small, None, on=DAY) == before


def test_rows_alike_of_one_set_are_all_kept(store: record.Store) -> None:
    rolls = [roll(2.4), roll(2.4), roll(2.5)]
    assert load(store, parsed("readings", *rolls)).total.new == 3
    assert sorted(r.value for r in readings(store)) == [2.4, 2.4, 2.5]
    assert load(store, parsed("readings", *rolls)).total.same == 3


def test_a_changed_value_is_a_revision_and_shown(store: record.Store) -> None:
    load(store, parsed("readings", roll(2.4), roll(2.5)))
    report = load(store, parsed("readings", roll(2.4), roll(2.6)))
    assert report.total == FileCount(read=2, kept=2, refused=0, new=0, same=1, revised=1)
    shown = {(c.field, c.was, c.now, c.row) for c in report.changes}
    assert shown == {("value", "2.5", "2.6", 3), ("given", "2.5", "2.6", 3)}
    assert sorted(r.value for r in readings(store)) == [2.4, 2.6]


def test_another_way_to_write_the_same_value_changes_nothing(store: record.Store) -> None:
    load(store, parsed("readings", roll(2.4384, given="8 ft")))
    report = load(store, parsed("readings", roll(2.4384, given="96 in")))
    assert report.total.same == 1
    assert readings(store)[0].given == "8 ft"


def test_a_growing_file_adds_only_what_is_new(store: record.Store) -> None:
    load(store, parsed("readings", roll(2.4)))
    report = load(store, parsed("readings", roll(2.4), roll(2.5), roll(2.6, green="2")))
    assert (report.total.same, report.total.new) == (1, 2)


def test_a_file_that_says_what_it_said_does_not_undo_a_correction(store: record.Store) -> None:
    load(store, parsed("readings", roll(25.0)))
    row_id = readings(store)[0].id
    later = {"today": date(2026, 6, 6), "now": datetime(2026, 6, 6, 7), "who": "ana"}
    record.correct(store, "readings", row_id, {"value": 2.5}, course=None, why="typo", **later)
    assert load(store, parsed("readings", roll(25.0))).total.same == 1
    assert readings(store, date(2026, 6, 6))[0].value == 2.5
    assert load(store, parsed("readings", roll(2.7))).total.revised == 1
    assert load(store, parsed("readings", roll(25.0))).total.revised == 1


def test_a_withdrawn_row_does_not_come_back_by_itself(store: record.Store) -> None:
    load(store, parsed("readings", roll(2.4)))
    row_id = readings(store)[0].id
    made = {"today": DAY, "now": datetime(2026, 6, 5, 8), "who": "ana", "why": "wrong green"}
    record.withdraw(store, "readings", row_id, course=None, **made)
    assert load(store, parsed("readings", roll(2.4))).total.same == 1
    assert readings(store) == ()
    assert load(store, parsed("readings", roll(2.6))).total.revised == 1
    assert readings(store)[0].value == 2.6


def test_an_id_given_twice_with_other_content_is_one_row_with_two_revisions(
    store: record.Store,
) -> None:
    own = "0b1e2c3d-0000-4000-8000-000000000001"
    report = load(store, parsed("readings", roll(2.4, id=own), roll(2.5, id=own)))
    assert (report.total.new, report.total.revised) == (1, 1)
    assert [r.value for r in readings(store)] == [2.5]
    assert [r.number for r in record.revisions(store, "readings", own, course=None)] == [1, 2]


def test_two_sources_of_one_file_are_added_up(store: record.Store) -> None:
    one, two = parsed("readings", roll(2.4)), parsed("readings", roll(2.4), roll(2.5))
    report = load(store, one, two)
    assert report.files["readings.csv"] == FileCount(read=3, kept=3, new=2, same=1)


def test_a_dry_run_counts_everything_and_writes_nothing(store: record.Store) -> None:
    load(store, parsed("readings", roll(2.4)))
    before = len(record.loads(store, course=None))
    file = parsed("readings", roll(2.9), roll(2.5), refusals=(refusal(),))
    dry = load(store, file, dry_run=True)
    assert dry.dry_run and dry.load_id is None
    assert len(record.loads(store, course=None)) == before
    assert [r.value for r in readings(store)] == [2.4]
    real = load(store, file)
    assert (real.files, real.changes, real.refusals) == (dry.files, dry.changes, dry.refusals)


def test_all_or_nothing_writes_nothing_when_a_row_was_refused(store: record.Store) -> None:
    file = parsed("readings", roll(), refusals=(refusal(),))
    report = load(store, file, all_or_nothing=True)
    assert report.load_id is None and not report.dry_run
    assert report.total.read == report.total.kept + report.total.refused == 2
    assert readings(store) == ()
    assert load(store, parsed("readings", roll()), all_or_nothing=True).load_id is not None
    assert len(readings(store)) == 1


def test_a_load_is_noted_with_its_refusals(store: record.Store) -> None:
    file = ParsedFile("readings", "june.xlsx: readings", 1, (), (refusal(),), ("wind",), "ab" * 32)
    load(store, file, why="June", ignored=("notes.txt",))
    last = record.loads(store, course=None)[0]
    assert (last.who, last.why, last.today) == ("ana", "June", "2026-06-05")
    assert (last.files[0].source, last.files[0].sha256) == ("june.xlsx: readings", "ab" * 32)
    assert last.files[0].count == FileCount(read=1, kept=0, refused=1)
    assert last.files[0].unknown_columns == ("wind",)
    assert last.refusals == (refusal(),)
    assert last.ignored == ("notes.txt",)
    assert record.loads(store, course=None, limit=1) == (last,)
    assert len(record.loads(store, course=None)) == 2


def test_a_row_that_went_missing_on_the_way_stops_the_load(store: record.Store) -> None:
    lost = ParsedFile("rounds", "rounds.csv", 3, parsed("rounds", {"date": DAY}).rows)
    with pytest.raises(RefusedInput, match="3 rows were read but 1 kept"):
        load(store, lost)
    assert len(record.loads(store, course=None)) == 1


def test_a_first_load_without_a_course_is_explained(empty: record.Store) -> None:
    with pytest.raises(CannotAnswer, match=r"no course yet.*course\.csv"):
        load(empty, parsed("readings", roll()))
    assert record.courses(empty) == ()


def test_a_refused_course_explains_itself(empty: record.Store) -> None:
    bad = parsed("course", refusals=(refusal(2),))
    with pytest.raises(CannotAnswer, match="not a number"):
        load(empty, bad, parsed("readings", roll()))


def test_several_courses_in_one_load_are_refused(empty: record.Store) -> None:
    with pytest.raises(BadInput, match="several courses"):
        load(empty, course("heron"), course("otter"))


def test_nobody_may_write_without_a_name(store: record.Store) -> None:
    with pytest.raises(BadInput, match="nobody is named"):
        load(store, parsed("readings", roll()), who=" ")


def test_a_thousand_known_rows_are_found_again_in_parts(store: record.Store) -> None:
    # More rows than one query asks for at once, and fewer than make it read the whole file.
    rows = [roll(2.0 + i / 1000, observer=f"o{i}") for i in range(1200)]
    assert load(store, parsed("readings", *rows)).total.new == 1200
    changed = [r | {"value": 1.5} if i % 10 == 0 else r for i, r in enumerate(rows)]
    report = load(store, parsed("readings", *changed))
    assert (report.total.same, report.total.revised) == (1080, 120)


def test_many_known_rows_are_found_again_at_once(
    store: record.Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("greenwright.record.sorting_out.SCAN", 10)
    rows = [roll(2.5, observer=f"o{i}") for i in range(50)]
    load(store, parsed("readings", *rows))
    assert load(store, parsed("readings", *rows)).total.same == 50


def test_workbook_and_folder_give_the_same_rows(store: record.Store, tmp_path: Path) -> None:
    # The source's name is no part of a row's identity.
    load(store, parsed("readings", roll(), source="readings.csv"))
    assert load(store, parsed("readings", roll(), source="book.xlsx: readings")).total.same == 1
