"""The day's levels: estimates, what stands in for them, and what is asked in their place."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value
from greenwright.desk.golfing.asked import Asked
from greenwright.desk.golfing.levels import DRAWS, levels, log_moments
from greenwright.measure.trueness_sideways import sideways_estimate
from greenwright.roll.roughness import index_of_sideways, sideways_per_metre
from tests.desk.golfing.made import before, played, record, smoothness, speed, trueness

EVERY = {"green_speed": speed(), "smoothness": smoothness(), "trueness": trueness()}


def test_what_was_read_is_what_is_met() -> None:
    met = levels(record(), EVERY, Asked())
    assert met.speed is EVERY["green_speed"].course
    assert met.smoothness is EVERY["smoothness"].course
    assert met.trueness is EVERY["trueness"].course
    assert met.what_if == {"speed_m": None, "smoothness": None, "trueness_t": None, "given": []}


def test_what_was_never_read_has_a_prior_that_says_so() -> None:
    met = levels(record(), {}, Asked())
    assert met.speed.basis == met.trueness.basis == "prior" and met.smoothness is None
    assert met.trueness.value == pytest.approx(math.exp(value("measure.trueness_log.level")))
    assert met.trueness.high / met.trueness.low > 10
    assert met.now["sideways_mm_per_m"].basis == "prior"
    assert {"measure.trueness_log.level", "measure.green_speed.level"} <= met.used


@pytest.mark.parametrize(
    ("rounds", "expected"),
    [
        # by hand: means of the days 0 to 27 before; the 28th day before is out
        ([(0, 80), (1, 40)], 60),
        ([(27, 50), (28, 1000)], 50),
        ([(3, 0), (4, 30)], 15),
    ],
)
def test_rounds_are_those_of_the_last_four_weeks(
    rounds: list[tuple[int, float]], expected: float
) -> None:
    held = record(rounds=tuple(played(before(n), r) for n, r in rounds))
    met = levels(held, {}, Asked())
    assert met.rounds == expected and not met.rounds_default


def test_rounds_are_a_default_where_nobody_counted() -> None:
    met = levels(record(rounds=(played(before(40), 70),)), {}, Asked())
    assert met.rounds == value("rounds.default_day") and met.rounds_default
    assert "rounds.default_day" in met.used
    asked = levels(record(), {}, Asked(rounds=12))
    assert asked.rounds == 12 and not asked.rounds_default


def test_a_what_if_is_told_and_leaves_the_present_alone() -> None:
    met = levels(record(), EVERY, Asked(speed_m=3.4, smoothness=5.0))
    assert met.what_if["given"] == ["speed_m", "smoothness"]
    assert (met.what_if["speed_m"], met.what_if["smoothness"]) == (3.4, 5.0)
    assert met.now["green_speed"] is EVERY["green_speed"].course
    assert set(met.speed_draws()) == {3.4}
    assert len(set(met.trueness_draws())) == DRAWS


def test_draws_are_the_estimate_and_the_same_every_time() -> None:
    met = levels(record(), EVERY, Asked())
    drawn, true = met.speed_draws(), met.trueness_draws()
    # sampling error of 250 draws: 0.05/16 m, and 0.4/16 on the log scale
    assert drawn.mean() == pytest.approx(3.0, abs=0.01)
    assert drawn.std() == pytest.approx(0.05, rel=0.15)
    assert np.median(true) == pytest.approx(2e-6, rel=0.1)
    assert np.log(true).std() == pytest.approx(0.4, rel=0.15)
    assert (drawn == met.speed_draws()).all() and not np.allclose(drawn / 3.0, true / 2e-6)


@pytest.mark.parametrize(
    ("sideways", "speed_m", "index"),
    # by hand: T = (2·0.23872·x)²/S; a class-A road's 6.5 mm/m at 10 ft is 3.2e-6 m (table)
    [(6.5, 3.048, 3.16e-6), (5.17, 3.048, 2.0e-6), (0.0, 3.0, 0.0)],
)
def test_millimetres_a_metre_as_the_index(sideways: float, speed_m: float, index: float) -> None:
    assert index_of_sideways(sideways / 1000, speed_m) == pytest.approx(index, rel=5e-3, abs=1e-12)


@given(st.floats(0.5, 40), st.floats(1.5, 4.5))
def test_millimetres_a_metre_come_back(sideways: float, speed_m: float) -> None:
    back = 1000 * float(sideways_per_metre(index_of_sideways(sideways / 1000, speed_m), speed_m))
    assert back == pytest.approx(sideways)


def test_trueness_in_millimetres_is_taken_at_the_speed_asked_for() -> None:
    slow = levels(record(), EVERY, Asked(sideways_mm_per_m=6.0))
    fast = levels(record(), EVERY, Asked(sideways_mm_per_m=6.0, speed_m=4.0))
    assert slow.given["trueness_t"] == pytest.approx(index_of_sideways(6.0 / 1000, 3.0))
    assert fast.given["trueness_t"] == pytest.approx(index_of_sideways(6.0 / 1000, 4.0))
    assert fast.what_if["given"] == ["speed_m", "trueness_t"]


def test_the_log_of_an_estimate_comes_from_its_ends() -> None:
    true = EVERY["trueness"].course
    assert log_moments(true) == (pytest.approx(math.log(2e-6)), pytest.approx(0.4))
    told = sideways_estimate(true, EVERY["green_speed"].course)
    assert told.unit == "mm/m" and told.low < told.value < told.high


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"speed_m": 9.0}, "1 to 5.5 m"),
        ({"speed_m": math.nan}, "cannot be"),
        ({"smoothness": 11.0}, "0 to 10"),
        ({"trueness_t": -1e-6}, "0 to 0.001 m"),
        ({"rounds": -1.0}, "0 to 2000"),
        ({"distance_m": 0.0}, "0.3 to 20 m"),
        ({"trueness_t": 1e-6, "sideways_mm_per_m": 5.0}, "given twice"),
    ],
)
def test_options_that_cannot_be_are_refused(options: dict[str, float], says: str) -> None:
    with pytest.raises(BadInput, match=r"cannot be|given twice") as caught:
        Asked(**options)
    assert says in str(caught.value) and caught.value.exit_code == 2
