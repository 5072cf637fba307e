"""What acts beside work, against sums by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from greenwright.base.evidence import value
from greenwright.base.values import Rounds, WeatherDay
from greenwright.respond.learning.drivers import NAMES, covariates, weather_of, wetness
from greenwright.respond.learning.worked import worked
from greenwright.stats.dynamic import Covariate
from tests.respond.learning_records import DAY, FIRST, ago, held, weather, work

LAST = (DAY - FIRST).days


def found(quantity: str = "green_speed", **more: object) -> dict[str, Covariate]:
    record = held(work("mow", 2, amount=3.6), **more)  # type: ignore[arg-type]
    laid = worked(record, first=FIRST, until=DAY)
    made = covariates(record, laid, quantity=quantity, until=DAY, day_sd=0.1)
    return {one.name: one for one in made}


def test_the_names_are_the_promised_ones_in_order() -> None:
    assert tuple(found()) == NAMES
    assert NAMES == ("growth", "leaf", "wet", "warm", "rounds", "season_sin", "season_cos")


def test_growth_is_that_of_the_day_before() -> None:
    days = list(weather())
    cold = next(i for i, d in enumerate(days) if d.date == ago(5))
    days[cold] = replace(days[cold], t_min_c=-3.0, t_max_c=3.0)
    values = found(days=tuple(days))["growth"].values[0]
    # by hand: the cold day five days ago is behind the morning four days ago
    assert values[LAST - 4] < 0.05 < values[LAST - 5]


def test_leaf_is_zero_on_the_cut_morning_and_the_growth_after_it() -> None:
    made = found()
    leaf, growth = made["leaf"].values[0], made["growth"].values[0]
    assert leaf[LAST - 2] == 0.0
    assert leaf[LAST] == pytest.approx(growth[LAST - 1] + growth[LAST])


def test_the_leaf_s_prior_is_the_height_s_by_its_length() -> None:
    # by hand: 0.046875 m for 0.25 mm less, so -0.1875 m for each mm more, 0.8 mm a day
    assert found()["leaf"].mean == pytest.approx(0.046875 / -0.25 * 0.8)
    assert found()["leaf"].sd > 0


def test_clippings_go_with_the_log_of_what_has_grown() -> None:
    made = found("clippings")["leaf"]
    assert made.mean == value("learn.leaf.clippings") == 1.0
    growth = found()["growth"].values[0, LAST]
    # by hand: two mornings after the last cut, two days' growth stand
    assert made.values[0, LAST] == pytest.approx(np.log(2 * growth))


def test_water_balance_by_hand() -> None:
    rows = [
        WeatherDay(date=ago(i), t_mean_c=10.0, rain_mm=r)
        for i, r in ((3, 0.0), (2, 12.0), (1, 0.0), (0, 0.0))
    ]
    record = held(days=tuple(rows))
    seen = wetness(weather_of(record, first=ago(3), until=DAY))
    # by hand: each morning keeps 0.8, adds the eve's rain and loses 0.2 x 10 degC
    assert seen.tolist() == pytest.approx([-2.0, -3.6, 0.8 * -3.6 + 12 - 2, 0.8 * 7.12 - 2])


def test_a_flood_and_a_drought_are_bounded() -> None:
    rows = tuple(WeatherDay(date=ago(i), t_mean_c=40.0, rain_mm=0.0) for i in range(40, -1, -1))
    assert wetness(weather_of(held(days=rows), first=ago(40), until=DAY)).min() == -20.0
    wet = tuple(replace(r, rain_mm=90.0) for r in rows)
    assert wetness(weather_of(held(days=wet), first=ago(40), until=DAY)).max() == 40.0


def test_warmth_is_what_the_season_does_not_explain() -> None:
    days = tuple(
        replace(d, t_min_c=d.t_min_c + (10 if d.date == ago(7) else 0),
                t_max_c=d.t_max_c + (10 if d.date == ago(7) else 0))  # type: ignore[operator]
        for d in weather()
    )  # fmt: skip
    values = found(days=days)["warm"].values[0]
    # ten degrees over the usual are two steps of five, on the morning after
    assert values[LAST - 6] == pytest.approx(2.0, abs=0.15)
    assert abs(np.delete(values, LAST - 6)).max() < 0.3


def test_rounds_in_hundreds_and_the_weekday_s_usual_where_unknown() -> None:
    told = tuple(
        Rounds(date=ago(i), rounds=80.0 if ago(i).weekday() == 5 else 40.0) for i in range(8, 60)
    )
    values = found(rounds=told)["rounds"].values[0]
    for back in (0, 3, 20):
        eve = ago(back + 1)
        assert values[LAST - back] == pytest.approx(0.8 if eve.weekday() == 5 else 0.4)
    assert not found()["rounds"].values.any()


def test_wear_has_its_published_size_and_others_a_width() -> None:
    made = found()["rounds"]
    # by hand: half-life 0.5 d, so half of -0.03 m is left by the next morning
    assert made.mean == pytest.approx(-0.015) and made.sd == 0.03
    assert found("moisture")["rounds"].mean == 0.0
    assert found()["wet"].sd == pytest.approx(0.1) and found()["growth"].sd == pytest.approx(0.2)


def test_the_year_turns_once() -> None:
    made = found()
    sin, cos = made["season_sin"].values[0], made["season_cos"].values[0]
    assert np.allclose(sin**2 + cos**2, 1.0)
    day = DAY.timetuple().tm_yday
    assert sin[LAST] == pytest.approx(np.sin(2 * np.pi * day / 365.25))


def test_days_without_weather_take_the_record_s_own_climate() -> None:
    known = tuple(d for d in weather() if d.date != ago(30))
    filled = weather_of(held(days=known), first=FIRST, until=DAY)
    assert filled.mean_c[LAST - 30] == pytest.approx(18.0, abs=0.2)
    ahead = weather_of(held(), first=FIRST, until=DAY + timedelta(days=10))
    assert ahead.mean_c[-1] == pytest.approx(18.0, abs=0.5)


def test_a_record_without_weather_is_neutral() -> None:
    blank = weather_of(held(days=()), first=FIRST, until=DAY)
    assert np.isfinite(blank.mean_c).all() and np.ptp(blank.mean_c) == 0
    assert np.isnan(blank.least_c).all() and not blank.rain_mm.any()
    assert not found(days=())["warm"].values.any()
