"""The water balance: nothing is lost, readings count by their uncertainty, ranges hold."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from greenwright.base.errors import BadInput
from greenwright.weather.balance import Balance, Doubt, Water, balance
from greenwright.weather.crop import crop_coefficient
from greenwright.weather.store import RootZone, days_to, depletion_of, depletion_share

NAN = np.nan
PARTS = ("demand", "demand_sd", "rain", "rain_sd", "early", "late", "read", "read_sd")
BIG = 1e4


def zone(n: int = 1, depth: float = 0.3) -> RootZone:
    """Return sand with field capacity 0.22, wilting point 0.06."""
    return RootZone(np.full(n, 0.22), np.full(n, 0.06), np.full(n, depth), np.full(n, 0.4))


def water(demand, n: int = 1, **changes) -> Water:
    """Return days of demand without rain, water given or readings; shapes days x n."""
    demand = np.asarray(demand, dtype=float).reshape(-1, 1) * np.ones((1, n))
    none, never = np.zeros_like(demand), np.full_like(demand, NAN)
    held = {
        "demand": demand, "demand_sd": none, "rain": none, "rain_sd": none, "early": none,
        "late": none, "given_sd": 0.0, "read": never, "read_sd": never,
    }  # fmt: skip
    return Water(**(held | {k: np.asarray(v, dtype=float) for k, v in changes.items()}))


def sure(n: int = 1, start: float = 0.0, **changes: float) -> Doubt:
    """Return no doubt at all, or what is changed."""
    held = {"start_sd": np.zeros(n), "unexplained_sd": 0.0, "shared_sd": 0.0} | changes
    return Doubt(start=np.full(n, start), **held)


def test_the_store_by_hand() -> None:
    held = zone()
    # 1000·(0.22 - 0.06)·0.3 = 48 mm, of which 0.40 = 19.2 mm: 4.8 days at 4 mm/d
    assert held.total_available[0] == pytest.approx(48.0)
    assert held.readily_available()[0] == pytest.approx(19.2)
    shallow = zone(depth=0.1)
    assert (shallow.total_available[0], shallow.readily_available()[0]) == pytest.approx((16, 6.4))
    assert float(depletion_share(0.4, 6.0)) == pytest.approx(0.36)  # 0.40 + 0.04·(5 - 6)
    assert float(depletion_share(0.4, 20.0)) == pytest.approx(0.1)  # the paper's ends
    assert float(depletion_share(0.7, 0.0)) == pytest.approx(0.8)
    assert depletion_of("bermudagrass")[0] == 0.5 and depletion_of("fine fescue")[0] == 0.4
    assert held.deficit_of(12.0)[0] == pytest.approx(30.0)  # 1000·(0.22 - 0.12)·0.3


def test_days_to_refill_by_hand() -> None:
    assert days_to(0.0, 19.2, [4.0] * 14) == pytest.approx(4.8)
    assert days_to(0.0, 6.4, [4.0] * 14) == pytest.approx(1.6)
    assert days_to(19.2, 19.2, [4.0]) == 0.0 and days_to(25.0, 19.2, []) == 0.0
    assert days_to(0.0, 10.0, []) is None and days_to(0.0, 10.0, [0.0, -3.0]) is None
    # 2 + 2 mm in the window, then on at their mean: 2 + 6/2 = 5 days
    assert days_to(0.0, 10.0, [2.0, 2.0]) == pytest.approx(5.0)
    # rain of 9 mm on the second day is held only as far as field capacity: 4 - 4 + 4 + 4
    assert days_to(0.0, 8.0, [4.0, -9.0, 4.0, 4.0]) == pytest.approx(4.0)


def test_a_dry_week_by_hand() -> None:
    found = balance(water([3.0, 3.0, 3.0]), zone(), sure())
    assert found.deficit[:, 0] == pytest.approx([3.0, 6.0, 9.0])
    assert found.sd.max() < 1e-3 and found.drained.sum() < 1e-5
    # the line moves with demand: (0.40 + 0.04·(5 - 3))·48 = 23.04
    assert found.refill[:, 0] == pytest.approx([23.04] * 3)


def test_rain_over_field_capacity_drains_by_hand() -> None:
    given_ = water([3.0, 3.0], rain=[[0.0], [10.0]])
    found = balance(given_, zone(), sure())
    assert found.deficit[:, 0] == pytest.approx([3.0, 0.0], abs=1e-5)
    assert found.drained[1, 0] == pytest.approx(4.0, abs=1e-5)  # 3 + 3 - 10 = -4


def test_past_the_refill_line_the_grass_uses_less_by_hand() -> None:
    # Store 48, line (0.4 + 0.04·(5-5))·48 = 19.2; at 33.6 missing half of 28.8 is left
    found = balance(water([5.0]), zone(), sure(start=33.6))
    assert found.use[0, 0] == pytest.approx(2.5)
    empty = balance(water([5.0] * 60), zone(), sure(start=47.0))
    assert empty.deficit.max() <= 48.0 and empty.use[-1, 0] < 0.01


def test_water_given_early_is_there_for_the_reading_and_late_is_not() -> None:
    reading = {"read": [[6.0]], "read_sd": [[1e-4]]}
    doubt = sure(start=10.0, start_sd=np.ones(1))
    early = balance(water([0.0], early=[[4.0]], **reading), zone(), doubt)
    late = balance(water([0.0], late=[[4.0]], **reading), zone(), doubt)
    assert early.correction[0, 0] == pytest.approx(0.0, abs=1e-3)  # 10 - 4 = 6: nothing to mend
    assert late.correction[0, 0] == pytest.approx(-4.0, abs=1e-3)
    assert late.deficit[0, 0] == pytest.approx(2.0, abs=1e-3)


def least_squares(demand, read, *, q: float, r: float, start: tuple[float, float]) -> float:
    """Return the last deficit by batch weighted least squares over all days at once.

    Unknown: the deficit on every morning and at the end. Equations: the start, each day's step
    (demand known within q), each reading (within r); each row divided by its sd.
    """
    n = len(demand)
    rows, right = [], []

    def equation(places: dict[int, float], value: float, sd: float) -> None:
        row = np.zeros(n + 1)
        for place, factor in places.items():
            row[place] = factor / sd
        rows.append(row)
        right.append(value / sd)

    equation({0: 1.0}, start[0], start[1])
    for day in range(n):
        if np.isfinite(read[day]):
            equation({day: 1.0}, read[day], r)
        equation({day: -1.0, day + 1: 1.0}, demand[day], q)
    found = np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)[0]
    spread = np.sqrt(np.linalg.inv(np.array(rows).T @ np.array(rows))[-1, -1])
    return float(found[-1]), float(spread)


@pytest.mark.parametrize("seed", range(5))
def test_readings_count_as_in_batch_least_squares(seed: int) -> None:
    rng = np.random.default_rng(seed)
    # So deep a store that neither drainage nor thirst bends the line.
    deep = RootZone(np.array([0.4]), np.array([0.1]), np.array([1e3]), np.array([0.8]))
    demand = rng.uniform(1, 6, 12)
    read = np.where(rng.random(12) < 0.5, BIG + 20 + rng.normal(0, 5, 12), NAN)
    q, r = 1.3, 2.1
    given_ = water(demand, demand_sd=np.full((12, 1), q), read=read[:, None],
                   read_sd=np.full((12, 1), r))  # fmt: skip
    doubt = sure(start=BIG, start_sd=np.array([9.0]))
    found = balance(given_, deep, doubt)
    mean, sd = least_squares(demand, read, q=q, r=r, start=(BIG, 9.0))
    assert found.deficit[-1, 0] == pytest.approx(mean, abs=1e-6)
    assert found.sd[-1, 0] == pytest.approx(sd, abs=1e-9)


def test_a_sure_reading_is_believed_and_a_loose_one_hardly() -> None:
    doubt = sure(start=20.0, start_sd=np.full(1, 3.0))
    for sd, expected in ((1e-6, 10.0), (3.0, 15.0), (1e6, 20.0)):  # by hand: 9/(9+9) = half way
        found = balance(water([0.0], read=[[10.0]], read_sd=[[sd]]), zone(), doubt)
        assert found.deficit[0, 0] == pytest.approx(expected, abs=1e-4)


def test_a_wrong_crop_coefficient_adds_up_day_by_day() -> None:
    # By hand: 10 days of 3 mm, 20 % off each day alike: 0.2·30 = 6 mm, not 0.2·3·√10 = 1.9
    found = balance(water([3.0] * 10), zone(depth=2.0), sure(start=50.0, shared_sd=0.2))
    assert found.sd[-1, 0] == pytest.approx(6.0, abs=1e-6)


def test_batches_of_greens_are_each_green_alone() -> None:
    rng = np.random.default_rng(7)
    demand, late = (
        rng.uniform(0, 6, (30, 1)),
        rng.uniform(0, 8, (30, 3)) * (rng.random((30, 3)) < 0.3),
    )
    read = np.where(rng.random((30, 3)) < 0.3, rng.uniform(0, 20, (30, 3)), NAN)
    doubt = Doubt(
        start=np.full(3, 5.0), start_sd=np.full(3, 8.0), unexplained_sd=0.5, shared_sd=0.15
    )
    many = water(demand, n=3, late=late, read=read, read_sd=np.where(np.isnan(read), NAN, 3.0))
    many = replace(many, given_sd=0.2, demand_sd=0.1 * many.demand)
    together = balance(many, zone(3), doubt)
    for i in range(3):
        one = {k: getattr(many, k)[:, i : i + 1] for k in
               PARTS}  # fmt: skip
        single = Doubt(
            start=doubt.start[:1], start_sd=doubt.start_sd[:1], unexplained_sd=0.5, shared_sd=0.15
        )
        alone = balance(Water(given_sd=0.2, **one), zone(1), single)
        assert together.deficit[:, i] == pytest.approx(alone.deficit[:, 0])
        assert together.sd[:, i] == pytest.approx(alone.sd[:, 0])


DAYS, GREENS = 12, 2


def amounts(most: float) -> st.SearchStrategy:
    """Return arrays of days x greens from 0 to most."""
    return arrays(float, (DAYS, GREENS), elements=st.floats(0, most))


def left_over(found: Balance, start: np.ndarray) -> np.ndarray:
    """Return what the balance leaves unexplained of each day's change [mm]."""
    before = np.vstack([start, found.deficit[:-1]])
    parts = found.correction + found.use - found.rain - found.given + found.drained
    return found.deficit - before - parts


