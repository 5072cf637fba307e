"""An empty store, one with a course, and one that holds the small example record."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from greenwright import record
from tests.record import made


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "greenwright.db"


@pytest.fixture
def empty(path: Path) -> Iterator[record.Store]:
    with record.open_store(path, create=True) as store:
        yield store


@pytest.fixture
def store(empty: record.Store) -> record.Store:
    made.load(empty, made.course())
    return empty


@pytest.fixture
def small(empty: record.Store) -> record.Store:
    made.load_folder(empty, made.SMALL)
    return empty
