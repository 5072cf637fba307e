"""The small example record, loaded once for each test that wants it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from greenwright.base.values import LoadReport
from greenwright.desk import books

SMALL = Path(__file__).resolve().parents[1] / "data" / "record-small"
DAY = date(2026, 6, 5)
"""The day the small record was made for."""


def load_small(path: Path) -> LoadReport:
    """Load the small record into a new file."""
    with books.open_book(path, create=True) as store:
        return books.load_paths(store, [SMALL], on=DAY, who="ana")


def write_csv(folder: Path, name: str, text: str) -> Path:
    """Write one record file into a folder and return the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder
