"""What a dose does, by hand: peak and half-life as the world states them, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.simulate import (
    Act,
    Conditions,
    Jump,
    Manager,
    Response,
    Simulated,
    Surface,
    World,
    course,
)
from greenwright.simulate.course import difference, replay, true_effects
from greenwright.simulate.practices import dose
from greenwright.simulate.site import draw_site
from greenwright.simulate.surface import begin, wake
from greenwright.simulate.weather import WeatherDay

TODAY = date(2026, 6, 12)
DAYS, AT = 24, 6
PLAIN = (
    Response("roll", "green_speed", 0.16, 2.0),
    Response("topdress", "green_speed", -0.30, 1.0),
    Response("topdress", "firmness", 0.6, 4.0),
    Response("verticut", "smoothness", -1.0, 1.0),
    Response("verticut", "smoothness", 0.5, 4.0),
    Response("feed", "growth", log(2), 1.0),
    Response("regulator", "growth", -0.45, 130.0, "heat"),
)
"""Whole half-lives, so that every expected number below is halved by hand."""
ALIKE = World(greens=4, days=DAYS, responses=PLAIN, surface=Surface(between_slopes_sd=0.0))


@pytest.fixture(scope="module")
def plain() -> Simulated:
    return course(11, today=TODAY, world=ALIKE)


def gain(made: Simulated, quantity: str, act: Act) -> np.ndarray:
    return difference(made, AT, act)[quantity]


@pytest.mark.parametrize(
    ("act", "doses"),
    [
        # by hand from REFERENCE: amount over the amount of one dose
        (Act("topdress", (0,), amount=0.5), 1.0),
        (Act("topdress", (0,), amount=1.25), 2.5),
        (Act("core", (0,), amount=2.5), 0.5),
        (Act("regulator", (0,), amount=0.06), 1.5),
        (Act("mow", (0,), amount=3.6), 0.0),  # the usual cut is no dose
        (Act("mow", (0,), amount=3.6, passes=3), 2.0),
        (Act("roll", (0,)), 1.0),
        (Act("roll", (0,), passes=3), 1.6),  # 1 + 2 x 0.3
        (Act("roll", (0,), passes=0), 0.0),
        # urea is 46 % N, CO(NH2)2: 28.014 / 60.056; 2 g hold 0.92 g, over 0.5 g is 1.84
        (Act("feed", (0,), amount=2.0, material="urea"), 1.84),
        (Act("feed", (0,), amount=2.0, material="potassium sulfate"), 0.0),
        (Act("feed", (0,), amount=2.0, material="seaweed"), 0.0),  # nobody knows its nitrogen
        (Act("brush", (0,), amount=9.0), 1.0),  # counts acts, whatever the depth
        (Act("topdress", (0,)), 0.0),
    ],
)
def test_doses_by_hand(act: Act, doses: float) -> None:
    assert dose(act) == pytest.approx(doses)


def test_a_roll_is_felt_the_same_morning_and_halves_every_second_day(plain: Simulated) -> None:
    speed = gain(plain, "green_speed", Act("roll", (1,), "06:00"))
    # by hand: 0.16 m, half of it two days on, a quarter four days on
    assert speed[AT : AT + 7 : 2, 1] == pytest.approx([0.16, 0.08, 0.04, 0.02])


def test_sand_is_felt_from_the_next_morning_and_halves_daily(plain: Simulated) -> None:
    speed = gain(plain, "green_speed", Act("topdress", (2,), "09:00", 0.25))
    # by hand: half a dose of -0.30 m, a day old when it is first felt: -0.15 / 2
    assert speed[AT : AT + 4, 2] == pytest.approx([0.0, -0.075, -0.0375, -0.01875])
    firm = gain(plain, "firmness", Act("topdress", (2,), "09:00", 0.25))
    assert firm[AT + 4, 2] == pytest.approx(0.15)  # 0.6 g x half a dose x one half-life


def test_what_hurts_first_and_helps_later_is_the_sum_of_its_parts(plain: Simulated) -> None:
    smooth = gain(plain, "smoothness", Act("verticut", (0,), "08:30", 2.0))
    # by hand: 1 day -1/2 + 0.5 x 0.8409, 4 days -1/16 + 1/4, 8 days -1/256 + 1/8
    assert smooth[[AT + 1, AT + 4, AT + 8], 0] == pytest.approx(
        [-0.07955, 0.1875, 0.12109], abs=1e-5
    )


def test_food_multiplies_growth(plain: Simulated) -> None:
    act = Act("feed", (3,), "10:00", 0.5 / 0.46, material="urea")
    more = gain(plain, "growth", act)[:, 3]
    before = plain.truth.quantities["growth"][:, 3]
    ratio = 1 + more / before
    # by hand: a dose doubles growth at once; a day old 2^(1/2), two days 2^(1/4), then 2^(1/8)
    assert ratio[AT : AT + 4] == pytest.approx([1.0, 1.41421, 1.18921, 1.09051], abs=1e-5)


@pytest.mark.parametrize(
    ("t_mean_c", "left"),
    [
        (13.0, 0.93303),  # by hand: 13 of 130 degree days, 2^(-1/10)
        (26.0, 0.87055),  # 2^(-1/5)
        (0.0, 1.0),
        (-7.0, 1.0),  # frost does not bring it back
    ],
)
def test_a_regulator_fades_by_heat(t_mean_c: float, left: float) -> None:
    site = draw_site(ALIKE, np.random.default_rng(1))
    state = begin(site, np.random.default_rng(2))
    state = replace(state, memory=np.ones_like(state.memory))
    day = WeatherDay(TODAY, t_mean_c - 5, t_mean_c + 5, t_mean_c, 0, 70, 50, 90, 0, 0, 2, 15)
    woken = wake(site, state, Conditions(TODAY, day, 55.0), np.random.default_rng(3))
    row = [r.practice for r in PLAIN].index("regulator")
    assert woken.memory[row] == pytest.approx(left, abs=1e-5)


@pytest.mark.parametrize("quantity", ["green_speed", "smoothness", "firmness", "quality"])
def test_twins_differ_where_and_when_the_dose_was_given_only(
    plain: Simulated, quantity: str
) -> None:
    act = Act("topdress", (2,), "09:00", 0.5)
    more = gain(plain, quantity, act)
    assert not more[: AT + 1].any()  # nothing before it is felt, to the last digit
    assert not more[:, [0, 1, 3]].any()  # nothing on other greens
    responds = any((r.practice, r.quantity) == ("topdress", quantity) for r in PLAIN)
    assert more[AT + 1 :, 2].any() == responds


@settings(deadline=None, max_examples=12)
@given(
    st.floats(0.05, 3.0),
    st.floats(0.05, 3.0),
    st.sampled_from([("topdress", "green_speed"), ("topdress", "firmness")]),
)
def test_doses_add_up_and_scale(one: float, other: float, which: tuple[str, str]) -> None:
    made, (practice, quantity) = course(11, today=TODAY, world=ALIKE), which
    alone = [gain(made, quantity, Act(practice, (0,), amount=a)) for a in (one, other)]
    both = gain(made, quantity, Act(practice, (0,), amount=one + other))
    np.testing.assert_allclose(both, alone[0] + alone[1], atol=1e-10)
    np.testing.assert_allclose(alone[0] * other, alone[1] * one, atol=1e-10)


def test_the_world_without_its_rolls_is_slower_by_what_was_rolled(plain: Simulated) -> None:
    bare = replay(plain, lambda _, acts: tuple(a for a in acts if a.practice != "roll"))
    lost = plain.truth.quantities["green_speed"] - bare["green_speed"]
    doses = np.where(plain.truth.rolled > 0, 1 + 0.3 * (plain.truth.rolled - 1), 0.0)
    left = np.zeros(4)
    for day in range(DAYS):  # the half-life of two days by its definition
        left = left * 0.5**0.5 + 0.16 * doses[day]
        np.testing.assert_allclose(lost[day], left, atol=1e-10)
    assert plain.truth.rolled.any()


def test_a_green_that_responds_half_again_as_much_gains_half_again(plain: Simulated) -> None:
    slopes = dict(plain.stage.site.slopes)
    slopes["roll"] = np.array([1.0, 1.5, 0.5, 0.0])
    site = replace(plain.stage.site, slopes=slopes)
    made = replace(plain, stage=replace(plain.stage, site=site))
    act = Act("roll", (0, 1, 2, 3))
    with_one = replay(made, lambda i, acts: (*acts, act) if i == AT else acts)
    without = replay(made, lambda _, acts: acts)
    got = (with_one["green_speed"] - without["green_speed"])[AT]
    assert got == pytest.approx([0.16, 0.24, 0.08, 0.0])  # by hand: 0.16 m times the slope


def test_true_effects_are_the_stated_curves() -> None:
    effects = true_effects(ALIKE)
    assert effects["roll", "green_speed"][:5:2] == pytest.approx([0.16, 0.08, 0.04])
    assert effects["topdress", "green_speed"][:3] == pytest.approx([0.0, -0.15, -0.075])
    # feed is by days and listed, the regulator by heat and left out
    assert ("feed", "growth") in effects and ("regulator", "growth") not in effects
    # a quarter of a millimetre lower at -0.30 m per mm and -0.5 points per mm, by hand
    assert effects["height", "green_speed"] == pytest.approx(np.full(29, 0.075))
    assert effects["height", "smoothness"] == pytest.approx(np.full(29, 0.125))


@pytest.mark.parametrize("greens", [(), (1,), (0, 3)])
def test_a_jump_is_the_only_difference_of_two_worlds_alike_in_chance(
    greens: tuple[int, ...],
) -> None:
    surface = replace(ALIKE.surface, jump=Jump(10, 0.25, greens))
    # a coin tosser works alike whatever the speed; the usual manager would answer the jump
    manager = Manager.coin_flip()
    still = course(11, today=TODAY, world=replace(ALIKE, manager=manager))
    jumped = course(11, today=TODAY, world=replace(ALIKE, manager=manager, surface=surface))
    grown = jumped.truth.quantities["green_speed"] - still.truth.quantities["green_speed"]
    wanted = np.zeros((DAYS, 4))
    wanted[10:, list(greens or range(4))] = 0.25  # as the world says; none named = all greens
    np.testing.assert_allclose(grown, wanted, atol=1e-12)
    for name in ("smoothness", "firmness", "moisture", "quality"):
        np.testing.assert_array_equal(jumped.truth.quantities[name], still.truth.quantities[name])
