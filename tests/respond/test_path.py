"""The path of work: heights, cuts, doses and growth by green and day."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from greenwright.base.values import Course, Green, Reading, Snapshot, Work
from greenwright.respond import MEMORY_DAYS, past_work
from greenwright.respond.path import carried, dose_of
from tests.respond.test_responses import TODAY, did, record


def test_heights_hold_until_the_next_setting() -> None:
    path = past_work(record(did("mow", 6, amount=4.0), did("mow", 2, amount=3.9)), ahead=1)
    # by hand: six days ago to tomorrow
    assert path.bench_mm[0, -8:].tolist() == [4.0] * 4 + [3.9] * 4


def test_a_height_from_before_the_window_is_remembered() -> None:
    path = past_work(record(did("mow", MEMORY_DAYS + 5, amount=4.2), did("mow", 1)))
    assert path.bench_mm[0, 0] == 4.2 and path.bench_mm[0, -1] == 4.2


def test_a_bench_reading_stands_in_where_no_cut_says_its_height() -> None:
    held = record(did("mow", 1))
    read = Reading(date=TODAY, green="1", kind="height_of_cut", value=3.4, unit="mm")
    path = past_work(
        Snapshot(
            course=held.course,
            as_of=TODAY,
            greens=held.greens,
            work=held.work,
            readings=(read,),
            weather=held.weather,
        )
    )
    assert path.bench_mm[0, -1] == 3.4 and np.isnan(path.bench_mm[1, -1])


def test_greens_without_a_cut_in_the_record_are_taken_as_cut_daily() -> None:
    path = past_work(record(did("mow", 3, green="1", amount=4.0)), ahead=2)
    assert path.assumed_mown == ("2",)
    grown = path.growth_since_cut()
    # by hand: 20 degC is full growth: three days since the cut of green 1, none on green 2
    assert grown[:, MEMORY_DAYS].tolist() == pytest.approx([3.0, 0.0])
    assert grown[1, -1] == pytest.approx(2.0)


def test_double_cuts_and_passes_are_counted() -> None:
    path = past_work(record(did("mow", 0, passes=2.0, amount=4.0), did("roll", 1, passes=2.0)))
    assert path.doses["double_cut"][0, -1] == 1.0
    assert path.doses["roll"][0, -2] == 2.0


def test_planned_declined_and_future_work_is_not_past() -> None:
    later = Work(date=TODAY + timedelta(days=1), green="all", practice="roll")
    path = past_work(
        record(did("roll", 0, status="planned"), did("roll", 1, status="declined"), later)
    )
    assert not path.doses["roll"].any()


def test_sand_without_an_amount_is_one_reference_dose() -> None:
    assert dose_of(did("topdress")) == 0.5  # the reference dose of the practices table
    assert dose_of(did("topdress", amount=0.3, passes=2.0)) == pytest.approx(0.6)
    assert dose_of(did("roll", passes=2.0)) == 2.0


def test_unknown_weather_counts_as_full_growth() -> None:
    green = Green(green="1", grass="creeping bentgrass")
    held = Snapshot(course=Course(course="x", name="X"), as_of=TODAY, greens=(green,))
    assert np.all(past_work(held).growth == 1.0)


def test_carried_by_hand() -> None:
    nan = np.nan
    held = carried(np.array([[nan, 3.0, nan, 2.0]]), np.array([4.0]))
    assert held.tolist() == [[4.0, 3.0, 3.0, 2.0]]


def bench(ago: int, value: float, **more: object) -> Reading:
    when = TODAY - timedelta(days=ago)
    filled = {"green": "1", "kind": "height_of_cut", "unit": "mm"} | more
    return Reading(date=when, value=value, **filled)  # type: ignore[arg-type]


def test_the_last_bench_reading_before_the_window_counts_not_the_first_ever() -> None:
    held = replace(record(did("mow", 1)), readings=(bench(300, 5.0), bench(40, 3.4)))
    # by hand: 5.0 was replaced by 3.4 before the 28 days began
    assert past_work(held).bench_mm[0].tolist() == [3.4] * (MEMORY_DAYS + 1)


def test_a_bench_reading_within_the_window_is_the_height_from_then_on() -> None:
    held = replace(record(did("mow", 1)), readings=(bench(40, 3.6), bench(3, 3.2)))
    assert past_work(held).bench_mm[0, -5:].tolist() == [3.6, 3.2, 3.2, 3.2, 3.2]


def test_a_cut_that_says_its_height_goes_before_bench_readings() -> None:
    work = (did("mow", 40, amount=4.0), did("mow", 5, amount=3.8))
    held = replace(record(*work), readings=(bench(30, 3.0), bench(2, 3.1)))
    assert past_work(held).bench_mm[0, [0, -6, -1]].tolist() == [4.0, 3.8, 3.8]


def test_effective_heights_later_news_and_lost_greens_are_no_bench_heights() -> None:
    rows = (
        bench(40, 9.0, method="effective"),
        bench(-2, 9.0),
        bench(40, 9.0, green="gone"),
        bench(41, 3.3, method="bench"),
    )
    held = replace(record(did("mow", 1)), readings=rows)
    path = past_work(held)
    assert path.bench_mm[0, -1] == 3.3
    assert np.isnan(path.bench_mm[1]).all()


def test_a_planned_height_is_no_height_in_force() -> None:
    held = record(did("mow", 40, amount=4.0), did("mow", 1, amount=3.0, status="planned"))
    assert past_work(held).bench_mm[0, -1] == 4.0


def test_work_named_for_greens_is_written_there_alone() -> None:
    path = past_work(record(did("roll", 2, green="1"), did("brush", 2, green="2")))
    assert path.doses["roll"][:, -3].tolist() == [1.0, 0.0]
    assert path.doses["brush"][:, -3].tolist() == [0.0, 1.0]
    assert path.day(TODAY) == MEMORY_DAYS
