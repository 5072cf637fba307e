"""What counts as a change of the record: rows do, answers that are kept do not."""

from __future__ import annotations

from greenwright import record
from tests.record.made import SMALL, load_folder
from tests.record.test_answers import keep, made_answer


def test_a_load_is_a_change_and_a_kept_answer_is_none(store: record.Store) -> None:
    before, stamp = store.last_change(), store.stamp()
    assert before > 0
    keep(store, made_answer())
    assert store.last_change() == before and store.stamp() != stamp
    load_folder(store, SMALL)
    assert store.last_change() > before


def test_an_empty_store_has_had_no_change(tmp_path) -> None:
    with record.open_store(tmp_path / "empty.db", create=True) as store:
        assert store.last_change() == 0
