"""The invented weather is weather: ordered, in range, seasonal, remembering; forecasts err."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from greenwright.simulate import Climate
from greenwright.simulate.weather import (
    WeatherDay,
    clear_sky,
    draw_forecast,
    draw_weather,
    humid_hours,
    typical_day,
)


def years(seed: int, n: int = 4) -> tuple[WeatherDay, ...]:
    return draw_weather(Climate(), date(2022, 1, 1), 365 * n, np.random.default_rng(seed))


def column(days: tuple[WeatherDay, ...], name: str) -> np.ndarray:
    return np.array([getattr(day, name) for day in days])


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_day_is_in_order_and_in_range(seed: int) -> None:
    for day in years(seed):
        assert -25 < day.t_min_c <= day.t_mean_c <= day.t_max_c < 42
        assert 0 <= day.rh_min_pct <= day.rh_mean_pct <= day.rh_max_pct <= 100
        assert 0 <= day.rh90_h <= day.leaf_wet_h <= 24
        assert 0 <= day.rain_mm < 100 and 0 < day.wind_m_s < 20
        assert 0 < day.solar_mj_m2 <= clear_sky(Climate(), day.date) + 0.05  # rounding


def test_the_year_is_a_northern_temperate_one() -> None:
    days = years(5, 8)
    months = np.array([day.date.month for day in days])
    mean = column(days, "t_mean_c")
    assert abs(mean.mean() - 10.4) < 0.8  # the climate's own stated mean
    assert mean[months == 7].mean() > 14 > 8 > mean[months == 1].mean()
    yearly_rain = column(days, "rain_mm").sum() / 8
    assert 350 < yearly_rain < 800  # mm; memory of dry lowland at this latitude
    wet = (column(days, "rain_mm") > 0).mean()
    assert 0.2 < wet < 0.5
    assert column(days, "solar_mj_m2")[months == 6].mean() > 15
    assert column(days, "solar_mj_m2")[months == 12].mean() < 4


def test_warm_days_follow_warm_days() -> None:
    days = years(6, 8)
    usual = np.array([typical_day(Climate(), day.date).t_mean_c for day in days])
    spare = column(days, "t_mean_c") - usual
    lag = np.corrcoef(spare[1:], spare[:-1])[0, 1]
    assert lag == pytest.approx(0.75, abs=0.05)  # the climate's stated memory


def test_wet_days_are_dull_and_damp() -> None:
    days = [day for day in years(7, 6) if day.date.month in (6, 7)]
    wet = np.array([day.rain_mm > 2 for day in days])
    sun = np.array([day.solar_mj_m2 for day in days])
    damp = np.array([day.rh_mean_pct for day in days])
    assert sun[wet].mean() < sun[~wet].mean() - 3
    assert damp[wet].mean() > damp[~wet].mean() + 3


def test_sun_above_the_air_agrees_with_a_published_example() -> None:
    # FAO Irrigation and Drainage Paper 56 (1998), example 8: 32.2 MJ/m2 at 20 S on 3 September
    south = Climate(latitude_deg=-20.0)
    assert clear_sky(south, date(2023, 9, 3)) / 0.75 == pytest.approx(32.2, abs=0.15)


def test_humid_hours_by_symmetry() -> None:
    # by hand: a sine about the bar spends half the day over it
    assert humid_hours(80, 100) == pytest.approx(12.0)
    assert humid_hours(50, 85) == 0
    assert humid_hours(91, 99) == 24
    # by hand: over 3/4 of the amplitude, acos(0.5) / pi * 24 = 8 h
    assert humid_hours(60, 100) == pytest.approx(8.0)


def test_forecasts_err_more_the_further_they_look() -> None:
    climate, misses = Climate(), []
    for seed in range(150):
        rng = np.random.default_rng([9, seed])
        truth = draw_weather(climate, date(2025, 5, 1) + timedelta(days=seed), 10, rng)
        guess = draw_forecast(climate, truth, rng)
        assert [day.date for day in guess] == [day.date for day in truth]
        assert all(day.t_min_c <= day.t_mean_c <= day.t_max_c for day in guess)
        misses.append(column(guess, "t_mean_c") - column(truth, "t_mean_c"))
    size = np.sqrt(np.mean(np.square(misses), axis=0))
    assert size[0] < 1.2 < size[4] < size[9]
    assert size[9] < 4
