"""A small invented course, played for some months: enough to learn from, quick to make."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from greenwright import simulate
from greenwright.desk import books
from greenwright.record import Store

PLAYED_ON = date(2026, 6, 5)
GREENS = ("1", "2", "3")


def load_played(folder: Path, *, days: int = 100) -> Path:
    """Make the course's record file in a folder, and return its path."""
    made = simulate.course(5, today=PLAYED_ON, world=simulate.World(greens=len(GREENS), days=days))
    simulate.write_record(made, folder / "files")
    path = folder / "played.db"
    with books.open_book(path, create=True) as store:
        books.load_paths(store, [folder / "files"], on=PLAYED_ON)
    return path


@contextmanager
def opened(path: Path) -> Iterator[Store]:
    """Open a record for as long as it is needed."""
    with books.open_book(path) as store:
        yield store
