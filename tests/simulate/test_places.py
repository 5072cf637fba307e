"""Four invented courses: each a sound record of its own grass, weather and names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from greenwright.simulate import PLACES, Act, Simulated, World, course, difference

NAMES = list(PLACES)


@cache
def made(name: str) -> Simulated:
    return course(2, world=replace(PLACES[name], greens=6, days=400))


@cache
def weather(name: str) -> Mapping[str, np.ndarray]:
    days = made(name).stage.weather
    months = np.array([day.date.month for day in days])
    return {
        "month": months,
        "mean": np.array([day.t_mean_c for day in days]),
        "least": np.array([day.t_min_c for day in days]),
        "rain": np.array([day.rain_mm for day in days]),
        "growth": made(name).truth.quantities["growth"].mean(axis=1),
    }


def test_the_first_is_the_demo_and_names_differ() -> None:
    assert PLACES["larkmoss"] == World()
    for word in ("key", "name", "grass"):
        assert len({getattr(world.place, word) for world in PLACES.values()}) == len(PLACES)
    assert all(world.place.key == key for key, world in PLACES.items())


@pytest.mark.parametrize("name", NAMES)
def test_the_record_says_where_it_lies_and_what_grows(name: str) -> None:
    place, tables = PLACES[name].place, made(name).tables
    (row,) = tables["course"]
    assert (row["course"], row["name"]) == (place.key, place.name)
    assert float(row["latitude"]) == PLACES[name].climate.latitude_deg
    assert row["timezone"] == place.timezone and "invented" in row["note"]
    assert {green["grass"] for green in tables["greens"]} == {place.grass}


@pytest.mark.parametrize("name", NAMES)
def test_the_surface_stays_a_putting_green(name: str) -> None:
    truth = made(name).truth
    speed, height = truth.quantities["green_speed"], truth.quantities["height_of_cut"]
    assert speed.min() > 2.0 and speed.max() < 3.8  # m; about 7 to 12 ft, common practice
    assert height.min() > 2.9 and np.median(height) < 4.3  # mm
    assert truth.quantities["moisture"].min() >= 4


def test_climates_are_what_they_are_called() -> None:
    cool, coast, warm, inland = (weather(name) for name in NAMES)
    spread = {k: w["mean"].std() for k, w in zip(NAMES, (cool, coast, warm, inland), strict=True)}
    assert spread["saltwick"] < spread["larkmoss"] < spread["drumsallow"]
    assert warm["mean"].mean() > 18 > 13 > cool["mean"].mean()
    assert inland["rain"].sum() < cool["rain"].sum() < coast["rain"].sum()
    assert (inland["least"] < 0).mean() > (cool["least"] < 0).mean() > (warm["least"] < 0).mean()


def test_grass_of_the_warm_course_grows_in_its_heat_and_sleeps_in_its_winter() -> None:
    warm, cool = weather("emberlin"), weather("larkmoss")
    growth = {m: warm["growth"][warm["month"][1 : len(warm["growth"]) + 1] == m].mean()
              for m in (1, 8)}  # fmt: skip
    assert growth[8] > 4 * growth[1]
    assert warm["growth"].max() > cool["growth"].max()


@pytest.mark.parametrize(("name", "gain"), [
    # by hand: 0.16 m times the course's own factor, mean over greens
    ("larkmoss", 0.16), ("saltwick", 0.192), ("emberlin", 0.12), ("drumsallow", 0.144),
])  # fmt: skip
def test_a_roll_is_worth_what_it_is_there(name: str, gain: float) -> None:
    roll = Act("roll", tuple(range(6)), "06:00")
    seen = difference(made(name), 300, roll)["green_speed"]
    assert seen[300].mean() == pytest.approx(gain, rel=1e-9)
    np.testing.assert_array_equal(seen[:300], 0)
