"""Does the balance foresee the next morning's moisture? Held against simple rules on the demo.

The demo's soil dries and drains by rules of its own, not by this balance: the equations of neither
are those of the other.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from greenwright.base.values import Snapshot
from greenwright.desk import books
from greenwright.record import snapshot
from greenwright.weather import Place, given_days
from greenwright.weather.greens import GreenWater, water_of, without_readings

pytestmark = pytest.mark.slow
FIRST, ON = date(2025, 3, 1), date(2026, 6, 12)
BEGUN = date(2025, 5, 1)
"""Judged from here on, when every green has been read."""


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Snapshot]:
    path: Path = tmp_path_factory.mktemp("demo") / "demo.db"
    books.make_demo(path, on=ON)
    with books.open_book(path) as store:
        yield snapshot(store, None, on=ON)


def balanced(record: Snapshot) -> GreenWater:
    """Return the water of the greens over the whole record."""
    days = given_days(record, FIRST, ON)
    found = water_of(record, days, Place(52.1, 84.0))
    assert found is not None
    return found


def mornings(record: Snapshot) -> list[tuple[str, date, float, int]]:
    """Return green, day, mean moisture and spots read, in order of days."""
    read: dict[tuple[str, date], list[float]] = {}
    for one in record.readings:
        if one.kind == "moisture":
            read.setdefault((one.green, one.date), []).append(one.value)
    rows = [(g, d, float(np.mean(v)), len(v)) for (g, d), v in read.items()]
    return sorted(rows, key=lambda row: (row[1], row[0]))


def errors(record: Snapshot, water: GreenWater) -> dict[str, np.ndarray]:
    """Return how far off each rule was, one number a reading [%], and the balance's own spread."""
    column = {green: i for i, green in enumerate(water.zones.greens)}
    full, depth = water.zones.zone.field_capacity, 1000 * water.zones.zone.depth_m
    held: dict[str, list[float]] = {"balance": [], "last": [], "mean": [], "spread": []}
    past: dict[str, list[float]] = {}
    for green, day, moisture, spots in mornings(record):
        seen = past.setdefault(green, [])
        if day >= BEGUN and seen:
            i, evening = column[green], water.at(day) - 1
            foreseen = 100 * (full[i] - water.balance.deficit[evening, i] / depth[i])
            held["balance"].append(moisture - foreseen)
            held["last"].append(moisture - seen[-1])
            held["mean"].append(moisture - float(np.mean(seen)))
            own = 100 * water.balance.sd[evening, i] / depth[i]
            held["spread"].append(float(np.hypot(own, 3.0 / spots**0.5)))
        seen.append(moisture)
    return {name: np.array(values) for name, values in held.items()}


def size(error: np.ndarray) -> float:
    """Return the root mean square."""
    return float(np.sqrt(np.mean(error**2)))


def test_the_balance_foresees_better_than_simple_rules(record: Snapshot) -> None:
    off = errors(record, balanced(record))
    assert len(off["balance"]) > 800
    # measured 2026: balance 2.1, last reading 3.7, mean so far 3.9 % of water
    assert size(off["balance"]) < 0.75 * min(size(off["last"]), size(off["mean"]))


def test_its_ranges_hold_the_readings(record: Snapshot) -> None:
    off = errors(record, balanced(record))
    held = np.abs(off["balance"]) <= 1.645 * off["spread"]
    assert 0.85 <= held.mean() <= 0.99  # meant to hold nine of ten


def test_readings_help(record: Snapshot) -> None:
    blind = errors(record, balanced(without_readings(record)))
    # Without readings the field capacity is common practice, and nothing puts it right.
    assert size(errors(record, balanced(record))["balance"]) < size(blind["balance"])
