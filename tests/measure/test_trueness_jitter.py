"""Surface and launcher told apart: check values of the random walk, what one length leaves."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest

from greenwright.base.evidence import look_up
from greenwright.measure.trueness_jitter import (
    LAUNCHER_KEY,
    LauncherSays,
    jitter_grid,
    scatter_variance,
    told_apart,
)
from greenwright.measure.trueness_sets import OffsetSet
from greenwright.measure.trueness_speed import SpeedBeside

SPEED = 3.048
BESIDE = SpeedBeside(math.log(SPEED), 1e-4, "read")
RHO_S = 0.2387  # m, rolling resistance times green speed (derived from a 1.83 m/s release)


def rolled(length: float | None, sd_m: float, freedom: int = 400) -> OffsetSet:
    return OffsetSet(
        date=date(2026, 6, 1),
        green="1",
        station="",
        part="",
        launcher="ramp",
        length_m=length,
        squares_m2=freedom * sd_m**2,
        freedom=freedom,
        rounding_m2=0.0,
        rows=freedom + 1,
    )


def index(walk: float, speed: float = SPEED) -> float:
    return 4 * (RHO_S / speed) ** 2 * walk


def says(*sets: OffsetSet) -> LauncherSays:
    return told_apart([sets], [BESIDE])


@pytest.mark.parametrize(
    ("walk", "short_mm", "long_mm"),
    # launcher 2 mrad; sd at 1.5 and 4.5 m worked by hand: sqrt((0.002 L)^2 + K L)
    [(7.3e-5, 10.9, 20.2), (2e-4, 17.6, 31.3)],
)
def test_two_lengths_give_back_walk_and_jitter(
    walk: float, short_mm: float, long_mm: float
) -> None:
    place = [rolled(1.5, short_mm / 1000), rolled(4.5, long_mm / 1000)]
    got = told_apart([place] * 6, [BESIDE] * 6)
    assert got.places[0].log_t == pytest.approx(math.log(index(walk)), abs=0.06)
    assert got.jitter_rad == pytest.approx(0.002, rel=0.2)


def steady(speed: SpeedBeside = BESIDE) -> list[OffsetSet]:
    """Rolls that pin the launcher: sds at two lengths as the surface alone would give them."""
    walk = 8e-5 * (speed.metres / SPEED) ** 2
    return [rolled(length, math.sqrt(walk * length)) for length in (0.5, 6.0)]


def test_variance_of_a_few_rolls_is_that_of_a_log_chi_square() -> None:
    got = told_apart([steady(), [rolled(3.0, math.sqrt(8e-5 * 3), 9)]], [BESIDE] * 2)
    # trigamma(9 / 2) = 0.249 (table of the trigamma function); the launcher adds a little
    assert got.places[1].variance == pytest.approx(0.249, rel=0.2)


def test_one_length_leaves_what_the_launcher_may_have_done() -> None:
    factors = np.exp([-0.5, 0.5, 0.3, -0.3, 0.1, -0.1])  # places differ, as surfaces do
    one = [[rolled(3.0, math.sqrt(8e-5 * f * 3), 30)] for f in factors]
    two = [
        [rolled(length, math.sqrt(8e-5 * f * length), 15) for length in (1.5, 4.5)] for f in factors
    ]
    single, double = told_apart(one, [BESIDE] * 6), told_apart(two, [BESIDE] * 6)
    assert single.shift_sd > 2 * double.shift_sd


def test_balls_that_all_stop_together_only_bound_the_surface() -> None:
    one = rolled(3.0, 0.0, 9)
    got = says(one if one.rounding_m2 else rolled_with(one, rounding_m2=(0.005) ** 2 / 12))
    # 5 mm rounding over 3 m: K below about 1e-6 m, far less than ordinary greens
    assert got.places[0].log_t < math.log(2e-6)
    assert math.isfinite(got.places[0].variance)


def rolled_with(one: OffsetSet, **more: float) -> OffsetSet:
    held = {name: getattr(one, name) for name in OffsetSet.__dataclass_fields__}
    return OffsetSet(**(held | more))


def test_the_ramps_own_roll_stands_in_for_a_missing_length() -> None:
    named, open_ = says(rolled(SPEED, 0.02)), says(rolled(None, 0.02))
    assert open_.places[0].log_t == pytest.approx(named.places[0].log_t)


def test_rougher_places_read_rougher() -> None:
    sds = [0.010, 0.015, 0.022, 0.033]
    places = [[rolled(1.5, s / 2), rolled(3.0, s)] for s in sds]
    got = told_apart(places, [BESIDE] * 4)
    assert np.all(np.diff([p.log_t for p in got.places]) > 0.3)


def test_the_same_ends_on_a_faster_green_are_a_truer_surface() -> None:
    fast = SpeedBeside(math.log(4.0), 1e-4, "read")
    few = [rolled(3.0, 0.016, 30)]
    here = told_apart([steady(), few], [BESIDE] * 2).places[1].log_t
    there = told_apart([steady(), few], [BESIDE, fast]).places[1].log_t
    # T goes with S^-2 at one spread: 2 log(4 / 3.048) = 0.544
    assert here - there == pytest.approx(0.544, abs=0.06)


def test_an_absurd_launcher_stays_finite() -> None:
    got = told_apart([[rolled(3.0, 0.2, 9)] for _ in range(5)], [BESIDE] * 5)
    assert all(abs(p.log_t) < 30 and p.variance > 0 for p in got.places)
    assert got.shift_sd < 3


def test_prior_of_the_launcher_is_the_evidence_tables() -> None:
    entry = look_up(LAUNCHER_KEY)
    logs, density = jitter_grid()
    assert math.exp(logs[np.argmax(density)]) == pytest.approx(entry.value)
    # low and high hold 90 %: 1.645 steps of the grid's unit away
    unit = (logs[-1] - logs[0]) / 8
    assert math.log(entry.high / entry.low) / 2 == pytest.approx(1.6449 * unit, rel=1e-4)


def test_scatter_is_the_sum_of_its_parts() -> None:
    # by hand from the evidence table: 0.35^2 + 0.25^2 + 0.25^2 + 0.3^2
    assert scatter_variance() == pytest.approx(0.3375)
