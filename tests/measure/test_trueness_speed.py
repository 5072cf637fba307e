"""The green speed beside a reading of trueness: read, believed, or merely usual."""

from __future__ import annotations

import pytest

from greenwright.base.evidence import value as number
from greenwright.measure.trueness_speed import speeds_beside

from .invented import DAY, balls, day, reading, record


def beside(rows: list, place: tuple = (DAY, "1", "")) -> object:
    return speeds_beside(record(rows, on=day(9)), [place], on=day(9))(*place)


def test_a_speed_of_the_day_and_green_is_taken() -> None:
    got = beside(balls([2.8, 2.8], [3.2, 3.2]))
    # by hand: 2 * 2.8 * 3.2 / (2.8 + 3.2) = 2.987 m
    assert got.metres == pytest.approx(2.987, abs=0.01)
    assert got.basis == "read"


def test_the_station_comes_first() -> None:
    rows = balls([2.5], [2.5], station="front") + balls([3.0], [3.0], station="back")
    got = beside(rows, (DAY, "1", "back"))
    assert got.metres == pytest.approx(3.0, abs=0.01)
    elsewhere = beside(rows, (DAY, "1", "left"))
    assert 2.5 < elsewhere.metres < 3.0
    assert elsewhere.log_variance > got.log_variance / 2


def test_other_days_and_greens_speak_where_none_was_read() -> None:
    rows = [reading("green_speed", 3.3, green=g, date=day(d)) for g in "23" for d in (0, 1, 2)]
    got = beside(rows)
    assert got.basis == "surface"
    assert 3.0 < got.metres < 3.4  # pulled a little to the usual 2.74 m
    assert got.log_variance > beside(balls([3.3], [3.3])).log_variance


def test_without_any_speed_the_usual_one_is_taken_widely() -> None:
    got = beside([reading("moisture", 20.0)])
    assert got.basis == "prior"
    assert got.metres == pytest.approx(number("measure.green_speed.level"))
    assert got.log_variance**0.5 > 0.1


def test_nothing_after_the_day_is_seen() -> None:
    rows = [reading("green_speed", 3.3, date=day(5))]
    place = (DAY, "1", "")
    got = speeds_beside(record(rows, on=day(9)), [place], on=DAY)(*place)
    assert got.basis == "prior"


def test_nothing_is_asked_of_no_place() -> None:
    ask = speeds_beside(record([reading("green_speed", 3.0)]), [], on=DAY)
    with pytest.raises(KeyError):
        ask(DAY, "1", "")
