"""Forecasts: what planned work adds, what readings would show, and the limits at both ends."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy.stats import lognorm

from greenwright.base.errors import BadInput
from greenwright.respond.ahead import (
    BACK,
    COURSE,
    Forecast,
    Window,
    believed,
    forecast,
    left_by_a_set,
)
from greenwright.respond.coming import outlook, plan_of
from greenwright.respond.learning import LearnedOutcome
from greenwright.respond.scatter import scatter
from greenwright.stats.dynamic import change, effects, levels
from tests.respond.handmade import DAYS, FIRST, GREENS, SIZES, TODAY, mild, outcome, record, roll


@pytest.fixture(scope="module")
def learned() -> LearnedOutcome:
    return outcome()


def at(found: Forecast, green: str, ahead: int):
    wanted = (green, TODAY + timedelta(days=ahead))
    return next(s for s in found.ahead if (s.green, s.date) == wanted)


def test_every_green_and_the_course_have_every_day(learned: LearnedOutcome) -> None:
    found = forecast(learned, record(), days=4)
    assert [s.green for s in found.ahead[::4]] == [COURSE, *GREENS]
    assert [s.date for s in found.ahead[:4]] == [TODAY + timedelta(days=k) for k in range(1, 5)]
    assert len(found.past) == 4 * (BACK + 1)
    assert found.past[BACK].date == TODAY and found.past[0].date == TODAY - timedelta(days=BACK)
    assert all(s.reading is None for s in found.past)


def test_a_planned_roll_raises_its_day_by_its_effect_and_fades(learned: LearnedOutcome) -> None:
    idle = forecast(learned, record(), days=3)
    busy = forecast(learned, record(), days=3, planned=(roll(1, "2"),))
    gain = [at(busy, "2", k).level.value - at(idle, "2", k).level.value for k in (1, 2, 3)]
    assert gain[0] == pytest.approx(effects(learned.fit).at("roll")[0], abs=1e-9)
    # the half-life's prior is 1 day, held within a twentieth: halves day by day
    assert gain[1] / gain[0] == pytest.approx(0.5, abs=0.05)
    assert gain[2] / gain[1] == pytest.approx(0.5, abs=0.05)
    assert at(busy, "1", 1).level == at(idle, "1", 1).level
    whole = at(busy, COURSE, 1).level.value - at(idle, COURSE, 1).level.value
    assert whole == pytest.approx(gain[0] / 3, abs=1e-9)  # the mean of three greens


def test_levels_are_the_engine_s_own(learned: LearnedOutcome) -> None:
    found = forecast(learned, record(), days=1)
    today = [s for s in found.past if s.date == TODAY and s.green != COURSE]
    engine = levels(learned.fit, np.arange(3), np.full(3, DAYS - 1))
    assert [s.level.value for s in today] == pytest.approx(engine.mean, abs=1e-9)
    assert [s.level.sd for s in today] == pytest.approx(np.sqrt(np.diag(engine.cov)), rel=1e-6)
    course = next(s for s in found.past if s.date == TODAY and s.green == COURSE)
    assert course.level.sd == pytest.approx(np.sqrt(engine.cov.mean()), rel=1e-6)


def test_a_slow_surface_stays_where_it_is() -> None:
    slow = outcome(day_time=5000.0, own_time=5000.0)
    found = forecast(slow, record(), days=14)
    plan = plan_of(slow, outlook(record(), first=FIRST, n_days=14))
    for unit, green in enumerate(GREENS):
        now = next(s for s in found.past if (s.green, s.date) == (green, TODAY))
        later = at(found, green, 14)
        moved = later.level.value - now.level.value
        parts = change(slow.fit, (unit, DAYS - 1), (unit, DAYS + 13), model=plan)
        known = dict(zip(parts.parts, parts.mean, strict=True))
        # What moves is the roll that fades and the water behind the morning, nothing else.
        assert moved == pytest.approx(known["roll"] + known["wet"], abs=0.002)
        assert later.level.sd < 1.5 * now.level.sd + 0.02


def test_a_quick_surface_is_forgotten_to_its_mean_and_spread() -> None:
    quick = outcome(day_time=0.5, own_time=0.5)
    found = forecast(quick, record(), days=14)
    twelve, fourteen = at(found, "1", 12).level, at(found, "1", 14).level
    assert twelve.value == pytest.approx(fourteen.value, abs=0.01)
    hyper = quick.fit.hyper
    least = hyper["day_sd"] ** 2 + hyper["own_sd"] ** 2
    # At least the two processes' stationary spread; the green's own level is known besides.
    assert least * 0.9 < fourteen.sd**2 < least + 0.06**2


def test_the_band_widens_from_day_to_day(learned: LearnedOutcome) -> None:
    sds = [at(forecast(learned, record(), days=10), "1", k).level.sd for k in (1, 3, 10)]
    assert sds[0] < sds[1] < sds[2]


def test_a_log_outcome_is_told_in_its_own_unit() -> None:
    clip = outcome(quantity="clippings", log=True, level=2.0)
    step = at(forecast(clip, record(), days=3), "3", 2)
    fits = replace(clip.fit, at=clip.fit.at[:1], weights=np.ones(1))
    single = replace(clip, fit=fits)
    lone = forecast(single, record(), days=3)
    plain = forecast(replace(single, log=False, quantity="green_speed"), record(), days=3)
    centre, spread = at(plain, "3", 2).level.value, at(plain, "3", 2).level.sd
    known = lognorm(s=spread, scale=np.exp(centre))  # scipy.stats.lognorm
    held = at(lone, "3", 2).level
    assert held.value == pytest.approx(known.mean(), rel=1e-6)
    wanted = [known.ppf(float(q)) for q in held.quantiles]
    assert list(held.quantiles.values()) == pytest.approx(wanted, rel=1e-6)
    assert step.level.low > 0


def test_one_set_scatters_about_what_its_readers_see_by_its_own_noise(
    learned: LearnedOutcome,
) -> None:
    step = at(forecast(learned, record(), days=1), "1", 1)
    window = Window(
        learned, plan_of(learned, outlook(record(), first=FIRST, n_days=1)), GREENS, first=1, last=1
    )
    quiet = scatter(learned)
    exact = believed(window, replace(quiet, own=0 * quiet.own, between=0 * quiet.between))
    own = learned.fit.hyper["noise_sd"] ** 2 / 4 + learned.fit.hyper["set_sd"] ** 2  # four rolls
    more = step.reading.sd**2 - exact.sd[1] ** 2
    # Between the two readers comes on top: a tenth of a metre apart at the very most.
    assert own * 0.9 < more < own + 0.05**2


def test_a_reader_s_shift_is_not_doubted_twice(learned: LearnedOutcome) -> None:
    step = at(forecast(learned, record(), days=1), "1", 1)
    held, first = learned.fit.at[0], learned.fit.layout.border.groups[0][0]
    doubt = np.diagonal(held.cov)[first : first + 2].mean()
    own = learned.fit.hyper["noise_sd"] ** 2 / 4 + learned.fit.hyper["set_sd"] ** 2
    # A level that is known through its readers is doubted where they are: not both at once.
    assert step.reading.sd**2 < step.level.sd**2 + doubt + own


def test_a_set_narrows_by_what_it_shares_with_the_level(learned: LearnedOutcome) -> None:
    left = forecast(learned, record(), days=1).left
    assert set(left) == set(GREENS) and all(0 < share < 1 for share in left.values())
    # By hand with a single normal: level variance v seen with noise o leaves sqrt(o / (v + o)).
    alone = replace(scatter(learned), seen_by=0 * scatter(learned).seen_by)
    window = Window(
        learned, plan_of(learned, outlook(record(), first=FIRST, n_days=1)), GREENS, first=1, last=1
    )
    shares = left_by_a_set(window, alone)
    v = believed(window).sd[1:] ** 2
    o = (learned.fit.weights @ alone.variances(np.arange(3)))[1:]
    assert list(shares.values()) == pytest.approx(np.sqrt(o / (v + o)), rel=1e-6)


def test_weather_that_is_not_known_widens_the_days_it_touches(learned: LearnedOutcome) -> None:
    storms = tuple(
        mild(TODAY - timedelta(days=k), rain_mm=60.0 if k % 9 == 0 else 0.0) for k in range(365)
    )
    fixed = tuple(
        replace(mild(TODAY + timedelta(days=k), kind="forecast"), issued=TODAY) for k in range(1, 6)
    )
    given = forecast(learned, record(weather=(*storms, *fixed)), days=5)
    open_ = forecast(learned, record(weather=storms), days=5)
    assert given.weather.typical == 0 and open_.weather.typical == 5
    assert at(open_, COURSE, 1).level.sd == pytest.approx(at(given, COURSE, 1).level.sd, rel=1e-3)
    assert at(open_, COURSE, 5).level.sd > 1.02 * at(given, COURSE, 5).level.sd


def test_the_chance_of_the_target_is_the_belief_s(learned: LearnedOutcome) -> None:
    found = forecast(learned, record(), days=2)
    step = at(found, "2", 2)
    middle = step.level.quantiles["0.5"]
    day = TODAY + timedelta(days=2)
    assert found.in_target("2", day, low=None, high=middle) == pytest.approx(0.5, abs=1e-9)
    inside = found.in_target("2", day, low=step.level.low, high=step.level.high)
    assert inside == pytest.approx(0.9, abs=1e-9)


@pytest.mark.parametrize("days", [0, 15])
def test_only_two_weeks_are_looked_at(learned: LearnedOutcome, days: int) -> None:
    with pytest.raises(BadInput, match="1 to 14"):
        forecast(learned, record(), days=days)


def test_the_same_record_gives_the_same_forecast(learned: LearnedOutcome) -> None:
    first, second = (forecast(learned, record(), days=3) for _ in range(2))
    assert first.ahead == second.ahead


def test_the_invented_scales_are_what_the_model_is_told() -> None:
    assert set(SIZES) == set(outcome().fit.layout.model.scales) and FIRST < TODAY
