"""Normal beliefs on a scale that ends, against draws and the textbook."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.stats import piled_chance, piled_estimate, truncated_estimate

WINDOW = (0.0, 10.0)


@pytest.mark.parametrize(("mean", "sd"), [(9.6, 0.8), (10.5, 0.6), (0.3, 1.0), (5.0, 4.0)])
def test_moments_and_ends_are_those_of_clipped_draws(mean: float, sd: float) -> None:
    one = piled_estimate(mean, sd, "score", window=WINDOW)
    # reference: numpy draws, clipped
    drawn = np.clip(np.random.default_rng(1).normal(mean, sd, 400_000), *WINDOW)
    assert one.value == pytest.approx(drawn.mean(), abs=0.01)
    assert one.sd == pytest.approx(drawn.std(), abs=0.01)
    assert (one.low, one.high) == pytest.approx(np.quantile(drawn, [0.05, 0.95]), abs=0.02)


def test_far_from_the_ends_it_is_the_plain_normal() -> None:
    piled, cut = (
        make(5.0, 0.3, "score", window=WINDOW, n=4) for make in (piled_estimate, truncated_estimate)
    )
    assert (piled.value, piled.sd, piled.low, piled.high) == pytest.approx(
        (cut.value, cut.sd, cut.low, cut.high), abs=1e-7
    )
    assert piled.n == 4


def test_at_the_end_half_is_piled_up_by_hand() -> None:
    # by hand: mean 10 - sd / sqrt(2 pi); variance sd^2 (1/2 - 1 / (2 pi))
    one = piled_estimate(10.0, 1.0, "score", window=WINDOW)
    assert one.value == pytest.approx(10 - 1 / np.sqrt(2 * np.pi))
    assert one.sd**2 == pytest.approx(0.5 - 1 / (2 * np.pi))


def test_a_certain_level_is_brought_to_the_end() -> None:
    one = piled_estimate(11.0, 0.0, "score", window=WINDOW)
    assert (one.low, one.value, one.high, one.sd) == (10, 10, 10, 0)
    with pytest.raises(BadInput, match="empty"):
        piled_estimate(5.0, 1.0, "score", window=(10.0, 0.0))


@given(st.floats(-20, 30), st.floats(0.01, 10))
def test_estimates_stay_on_the_scale(mean: float, sd: float) -> None:
    one = piled_estimate(mean, sd, "score", window=WINDOW)
    assert 0 <= one.low <= one.value <= one.high <= 10


def test_chances_take_in_what_is_piled_up() -> None:
    mean, sd = np.array([10.4]), np.array([0.5])
    drawn = np.clip(np.random.default_rng(2).normal(10.4, 0.5, 400_000), *WINDOW)
    for band in ((9.5, 10.0), (9.0, 9.9), (0.0, 9.5)):
        inside = ((drawn >= band[0]) & (drawn <= band[1])).mean()
        got = float(piled_chance(mean, sd, band=band, window=WINDOW)[0])
        assert got == pytest.approx(inside, abs=0.003)
    assert piled_chance(mean, sd, band=WINDOW, window=WINDOW).tolist() == [1.0]
