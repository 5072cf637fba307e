"""Gaps name what is missing and the cheapest reading that would tell."""

from __future__ import annotations

from datetime import date, timedelta
from types import SimpleNamespace

import pytest

from greenwright.base.estimate import normal_estimate
from greenwright.base.evidence import value
from greenwright.base.tables import kinds, quantities
from greenwright.desk import gaps

DAY = date(2026, 6, 5)


def surface(ages: list[int | None], sds: list[float], *, quantity: str = "green_speed", **more):
    known = {
        "quantity": quantity,
        "method": "",
        "greens": tuple(str(i + 1) for i in range(len(ages))),
        "in_play": (True,) * len(ages),
        "last_read": tuple(None if a is None else DAY - timedelta(days=a) for a in ages),
        "per_green": tuple(normal_estimate(2.8, sd, "m") for sd in sds),
    }
    return SimpleNamespace(**{**known, **more})


@pytest.mark.parametrize(
    ("ages", "says"),
    [
        ([0, 7, 3], None),  # green speed goes stale after seven days: data/kinds.toml
        ([0, 8, 3], "on green 2."),
        ([0, 8, 9], "on greens 2 and 3."),
        ([8, 9, None], "on any green."),
    ],
)
def test_stale_greens_are_named(ages: list[int | None], says: str | None) -> None:
    row = gaps.stale(surface(ages, [0.1, 0.2, 0.3]), on=DAY)
    assert (row is None) == (says is None)
    assert row is None or says in row["text"]


def test_the_green_known_least_is_read_first() -> None:
    row = gaps.stale(surface([9, 9, 0], [0.1, 0.2, 0.9]), on=DAY)
    # green 3 is wider, but was read this morning
    assert row["reading"] == {
        "kind": "roll_distance",
        "green": "2",
        "n": 6,
        "minutes": value("reading_time.roll_distance"),
    }


def test_a_green_out_of_play_is_no_gap() -> None:
    assert gaps.stale(surface([0, None], [0.1, 0.9], in_play=(True, False)), on=DAY) is None


def test_the_method_is_named() -> None:
    one = surface([99], [1.0], quantity="firmness", method="penetration depth")
    assert gaps.stale(one, on=DAY)["text"].startswith("Firmness (penetration depth):")


@pytest.mark.parametrize("quantity", list(quantities()))
def test_every_quantity_has_a_reading_that_informs_it(quantity: str) -> None:
    row = gaps.reading(quantity, "1")
    informs = kinds()[row["kind"]].quantity
    assert informs == quantity and row["n"] >= 1 and row["minutes"] > 0
    assert gaps.time_keys([{"reading": row}]) == {f"reading_time.{row['kind']}"}


def test_never_read_and_no_target_say_why() -> None:
    assert "never been read" in gaps.never_read("smoothness", "1")["text"]
    assert "common band" in gaps.no_target("green_speed", default=True)["text"]
    assert "nothing is said" in gaps.no_target("green_speed", default=False)["text"]
    assert gaps.time_keys([gaps.no_target("green_speed", default=True)]) == frozenset()
