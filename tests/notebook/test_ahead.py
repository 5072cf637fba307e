"""Forecast and why from a notebook."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

import greenwright.notebook as gw
from greenwright.base.errors import BadInput
from greenwright.desk import backtest
from tests.desk.played import GREENS, PLAYED_ON, load_played


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[gw.Book]:
    with gw.open(load_played(tmp_path_factory.mktemp("played"))) as opened:
        yield opened


def test_a_forecast_is_a_frame_of_days_and_greens(book: gw.Book) -> None:
    table = book.forecast(on=PLAYED_ON, days=2).table
    assert set(table["green"]) == {"course", *GREENS}
    assert table["date"].nunique() == 2


def test_a_change_and_a_difference(book: gw.Book) -> None:
    changed = book.why(on=PLAYED_ON, frm="2026-05-20", until="2026-06-01", green="1")
    assert changed.answer.more["from"].isoformat() == "2026-05-20"
    assert set(changed.table["part"]) >= {"weather", "growth", "green", "unexplained", "total"}
    differs = book.why(on=PLAYED_ON, green="2", against="1")
    assert differs.answer.more["against"] == "1"


def test_past_forecasts_are_judged_in_a_frame(
    book: gw.Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(backtest, "BACK_D", backtest.EVERY_D)  # one past day is enough here
    told = book.track(on=PLAYED_ON)
    assert told.answer.more["mode"] == "backtest"
    assert set(told.table["what"]) >= {"coverage", "mean_error", "skill"}


def test_a_day_that_is_none_is_refused(book: gw.Book) -> None:
    with pytest.raises(BadInput, match="not a day"):
        book.why(on=PLAYED_ON, frm="in May")
    with pytest.raises(BadInput, match="1 to 14"):
        book.forecast(on=PLAYED_ON, days=40)