@settings(max_examples=60)
@given(amounts(12), amounts(60), amounts(25), amounts(25), amounts(60), st.floats(0.05, 1.0))
def test_nothing_is_lost_and_the_store_has_its_ends(demand, rain, early, late, read, depth) -> None:
    where = zone(GREENS, depth=depth)
    store = where.total_available
    reading = np.where(read < 30, read, NAN)
    made = Water(
        demand=demand, demand_sd=0.1 * demand, rain=rain, rain_sd=0.15 * rain, early=early,
        late=late, given_sd=0.2, read=reading, read_sd=np.where(np.isnan(reading), NAN, 4.0),
    )  # fmt: skip
    start = 0.2 * store
    doubt = Doubt(start=start, start_sd=0.3 * store, unexplained_sd=0.5, shared_sd=0.18)
    found = balance(made, where, doubt)
    assert np.abs(left_over(found, start)).max() < 1e-9  # mass
    assert found.deficit.min() >= 0 and np.all(found.deficit <= store + 1e-9)
    assert np.all(found.use <= demand + 1e-9) and found.use.min() >= 0
    assert found.drained.min() >= 0 and np.isfinite(found.sd).all()


@pytest.mark.parametrize(
    ("name", "made"),
    [
        ("demand", {"demand": [[NAN]]}),
        ("rain", {"rain": [[-1.0]]}),
        ("late", {"late": [[NAN]]}),
    ],
)
def test_a_day_without_its_numbers_is_refused(name: str, made: dict) -> None:
    with pytest.raises(BadInput) as caught:
        balance(
            replace(water([3.0]), **{k: np.asarray(v) for k, v in made.items()}), zone(), sure()
        )
    assert caught.value.where == name


