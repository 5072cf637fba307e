"""The loss that the design fixes, by hand."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from greenwright.advise.ahead import DayAhead
from greenwright.advise.loss import band_loss, complaints, in_band, surface_loss, wear
from greenwright.advise.targets import Band

DAY = date(2026, 6, 6)


def band(quantity: str, low: float, high: float, half: float, *, days: int = 1) -> Band:
    full = np.ones((2, days))
    return Band(quantity, "", low * full, high * full, half * full, full)


def days(*weights: float, rounds: float = 0.0) -> tuple[DayAhead, ...]:
    return tuple(DayAhead(DAY + timedelta(days=i), w, rounds) for i, w in enumerate(weights))


@pytest.mark.parametrize(
    ("level", "loss"),
    [
        (2.9, 0.0),  # by hand: inside
        (2.75, 0.0),  # by hand: on the edge
        (2.6, 1.0),  # by hand: one half width (0.15) below
        (3.125, 0.25),  # by hand: half a half width above
        (2.0, 4.0),  # by hand: five half widths, capped at 4
    ],
)
def test_band_loss_by_hand(level: float, loss: float) -> None:
    found = band_loss(*(np.array(x) for x in (level, 2.75, 3.05, 0.15)))
    assert found == pytest.approx(loss)


def test_a_day_by_hand() -> None:
    # by hand: two greens, two draws: losses 1, 0 and 4, 0 -> mean 1.25; the day weighs 3
    levels = {"green_speed": np.array([[[2.6], [2.9]], [[2.0], [2.9]]])}
    held = {"green_speed": band("green_speed", 2.75, 3.05, 0.15)}
    assert surface_loss(levels, held, days(3.0)) == pytest.approx([3.75])


def test_quantities_add_with_their_weights() -> None:
    levels = {
        "green_speed": np.array([[[2.6], [2.6]]]),
        "smoothness": np.array([[[7.0], [7.0]]]),
    }
    smooth = band("smoothness", 8.0, 10.0, 1.0)
    smooth = Band("smoothness", "", smooth.low, smooth.high, smooth.half, 0.5 * smooth.weight)
    held = {"green_speed": band("green_speed", 2.75, 3.05, 0.15), "smoothness": smooth}
    # by hand: 1 + 0.5 x 1; complaints 50 / sqrt(100^2 + 20^2) = 0.49029, at a tenth 0.049029
    assert surface_loss(levels, held, days(1.0, rounds=50)) == pytest.approx([1.549029])


def test_complaints_do_not_take_the_weight_of_the_day() -> None:
    levels = {"smoothness": np.array([[[7.0], [9.0]]])}
    # by hand: 100 rounds, half the greens at 1 / sqrt(100^2 + 20^2) = 0.0098058
    assert complaints(levels, days(3.0, rounds=100)) == pytest.approx([0.490290])
    assert complaints({}, days(1.0, rounds=100)) == pytest.approx([0.0])


def test_wear_is_pro_rata_by_greens_and_cost_by_its_yardstick() -> None:
    price = wear(18, 20.0)
    # by hand: a pass on all 18 greens 0.10, an extra cut 0.03, 4.5 h at 20 is 0.1
    assert price.per_pass * 18 == pytest.approx(0.10)
    assert price.per_cut * 18 == pytest.approx(0.03)
    assert price.per_cost * 4.5 * 20.0 == pytest.approx(0.1)
    # by hand: nine greens: 2.25 hours are the yardstick
    assert wear(9, 20.0).per_cost * 2.25 * 20.0 == pytest.approx(0.1)


def test_share_in_band_counts_greens_draws_and_quantities() -> None:
    levels = {
        "green_speed": np.array([[[2.8], [2.6]], [[2.8], [2.8]]]),
        "smoothness": np.array([[[7.0], [9.0]], [[7.0], [9.0]]]),
    }
    held = {
        "green_speed": band("green_speed", 2.75, 3.05, 0.15),
        "smoothness": band("smoothness", 8.0, 10.0, 1.0),
    }
    # by hand: 3 of 4 and 2 of 4
    assert in_band(levels, held) == pytest.approx([0.625])


def test_a_day_without_a_target_is_no_day_in_target() -> None:
    free = band("green_speed", -np.inf, np.inf, 1.0)
    free = Band("green_speed", "", free.low, free.high, free.half, 0.0 * free.weight)
    assert np.isnan(in_band({"green_speed": np.ones((2, 2, 1))}, {"green_speed": free})).all()
    assert in_band({}, {}).size == 0
