"""The days behind and ahead: which row stands for which day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from greenwright.base.errors import BadInput
from greenwright.base.values import Course, Snapshot, WeatherDay
from greenwright.weather import days

DAY = date(2026, 6, 5)
COURSE = Course(course="lark", name="Lark Mere")


def record(*rows: WeatherDay) -> Snapshot:
    return Snapshot(course=COURSE, as_of=DAY, weather=rows)


def row(ahead: int, kind: str, t: float, issued: date | None = None) -> WeatherDay:
    when = DAY + timedelta(days=ahead)
    return WeatherDay(date=when, kind=kind, issued=issued, t_min_c=t, t_max_c=t + 10, rain_mm=1.0)


def test_observed_wins_over_forecast_and_the_latest_forecast_over_older() -> None:
    old, new = DAY - timedelta(days=2), DAY
    held = record(
        row(0, "forecast", 1.0, old),
        row(0, "observed", 9.0),
        row(1, "forecast", 7.0, new),
        row(1, "forecast", 5.0, old),
    )
    found = days(held, DAY, DAY + timedelta(days=1))
    assert [d.t_min_c for d in found] == [9.0, 7.0]
    assert [d.kind for d in found] == ["observed", "forecast"]


def test_a_typical_day_is_the_mean_of_its_season_in_the_record() -> None:
    last_year = [row(-365 + i, "observed", 8.0 + i) for i in range(-3, 4)]
    found = days(record(*last_year), DAY, DAY)[0]
    assert found.kind == "typical" and found.date == DAY
    assert found.t_min_c == pytest.approx(8.0)  # by hand: mean of 5..11
    assert found.rain_mm == pytest.approx(1.0)


def test_another_season_is_no_guide() -> None:
    winter = [row(-180 + i, "observed", 2.0) for i in range(10)]
    found = days(record(*winter), DAY, DAY)[0]
    assert (found.kind, found.t_min_c) == ("typical", None)


def test_few_days_make_no_typical_day() -> None:
    found = days(record(row(-1, "observed", 8.0)), DAY, DAY)[0]
    assert found.t_min_c is None


def test_a_typical_row_of_the_record_stands() -> None:
    held = record(row(3, "typical", 6.0), *[row(-i, "observed", 12.0) for i in range(1, 9)])
    found = days(held, DAY + timedelta(days=3), DAY + timedelta(days=4))
    assert [d.t_min_c for d in found] == [6.0, 12.0]


def test_one_row_a_day_and_none_missing() -> None:
    found = days(record(), DAY - timedelta(days=3), DAY + timedelta(days=10))
    assert [d.date for d in found] == [DAY + timedelta(days=i) for i in range(-3, 11)]


def test_the_end_of_december_and_january_are_one_season() -> None:
    held = Snapshot(
        course=COURSE,
        as_of=date(2026, 1, 10),
        weather=tuple(
            WeatherDay(date=date(2025, 12, 26) + timedelta(days=i), t_min_c=1.0, t_max_c=5.0)
            for i in range(6)
        ),
    )
    assert days(held, date(2026, 1, 2), date(2026, 1, 2))[0].t_max_c == 5.0


def test_days_do_not_run_backwards() -> None:
    with pytest.raises(BadInput, match="backwards"):
        days(record(), DAY, DAY - timedelta(days=1))
