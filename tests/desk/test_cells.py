"""A stored row comes back as what was typed."""

from __future__ import annotations

from datetime import date, datetime, time

import pytest

from greenwright.desk.cells import as_cells


@pytest.mark.parametrize(
    ("file", "fields", "cells"),
    [
        (
            "readings",
            {
                "date": date(2026, 6, 5),
                "time": time(6, 45),
                "kind": "roll_distance",
                "value": 2.8956,
                "unit": "m",
                "given": "9'6\"",
                "given_unit": "",
                "n": 3,
            },
            {
                "date": "2026-06-05",
                "time": "06:45",
                "kind": "roll_distance",
                "value": "9'6\"",
                "n": "3",
            },
        ),
        (
            "work",
            {"passes": 2.0, "amount": 3.5, "unit": "mm", "given": "3.5", "given_unit": "mm"},
            {"passes": "2", "amount": "3.5", "unit": "mm"},
        ),
        ("greens", {"green": "4", "in_play": False}, {"green": "4", "in_play": "no"}),
        (
            "targets",
            {"from_": date(2026, 6, 1), "low": 2.75, "unit": "m", "green": None},
            {"from": "2026-06-01", "low": "2.75", "unit": "m"},
        ),
        (
            "rounds",
            {"rounds": 0.0, "entered_at": datetime(2026, 6, 5, 7, 0), "other": {"tees": "back"}},
            {"rounds": "0", "entered_at": "2026-06-05T07:00:00", "tees": "back"},
        ),
    ],
)
def test_as_cells(file: str, fields: dict[str, object], cells: dict[str, str]) -> None:
    assert as_cells(file, fields) == cells
