"""Curves and shifts against numbers worked by hand: phases, halvings, saturation, sums."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad

from greenwright.base.evidence import look_up
from greenwright.respond import (
    MEMORY_DAYS,
    SHAPES,
    Effect,
    Responses,
    curve,
    lag_curves,
    past_work,
    responses,
    shift,
)
from greenwright.respond.responses import rolled_dose, time_keys
from tests.respond.test_responses import did, record

SHAPE = {(s.act, s.outcome): s for s in SHAPES}


@pytest.fixture(scope="module")
def drawn() -> Responses:
    return responses(record(), seed=11, n_draws=300)


def one(number: float) -> np.ndarray:
    return np.full((1, 1), number)


def pulse(size: float, half_life: float) -> Effect:
    return Effect(SHAPE["roll", "green_speed"], one(size), half_life_d=one(half_life))


def phases(early: float, until: float, late: float, end: float) -> Effect:
    return Effect(
        SHAPE["topdress", "smoothness"],
        one(early),
        late=one(late),
        early_days=one(until),
        late_days=one(end),
    )


def test_a_pulse_halves_at_each_half_life() -> None:
    found = lag_curves(pulse(0.8, 1.0), [0, 1, 2, 3])[0, 0]
    assert found.tolist() == pytest.approx([0.8, 0.4, 0.2, 0.1])  # by hand


def test_a_pulse_ends_where_its_shape_says_and_never_acts_before_the_act() -> None:
    found = lag_curves(pulse(0.8, 50.0), [-2, -1, 3, 4])[0, 0]
    # by hand: 0.8 x 2^(-3/50); the roll's three days are over on the fourth
    assert found.tolist() == pytest.approx([0, 0, 0.8 * 2 ** (-0.06), 0])


def test_two_phases_by_the_day() -> None:
    found = lag_curves(phases(-0.4, 3.0, 0.5, 10.0), np.arange(13))[0, 0]
    # by hand: days 0 to 3 disturbed, 4 to 10 better, then nothing
    assert found.tolist() == [-0.4] * 4 + [0.5] * 7 + [0.0] * 2


def test_the_integral_of_two_phases_by_hand_and_by_quadrature() -> None:
    effect = phases(-0.4, 3.0, 0.5, 10.0)
    area, _ = quad(lambda t: float(lag_curves(effect, [t])[0, 0, 0]), 0, 28, points=[3, 10])
    # by hand: -0.4 x 3 + 0.5 x (10 - 3) = 2.3
    assert area == pytest.approx(2.3, abs=1e-6)


def test_the_integral_of_a_pulse_is_its_size_times_half_life_over_ln_2() -> None:
    area, _ = quad(lambda t: float(lag_curves(pulse(0.3, 0.4), [t])[0, 0, 0]), 0, 3)
    # by hand: 0.3 x 0.4 / ln 2 = 0.17312, less 2^(-7.5) of it beyond three days
    assert area == pytest.approx(0.17312 * (1 - 2**-7.5), abs=1e-5)


def test_a_disturbance_that_outlasts_its_gain_leaves_no_gain() -> None:
    found = lag_curves(phases(-0.4, 9.0, 0.5, 5.0), np.arange(12))[0, 0]
    assert found.tolist() == [-0.4] * 10 + [0.0] * 2


@pytest.mark.parametrize(
    ("passes", "worth"),
    [(0.0, 0.0), (0.5, 0.5), (1.0, 1.0), (1.5, 1.1), (2.0, 1.2), (4.0, 1.6)],
)
def test_passes_of_a_day_by_hand(drawn: Responses, passes: float, worth: float) -> None:
    # by hand: the first counts full, what is above it a fifth
    fixed = replace(drawn, second_pass_share=np.full((1, 1), 0.2))
    assert rolled_dose(fixed, one(passes))[0, 0] == pytest.approx(worth)


def test_a_path_saturates_pass_by_pass_like_the_curve(drawn: Responses) -> None:
    quiet = shift(drawn, past_work(record()), "green_speed")[:, 0, -1]
    for passes in (0.5, 1.0, 2.0, 3.0):
        held = past_work(record(did("roll", 0, passes=passes)))
        moved = shift(drawn, held, "green_speed")[:, 0, -1] - quiet
        wanted = curve(drawn, "roll", "green_speed", dose=passes, days=[0])[:, 0]
        assert np.allclose(moved, wanted)


def test_every_duration_is_positive_and_has_its_median(drawn: Responses) -> None:
    for effect in drawn.effects.values():
        for name, key in time_keys(effect.shape).items():
            draws, entry = getattr(effect, name), look_up(key)
            assert draws.min() > 0
            assert np.median(draws) == pytest.approx(entry.value, rel=0.02)
            # by hand: relative sd of a lognormal with the entry's own relative sd; even
            # draws miss a little of the upper tail
            relative = (entry.sd or 0.0) / entry.value
            assert np.std(draws) / np.mean(draws) == pytest.approx(relative, rel=0.1)


def test_sizes_of_two_effects_are_drawn_apart(drawn: Responses) -> None:
    first = drawn.effect("roll", "green_speed").size[:, 0]
    second = drawn.effect("brush", "smoothness").size[:, 0]
    # by hand: 300 independent draws: the correlation's sd is 1/sqrt(300) = 0.058
    assert abs(np.corrcoef(first, second)[0, 1]) < 0.2


@pytest.mark.parametrize("outcome", ["green_speed", "smoothness", "quality"])
def test_work_of_two_practices_adds_up(drawn: Responses, outcome: str) -> None:
    def moved(*work: object) -> np.ndarray:
        path = past_work(record(did("mow", 9, amount=4.0), *work), ahead=5)  # type: ignore[arg-type]
        return shift(drawn, path, outcome)

    nothing, sand, roll = moved(), did("topdress", 4, amount=0.4), did("roll", 1)
    both = moved(sand, roll) - nothing
    assert np.allclose(both, (moved(sand) - nothing) + (moved(roll) - nothing))


def test_sand_scales_with_its_dose_and_the_day_of_the_dose(drawn: Responses) -> None:
    def after(*work: object) -> np.ndarray:
        path = past_work(record(*work), ahead=0)  # type: ignore[arg-type]
        return shift(drawn, path, "smoothness")[:, 0, -1]

    nothing = after()
    halves = after(did("topdress", 5, amount=0.25), did("topdress", 5, amount=0.25)) - nothing
    whole = after(did("topdress", 5, amount=0.5)) - nothing
    assert np.allclose(halves, whole)
    assert not np.allclose(after(did("topdress", 1, amount=0.5)) - nothing, whole)


def test_a_height_counts_from_the_day_it_is_set(drawn: Responses) -> None:
    held = past_work(record(did("mow", 6, amount=4.0), did("mow", 2, amount=3.5)))
    flat = replace(held, growth=np.zeros_like(held.growth))
    moved = shift(drawn, flat, "quality")[:, 0]
    slope = drawn.effect("mow", "quality").size[:, 0] / -0.25
    # by hand: half a millimetre lower from two days ago on
    assert np.allclose(moved[:, -1] - moved[:, -4], -0.5 * slope)
    assert np.allclose(moved[:, -3], moved[:, -1])


def test_work_older_than_the_memory_moves_nothing(drawn: Responses) -> None:
    old, quiet = past_work(record(did("verticut", MEMORY_DAYS + 1))), past_work(record())
    assert np.array_equal(shift(drawn, old, "smoothness"), shift(drawn, quiet, "smoothness"))


def test_an_outcome_that_nothing_moves_stays_put(drawn: Responses) -> None:
    held = past_work(record(did("roll", 0)))
    assert not shift(drawn, held, "height_of_cut").any()


def test_a_group_of_greens_is_moved_together() -> None:
    held = record(did("roll", 0, green="front"), greens=3)
    grouped = replace(
        held,
        greens=tuple(replace(g, group="back" if g.green == "2" else "front") for g in held.greens),
    )
    drawn = responses(grouped, seed=1, n_draws=10)
    quiet = replace(grouped, work=())
    moved = shift(drawn, past_work(grouped), "green_speed")
    moved -= shift(drawn, past_work(quiet), "green_speed")
    assert (np.abs(moved).max(axis=(0, 2)) > 0).tolist() == [True, False, True]
