"""What counts as a change of the record: rows do, answers that are kept do not."""

from __future__ import annotations

from greenwright import record
from tests.record.made import SMALL, load_folder
from tests.record.test_answers import keep, made_answer
from tests.record.test_forecasts import keep as keep_forecast


def test_a_load_is_a_change_and_a_kept_answer_is_none(store: record.Store) -> None:
    before, stamp, kept = store.last_change(), store.stamp(), store.stamp(kept=True)
    assert before > 0
    keep(store, made_answer())
    assert store.last_change() == before and store.stamp() == stamp
    assert store.stamp(kept=True) != kept
    load_folder(store, SMALL)
    assert store.last_change() > before and store.stamp() != stamp


def test_a_kept_forecast_changes_only_the_stamp_of_what_is_kept(store: record.Store) -> None:
    rows, kept = store.stamp(), store.stamp(kept=True)
    keep_forecast(store)
    later = store.stamp(kept=True)
    assert store.stamp() == rows and later != kept
    keep_forecast(store)
    assert store.stamp(kept=True) == later


def test_another_program_s_change_is_seen(store: record.Store) -> None:
    before = store.stamp()
    with record.open_store(store.path) as other:
        load_folder(other, SMALL)
    assert store.stamp() != before


def test_a_restored_record_is_another_one(store: record.Store, tmp_path) -> None:
    before = store.stamp(kept=True)
    record.backup(store, tmp_path / "backup.db")
    store.close()
    record.restore(tmp_path / "backup.db", store.path)
    with record.open_store(store.path) as again:
        assert again.stamp(kept=True) != before


def test_an_empty_store_has_had_no_change(tmp_path) -> None:
    with record.open_store(tmp_path / "empty.db", create=True) as store:
        assert store.last_change() == 0
