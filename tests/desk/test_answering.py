"""What every answer carries: the record in short, its sources, what made it."""

from __future__ import annotations

from datetime import date

import pytest

from greenwright import __version__
from greenwright.base.errors import CannotAnswer, UnknownKey
from greenwright.base.values import Course, Green, Reading, Snapshot, Work
from greenwright.desk import answering
from greenwright.desk.clock import stopwatch

DAY = date(2026, 6, 5)


def reading(day: int, kind: str = "green_speed") -> Reading:
    return Reading(date=date(2026, 6, day), green="1", kind=kind, value=2.5, unit="m")


def record(**more: object) -> Snapshot:
    held = {"greens": (Green(green="1"), Green(green="2", in_play=False))}
    return Snapshot(course=Course(course="fen", name="Sedge Hill"), as_of=DAY, **{**held, **more})


def test_the_record_is_told_in_short() -> None:
    work = (
        Work(date=DAY, green="1", practice="mow"),
        Work(date=DAY, green="1", practice="mow", status="planned"),
    )
    held = record(readings=(reading(3), reading(5), reading(1)), work=work)
    assert answering.record_summary(held) == {
        "course": "fen",
        "name": "Sedge Hill",
        "greens": 1,
        "readings": 3,
        "work": 1,
        "last_reading": DAY,
    }


def test_an_empty_record_has_no_last_reading() -> None:
    assert answering.last_reading(record()) is None


def test_an_answer_says_what_made_it() -> None:
    made = answering.Made(model="m 1", used=frozenset(["loss.cap"]), more={"plans": {}})
    got = answering.finish("week", record(), made, started=stopwatch()).as_dict()
    assert got["made_by"]["program"] == f"greenwright {__version__}"
    assert got["made_by"]["model"] == "m 1" and got["made_by"]["seconds"] >= 0
    assert [source["key"] for source in got["sources"]] == ["loss.cap"] and got["plans"] == {}
    assert got["as_of"] == "2026-06-05"


def test_an_unknown_key_is_a_fault_and_not_left_out() -> None:
    with pytest.raises(UnknownKey):
        answering.sources(["no.such.key"])


def test_sources_are_told_once_in_order() -> None:
    keys = [row["key"] for row in answering.sources(["loss.roll_pass", "loss.cap", "loss.cap"])]
    assert keys == ["loss.cap", "loss.roll_pass"]


@pytest.mark.parametrize(
    ("kinds", "fine"), [((), True), (("green_speed",), True), (("moisture",), False)]
)
def test_readings_may_be_required_by_kind(kinds: tuple[str, ...], fine: bool) -> None:
    held = record(readings=(reading(5),))
    if fine:
        answering.require_readings(held, kinds)
        return
    with pytest.raises(CannotAnswer, match="moisture") as caught:
        answering.require_readings(held, kinds)
    assert caught.value.do and "2026-06-05" in str(caught.value)


def test_greens_out_of_play_do_not_count() -> None:
    assert answering.require_greens(record()) == ("1",)
    with pytest.raises(CannotAnswer, match="no green in play"):
        answering.require_greens(record(greens=(Green(green="2", in_play=False),)))
