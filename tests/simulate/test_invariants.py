"""What holds in every invented world, whatever its seed, size and manager."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.simulate import Climate, Conditions, Crew, Manager, Observer, World, course
from greenwright.simulate.course import Simulated
from greenwright.simulate.events import coming_trophy, draw_calendar
from greenwright.simulate.golf import putts
from greenwright.simulate.manager import View, wanted_height
from greenwright.simulate.site import draw_site
from greenwright.simulate.surface import QUANTITIES, begin, look, wake
from greenwright.simulate.weather import (
    WeatherDay,
    draw_forecast,
    draw_weather,
    season,
    typical_day,
)
from greenwright.simulate.write import truth_summary

TODAY = date(2026, 6, 12)
MANAGERS = (Manager(), Manager.coin_flip(), Manager.by_feel(), Manager().driven(3.0))
DAY = WeatherDay(date(2026, 6, 1), 9.0, 21.0, 15.0, 0.0, 72.0, 50.0, 92.0, 4.0, 4.0, 2.5, 20.0)


@st.composite
def played(draw: st.DrawFn) -> Simulated:
    """Give a course of few greens and days: any seed, any season, any manager."""
    world = World(
        greens=draw(st.integers(3, 8)),
        days=draw(st.integers(2, 14)),
        manager=draw(st.sampled_from(MANAGERS)),
    )
    today = TODAY + timedelta(days=draw(st.integers(-200, 200)))
    return course(draw(st.integers(0, 10_000)), today=today, world=world)


@settings(deadline=None, max_examples=25)
@given(played())
def test_truth_is_finite_and_of_one_shape(made: Simulated) -> None:
    truth = made.truth
    shape = (len(truth.days), len(truth.greens))
    for name in QUANTITIES:
        held = truth.quantities[name]
        assert held.shape == shape
        assert np.isfinite(held).all() or name == "clippings"
    assert truth.unworked_speed.shape == truth.impression.shape == truth.rolled.shape == shape
    assert np.isfinite(truth.impression).all()


@settings(deadline=None, max_examples=25)
@given(played())
def test_the_surface_keeps_within_what_turf_can_be(made: Simulated) -> None:
    held = made.truth.quantities
    assert held["quality"].min() >= 1 and held["quality"].max() <= 9
    assert held["moisture"].min() >= 4 and held["moisture"].max() <= 60
    assert held["growth"].min() >= 0 and held["height_of_cut"].min() > 0
    assert (held["trueness"] > 0).all()
    # an index falls as its score rises, so both sort alike: one is exp(-0.3 x) of the other
    score = held["trueness_score"]
    np.testing.assert_allclose(np.log(held["trueness"] / 2.0e-6), -0.3 * (score - 8))


@settings(deadline=None, max_examples=25)
@given(played())
def test_clippings_are_known_where_it_was_mown_and_nowhere_else(made: Simulated) -> None:
    mown = np.zeros_like(made.truth.rolled, dtype=bool)
    for day, acts in enumerate(made.acts):
        for act in acts:
            if act.practice == "mow":
                mown[day, list(act.greens)] = True
    clippings = made.truth.quantities["clippings"]
    np.testing.assert_array_equal(~np.isnan(clippings), mown)
    assert (clippings[mown] >= 0).all()


@settings(deadline=None, max_examples=20)
@given(played())
def test_greens_without_early_work_are_read_as_they_woke(made: Simulated) -> None:
    touched = np.zeros_like(made.truth.rolled, dtype=bool)
    for day, acts in enumerate(made.acts):
        for act in acts:
            if act.early:
                touched[day, list(act.greens)] = True
    speed, woke = made.truth.quantities["green_speed"], made.truth.unworked_speed
    np.testing.assert_array_equal(speed[~touched], woke[~touched])
    rolled_only = (made.truth.rolled > 0) & (speed < woke)
    assert not rolled_only.any()  # no roll makes a green slower


@settings(deadline=None, max_examples=8)
@given(played())
def test_a_seed_makes_the_same_world_twice_and_another_seed_another(made: Simulated) -> None:
    stage = made.stage
    again = course(stage.seed, today=stage.today, world=stage.site.world)
    other = course(stage.seed + 1, today=stage.today, world=stage.site.world)
    assert again.tables == made.tables
    for name in QUANTITIES:
        np.testing.assert_array_equal(again.truth.quantities[name], made.truth.quantities[name])
    assert other.tables["weather"] != made.tables["weather"]
    assert (other.truth.impression != made.truth.impression).all()


def test_who_reads_changes_neither_greens_nor_work() -> None:
    world = World(greens=4, days=30)
    one = Crew(observers=(Observer("Ida", 2.0, 0.3, "in", 1.0), Observer("Bram", 0, 0, "cm", 1.0)))
    plain, other = (course(9, today=TODAY, world=w) for w in (world, replace(world, crew=one)))
    assert plain.acts == other.acts
    for name in QUANTITIES:
        np.testing.assert_array_equal(plain.truth.quantities[name], other.truth.quantities[name])
    assert plain.tables["readings"] != other.tables["readings"]
    assert plain.tables["weather"] == other.tables["weather"]


@pytest.fixture(scope="module")
def exact() -> Simulated:
    """Give a course whose crew makes no error at all."""
    crew = Crew(
        observers=(Observer("Ida", 0, 0, "cm", 0.5, 0.0), Observer("Bram", 0, 0, "cm", 0.5, 0.0)),
        ramps={"ramp-1": 0.0},
        roll_sd_m=0.0,
        set_sd_m=0.0,
        station_sd_m=0.0,
        moisture_sd_pct=0.0,
        firmness_sd_g=0.0,
        clippings_sd=0.0,
        hours_drift_m=0.0,
    )
    return course(4, today=TODAY, world=World(greens=4, days=40, crew=crew))


def rows(made: Simulated, kind: str) -> list[tuple[float, float, dict]]:
    """Give written value, truth and row of each reading of a kind."""
    quantity = {"roll_distance": "green_speed"}.get(kind, kind)
    found = []
    for row in made.tables["readings"]:
        if row["kind"] == kind:
            day = (date.fromisoformat(row["date"]) - made.stage.first).days
            green = made.truth.greens.index(row["green"])
            found.append(
                (float(row["value"]), float(made.truth.quantities[quantity][day, green]), row)
            )
    assert found
    return found


@pytest.mark.parametrize(
    ("kind", "last"), [("moisture", 0.05), ("firmness", 0.5), ("clippings", 0.05)]
)
def test_a_crew_without_errors_writes_the_truth(exact: Simulated, kind: str, last: float) -> None:
    # nothing is lost but half of the last digit written
    assert all(abs(value - true) <= last + 1e-9 for value, true, _ in rows(exact, kind))


def test_up_and_down_a_slope_their_harmonic_mean_is_the_speed(exact: Simulated) -> None:
    sets: dict[tuple, dict[str, float]] = {}
    truth: dict[tuple, float] = {}
    for value, true, row in rows(exact, "roll_distance"):
        key = (row["date"], row["time"], row["station"])
        sets.setdefault(key, {})[row["direction"]] = value
        truth[key] = true
    for key, ways in sets.items():
        # 2ab / (a + b), the two-way rule; each length is rounded to a centimetre
        harmonic = 2 * ways["a"] * ways["b"] / (ways["a"] + ways["b"])
        assert harmonic == pytest.approx(truth[key], abs=0.006)


# -- the day's sums, by hand


def woken(weather: WeatherDay = DAY, rounds: float = 55.0, **state: object):
    site = draw_site(World(greens=3), np.random.default_rng(1))
    held = replace(begin(site, np.random.default_rng(2)), **state)
    return site, wake(site, held, Conditions(TODAY, weather, rounds), np.random.default_rng(3))


def test_a_dry_day_takes_its_water_by_sun_and_warmth() -> None:
    site, state = woken(water_pct=np.full(3, 15.0))
    # by hand: 0.36 x 20 MJ x (0.25 + 0.015 x 15) = 3.42 mm in the open, 0.6 % a millimetre
    assert state.water_pct == pytest.approx(15.0 - 2.052 * site.light)


def test_the_driest_soil_keeps_its_last_water() -> None:
    _, state = woken(water_pct=np.full(3, 7.5))
    assert state.water_pct == pytest.approx(np.full(3, 7.0))


def test_of_too_much_rain_seven_tenths_drain_in_a_day() -> None:
    wet = replace(DAY, rain_mm=40.0, solar_mj_m2=0.0)
    site, state = woken(wet, water_pct=np.full(3, 20.0))
    # by hand: 20 + 0.6 x 40 = 44 %; three tenths of what is over capacity stay, at most 48 %
    over = 44.0 - site.field_capacity_pct
    assert state.water_pct == pytest.approx(44.0 - 0.7 * over)


@pytest.mark.parametrize(
    # by hand: a day keeps 2^(-1/4) = 0.840896 of the wear; 55 rounds are an ordinary day
    ("rounds", "wear"),
    [(55.0, 1.0), (110.0, 1.159104), (0.0, 0.840896)],
)
def test_wear_has_its_half_life(rounds: float, wear: float) -> None:
    assert woken(rounds=rounds)[1].wear == pytest.approx(wear, abs=1e-6)


def test_unmown_leaf_is_longer_by_the_growth() -> None:
    _, state = woken(leaf_mm=np.array([3.0, 3.6, 4.0]))
    assert state.leaf_mm - state.growth_mm == pytest.approx([3.0, 3.6, 4.0])
    assert np.isnan(state.clippings).all()


@pytest.mark.parametrize(
    ("quantity", "base", "lowest", "highest"),
    # a rating runs from 1 to 9; soil is never drier than 4 % nor wetter than 60 %
    [
        ("quality", -5.0, 1, 1),
        ("quality", 30.0, 9, 9),
        ("moisture", -50, 4, 4),
        ("moisture", 90, 60, 60),
    ],
)
def test_scales_end_where_they_end(quantity, base, lowest, highest) -> None:
    plain = World(greens=3)
    surface = replace(plain.surface, base={**plain.surface.base, quantity: base})
    site = draw_site(replace(plain, surface=surface), np.random.default_rng(1))
    held = look(site, begin(site, np.random.default_rng(2)))[quantity]
    assert (held.min(), held.max()) == (lowest, highest)


# -- weather, calendar, heights


def test_the_hottest_day_stands_at_the_top_of_the_year() -> None:
    climate = Climate(hottest_day=201)
    assert season(climate, date(2026, 7, 20)) == 1.0  # day 201 of 2026, counted by hand
    assert season(climate, date(2026, 1, 18)) == pytest.approx(-1.0, abs=1e-3)  # 183 days off


@settings(deadline=None, max_examples=20)
@given(st.integers(0, 10_000))
def test_a_forecast_without_skill_is_the_typical_day_with_its_error(seed: int) -> None:
    climate = Climate(forecast_skill_days=1e-6)
    true = draw_weather(climate, TODAY, 6, np.random.default_rng(seed))
    told = draw_forecast(climate, true, np.random.default_rng(seed + 1))
    for guess in told:
        usual = typical_day(climate, guess.date)
        assert guess.solar_mj_m2 == usual.solar_mj_m2 and guess.rh_mean_pct == usual.rh_mean_pct
        assert guess.t_min_c <= guess.t_mean_c <= guess.t_max_c and guess.rain_mm >= 0
        assert all(np.isfinite(getattr(guess, f.name)) for f in fields(guess) if f.name != "date")


def test_the_calendar_by_hand() -> None:
    # 12 June 2026 is a Friday: eight days on is Saturday the 20th
    assert coming_trophy(TODAY) == date(2026, 6, 20)
    assert coming_trophy(TODAY + timedelta(days=1)) == date(2026, 6, 27)  # the 21st is a Sunday
    events = {e.name: e for e in draw_calendar(date(2026, 3, 1), TODAY)}
    assert events["Spring Cup"].start == date(2026, 5, 9)  # second Saturday of May
    assert events["Foursomes Shield"].start == date(2026, 7, 18)  # third of July
    assert "Autumn Plate" not in events  # 12 September lies over two months ahead
    assert events["Hollow Trophy"].weight == 3


@pytest.mark.parametrize(
    ("month", "to_event", "group", "height"),
    [
        (6, None, 0, 3.6),  # by hand from the manager's table of months
        (6, None, 2, 3.7),  # group C stands 0.1 mm higher
        (6, 12, 0, 3.3),
        (6, 13, 0, 3.6),  # the run-up is twelve days
        (1, None, 2, 4.0),  # 4.1 is over the highest
    ],
)
def test_wanted_heights(month: int, to_event: int | None, group: int, height: float) -> None:
    view = View(0, date(2026, month, 9), DAY, DAY, to_event, None)
    assert wanted_height(Manager(), view, group) == pytest.approx(height)


@pytest.mark.parametrize(
    ("t_min_c", "rain_mm", "stopped"), [(0.9, 0, True), (1.0, 15, False), (5.0, 15.1, True)]
)
def test_frost_and_soaked_ground_stop_the_mowers(t_min_c, rain_mm, stopped) -> None:
    view = View(0, TODAY, replace(DAY, t_min_c=t_min_c), replace(DAY, rain_mm=rain_mm), None, None)
    assert view.stopped is stopped


def test_putts_are_tried_on_the_first_saturday_of_the_season_only() -> None:
    seen = {"trueness_score": np.array([8.0, 8.0, 8.0, 2.0])}
    days = [date(2026, 1, 1) + timedelta(days=i) for i in range(365)]
    names = ("1", "2", "3", "4")
    told = [d for d in days if putts(seen, d, names, np.random.default_rng(1))]
    # first Saturdays of April to October 2026, read off a calendar
    assert [(d.month, d.day) for d in told] == [
        (4, 4), (5, 2), (6, 6), (7, 4), (8, 1), (9, 5), (10, 3),
    ]  # fmt: skip
    written = putts(seen, told[0], names, np.random.default_rng(1))
    assert len(written) == 9 and all(int(r["made"]) <= int(r["tried"]) for r in written)


def test_means_of_the_summary_leave_out_what_is_unknown() -> None:
    made = course(3, today=TODAY, world=World(greens=3, days=3))
    grid = np.array([[np.nan, 2.0, 4.0], [np.nan] * 3, [3.0, 3.0, 6.0]])
    truth = replace(made.truth, quantities={**made.truth.quantities, "clippings": grid})
    told = truth_summary(replace(made, truth=truth))
    assert told["course_means"]["clippings"] == [3.0, None, 4.0]  # by hand
    assert told["today_by_green"]["clippings"] == [3.0, 3.0, 6.0]
    assert told["invented"] is True and told["greens"] == ["1", "2", "3"]
