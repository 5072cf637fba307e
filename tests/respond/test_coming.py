"""The days ahead: weather given, weather that may come, and the model made longer."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from greenwright.respond.coming import FEWEST, MOST, given, outlook, plan_of, weathers
from greenwright.weather import days as weather_days
from tests.respond.handmade import FIRST, TODAY, mild, outcome, record, roll


def wet_weather():
    """Rain on every seventh day of the last year."""
    days = [TODAY - timedelta(days=k) for k in range(365)]
    return tuple(mild(d, rain_mm=20.0 if d.toordinal() % 7 == 0 else 0.0) for d in days)


def forecast_rows(n: int):
    rows = (mild(TODAY + timedelta(days=k), kind="forecast") for k in range(1, n + 1))
    return tuple(replace(row, issued=TODAY) for row in rows)


def test_days_are_counted_by_how_they_are_known() -> None:
    held = record(weather=(*wet_weather(), *forecast_rows(3)))
    found = given(held, 7)
    assert (found.forecast, found.typical, found.unknown) == (3, 4, 0)
    assert found.open == (4, 5, 6, 7)
    assert given(record(weather=()), 4).counts == {"forecast": 0, "typical": 0, "unknown": 4}


def test_unknown_days_take_over_runs_of_observed_ones() -> None:
    held = record(weather=(*wet_weather(), *forecast_rows(3)))
    drawn = weathers(held, 7)
    assert FEWEST <= len(drawn) <= MOST
    first, last = TODAY + timedelta(days=1), TODAY + timedelta(days=7)
    rain = np.array([[w.rain_mm for w in weather_days(one, first, last)] for one in drawn])
    # The forecast's dry days stay dry; four days later hold at most one of the weekly rains.
    assert (rain[:, :3] == 0).all()
    assert set(rain[:, 3:].sum(axis=1)) <= {0.0, 20.0}
    assert 0 < rain[:, 3:].mean() < 20


def test_nothing_is_drawn_where_all_is_given_or_nothing_was_seen() -> None:
    assert weathers(record(weather=(*wet_weather(), *forecast_rows(7))), 7) == ()
    assert weathers(record(weather=()), 7) == ()


def test_draws_come_from_the_same_season() -> None:
    cold = [replace(mild(TODAY - timedelta(days=k)), t_min_c=-5.0, t_max_c=1.0) for k in range(365)]
    warm = [mild(w.date) if abs(w.date.month - 6) <= 2 else w for w in cold]
    drawn = weathers(record(weather=tuple(warm)), 5)
    # 5 June, 30 days either side: May to July, all of them warm.
    assert drawn and all(w.t_max_c == 25.0 for one in drawn for w in one.weather if w.date > TODAY)


def test_the_plan_keeps_the_past_and_adds_the_work_ahead() -> None:
    learned = outcome()
    coming = outlook(record(), first=FIRST, n_days=5, planned=(roll(2, "2"),))
    plan = plan_of(learned, coming)
    fitted = learned.fit.layout.model
    assert plan.days == fitted.days + 5
    assert np.array_equal(plan.terms[0].dose[:, : fitted.days], fitted.terms[0].dose)
    # by hand: one roll on green 2, two days ahead
    ahead = plan.terms[0].dose[:, fitted.days :]
    assert ahead.tolist() == [[0, 0, 0, 0, 0], [0, 1, 0, 0, 0], [0, 0, 0, 0, 0]]
    assert np.array_equal(plan.covariates[0].values[:, : fitted.days], fitted.covariates[0].values)


def test_other_weathers_differ_only_where_they_may() -> None:
    held = record(weather=(*wet_weather(), *forecast_rows(3)))
    coming = outlook(held, first=FIRST, n_days=7)
    here, *others = coming.on("green_speed")
    assert len(others) >= FEWEST
    wet = np.array([one["wet"][0] for one in others])
    # Weather acts on the next morning: days 1 to 4 lean on today and the three forecast days.
    assert wet[:, :4] == pytest.approx(np.broadcast_to(here["wet"][0, :4], wet[:, :4].shape))
    assert wet[:, 4:].std(axis=0).min() > 0
