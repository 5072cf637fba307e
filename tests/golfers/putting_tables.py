"""The two published tables of made putts, read from the test data."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from greenwright.golfers.putt_tables import PuttTable

FOOT = 0.3048
_FOLDER = Path(__file__).parents[1] / "data" / "putting"


def table(rows: int) -> PuttTable:
    with (_FOLDER / f"made_by_distance_{rows}.csv").open(encoding="utf-8") as file:
        read = [
            [float(row[k]) for k in ("distance_ft", "tries", "made")]
            for row in csv.DictReader(file)
        ]
    feet, tried, made = np.array(read).T
    return PuttTable(feet * FOOT, tried, made)
