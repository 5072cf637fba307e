"""Corrections and withdrawals: a new revision with who, when and why; the old ones stay."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from greenwright import record
from greenwright.base.errors import BadInput, UnknownKey
from tests.record.made import DAY, load, parsed, readings, roll

LATER = {"today": date(2026, 6, 6), "now": datetime(2026, 6, 6, 8, 30), "who": "ben"}


@pytest.fixture
def row_id(store: record.Store) -> str:
    load(store, parsed("readings", roll(2.4384, given="8 ft", note="dew", other={"wind": "N"})))
    return readings(store)[0].id


def correct(store: record.Store, row_id: str, why: str = "typo", **fields: object):
    return record.correct(store, "readings", row_id, fields, course=None, why=why, **LATER)


def test_a_correction_is_a_revision(store: record.Store, row_id: str) -> None:
    made = correct(store, row_id, value=2.5)
    assert (made.number, made.known, made.who, made.why) == (2, date(2026, 6, 6), "ben", "typo")
    assert made.recorded_at == "2026-06-06T08:30:00"
    assert made.fields["value"] == 2.5 and made.fields["note"] == "dew"
    first, second = record.revisions(store, "readings", row_id, course=None)
    assert first.fields["value"] == 2.4384 and first.who == "ana"
    assert second == made
    assert readings(store, DAY)[0].value == 2.4384
    assert readings(store, date(2026, 6, 6))[0].value == 2.5


def test_the_old_writing_goes_with_the_old_value(store: record.Store, row_id: str) -> None:
    assert "given" not in correct(store, row_id, value=2.5).fields
    assert correct(store, row_id, value=2.7432, given="9 ft").fields["given"] == "9 ft"
    assert correct(store, row_id, note="").fields["given"] == "9 ft"


def test_none_empties_a_cell_and_what_is_not_named_stays(store: record.Store, row_id: str) -> None:
    made = correct(store, row_id, note=None, observer="ben")
    assert "note" not in made.fields
    assert (made.fields["observer"], made.fields["other"]) == ("ben", {"wind": "N"})
    assert "other" not in correct(store, row_id, other=None).fields


def test_a_correction_that_changes_nothing_writes_nothing(store: record.Store, row_id: str) -> None:
    assert correct(store, row_id, observer="ana").number == 1
    assert len(record.revisions(store, "readings", row_id, course=None)) == 1


def test_a_reason_is_needed(store: record.Store, row_id: str) -> None:
    with pytest.raises(BadInput, match="needs a reason"):
        correct(store, row_id, why=" ", value=2.5)


def test_what_cannot_be_corrected_is_refused(store: record.Store, row_id: str) -> None:
    with pytest.raises(BadInput, match="no such column"):
        correct(store, row_id, colour="green")
    with pytest.raises(UnknownKey, match="no row 'nothing'"):
        correct(store, "nothing", value=2.5)
    key = record.courses(store)[0].id
    with pytest.raises(BadInput, match="never changes"):
        record.correct(store, "course", key, {"course": "x"}, course=None, why="w", **LATER)


def test_a_row_may_be_corrected_in_what_identifies_it(store: record.Store, row_id: str) -> None:
    made = correct(store, row_id, green="2")
    assert (made.id, made.fields["green"]) == (row_id, "2")
    # The old row, loaded again, is still known under its old identity: nothing new.
    assert load(store, parsed("readings", roll(2.4384, given="8 ft", note="dew"))).total.new == 0


def test_a_withdrawn_row_keeps_its_history(store: record.Store, row_id: str) -> None:
    made = record.withdraw(store, "readings", row_id, course=None, why="not ours", **LATER)
    assert (made.number, made.fields) == (2, {})
    again = record.withdraw(store, "readings", row_id, course=None, why="again", **LATER)
    assert again.number == 2
    assert readings(store, date(2026, 6, 6)) == ()
    assert record.browse(store, "readings", course=None) == ((), 0)


def test_correcting_a_withdrawn_row_brings_it_back(store: record.Store, row_id: str) -> None:
    record.withdraw(store, "readings", row_id, course=None, why="not ours", **LATER)
    assert correct(store, row_id, why="ours after all").number == 3
    assert len(readings(store, date(2026, 6, 6))) == 1
    assert record.audit(store) == ()


def test_a_course_cannot_be_withdrawn(store: record.Store) -> None:
    key = record.courses(store)[0].id
    with pytest.raises(BadInput, match="cannot be withdrawn"):
        record.withdraw(store, "course", key, course=None, why="w", **LATER)
