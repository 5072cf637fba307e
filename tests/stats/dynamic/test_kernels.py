"""Kernels: hand numbers, limits, and slopes against differences."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.stats.dynamic.kernels import Held, Pulse, Window, at_once, responded, worth

DOSE = np.array([[0.0, 1.0, 0.0, 0.0, 2.0, 0.0], [1.0, 1.0, 1.0, 1.0, 1.0, 1.0]])


def test_a_pulse_halves_and_adds_up() -> None:
    felt, _ = responded(Pulse("h"), DOSE, {"h": 1.0})
    # By hand: 1, 1/2, 1/4, then 2 + 1/8, then half of that; and 2 - 2^-day for a dose a day.
    assert felt[0].tolist() == [0.0, 1.0, 0.5, 0.25, 2.125, 1.0625]
    assert felt[1] == pytest.approx(2 - 0.5 ** np.arange(6))


def test_a_window_holds_between_its_edges() -> None:
    one = np.zeros((1, 12))
    one[0, 0] = 1.0
    kernel = Window("a", "b", edge=0.02)
    felt, _ = responded(kernel, one, {"a": 2.0, "b": 7.0})
    # By hand: sharp edges half a day beyond day 2 and day 7, so days 3 to 7 count.
    assert felt[0].round(6).tolist() == [0, 0, 0, 1, 1, 1, 1, 1, 0, 0, 0, 0]


def test_two_windows_that_meet_pass_the_effect_on() -> None:
    one = np.zeros((1, 20))
    one[0, 0] = 1.0
    hyper = {"a": 3.0, "b": 90.0}
    early, _ = responded(Window(None, "a"), one, hyper)
    late, _ = responded(Window("a", "b"), one, hyper)
    # sigma(x) + sigma(-x) = 1: what the early phase loses the late one gains.
    assert (early + late)[0] == pytest.approx(np.ones(20), abs=1e-9)


def test_held_is_the_dose_and_knows_no_time() -> None:
    felt, slopes = responded(Held(), DOSE, {})
    assert (felt == DOSE).all()
    assert slopes == {} and at_once(Held(), {}) == (0.0, {})


@pytest.mark.parametrize("kernel", [Pulse("a"), Window(None, "a"), Window("a", "b")])
def test_slopes_are_those_of_differences(kernel: Pulse | Window) -> None:
    at, step = {"a": 1.7, "b": 4.2}, 1e-5
    _, slopes = responded(kernel, DOSE, at)
    _, now = at_once(kernel, at)
    for name in kernel.hypers:
        up = at | {name: at[name] * np.exp(step)}
        down = at | {name: at[name] * np.exp(-step)}
        numeric = (responded(kernel, DOSE, up)[0] - responded(kernel, DOSE, down)[0]) / (2 * step)
        assert slopes[name] == pytest.approx(numeric, abs=1e-8)
        first = (at_once(kernel, up)[0] - at_once(kernel, down)[0]) / (2 * step)
        assert now.get(name, 0.0) == pytest.approx(first, abs=1e-8)


def test_what_a_dose_is_worth_at_once_is_its_first_day() -> None:
    one = np.array([[1.0, 0.0, 0.0]])
    for kernel in (Pulse("a"), Window("a", "b"), Window(None, "b")):
        hyper = {"a": 0.8, "b": 3.0}
        assert at_once(kernel, hyper)[0] == pytest.approx(responded(kernel, one, hyper)[0][0, 0])


def test_further_doses_of_a_day_are_worth_a_share() -> None:
    value, slope = worth(np.array([0.0, 0.5, 1.0, 2.0, 4.0]), 0.25)
    # By hand: the first whole, each further one a quarter; the log slope is that quarter part.
    assert value.tolist() == [0.0, 0.5, 1.0, 1.25, 1.75]
    assert slope.tolist() == [0.0, 0.0, 0.0, 0.25, 0.75]
