"""How many putts tell: textbook sample sizes and a simulated player."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.golfers import putts_to_tell, rounds_to_tell


@pytest.mark.parametrize(
    ("p1", "p2", "n"),
    # outside: the two-proportion table of statistics textbooks (5 %, 80 %, uncorrected)
    [(0.5, 0.4, 388), (0.5, 0.3, 93), (0.1, 0.2, 199)],
)
def test_textbook_sample_sizes(p1: float, p2: float, n: int) -> None:
    assert abs((putts_to_tell(p1, p2, alpha=0.05) or 0) - n) <= 1


def test_by_hand_at_ten_percent() -> None:
    # by hand: z = 1.64485 and 0.84162; p = 0.7273; [1.64485 sqrt(2 x 0.7273 x 0.2727) +
    # 0.84162 sqrt(0.758 x 0.242 + 0.6966 x 0.3034)]^2 / 0.0614^2 = 649
    assert putts_to_tell(0.758, 0.6966) == pytest.approx(650, abs=2)


def test_that_many_putts_do_tell_four_times_in_five() -> None:
    n, rng = putts_to_tell(0.6, 0.5) or 0, np.random.default_rng(1)
    a, b = rng.binomial(n, 0.6, 20_000) / n, rng.binomial(n, 0.5, 20_000) / n
    mean = (a + b) / 2
    told = np.abs(a - b) > 1.645 * np.sqrt(2 * mean * (1 - mean) / n)
    # Monte-Carlo error 0.3 points; normal approximation about a point
    assert told.mean() == pytest.approx(0.8, abs=0.015)


@given(st.floats(0, 1), st.floats(0, 1))
def test_order_does_not_matter_and_smaller_differences_take_more(p: float, q: float) -> None:
    assert putts_to_tell(p, q) == putts_to_tell(q, p)
    if abs(p - q) > 0.02:
        middle = (p + q) / 2
        assert (putts_to_tell(p, middle) or 0) >= (putts_to_tell(p, q) or 0)


def test_no_difference_can_never_be_told() -> None:
    assert putts_to_tell(0.4, 0.4) is None
    assert rounds_to_tell(0.0, 2.4) is None


def test_rounds_by_hand() -> None:
    # by hand: 2 x (1.64485 + 0.84162)^2 x 2^2 = 49.46 for one putt a round; a tenth of it, 100x
    assert rounds_to_tell(1.0, 2.0) == 50
    assert rounds_to_tell(-0.1, 2.0) == 4947


@pytest.mark.parametrize(
    ("p1", "p2", "more"),
    [(-0.1, 0.5, {}), (0.5, 1.1, {}), (0.5, 0.4, {"power": 1.0}), (0.5, 0.4, {"alpha": 0.0})],
)
def test_nonsense_is_refused(p1: float, p2: float, more: dict[str, float]) -> None:
    with pytest.raises(BadInput):
        putts_to_tell(p1, p2, **more)
