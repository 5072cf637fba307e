"""The days behind and ahead: which row stands for which day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from greenwright.base.errors import BadInput
from greenwright.base.values import Course, Snapshot, WeatherDay
from greenwright.weather import days
from greenwright.weather.days import _days_apart_in_year

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


def test_a_gap_at_the_start_is_filled_from_the_season_not_from_the_next_day() -> None:
    held = record(*[row(i, "observed", 5.0 + i) for i in range(-6, 1)])
    found = days(held, DAY - timedelta(days=9), DAY)
    assert [d.kind for d in found] == ["typical"] * 3 + ["observed"] * 7
    # by hand: seven days from -1 to 5 degC minimum lie within a week of the 3rd day before them
    # as far as day -9 + 7; the mean of -6..-2 is 1.0
    assert found[0].t_min_c == pytest.approx(1.0)
    assert found[3].t_min_c == pytest.approx(-1.0)


def test_the_season_reaches_further_when_a_week_holds_too_few() -> None:
    held = record(*[row(-365 + i, "observed", float(i)) for i in (-14, -12, -3, 3, 12, 14)])
    # by hand: two days within a week, six within fifteen days: their mean is 0
    assert days(held, DAY, DAY)[0].t_min_c == pytest.approx(0.0)


def test_of_several_issues_the_latest_known_by_the_day_wins() -> None:
    issues = [row(2, "forecast", float(i), DAY - timedelta(days=i)) for i in (3, 1, 2)]
    tomorrow = row(2, "forecast", 99.0, DAY + timedelta(days=1))
    for rows in ([*issues, tomorrow], [tomorrow, *reversed(issues)]):
        assert days(record(*rows), DAY, DAY + timedelta(days=2))[2].t_min_c == 1.0


def test_news_from_after_the_day_is_unseen() -> None:
    later = [row(i, "observed", 30.0) for i in range(1, 9)]
    found = days(record(*later), DAY, DAY + timedelta(days=3))
    assert [d.kind for d in found] == ["typical"] * 4
    assert all(d.t_min_c is None for d in found)


def test_a_forecast_without_an_issue_day_gives_way_to_one_with() -> None:
    held = record(row(1, "forecast", 1.0), row(1, "forecast", 8.0, DAY - timedelta(days=5)))
    assert days(held, DAY, DAY + timedelta(days=1))[1].t_min_c == 8.0
    alone = record(row(1, "forecast", 1.0))
    assert days(alone, DAY, DAY + timedelta(days=1))[1].t_min_c == 1.0


def test_a_rain_gauge_and_a_thermometer_make_one_day() -> None:
    gauge = WeatherDay(date=DAY, rain_mm=12.0, station="gauge")
    air = WeatherDay(date=DAY, t_min_c=9.0, t_max_c=18.0, rh_mean_pct=80.0, station="mast")
    for rows in ((gauge, air), (air, gauge)):
        found = days(record(*rows), DAY, DAY)[0]
        assert (found.station, found.rain_mm, found.t_min_c) == ("mast", 12.0, 9.0)


def test_what_two_stations_both_saw_is_told_by_the_fuller_one() -> None:
    short = WeatherDay(date=DAY, rain_mm=1.0, station="z")
    full = WeatherDay(date=DAY, rain_mm=2.0, t_min_c=9.0, station="a")
    assert days(record(short, full), DAY, DAY)[0].rain_mm == 2.0


def test_seen_and_forecast_are_not_mixed_in_one_day() -> None:
    seen = WeatherDay(date=DAY, rain_mm=0.0)
    held = record(seen, row(0, "forecast", 9.0, DAY - timedelta(days=1)))
    found = days(held, DAY, DAY)[0]
    assert (found.kind, found.rain_mm, found.t_min_c) == ("observed", 0.0, None)


def test_two_issues_are_not_mixed_either() -> None:
    fresh = WeatherDay(date=DAY, kind="forecast", issued=DAY, rain_mm=3.0)
    held = record(fresh, row(0, "forecast", 9.0, DAY - timedelta(days=1)))
    found = days(held, DAY, DAY)[0]
    assert (found.rain_mm, found.t_min_c) == (3.0, None)


def test_two_stations_do_not_weigh_a_day_twice_in_its_season() -> None:
    last_year = [row(-365 + i, "observed", 10.0 * (i == 0)) for i in range(-2, 3)]
    twin = replace(last_year[2], station="second")
    one, other = (days(record(*rows), DAY, DAY)[0] for rows in (last_year, [*last_year, twin]))
    assert one.t_min_c == other.t_min_c == pytest.approx(2.0)  # by hand: 10 / 5


def test_a_typical_day_means_only_what_was_seen() -> None:
    rows = [replace(row(-365 + i, "observed", 4.0), rain_mm=None) for i in range(-3, 3)]
    wet = replace(row(-362, "observed", 4.0), rain_mm=6.0)
    found = days(record(*rows, wet), DAY, DAY)[0]
    assert found.rain_mm == 6.0  # by hand: one gauge reading of seven days
    assert found.wind_m_s is None


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        (date(2026, 6, 5), date(2025, 6, 5), 0),
        (date(2025, 12, 31), date(2026, 1, 1), 1),
        (date(2024, 12, 31), date(2026, 1, 1), 1),  # day 366 of a leap year
        (date(2026, 1, 1), date(2026, 7, 2), 182),
        (date(2026, 1, 1), date(2026, 7, 3), 182),
        (date(2026, 1, 15), date(2025, 12, 20), 26),
    ],
)
def test_days_apart_in_the_year_by_hand(one: date, other: date, apart: int) -> None:
    assert _days_apart_in_year(one, other) == _days_apart_in_year(other, one) == apart
