"""The day's step is pure, and each of its parts does what turf does."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.simulate import Act, Conditions, Response, Simulated, State, World, course, step
from greenwright.simulate.practices import RESPONSES, curve
from greenwright.simulate.site import Site, draw_site
from greenwright.simulate.surface import begin, finish, labour, look, wake
from greenwright.simulate.weather import WeatherDay

DAY = WeatherDay(date(2026, 6, 1), 9.0, 21.0, 15.0, 0.0, 72.0, 50.0, 92.0, 4.0, 4.0, 2.5, 20.0)
ALL = tuple(range(6))
MOW = Act("mow", ALL, "05:30", 3.6)


@pytest.fixture
def site() -> Site:
    return draw_site(World(greens=6), np.random.default_rng(1))


@pytest.fixture
def state(site: Site) -> State:
    return begin(site, np.random.default_rng(2))


def day(
    site: Site, state: State, *acts: Act, weather: WeatherDay = DAY, rounds: float = 55
) -> State:
    conditions = Conditions(date(2026, 6, 2), weather, rounds)
    return step(site, state, acts, conditions=conditions, rng=np.random.default_rng(3))


def test_a_step_leaves_what_it_was_given(site: Site, state: State) -> None:
    kept = [state.memory.copy(), state.leaf_mm.copy(), state.water_pct.copy(), state.own.copy()]
    sand = Act("topdress", ALL, "09:00", 0.5)
    first = day(site, state, MOW, Act("roll", ALL), sand, Act("irrigate", ALL, amount=5.0))
    again = day(site, state, MOW, Act("roll", ALL), sand, Act("irrigate", ALL, amount=5.0))
    for before, now in zip(
        kept, [state.memory, state.leaf_mm, state.water_pct, state.own], strict=True
    ):
        np.testing.assert_array_equal(before, now)
    for quantity, values in first.seen.items():
        np.testing.assert_array_equal(values, again.seen[quantity])


def test_a_step_is_wake_then_early_work_then_late_work(site: Site, state: State) -> None:
    acts = (Act("topdress", ALL, "09:00", 0.5), MOW, Act("roll", (1, 2)))
    whole = day(site, state, *acts)
    woken = wake(site, state, Conditions(date(2026, 6, 2), DAY, 55), np.random.default_rng(3))
    parts = finish(site, labour(site, woken, acts), acts)
    np.testing.assert_array_equal(whole.memory, parts.memory)
    np.testing.assert_array_equal(whole.seen["green_speed"], parts.seen["green_speed"])
    assert not np.array_equal(look(site, parts)["green_speed"], parts.seen["green_speed"])


@settings(max_examples=30, deadline=None)
@given(
    greens=st.sets(st.integers(0, 5), min_size=1),
    passes=st.integers(1, 3),
)
def test_effects_of_acts_add_up(greens: set[int], passes: int) -> None:
    site = draw_site(World(greens=6), np.random.default_rng(1))
    state = begin(site, np.random.default_rng(2))
    roll, brush = Act("roll", tuple(sorted(greens)), passes=passes), Act("brush", ALL)
    speed = {
        name: day(site, state, *acts).seen["green_speed"]
        for name, acts in {
            "none": (), "roll": (roll,), "brush": (brush,), "both": (brush, roll)
        }.items()
    }  # fmt: skip
    alone = speed["roll"] + speed["brush"] - 2 * speed["none"]
    np.testing.assert_allclose(speed["both"] - speed["none"], alone, atol=1e-12)


def test_mowing_takes_leaf_down_to_the_bench_and_no_further(site: Site, state: State) -> None:
    grown = day(site, day(site, state))
    low, high = day(site, grown, MOW), day(site, grown, replace(MOW, amount=6.0))
    np.testing.assert_allclose(low.leaf_mm, 3.6)
    assert (high.leaf_mm > grown.leaf_mm).all()  # nothing to cut: the day's growth stays
    np.testing.assert_array_equal(high.clippings, 0)
    removed = grown.leaf_mm + low.growth_mm - 3.6
    np.testing.assert_allclose(low.clippings, 50 * removed)  # stated 50 mL/m2 per mm


def test_mowing_without_a_height_is_refused(site: Site, state: State) -> None:
    with pytest.raises(ValueError, match="mow: no bench height"):
        day(site, state, Act("mow", ALL))


def test_rain_and_water_wet_and_sun_dries(site: Site, state: State) -> None:
    dry = replace(state, water_pct=np.full(6, 14.0))
    after = day(site, dry)
    assert (after.water_pct < 14).all()
    wet = day(site, dry, weather=replace(DAY, rain_mm=10.0))
    # by hand: 10 mm * 0.6 % per mm, none of it drained below field capacity
    np.testing.assert_allclose(wet.water_pct - after.water_pct, 6.0)
    watered = day(site, dry, Act("irrigate", (0, 1), "21:00", 5.0))
    np.testing.assert_allclose(watered.water_pct - after.water_pct, [3, 3, 0, 0, 0, 0])
    np.testing.assert_array_equal(watered.seen["moisture"], after.seen["moisture"])


def test_soaked_greens_drain_toward_field_capacity(site: Site, state: State) -> None:
    soaked = replace(state, water_pct=np.full(6, 48.0))
    for _ in range(4):
        soaked = day(site, soaked)
    assert (soaked.water_pct < site.field_capacity_pct + 1.5).all()


def test_wet_ground_is_softer_and_a_little_slower(site: Site, state: State) -> None:
    dry, wet = (day(site, replace(state, water_pct=np.full(6, w))).seen for w in (15.0, 22.0))
    assert (wet["firmness"] < dry["firmness"]).all()
    assert (wet["green_speed"] < dry["green_speed"]).all()


def test_play_wears_the_surface(site: Site, state: State) -> None:
    quiet, busy = day(site, state, rounds=0).seen, day(site, state, rounds=150).seen
    # by hand: 150 rounds * -0.0004 m
    np.testing.assert_allclose(busy["green_speed"] - quiet["green_speed"], -0.06)
    assert (busy["smoothness"] < quiet["smoothness"]).all()


def test_warm_days_grow_more_than_cold_and_hot_ones(site: Site, state: State) -> None:
    grown = [
        day(site, state, weather=replace(DAY, t_mean_c=t)).seen["growth"].mean()
        for t in (2.0, 12.0, 20.0, 32.0)
    ]
    assert grown[0] < grown[1] < grown[2] > grown[3]


def test_a_practice_made_a_sham_does_nothing(site: Site) -> None:
    shams = tuple(r for r in RESPONSES if r.practice != "roll")
    world = World(greens=6, days=20, responses=(*shams, Response("roll", "green_speed", 0.0, 1.0)))
    made = course(4, world=world)
    assert made.truth.rolled.sum() > 0
    assert not made.truth.effects["roll", "green_speed"].any()


def test_two_parts_make_one_curve() -> None:
    parts = (
        Response("brush", "smoothness", -1.0, 1.0),
        Response("brush", "smoothness", 0.5, 4.0),
        Response("roll", "smoothness", 9.0, 1.0),
    )
    got = curve(parts, practice="brush", quantity="smoothness", horizons=np.array([0, 1, 4]))
    # by hand: -1 + 0.5; -0.5 + 0.5 * 0.8409; -0.0625 + 0.25
    np.testing.assert_allclose(got, [-0.5, -0.07955, 0.1875], atol=1e-5)


def test_noise_has_the_stated_size_and_memory(demo: Simulated) -> None:
    """Wander alone: no work, steady weather, so what moves between days is the noise."""
    site = demo.stage.site
    state = begin(site, np.random.default_rng(1))
    seen = []
    for index in range(1500):
        conditions = Conditions(date(2026, 6, 2), DAY, 55)
        rng = np.random.default_rng([5, index])
        state = replace(state, leaf_mm=np.full(18, 3.6), water_pct=np.full(18, 18.0))
        state = step(site, state, (), conditions=conditions, rng=rng)
        seen.append(state.seen["smoothness"])
    wander = np.array(seen)
    own = wander - wander.mean(axis=1, keepdims=True)
    own = own - own.mean(axis=0)
    shared = wander.mean(axis=1)
    # stated: green sd 0.22 and memory 0.5, course sd 0.22 and memory 0.7; growth adds a little
    assert own.std() == pytest.approx(0.22, rel=0.08)
    assert shared.std() == pytest.approx(0.225, rel=0.12)
    assert np.corrcoef(shared[1:], shared[:-1])[0, 1] == pytest.approx(0.7, abs=0.06)
    assert np.mean(own[1:] * own[:-1]) / own.var() == pytest.approx(0.5, abs=0.05)
