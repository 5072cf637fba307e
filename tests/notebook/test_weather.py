"""Weather from a notebook."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

import greenwright.notebook as gw
from greenwright.base.errors import BadInput
from tests.desk.records import load_small

DAY = "2026-06-05"


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[gw.Book]:
    path: Path = tmp_path_factory.mktemp("weather") / "small.db"
    load_small(path)
    with gw.open(path) as opened:
        yield opened


def test_weather_is_a_frame_of_days_and_quantities(book: gw.Book) -> None:
    table = book.weather(on=DAY, days=2).table
    assert {"growth_potential", "eto", "deficit", "degree_days"} <= set(table["quantity"])
    assert str(max(table["date"]))[:10] == "2026-06-07"


def test_its_settings(book: gw.Book) -> None:
    held = book.weather(on=DAY, crop_coefficient=0.6, threshold="dollar_spot=0.4").answer
    assert {g["crop_coefficient"] for g in held.more["water"]["greens"]} == {0.6}
    with pytest.raises(BadInput):
        book.weather(on=DAY, root_depth_m=40.0)
