"""Effects as draws: priors, curves, and the shift of a path of work."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from greenwright.advise.model import LAGS
from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import look_up, value
from greenwright.base.values import Course, Green, Snapshot, WeatherDay, Work
from greenwright.respond import (
    MEMORY_DAYS,
    SHAPES,
    Responses,
    curve,
    keys_of,
    lag_curves,
    past_work,
    responses,
    shift,
)
from greenwright.respond.shapes import PLANNED_ACTS, ROLL

TODAY = date(2026, 6, 5)


def record(*work: Work, greens: int = 2) -> Snapshot:
    return Snapshot(
        course=Course(course="lark", name="Lark Mere"),
        as_of=TODAY,
        greens=tuple(Green(green=str(i + 1), grass="creeping bentgrass") for i in range(greens)),
        work=work,
        weather=tuple(
            WeatherDay(date=TODAY + timedelta(days=i), t_min_c=15.0, t_max_c=25.0)
            for i in range(-40, 20)
        ),
    )


def did(practice: str, ago: int = 0, green: str = "all", **more: object) -> Work:
    when = TODAY - timedelta(days=ago)
    return Work(date=when, green=green, practice=practice, **more)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def drawn() -> Responses:
    return responses(record(), seed=3, n_draws=400)


def test_every_shape_has_its_numbers_in_the_evidence() -> None:
    for shape in SHAPES:
        for key in keys_of(shape):
            assert isinstance(look_up(key).value, float), key


def test_draws_have_the_prior_s_mean_and_spread(drawn: Responses) -> None:
    for effect in drawn.effects.values():
        key = keys_of(effect.shape)[0]
        entry = look_up(key)
        assert effect.size.mean() == pytest.approx(value(key), abs=0.01 * (entry.sd or 1.0))
        assert effect.size.std() == pytest.approx(entry.sd, rel=0.02)


def test_no_sign_is_forced(drawn: Responses) -> None:
    sizes = drawn.effect("brush", "smoothness").size
    assert 0.4 < (sizes > 0).mean() < 0.6
    assert (drawn.effect("mow", "smoothness").size < 0).any()


def test_half_lives_are_positive_with_the_stated_median(drawn: Responses) -> None:
    half = drawn.effect("roll", "green_speed").half_life_d
    assert half is not None and half.min() > 0
    assert np.median(half) == pytest.approx(value("effect.roll.half_life"), rel=0.01)


def test_one_roll_by_hand(drawn: Responses) -> None:
    # by hand: 9 in at once, halving every 0.6 d: 0.2286 x 2^(-1/0.6) = 0.0720 on the next day
    fixed = _with_half_life(drawn, 0.6)
    found = curve(fixed, "roll", "green_speed", dose=1, days=[0, 1, 4]).mean(axis=0)
    assert found == pytest.approx([0.2286, 0.0720, 0.0], abs=2e-4)


def test_a_second_pass_adds_only_its_share(drawn: Responses) -> None:
    one = curve(drawn, "roll", "green_speed", dose=1, days=[0])
    two = curve(drawn, "roll", "green_speed", dose=2, days=[0])
    assert np.allclose(two, one * (1 + drawn.second_pass_share))
    # elicited: a double pass was no better than a single, 0.15 of the first taken
    assert (two.mean() / one.mean()) == pytest.approx(1.15, abs=0.02)


def test_sand_disturbs_first_and_helps_later(drawn: Responses) -> None:
    found = curve(drawn, "topdress", "smoothness", dose=0.5, days=[0, 7, 30]).mean(axis=0)
    # elicited priors: -0.4 at first, +0.4 for about two weeks, nothing after a month
    assert found[0] == pytest.approx(-0.4, abs=0.01)
    assert found[1] == pytest.approx(0.4, abs=0.03)
    assert found[2] == 0.0


def test_half_the_sand_does_half(drawn: Responses) -> None:
    full = curve(drawn, "topdress", "green_speed", dose=0.5, days=[4])
    assert np.allclose(curve(drawn, "topdress", "green_speed", dose=0.25, days=[4]), full / 2)


def test_a_lower_height_is_faster_and_holds(drawn: Responses) -> None:
    # published: 0.2 to 0.4 m for 1.6 mm lower, middle 0.3 m: 0.046875 m for 0.25 mm
    found = curve(drawn, "mow", "green_speed", dose=-0.25, days=[0, 7, 60]).mean(axis=0)
    assert found == pytest.approx([0.046875] * 3, abs=1e-4)


def test_unknown_effects_are_named(drawn: Responses) -> None:
    with pytest.raises(UnknownKey, match="hole_change"):
        curve(drawn, "hole_change", "green_speed", dose=1, days=[7])


def test_too_few_draws_are_refused() -> None:
    with pytest.raises(BadInput, match="two"):
        responses(record(), seed=1, n_draws=1)


def test_same_seed_same_draws() -> None:
    a, b = (responses(record(), seed=5, n_draws=50) for _ in range(2))
    c = responses(record(), seed=6, n_draws=50)
    size = ("roll", "green_speed")
    assert np.array_equal(a.effects[size].size, b.effects[size].size)
    assert not np.array_equal(a.effects[size].size, c.effects[size].size)


def test_path_shift_equals_the_curve_of_its_acts(drawn: Responses) -> None:
    held = record(did("roll", 1), did("topdress", 5, amount=0.5), did("brush", 0, green="1"))
    mown = replace(past_work(held, ahead=2), mown=np.ones((2, MEMORY_DAYS + 3), dtype=bool))
    found = shift(drawn, mown, "smoothness")[:, 0, MEMORY_DAYS:]
    ahead = np.arange(3)
    wanted = (
        curve(drawn, "roll", "smoothness", dose=1, days=ahead + 1)
        + curve(drawn, "topdress", "smoothness", dose=0.5, days=ahead + 5)
        + curve(drawn, "brush", "smoothness", dose=1, days=ahead)
    )
    assert np.allclose(found, wanted)


def test_only_the_greens_named_are_moved(drawn: Responses) -> None:
    quiet, brushed = past_work(record()), past_work(record(did("brush", 0, green="1")))
    moved = shift(drawn, brushed, "green_speed") - shift(drawn, quiet, "green_speed")
    assert np.any(moved[:, 0, -1]) and not np.any(moved[:, 1])


def test_two_passes_of_one_day_saturate_but_two_days_add(drawn: Responses) -> None:
    def last_day(*work: Work) -> np.ndarray:
        return shift(drawn, past_work(record(*work)), "green_speed")[:, 0, -1]

    nought = last_day()
    same_day = last_day(did("roll", 0), did("roll", 0)) - nought
    double = last_day(did("roll", 0, passes=2.0)) - nought
    days = last_day(did("roll", 0), did("roll", 1)) - nought
    one, before = last_day(did("roll", 0)) - nought, last_day(did("roll", 1)) - nought
    assert np.allclose(same_day, double)
    assert np.allclose(days, one + before)


def test_leaf_left_to_grow_costs_its_height(drawn: Responses) -> None:
    # by hand: growth potential 1 at 20 degC; two days of leaf at L mm/d act like 2 L mm of height
    held = past_work(record(did("mow", 0, amount=4.0)), ahead=2)
    found = shift(drawn, held, "green_speed")[:, 0]
    lost = found[:, -1] - found[:, MEMORY_DAYS]
    slope = drawn.effect("mow", "green_speed").size[:, 0] / -0.25
    assert np.allclose(lost, slope * 2 * drawn.leaf_mm_d[:, 0])
    assert lost.mean() < 0


def test_a_learned_posterior_by_green_drops_in(drawn: Responses) -> None:
    effect = drawn.effect("roll", "green_speed")
    by_green = np.concatenate([effect.size, 2 * effect.size], axis=1)
    effects = {**drawn.effects, ("roll", "green_speed"): replace(effect, size=by_green)}
    learned = replace(drawn, effects=effects)
    path, quiet = past_work(record(did("roll", 0))), past_work(record())
    moved = shift(learned, path, "green_speed") - shift(learned, quiet, "green_speed")
    assert np.allclose(moved[:, 1, -1], 2 * moved[:, 0, -1])


def test_shapes_of_curves(drawn: Responses) -> None:
    assert lag_curves(drawn.effect("verticut", "smoothness"), [0, 3]).shape == (400, 1, 2)
    assert curve(drawn, "roll", "smoothness", dose=1, days=[0, 1, 2]).shape == (400, 3)


def _with_half_life(drawn: Responses, days: float) -> Responses:
    effect = drawn.effect("roll", "green_speed")
    held = np.full_like(effect.size, days)
    return replace(
        drawn,
        effects={**drawn.effects, ("roll", "green_speed"): replace(effect, half_life_d=held)},
    )


def test_no_pulse_outlasts_what_the_plan_remembers() -> None:
    passes = [s for s in SHAPES if s.act in ("roll", "double_cut")]
    assert passes and all(s.lasts_days < LAGS for s in passes)
    planned = [s for s in SHAPES if s.act in PLANNED_ACTS and s.outcome in ROLL]
    assert planned and all(s.lasts_days <= MEMORY_DAYS for s in planned)
