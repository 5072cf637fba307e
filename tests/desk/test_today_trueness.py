"""Trueness today: the index, millimetres a metre beside it, and a target kept in the latter."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.desk import books
from greenwright.record import Store
from tests.desk.records import DAY, SMALL, write_csv

OFFSETS = np.random.default_rng(3).normal(0, 1, (3, 2, 12))


def readings(sideways_mm_per_m: float) -> str:
    """Return 12 rolls at 1.5 and 4.5 m on each green, K·L apart at a speed of 3 m."""
    walk = (sideways_mm_per_m / 1000) ** 2 * 3.0  # by hand: K = x² S
    rows = ["date,green,kind,value,unit,set,roll_length_m,instrument"]
    for g in range(3):
        for place, length in enumerate((1.5, 4.5)):
            sd = 1000 * math.sqrt(walk * length)
            rows += [
                f"{DAY},{g + 1},end_offset,{sd * z:.1f},mm,t{g}{place},{length},launcher"
                for z in OFFSETS[g, place]
            ]
    return "\n".join(rows) + "\n"


def record(tmp_path: Path, sideways: float, *, target: str = "") -> Store:
    store = books.open_book(tmp_path / "book.db", create=True)
    books.load_paths(store, [SMALL], on=DAY)
    more = write_csv(tmp_path / "more", "readings", readings(sideways))
    if target:
        write_csv(more, "targets", f"quantity,low,high,unit\n{target}\n")
    report = books.load_paths(store, [more], on=DAY)
    assert report.total.refused == 0, report.refusals
    return store


@pytest.fixture
def fair(tmp_path: Path) -> Iterator[Store]:
    with record(tmp_path, 6.0, target="trueness,0,8,mm/m") as store:
        yield store


def rows(answer: Answer, quantity: str = "trueness") -> dict[str, dict]:
    return {r["green"]: dict(r) for r in answer.findings if r["quantity"] == quantity}


def test_the_index_stands_with_millimetres_beside_it(fair: Store) -> None:
    answer = desk.today(fair, on=DAY)
    jsonschema.validate(json.loads(answer.as_json()), answer_schema())
    found = rows(answer)
    assert list(found) == ["course", "1", "2", "3"]
    speed = rows(answer, "green_speed")
    for green, row in found.items():
        assert row["estimate"].unit == "m" and row["sideways_mm_per_m"].unit == "mm/m"
        # by hand: x = 1000·√(T·S)/(2·0.23872), medians of log-normals multiply
        index, metres = row["estimate"].value, speed[green]["estimate"].value
        expected = 1000 * math.sqrt(index * metres) / (2 * 0.2387194)
        assert row["sideways_mm_per_m"].value == pytest.approx(expected, rel=0.02)
    assert found["course"]["sideways_mm_per_m"].value == pytest.approx(6.0, rel=0.25)


def test_only_trueness_has_millimetres_beside_it(fair: Store) -> None:
    for row in desk.today(fair, on=DAY).findings:
        assert ("sideways_mm_per_m" in row) == (row["quantity"] == "trueness")


def test_the_target_is_kept_in_millimetres(fair: Store) -> None:
    found = rows(desk.today(fair, on=DAY))
    for row in found.values():
        assert row["target"] == {"low": 0.0, "high": 8.0, "default": False}
        beside = row["sideways_mm_per_m"]
        # the share under 8 mm/m of a log-normal with that middle and those ends
        sd = math.log(beside.high / beside.low) / (2 * 1.6449)
        share = 0.5 * math.erfc(-math.log(8 / beside.value) / sd / math.sqrt(2))
        assert row["in_target"] == pytest.approx(share, abs=0.01)
    assert found["course"]["in_target"] > 0.8


def test_a_rough_surface_misses_its_target(tmp_path: Path) -> None:
    with record(tmp_path, 16.0, target="trueness,0,8,mm/m") as store:
        found = rows(desk.today(store, on=DAY))
    assert all(row["in_target"] < 0.1 for row in found.values())


def test_without_a_target_nothing_is_said_of_being_inside(tmp_path: Path) -> None:
    with record(tmp_path, 6.0) as store:
        found = rows(desk.today(store, on=DAY))
    assert all(row["in_target"] is None and row["target"] is None for row in found.values())


def test_a_record_without_rolled_balls_has_no_row_of_trueness(small: Store) -> None:
    assert not rows(desk.today(small, on=DAY))


def test_the_plan_leaves_a_target_in_millimetres_out_and_says_so(fair: Store) -> None:
    plan = desk.week(fair, on=DAY)
    assert "trueness" not in plan.more["targets"]
    assert "trueness" not in {r["quantity"] for r in plan.more["plans"]["advised"]["by_day"]}
    told = {gap["about"]: gap["text"] for gap in plan.gaps}
    assert "left out of the plan" in told["target:trueness"] and "trueness" not in told