def test_root_zones_that_cannot_be_are_refused() -> None:
    for held in ((0.06, 0.22, 0.3), (0.22, 0.06, 0.0)):
        with pytest.raises(BadInput):
            RootZone(*(np.array([x]) for x in held), np.array([0.4]))


def truth(rng: np.random.Generator, n: int) -> tuple[np.ndarray, Water]:
    """Return true deficits over days and what was read of them: a world with known doubts."""
    shared = 0.15 * rng.standard_normal(n)
    demand = rng.uniform(1.5, 5.5, (40, 1)) * np.ones((1, n))
    rain = np.where(rng.random((40, 1)) < 0.2, rng.gamma(2.0, 4.0, (40, 1)), 0.0) * np.ones((1, n))
    late = np.where(rng.random((40, n)) < 0.15, 6.0, 0.0)
    level, deficit, read = np.full(n, 8.0), np.empty((40, n)), np.full((40, n), NAN)
    store = 48.0
    for day in range(40):
        if day % 6 == 5:
            read[day] = level + 3.0 * rng.standard_normal(n)
        refill = 19.2 + 48 * 0.04 * (5 - demand[day])
        thirst = np.clip((store - level) / (store - refill), 0, 1)
        used = demand[day] * (1 + shared) * thirst * (1 + 0.1 * rng.standard_normal(n))
        level = level + used - rain[day] * (1 + 0.15 * rng.standard_normal(n))
        level = level + 0.5 * rng.standard_normal(n)
        level = np.clip(level - late[day] * (1 + 0.2 * rng.standard_normal(n)), 0, store)
        deficit[day] = level
    made = Water(
        demand=demand, demand_sd=0.1 * demand, rain=rain, rain_sd=0.15 * rain,
        early=np.zeros((40, n)), late=late, given_sd=0.2, read=read,
        read_sd=np.where(np.isnan(read), NAN, 3.0),
    )  # fmt: skip
    return deficit, made


