"""A store holding the small example record."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from greenwright.desk import books
from greenwright.record import Store
from tests.desk.records import load_small


@pytest.fixture(scope="module")
def small_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("record") / "small.db"
    load_small(path)
    return path


@pytest.fixture
def small(small_path: Path) -> Iterator[Store]:
    with books.open_book(small_path) as store:
        yield store
