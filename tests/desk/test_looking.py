"""What an answer about time shows beside its findings."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.base.values import Course, Green, Snapshot, Target, Work
from greenwright.desk.looking import (
    Aimed,
    band_row,
    bands,
    day_of,
    done_rows,
    green_of,
    read_rows,
    too_few,
    unsure,
    work_rows,
)
from greenwright.desk.targets import Band
from greenwright.respond.learning import Learned

DAY = date(2026, 6, 5)


def work(practice: str, ago: int, *, green: str = "all", status: str = "done") -> Work:
    return Work(date=DAY - timedelta(days=ago), green=green, practice=practice, status=status)


def record(*rows: Work, targets: tuple[Target, ...] = ()) -> Snapshot:
    return Snapshot(
        course=Course(course="lark", name="Lark Mere"),
        as_of=DAY,
        greens=tuple(Green(green=g) for g in ("1", "2")),
        work=rows,
        targets=targets,
    )


def learned(*, log: bool = False, verdict: str = "yes", quantity: str = "green_speed") -> Learned:
    """Return just as much of an outcome as is looked at: two sets, one practice."""
    rows = SimpleNamespace(value=np.array([1.0, 2.0]), unit=np.array([0, 1]), day=np.array([3, 9]))
    layout = SimpleNamespace(
        rows=rows, model=SimpleNamespace(terms=[SimpleNamespace(name="roll", practice="roll")])
    )
    fit = SimpleNamespace(layout=layout)
    one = SimpleNamespace(
        quantity=quantity, method="", log=log, first=DAY - timedelta(days=9), greens=("1", "2"),
        fit=fit, plain=fit, separations={"roll": SimpleNamespace(verdict=verdict)}, misfits=(),
    )  # fmt: skip
    return Learned({(quantity, ""): one})  # type: ignore[dict-item]


def test_sets_are_told_from_a_day_on_in_their_unit() -> None:
    one = learned().outcomes["green_speed", ""]
    assert [row["value"] for row in read_rows(one, DAY - timedelta(days=9))] == [1.0, 2.0]
    (last,) = read_rows(one, DAY - timedelta(days=2))
    assert (last["green"], last["date"], last["value"]) == ("2", DAY, 2.0)
    logs = learned(log=True, quantity="clippings").outcomes["clippings", ""]
    assert read_rows(logs, DAY)[0]["value"] == pytest.approx(np.exp(2.0))


def test_work_is_one_row_for_day_practice_and_greens() -> None:
    held = record(work("roll", 1), work("roll", 1), work("mow", 2, green="2"), work("roll", 30))
    rows = done_rows(held, DAY - timedelta(days=7), DAY)
    assert [(r["practice"], r["greens"], r["usual"]) for r in rows] == [
        ("mow", ["2"], False),
        ("roll", ["1", "2"], False),
    ]
    planned = work_rows(held, [work("brush", -1, status="planned")], usual=True)
    assert planned[0]["status"] == "planned" and planned[0]["usual"] is True


def test_the_band_is_that_of_the_day() -> None:
    soon = Target(
        quantity="green_speed", low=3.0, high=3.3, from_=DAY + timedelta(days=3),
        until=DAY + timedelta(days=3),
    )  # fmt: skip
    always = Target(quantity="green_speed", low=2.7, high=3.0)
    held = record(targets=(always, soon))
    found = [
        bands(held, Aimed("green_speed", "", ("1", "2"), DAY + timedelta(days=k))).common
        for k in (1, 3)
    ]
    assert [band_row(band) for band in found] == [
        {"low": 2.7, "high": 3.0, "default": False},
        {"low": 3.0, "high": 3.3, "default": False},
    ]


def test_trueness_has_no_band_here() -> None:
    held = record(targets=(Target(quantity="trueness", low=None, high=6.0),))
    assert bands(held, Aimed("trueness", "", ("1", "2"), DAY)).bands == (None, None)
    assert band_row(None) is None
    assert band_row(Band(None, 6.0, True)) == {"low": None, "high": 6.0, "default": True}


def test_practices_that_cannot_be_told_from_need_are_named() -> None:
    (row,) = unsure(learned(verdict="cannot tell"), ["roll", "mow"])
    assert row["kind"] == "confounding" and row["practices"] == ["roll"] and "roll" in row["text"]
    assert unsure(learned(verdict="yes"), ["roll"]) == ()
    assert unsure(learned(verdict="cannot tell"), ["mow"]) == ()
    assert unsure(learned(verdict="cannot tell", quantity="moisture"), ["roll"]) == ()


def test_days_are_dates_or_iso_text() -> None:
    assert day_of("from", DAY) == DAY and day_of("from", "2026-06-05") == DAY
    for bad in ("5 June", "", 5, "2026-06-31"):
        with pytest.raises(BadInput) as caught:
            day_of("from", bad)  # type: ignore[arg-type]
        assert caught.value.where == "from"


def test_a_moment_is_its_day() -> None:
    assert day_of("until", datetime(2026, 6, 5, 7)) == DAY


@pytest.mark.parametrize("given", [None, "", "course"])
def test_the_course_is_no_green(given: str | None) -> None:
    assert green_of("green", given, ("1", "2")) is None


def test_an_unknown_green_is_answered_with_those_there_are() -> None:
    assert green_of("green", "2", ("1", "2")) == "2"
    with pytest.raises(BadInput) as caught:
        green_of("against", "19", ("1", "2"))
    assert caught.value.expected == "1, 2" and caught.value.where == "against"


def test_what_is_needed_is_said_in_numbers() -> None:
    assert "12 times" in too_few() and "4 days" in too_few()