def test_ranges_hold_the_truth_as_often_as_they_say() -> None:
    n = 400
    deficit, made = truth(np.random.default_rng(20260612), n)
    doubt = Doubt(start=np.full(n, 9.6), start_sd=np.full(n, 14.4), unexplained_sd=0.5,
                  shared_sd=0.15)  # fmt: skip
    found = balance(made, zone(n), doubt)
    held = np.abs(deficit - found.deficit)[6:] <= 1.645 * found.sd[6:]
    # Nine of ten by the bell curve; at field capacity the truth is often exactly 0, and is held.
    assert 0.87 <= held.mean() <= 0.97
    blind = balance(replace(made, read=np.full_like(made.read, NAN)), zone(n), doubt)
    error, without = (np.abs(deficit - b.deficit)[6:].mean() for b in (found, blind))
    assert error < 0.85 * without  # readings must help


def test_a_doubt_that_is_left_out_is_caught() -> None:
    n = 400
    deficit, made = truth(np.random.default_rng(5), n)
    spoilt = Doubt(
        start=np.full(n, 9.6), start_sd=np.full(n, 14.4), unexplained_sd=0.0, shared_sd=0.0
    )
    bold = replace(made, demand_sd=0 * made.demand, rain_sd=0 * made.rain, given_sd=0.0)
    found = balance(bold, zone(n), spoilt)
    held = np.abs(deficit - found.deficit)[6:] <= 1.645 * found.sd[6:]
    assert held.mean() < 0.8


def test_crop_coefficients_are_the_means_or_the_course_s_own() -> None:
    # University of California table of turf coefficients: means 0.80 and 0.60
    cool, warm = crop_coefficient("fine fescue"), crop_coefficient("seashore paspalum")
    assert (cool.value, warm.value) == (0.8, 0.6) and not cool.own
    own = crop_coefficient("creeping bentgrass", 0.72)
    assert own.value == 0.72 and own.own and own.sd == pytest.approx(cool.sd / 2)
    for slip in (0.0, 1.67, 2.85, -0.3):  # first-day values probably hold drainage
        with pytest.raises(BadInput):
            crop_coefficient("creeping bentgrass", slip)


def test_thirty_years_of_eighteen_greens_are_quick() -> None:
    from time import perf_counter

    rng = np.random.default_rng(1)
    n = 30 * 365
    made = water(rng.uniform(0, 6, n), n=18, rain=np.where(rng.random((n, 1)) < 0.3, 8.0, 0.0))
    start = perf_counter()
    balance(made, zone(18), sure(18, start=5.0, unexplained_sd=0.5, shared_sd=0.15))
    assert perf_counter() - start < 5.0  # about one second alone; other work may share the machine
