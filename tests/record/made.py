"""Rows made by hand for the tests of the store; the course and its people are invented."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from greenwright import record
from greenwright.base.values import LoadReport, ParsedFile, ParsedRow, Refusal
from greenwright.intake import read_paths

SMALL = Path(__file__).parents[1] / "data" / "record-small"
DAY = date(2026, 6, 5)
NOW = datetime(2026, 6, 5, 7, 0)
WHO: Mapping[str, Any] = {"today": DAY, "now": NOW, "who": "ana"}


def course(key: str = "heron", **more: Any) -> ParsedFile:
    return parsed("course", {"course": key, "name": key.title(), **more})


def parsed(
    name: str,
    *rows: Mapping[str, Any],
    refusals: tuple[Refusal, ...] = (),
    source: str = "made by hand",
) -> ParsedFile:
    kept = tuple(ParsedRow(i, row) for i, row in enumerate(rows, 2))
    return ParsedFile(name, source, len(kept) + len(refusals), kept, refusals)


def roll(value: float = 2.5, **more: Any) -> dict[str, Any]:
    row = {
        "date": date(2026, 6, 1),
        "time": time(6, 45),
        "green": "1",
        "kind": "roll_distance",
        "value": value,
        "unit": "m",
        "given": repr(value),
        "observer": "ana",
    }
    return row | more


def refusal(row: int = 9) -> Refusal:
    return Refusal("readings.csv", row, "value", "fast", "not a number", "correct it")


def load(store: record.Store, *files: ParsedFile, **more: Any) -> LoadReport:
    return record.load(store, files, **{**WHO, **more})


def load_folder(store: record.Store, folder: Path, **more: Any) -> LoadReport:
    day = more.get("today", DAY)
    known = record.known(store, more.get("course"))
    files, ignored = read_paths([folder], today=day, known=known)
    return load(store, *files, ignored=ignored, **more)


def readings(store: record.Store, on: date = DAY, **more: Any) -> tuple[Any, ...]:
    return record.snapshot(store, more.pop("course", None), on=on, **more).readings
