"""A small record, opened afresh for each test that may change it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from greenwright.desk import books
from tests.web.client import Client, client_of

ON = date(2026, 6, 5)
SMALL = Path(__file__).parents[1] / "data" / "record-small"


@pytest.fixture(scope="session")
def small_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Return the file of a record with the small example loaded."""
    path = tmp_path_factory.mktemp("small") / "small.db"
    with books.open_book(path, create=True) as store:
        books.load_paths(store, [SMALL], on=ON, who="test")
        books.backup(store, path.with_name("copy.db"))
    return path.with_name("copy.db").read_bytes()


@pytest.fixture
def small(small_bytes: bytes, tmp_path: Path) -> Iterator[Client]:
    """Return a client on a fresh copy of the small record."""
    path = tmp_path / "small.db"
    path.write_bytes(small_bytes)
    with client_of(path, ON) as client:
        yield client


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Client]:
    """Return a client on a record without a course."""
    with client_of(tmp_path / "empty.db", ON) as client:
        yield client
