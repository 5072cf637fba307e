"""What must hold for any end offsets: mirrors, shifts, more rolls, other speeds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.base.values import Reading
from greenwright.measure import surface
from greenwright.measure.trueness_offsets import trueness_from_offsets
from greenwright.measure.trueness_sets import offset_sets

from .invented import balls, day, reading, record

OFFSETS = st.lists(st.integers(-60, 60), min_size=2, max_size=12).filter(
    lambda held: len(set(held)) > 1
)


def rows(offsets: list[float], **more: object) -> list[Reading]:
    filled = {"unit": "mm", "instrument": "ramp", "observer": "", "roll_length_m": 3.0}
    return [reading("end_offset", float(y), **(filled | more)) for y in offsets]


def log_t(readings: list[Reading]) -> tuple[float, float]:
    """Return the middle of log T of green 1 and the width of its interval."""
    one = surface(record(readings, on=day(9)), "trueness").per_green[0]
    return math.log(one.value), math.log(one.high / one.low)


@given(OFFSETS, st.integers(-400, 400))
def test_neither_shift_nor_mirror_moves_the_spread(offsets: list[int], shift: int) -> None:
    plain, moved, turned = (
        offset_sets(rows(held))[0].squares_m2
        for held in (offsets, [y + shift for y in offsets], [-y for y in offsets])
    )
    assert moved == pytest.approx(plain) and turned == pytest.approx(plain)


@given(OFFSETS, st.floats(0.5, 6.0), st.floats(1.5, 5.0))
def test_intervals_hold_their_middle_and_scale(
    offsets: list[int], length: float, speed: float
) -> None:
    one = trueness_from_offsets([y / 1000 for y in offsets], length, speed)
    for part in (one.sideways_sd_per_length, one.heading_k, one.trueness_t):
        assert 0 < part.low < part.value < part.high
    twice = trueness_from_offsets([y / 500 for y in offsets], length, speed)
    # twice as far sideways: four times the walk
    assert twice.heading_k.value == pytest.approx(4 * one.heading_k.value)


@settings(max_examples=15)
@given(st.lists(st.integers(-15, 15), min_size=3, max_size=12).filter(lambda y: len(set(y)) > 1))
def test_wider_ends_are_no_truer_surface(offsets: list[int]) -> None:
    """Within what surfaces do: ends wild beyond that speak of the launcher, not of the surface."""
    near, _ = log_t(rows(offsets) + balls([3.0], [3.0]))
    far, _ = log_t(rows([3 * y for y in offsets]) + balls([3.0], [3.0]))
    assert far >= near - 0.02


def test_more_rolls_and_more_days_narrow_the_interval() -> None:
    rng = np.random.default_rng(8)
    ends = [float(round(y)) for y in 16 * rng.standard_normal(24)]
    speed = balls([3.0], [3.0])
    few = log_t(rows(ends[:4]) + speed)[1]
    many = log_t(rows(ends) + speed)[1]
    days = [r for d in range(4) for r in rows(ends[6 * d : 6 * d + 6], date=day(d))]
    assert many < few
    assert log_t(days + speed)[1] < few


def test_a_second_length_narrows_the_interval() -> None:
    rng = np.random.default_rng(9)
    walk, speed = 8e-5, balls([3.0], [3.0])

    def ends(length: float, n: int) -> list[float]:
        sd = 1000 * math.sqrt(walk * length)
        return [float(round(y)) for y in sd * rng.standard_normal(n)]

    places = range(5)
    one = [r for d in places for r in rows(ends(3.0, 20), date=day(d), roll_length_m=3.0)]
    two = [
        r
        for d in places
        for length in (1.5, 4.5)
        for r in rows(ends(length, 10), date=day(d), roll_length_m=length)
    ]
    assert log_t(two + speed)[1] < log_t(one + speed)[1]


def test_the_change_over_a_week_is_told() -> None:
    rng, made = np.random.default_rng(10), []
    for d, sd in ((0, 8.0), (1, 8.0), (8, 32.0), (9, 32.0)):
        for green in "123":
            ends = sd * rng.standard_normal(15)
            made += rows([float(round(y)) for y in ends], date=day(d), green=green)
    found = surface(record(made + balls([3.0], [3.0]), on=day(9)), "trueness")
    assert found.course_change_7d.value > 0
    assert found.course.value > 2 * (found.course.value - found.course_change_7d.value)


def test_launchers_of_their_own_are_told_apart() -> None:
    """A jittery launcher beside a steady one does not spoil what the steady one says."""
    rng, made = np.random.default_rng(11), []
    for d in range(6):
        for name, jitter in (("steady", 0.0005), ("wild", 0.012)):
            for length in (1.5, 4.5):
                sd = 1000 * math.sqrt((jitter * length) ** 2 + 8e-5 * length)
                ends = [float(round(y)) for y in sd * rng.standard_normal(10)]
                made += rows(ends, date=day(d), roll_length_m=length, instrument=name)
    middle, width = log_t(made + balls([3.0], [3.0]))
    # T of K = 8e-5 m at 3 m: 4 (0.2387 / 3)^2 K = 2.03e-6 m
    assert abs(middle - math.log(2.03e-6)) < width / 2
    assert width < 2.2
