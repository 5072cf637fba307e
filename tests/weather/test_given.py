"""Weather without holes: what stands in, how it is marked, and how wide it is."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.weather.daily import mean_temperatures, numbers, reference_days
from greenwright.weather.days import known_rows
from greenwright.weather.evapotranspiration import Place
from greenwright.weather.given import given_days, season_of
from greenwright.weather.growth import growth_potential
from tests.weather.days_made import DAY, ahead, record, seen

FEN = Place(52.0, 20.0)


def fortnight(**numbers_: float) -> list:
    """Return twenty observed days before DAY, each one degree warmer than the one before."""
    return [
        seen(k, t_min_c=float(k + 30), t_max_c=float(k + 40), **numbers_) for k in range(-20, 1)
    ]


def test_a_day_that_was_read_is_left_as_it_is() -> None:
    row = seen(0, t_min_c=9.0, t_max_c=19.0, rain_mm=1.0, rh_min_pct=40.0, rh_max_pct=90.0)
    (day,) = given_days(record(row), DAY, DAY)
    assert day.filled == {} and day.known
    assert day.weather.t_mean_c == 14.0 and day.weather.rh_mean_pct == 65.0  # by hand: midway
    assert day.weather.wind_m_s is None  # the record never holds it


def test_a_short_gap_is_put_between_its_neighbours() -> None:
    rows = [r for r in fortnight() if r.date not in (DAY - timedelta(2), DAY - timedelta(3))]
    days = given_days(record(*rows), DAY - timedelta(4), DAY)
    assert [d.weather.t_max_c for d in days] == [36.0, 37.0, 38.0, 39.0, 40.0]  # by hand: a line
    assert [bool(d.filled) for d in days] == [False, True, True, False, False]
    assert days[1].filled["t_max_c"] == "neighbours" and days[1].spread["t_max_c"] > 0
    assert days[1].weather.kind == "typical"


def test_a_long_gap_is_the_season_s_mean_and_wider() -> None:
    rows = fortnight()
    kept = [r for r in rows if not DAY - timedelta(9) <= r.date <= DAY - timedelta(4)]
    days = given_days(record(*kept), DAY - timedelta(9), DAY - timedelta(4))
    assert {d.filled["t_max_c"] for d in days} == {"season"}
    (short,) = given_days(
        record(*(r for r in rows if r.date != DAY - timedelta(5))),
        DAY - timedelta(5),
        DAY - timedelta(5),
    )
    near = given_days(
        record(*(r for r in rows if r.date != DAY - timedelta(5))), DAY - timedelta(6), DAY
    )[1]
    assert short.filled["t_max_c"] == "season" and near.filled["t_max_c"] == "neighbours"
    assert near.spread["t_max_c"] < days[0].spread["t_max_c"]


def test_rain_is_never_put_between_neighbours() -> None:
    rows = fortnight(rain_mm=2.0)
    dry = seen(-2, t_min_c=28.0, t_max_c=38.0)
    days = given_days(
        record(*(r for r in rows if r.date != dry.date), dry), DAY - timedelta(3), DAY
    )
    assert days[1].filled["rain_mm"] == "season" and days[1].weather.rain_mm == 2.0
    assert "t_max_c" not in days[1].filled


def test_only_what_was_known_on_the_day_counts() -> None:
    rows = [
        *fortnight(),
        ahead(1, 0, t_max_c=10.0),
        ahead(1, 1, t_max_c=30.0),
        seen(1, t_max_c=5.0),
    ]
    tomorrow = given_days(record(*rows), DAY, DAY + timedelta(1))[1]
    assert tomorrow.weather.kind == "forecast" and tomorrow.weather.t_max_c == 10.0
    later = given_days(record(*rows, on=DAY + timedelta(1)), DAY, DAY + timedelta(1))[1]
    assert later.weather.kind == "observed" and later.weather.t_max_c == 5.0
    assert known_rows(record(*rows))[DAY + timedelta(1)].issued == DAY


def test_a_stand_in_never_contradicts_what_was_read() -> None:
    cold = seen(1, t_max_c=-15.0)
    days = given_days(record(*fortnight(), cold, on=DAY + timedelta(1)), DAY, DAY + timedelta(1))
    assert days[1].weather.t_min_c == -15.0 and days[1].filled["t_min_c"] == "season"


def test_without_enough_days_nothing_stands_in() -> None:
    rows = [seen(k, t_min_c=9.0, t_max_c=19.0) for k in range(-3, 1)]
    days = given_days(record(*rows), DAY, DAY + timedelta(3))
    assert [d.known for d in days] == [True, False, False, False]  # four days make no season
    with pytest.raises(BadInput, match="backwards"):
        given_days(record(*rows), DAY, DAY - timedelta(1))


def test_the_season_closes_the_year_and_counts_by_hand() -> None:
    rows = [seen(0, t_max_c=float(i)).__class__(date=date(2025, 12, 30) + timedelta(days=i),
                                                t_max_c=float(i)) for i in range(5)]  # fmt: skip
    season = season_of(rows)
    mean, sd = season.at(date(2026, 1, 2), "t_max_c")
    assert mean == pytest.approx(2.0) and sd == pytest.approx(np.sqrt(2.5))  # of 0, 1, 2, 3, 4
    assert season.at(date(2026, 7, 1), "t_max_c") is None
    assert season.at(date(2026, 1, 1), "rain_mm") is None


def test_the_nearest_days_of_the_year_come_first() -> None:
    near = [seen(k, t_max_c=20.0) for k in range(-7, 8)]
    far = [seen(k, t_max_c=5.0) for k in (*range(-30, -20), *range(20, 31))]
    season = season_of([*near, *far])
    assert season.at(DAY, "t_max_c") == (20.0, 0.0)


def test_typical_days_are_wider_than_forecast_days_and_those_than_seen_ones() -> None:
    rng = np.random.default_rng(3)
    rows = [
        seen(k, t_min_c=8 + float(rng.normal()), t_max_c=20 + 3 * float(rng.normal()),
             rh_mean_pct=70.0, wind_m_s=2.0, wind_height_m=2.0,
             solar_mj_m2=float(rng.uniform(10, 25)))
        for k in range(-25, 1)
    ]  # fmt: skip
    coming = ahead(1, t_min_c=8.0, t_max_c=20.0, rh_mean_pct=70.0, wind_m_s=2.0,
                   wind_height_m=2.0, solar_mj_m2=17.0)  # fmt: skip
    days = given_days(record(*rows, coming), DAY, DAY + timedelta(2))
    found, sd = reference_days(days, FEN)
    relative = sd / found.eto
    assert relative[0] == pytest.approx(0.10)  # complete data: evidence water.eto_sd
    assert relative[1] == pytest.approx(np.hypot(0.10, 0.15))  # forecast, by hand
    assert relative[2] > relative[1] and days[2].weather.kind == "typical"


def test_series_are_numbers_with_holes() -> None:
    days = given_days(record(seen(0, t_min_c=9.0, t_max_c=19.0)), DAY, DAY + timedelta(1))
    assert mean_temperatures(days)[0] == 14.0 and np.isnan(mean_temperatures(days)[1])
    assert np.isnan(numbers(days, "rain_mm")).all()
    assert np.isnan(reference_days(days, FEN)[0].eto[1])


def test_variants_of_the_growth_curve() -> None:
    # By hand: exp(-½·(2/7)²) = 0.9600 and exp(-½·(4/7)²) = 0.8494 where it falls again
    assert growth_potential([33.0, 35.0], "c4_uncapped") == pytest.approx(
        [0.9600, 0.8494], abs=5e-5
    )
    assert growth_potential([33.0, 35.0], "c4").tolist() == [1.0, 1.0]
    # By hand: exp(-½·(6/8.5)²) = 0.7795, wider than 0.6926
    assert growth_potential(25.0, "c4_wide") == pytest.approx(0.7795, abs=5e-5)
    assert growth_potential(33.0, "c4_wide") == 1.0
