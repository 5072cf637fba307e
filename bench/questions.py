"""Starting the command, and asking it a question cold."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from bench.loading import load_record
from bench.timing import Row, greenwright, median_seconds
from greenwright.simulate import World, course, write_record

DAY = date(2026, 6, 12)
THREE_YEARS = 3 * 365


def three_years(work: Path) -> Path:
    """Write and load an invented course of 18 greens and three years; return the store."""
    folder, store = work / "three-years", work / "three-years.db"
    folder.mkdir()
    write_record(course(5, today=DAY, world=World(days=THREE_YEARS)), folder)
    load_record(folder, store)
    return store


def rows(store: Path) -> list[Row]:
    """Return the command's start and the time of each question from a cold process."""
    start = median_seconds(lambda: greenwright("--help"), 7)
    made = [Row("greenwright --help", start, "s", 0.35)]
    for question, bound in (("today", 2.0), ("golfers", 2.5), ("effects", 2.0), ("week", 12.0)):
        words = ("ask", question, "--record", str(store), "--on", DAY.isoformat(), "--json")
        figure = median_seconds(lambda w=words: greenwright(*w), 3)
        made.append(Row(f"ask {question}, 18 greens x 3 years, cold", figure, "s", bound))
    return made
