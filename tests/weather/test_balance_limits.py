"""How the water balance behaves at its ends: more water, surer readings, other depths."""

from __future__ import annotations

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from greenwright.weather.balance import Balance, Doubt, Water, balance
from greenwright.weather.store import RootZone, days_to, depletion_share

DAYS = 10
NAN = np.nan


def zone(depth: float = 0.3, greens: int = 1) -> RootZone:
    """Return sand of a depth."""
    held = [np.full(greens, x) for x in (0.22, 0.06, depth, 0.4)]
    return RootZone(*held)


def days(demand: np.ndarray, **changes: np.ndarray) -> Water:
    """Return days of one green without rain, watering or readings."""
    column = np.asarray(demand, dtype=float).reshape(-1, 1)
    none, never = np.zeros_like(column), np.full_like(column, NAN)
    held = {
        "demand": column, "demand_sd": 0.1 * column, "rain": none, "rain_sd": none, "early": none,
        "late": none, "given_sd": 0.2, "read": never, "read_sd": never,
    }  # fmt: skip
    return Water(**(held | changes))


def run(water: Water, *, depth: float = 0.3, start: float = 5.0, sd: float = 3.0) -> Balance:
    """Return the balance with ordinary doubts."""
    doubt = Doubt(start=np.array([start]), start_sd=np.array([sd]), unexplained_sd=0.5,
                  shared_sd=0.18)  # fmt: skip
    return balance(water, zone(depth), doubt)


DEMANDS = arrays(float, DAYS, elements=st.floats(0.5, 7))
GIVEN = arrays(float, (DAYS, 1), elements=st.floats(0, 15))
FEW = settings(max_examples=40)


@FEW
@given(DEMANDS, GIVEN, st.integers(0, DAYS - 1), st.floats(0.5, 20))
def test_more_water_never_leaves_more_missing(demand, late, day: int, more: float) -> None:
    plain = run(days(demand, late=late))
    wetter = late.copy()
    wetter[day] += more
    # The wider doubt of a larger watering may cost a little by draining, no more than its spread.
    slack = 0.2 * more
    assert np.all(run(days(demand, late=wetter)).deficit <= plain.deficit + slack)


@FEW
@given(DEMANDS, st.floats(1.01, 1.5))
def test_more_demand_never_leaves_less_missing(demand, factor: float) -> None:
    plain, thirsty = run(days(demand)), run(days(np.minimum(factor * demand, 9)))
    assert thirsty.deficit[-1, 0] >= plain.deficit[-1, 0] - 0.3


@FEW
@given(DEMANDS, st.floats(0, 40), st.floats(0.5, 8), st.integers(0, DAYS - 1))
def test_a_reading_always_narrows_and_pulls_its_own_way(demand, read, sd, day: int) -> None:
    column = np.full((DAYS, 1), NAN)
    column[day] = read
    blind = run(days(demand))
    found = run(days(demand, read=column, read_sd=np.where(np.isnan(column), NAN, sd)))
    before = blind.deficit[day - 1, 0] if day else 5.0
    assert found.sd[day, 0] <= blind.sd[day, 0] + 1e-9
    assert found.correction[day, 0] * (read - before) >= -1e-9
    assert abs(found.correction[day, 0]) <= abs(read - before) + 1e-9
    assert np.array_equal(found.deficit[:day], blind.deficit[:day])  # nothing before it moves


@FEW
@given(DEMANDS, st.floats(0.5, 8), st.floats(1.1, 5))
def test_a_surer_reading_corrects_more(demand, sd: float, looser: float) -> None:
    column = np.full((DAYS, 1), NAN)
    column[5] = 0.0
    corrections = [
        abs(run(days(demand, read=column, read_sd=np.where(np.isnan(column), NAN, s)))
            .correction[5, 0])
        for s in (sd, sd * looser)
    ]  # fmt: skip
    assert corrections[0] >= corrections[1] - 1e-12


@given(st.floats(0.05, 1.5), st.floats(0, 14))
def test_the_readily_available_part_is_a_part(depth: float, etc: float) -> None:
    held = zone(depth)
    part = held.readily_available(etc)[0]
    assert 0.1 * held.total_available[0] - 1e-9 <= part <= 0.8 * held.total_available[0] + 1e-9
    assert part == pytest.approx(float(depletion_share(0.4, etc)) * 160 * depth)  # 1000·0.16


@given(st.floats(0, 30), st.floats(1, 40), st.lists(st.floats(0.5, 7), min_size=1, max_size=20))
def test_days_to_the_line_by_a_loop(deficit: float, line: float, uses: list[float]) -> None:
    """Walk the days one after another: by hand, in the test's own words."""
    level, gone = deficit, 0.0
    expected = 0.0 if deficit >= line else None
    for use in uses if expected is None else ():
        if level + use >= line:
            expected = gone + (line - level) / use
            break
        level, gone = level + use, gone + 1
    if expected is None:
        expected = gone + (line - level) / (sum(uses) / len(uses))
    assert days_to(deficit, line, uses) == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_drainage_within_the_doubt_is_its_mean() -> None:
    # By simulation in closed form: the mean of max(x, 0) for x normal about 1 with spread 2 is
    # 1·F(0.5) + 2·f(0.5) = 1.3956; what drains is 0.3956
    normal = NormalDist()
    expected = 1 * normal.cdf(0.5) + 2 * normal.pdf(0.5)
    doubt = Doubt(
        start=np.array([1.0]), start_sd=np.array([2.0]), unexplained_sd=0.0, shared_sd=0.0
    )
    found = balance(replace(days(np.zeros(1)), given_sd=0.0), zone(1.0), doubt)
    assert expected == pytest.approx(1.3956, abs=5e-5)
    assert found.deficit[0, 0] == pytest.approx(expected, abs=1e-9)
    assert found.drained[0, 0] == pytest.approx(expected - 1.0, abs=1e-9)


def test_the_spread_after_drainage_by_simulation() -> None:
    doubt = Doubt(
        start=np.array([1.0]), start_sd=np.array([2.0]), unexplained_sd=0.0, shared_sd=0.0
    )
    found = balance(replace(days(np.zeros(1)), given_sd=0.0), zone(1.0), doubt)
    drawn = np.maximum(np.random.default_rng(1).normal(1.0, 2.0, 400_000), 0.0)
    assert found.sd[0, 0] == pytest.approx(drawn.std(), rel=0.01)


def test_a_soaking_forgets_what_was_not_known() -> None:
    soaked = days(np.full(3, 2.0), rain=np.array([[60.0], [0.0], [0.0]]))
    wide, narrow = (run(soaked, sd=sd) for sd in (1.0, 12.0))
    assert wide.deficit[-1] == pytest.approx(narrow.deficit[-1], abs=0.1)
    assert wide.sd[-1] == pytest.approx(narrow.sd[-1], abs=0.1)


def test_a_deep_root_zone_lasts_longer() -> None:
    demand = np.full(30, 4.0)
    line = [run(days(demand), depth=d).refill[0, 0] for d in (0.1, 0.3)]
    assert line[1] == pytest.approx(3 * line[0])
    shallow, deep = (run(days(demand), depth=d, start=0.0).use.sum() for d in (0.1, 0.3))
    assert deep > shallow


def test_syringing_a_full_root_zone_only_drains() -> None:
    full = run(days(np.zeros(4), late=np.full((4, 1), 1.0)), start=0.0, sd=0.0)
    assert full.drained.sum() == pytest.approx(4.0, abs=2.5)
    assert full.deficit[-1, 0] < 1.0
