"""What one unit may do: each limit alone on a week drawn by hand, and steps of the ladder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.advise.heights import FINEST_MM, height_choices
from greenwright.advise.unit import (
    BRUSH,
    CUTS,
    FREE,
    NEVER,
    ROLLS,
    SAND,
    STEP,
    VERTICUT,
    Unit,
    allowed,
    day_use,
    height_places,
    last_cuts,
    leaf_before,
    price_of,
    spaced,
)
from greenwright.advise.usual import to_planned_height

DAYS = 7
CHOICES = {CUTS: 3, ROLLS: 3, SAND: 3, VERTICUT: 2, BRUSH: 2}
HOURS = {CUTS: 0.5, ROLLS: 0.25, SAND: 1.0, VERTICUT: 0.75, BRUSH: 0.1}
Acts = Mapping[tuple[int, int], int]
"""(day, column) -> choice."""


def table(per_choice: Mapping[int, float]) -> dict[int, np.ndarray]:
    """Return hours that grow evenly with the choice, the same on each day, of one resource."""
    return {
        c: np.tile(per_choice[c] * np.arange(n)[None, :, None], (DAYS, 1, 1))
        for c, n in CHOICES.items()
    }


def unit(**more: object) -> Unit:
    """Return two greens at 3.75 mm with nearly everything free."""
    most = np.zeros((DAYS, 6), dtype=int)
    for column, n in CHOICES.items():
        most[:, column] = n - 1
    least = np.zeros_like(most)
    least[:, STEP], most[:, STEP] = -1, 1
    held: dict[str, object] = {
        "group": "A",
        "greens": ("1", "2"),
        "rows": np.array([0, 1]),
        "heights": np.array([3.25, 3.5, 3.75, 4.0]),
        "start": 2,
        "last_change": NEVER,
        "least": least,
        "most": most,
        "height_fixed": np.full(DAYS, FREE),
        "height_ok": np.ones((DAYS, 4), dtype=bool),
        "step_mm": 0.25,
        "step_interval_d": 3.0,
        "roll_room": np.full(DAYS, 99.0),
        "double_run": 0,
        "double_limit": 3,
        "intervals": np.array([0, 0, 0, 4.0, 5.0, 2.0]),
        "last_extra": np.full(6, NEVER),
        "leaf_mm": 0.2 * np.arange(1, DAYS + 1),
        "leaf_now_mm": 0.0,
        "leaf_share": 1 / 3,
        "sand_doses": (0.0, 0.25, 0.5),
        "use": table(HOURS),
        "price": {c: t[:, :, 0] / 10 for c, t in table(HOURS).items()},
        "room": np.full((DAYS, 1), 9.0),
        **more,
    }
    return Unit(**held)  # type: ignore[arg-type]


def plan(acts: Acts) -> np.ndarray:
    out = np.zeros((1, DAYS, 6), dtype=np.int64)
    for (day, column), choice in acts.items():
        out[0, day, column] = choice
    return out


def fine(held: Unit, acts: Acts) -> bool:
    return bool(allowed(held, plan(acts))[0])


def cuts(*days: int, times: int = 1) -> dict[tuple[int, int], int]:
    return {(day, CUTS): times for day in days}


EVERY = cuts(*range(DAYS))


def test_a_rest_and_a_cut_a_day_are_allowed() -> None:
    assert fine(unit(), {}) and fine(unit(), EVERY)


def test_a_choice_over_the_most_or_under_the_least_is_not() -> None:
    most, least = unit().most.copy(), unit().least.copy()
    most[3, ROLLS], least[5, CUTS] = 1, 1
    held = unit(most=most, least=least)
    assert fine(held, {**EVERY, (3, ROLLS): 1}) and not fine(held, {**EVERY, (3, ROLLS): 2})
    assert not fine(held, cuts(0, 1, 2, 3, 4, 6))


@pytest.mark.parametrize(
    ("steps", "may"),
    [
        ({0: -1}, True),
        ({0: -1, 3: -1}, True),  # by hand: three days apart, down to the lowest rung
        ({0: -1, 2: -1}, False),  # by hand: two days apart
        ({0: -1, 3: -1, 6: -1}, False),  # by hand: under the ladder
        ({0: 1, 3: 1}, False),  # by hand: over it
        ({0: 1, 3: -1, 6: 1}, True),
    ],
)
def test_steps_of_height(steps: dict[int, int], may: bool) -> None:
    assert fine(unit(), {**EVERY, **{(d, STEP): s for d, s in steps.items()}}) is may


def test_a_step_needs_a_cut() -> None:
    assert not fine(unit(), {(0, STEP): -1})


def test_a_step_wider_than_the_limit_is_not_taken() -> None:
    wide = unit(step_mm=0.24)
    assert not fine(wide, {**EVERY, (0, STEP): -1})
    assert fine(unit(step_mm=0.25), {**EVERY, (0, STEP): -1})


@pytest.mark.parametrize(("last", "may"), [(-1, False), (-2, False), (-3, True), (NEVER, True)])
def test_the_last_change_counts_from_tomorrow(last: int, may: bool) -> None:
    # by hand: tomorrow is day 0; three days after day -3
    assert fine(unit(last_change=last), {**EVERY, (0, STEP): -1}) is may


def test_a_height_that_is_not_allowed_bars_the_cut_and_not_the_rest() -> None:
    ok = np.ones((DAYS, 4), dtype=bool)
    ok[3, 2] = False
    held = unit(height_ok=ok)
    assert not fine(held, cuts(2, 3, 4)) and fine(held, cuts(2, 4))


def test_a_planned_height_is_met_on_its_day() -> None:
    fixed = np.full(DAYS, FREE)
    fixed[4] = 1
    held = unit(height_fixed=fixed)
    assert not fine(held, EVERY)
    assert fine(held, {**EVERY, (1, STEP): -1}) and fine(held, {**EVERY, (4, STEP): -1})
    led = to_planned_height(held, plan(EVERY)[0])
    assert led[:, STEP].tolist() == [0, 0, 0, 0, -1, 0, 0]


@pytest.mark.parametrize(
    ("rolls", "room", "may"),
    [
        ({0: 2, 3: 1}, 3, True),
        ({0: 2, 3: 2}, 3, False),
        ({0: 2, 6: 1}, 3, True),
        ({}, 0, True),
        ({5: 1}, 0, False),
    ],
)
def test_rolls_stay_in_their_room(rolls: dict[int, int], room: float, may: bool) -> None:
    held = unit(roll_room=np.full(DAYS, float(room)))
    assert fine(held, {(d, ROLLS): n for d, n in rolls.items()}) is may


def test_room_that_opens_later_is_not_used_before() -> None:
    held = unit(roll_room=np.array([0.0, 0, 1, 1, 2, 2, 2]))
    assert not fine(held, {(1, ROLLS): 1}) and fine(held, {(2, ROLLS): 1, (4, ROLLS): 1})
    assert not fine(held, {(2, ROLLS): 1, (3, ROLLS): 1})  # by hand: two in a room of one


@pytest.mark.parametrize(
    ("run", "days", "may"),
    [(0, 3, True), (0, 4, False), (2, 1, True), (2, 2, False), (9, 0, True)],
)
def test_days_of_double_cutting_on_end(run: int, days: int, may: bool) -> None:
    assert fine(unit(double_run=run), {**EVERY, **cuts(*range(days), times=2)}) is may


def test_a_day_between_breaks_the_run_of_double_cuts() -> None:
    assert fine(unit(), {**EVERY, **cuts(0, 1, 2, 4, 5, 6, times=2)})


@pytest.mark.parametrize(
    ("acts", "last", "may"),
    [
        ({(0, SAND): 1, (4, SAND): 2}, NEVER, True),  # by hand: every four days
        ({(0, SAND): 1, (3, SAND): 2}, NEVER, False),
        ({(0, SAND): 1, (0, BRUSH): 1}, NEVER, False),  # by hand: one of them a day
        ({(0, SAND): 1, (1, BRUSH): 1}, NEVER, True),
        ({(0, BRUSH): 1, (2, BRUSH): 1, (4, BRUSH): 1}, NEVER, True),
        ({(2, SAND): 1}, -1, False),
        ({(3, SAND): 1}, -1, True),
    ],
)
def test_sand_brush_and_verticut_keep_apart(acts: Acts, last: int, may: bool) -> None:
    since = np.full(6, NEVER)
    since[SAND] = last
    assert fine(unit(last_extra=since), acts) is may


@pytest.mark.parametrize(("room", "may"), [(1.75, True), (1.74, False)])
def test_a_unit_stays_in_the_room_of_the_day(room: float, may: bool) -> None:
    held = unit(room=np.full((DAYS, 1), room))
    acts = {(2, CUTS): 1, (2, ROLLS): 1, (2, SAND): 1}  # by hand: 0.5 + 0.25 + 1 h
    assert fine(held, acts) is may
    assert day_use(held, plan(acts))[0, :, 0].tolist() == [0, 0, 1.75, 0, 0, 0, 0]
    assert price_of(held, plan(acts))[0, 2] == pytest.approx(0.175)  # by hand: a tenth


@pytest.mark.parametrize(
    ("first", "now", "shut", "may"),
    [
        (0, 0.0, (), True),  # by hand: 1 mm of 4.75
        (1, 0.0, (), False),  # by hand: 2 mm is more than a third of 5.75
        (1, 0.0, (0,), True),  # by hand: the day before was shut
        (2, 0.0, (1,), False),  # by hand: the first day was open, and in time
        (0, 2.0, (), True),  # by hand: 3 mm of 6.75, and no day was sooner
        (3, 2.0, (), True),  # by hand: too long already on the first day
    ],
)
def test_a_third_of_the_leaf(first: int, now: float, shut: tuple[int, ...], may: bool) -> None:
    most = unit().most.copy()
    most[list(shut), CUTS] = 0
    held = unit(leaf_mm=1.0 * np.arange(1, DAYS + 1), leaf_now_mm=now, most=most)
    assert fine(held, cuts(first)) is may


def test_a_planned_cut_may_take_what_it_must() -> None:
    least = unit().least.copy()
    least[5, CUTS] = 1
    held = unit(leaf_mm=1.0 * np.arange(1, DAYS + 1), least=least)
    assert fine(held, cuts(5)) and not fine(held, cuts(4, 5))


def test_leaf_since_the_last_cut_by_hand() -> None:
    held = unit(leaf_mm=np.array([0.2, 0.5, 0.6, 1.0, 1.0, 1.0, 1.0]), leaf_now_mm=0.3)
    last = np.array([-1, 0, 2])
    # by hand: 0.3 + 1.0 never cut; 1.0 - 0.2 and 1.0 - 0.6 since a cut
    assert leaf_before(held, last, 3) == pytest.approx([1.3, 0.8, 0.4])
    assert last_cuts(plan(cuts(1, 4)))[0].tolist() == [-1, 1, 1, 1, 4, 4, 4]


def test_the_height_in_force_is_the_sum_of_the_steps() -> None:
    acts = {**EVERY, (1, STEP): -1, (4, STEP): 1}
    assert height_places(unit(), plan(acts))[0].tolist() == [2, 1, 1, 1, 2, 2, 2]


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(st.booleans(), min_size=7, max_size=7), st.integers(1, 5), st.integers(-6, -1))
def test_spacing_is_every_pair_of_days_looked_at(
    done: list[bool], interval: int, last: int
) -> None:
    days = [last, *(i for i, here in enumerate(done) if here)]
    apart = all(b - a >= interval for i, a in enumerate(days) for b in days[i + 1 :])
    assert bool(spaced(np.array([done]), interval, last)[0]) is apart


def test_many_schedules_are_judged_as_each_alone() -> None:
    rng = np.random.default_rng(4)
    held = unit(roll_room=np.full(DAYS, 4.0))
    plans = rng.integers(0, 2, (300, DAYS, 6)) * (rng.random((300, DAYS, 6)) < 0.3)
    plans[:, :, STEP] *= -plans[:, :, CUTS]
    together = allowed(held, plans)
    assert together.tolist() == [bool(allowed(held, p[None])[0]) for p in plans]
    assert 0.05 < together.mean() < 0.95


def test_dropping_a_roll_never_forbids_a_schedule() -> None:
    rng = np.random.default_rng(5)
    held = unit(roll_room=np.full(DAYS, 3.0), room=np.full((DAYS, 1), 1.0))
    plans = np.zeros((400, DAYS, 6), dtype=np.int64)
    plans[:, :, ROLLS] = rng.integers(0, 3, (400, DAYS)) * (rng.random((400, DAYS)) < 0.4)
    lawful = plans[allowed(held, plans)]
    fewer = lawful.copy()
    fewer[:, :, ROLLS] = np.maximum(fewer[:, :, ROLLS] - 1, 0)
    assert len(lawful) > 50 and allowed(held, fewer).all()
    assert allowed(replace(held, room=2 * held.room), lawful).all()


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.integers(280, 450),
    st.integers(3, 40),
    st.integers(280, 450),
    st.lists(st.integers(280, 450), max_size=2),
)
def test_the_ladder_keeps_every_promise(
    now: int, step: int, lowest: int, anchors: list[int]
) -> None:
    # all in hundredths of a millimetre, as bench heights are set
    heights, start, reach = height_choices(
        now / 100, step / 100, lowest=lowest / 100, anchors=[a / 100 for a in anchors]
    )
    assert heights[start] == now / 100
    assert {a / 100 for a in anchors} <= set(heights.tolist())
    given_lower = min(now, *anchors, lowest) / 100
    assert heights.min() >= given_lower - 1e-9 and np.all(np.diff(heights) > 0)
    # by hand: no pair of rungs within one step lies further apart than `reach` places
    near = [
        j - i
        for i in range(len(heights))
        for j in range(i, len(heights))
        if heights[j] - heights[i] <= step / 100 + 1e-9
    ]
    assert reach == max(near)


@pytest.mark.parametrize(
    ("now", "step", "lowest", "wanted"),
    [
        (3.0, 0.5, 2.0, [2.0, 2.5, 3.0, 3.5, 4.0, 4.5]),  # by hand: until the lowest, three up
        # by hand: five down and three up
        (3.0, 0.25, 0.5, [1.75, 2.0, 2.25, 2.5, 2.75, 3.0, 3.25, 3.5, 3.75]),
        (3.0, 0.25, 3.0, [3.0, 3.25, 3.5, 3.75]),
        (2.75, 0.25, 3.0, [2.75, 3.0, 3.25, 3.5]),  # by hand: under the lowest only up
        (3.0, 0.005, 2.0, [3.0]),  # by hand: finer than a hundredth is no step
    ],
)
def test_ladders_by_hand(now: float, step: float, lowest: float, wanted: list[float]) -> None:
    assert FINEST_MM == 0.01  # memory: a bench is set to a hundredth of a millimetre
    assert height_choices(now, step, lowest=lowest)[0].tolist() == pytest.approx(wanted)
