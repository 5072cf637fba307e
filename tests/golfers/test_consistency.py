"""Consistency: sd, range and pair against handbook constants and simulation."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.golfers import spread_from_pair, spread_from_range, spread_from_sd
from greenwright.golfers.consistency import range_in_sds


@pytest.mark.parametrize(
    ("n", "d2"),
    # outside: the constant d2 of control-chart handbooks
    [(2, 1.128), (3, 1.693), (5, 2.326), (9, 2.970), (10, 3.078), (18, 3.640), (25, 3.931)],
)
def test_the_range_of_normals_is_the_handbook_constant(n: int, d2: float) -> None:
    assert range_in_sds(n) == pytest.approx(d2, abs=6e-4)


def test_two_greens_by_hand() -> None:
    # by hand: mean |difference| of two normals = 2 / sqrt(pi)
    assert range_in_sds(2) == pytest.approx(2 / np.sqrt(np.pi), abs=1e-6)


def test_pairs_by_hand() -> None:
    spread = spread_from_sd(3.0, 18)
    # by hand: variances add, sqrt(2) x 3; its median size is 0.67449 of that
    assert spread.pair_sd == pytest.approx(4.242641)
    assert spread.pair == pytest.approx(0.6744898 * 4.242641, rel=1e-6)


def test_against_simulated_greens() -> None:
    greens = 0.1 * np.random.default_rng(2).standard_normal((40_000, 18))
    spread = spread_from_sd(0.1, 18)
    # Monte-Carlo error of the mean range: 0.08 sd / 200
    assert np.ptp(greens, axis=1).mean() == pytest.approx(spread.range, abs=2e-4)
    pairs = np.abs(greens[:, 3] - greens[:, 11])
    assert np.median(pairs) == pytest.approx(spread.pair, abs=2e-3)


def test_any_word_leads_to_the_others() -> None:
    spread = spread_from_sd(0.05, 9)
    for again in (spread_from_range(spread.range, 9), spread_from_pair(spread.pair, 9)):
        assert again.sd == pytest.approx(0.05, rel=1e-9)
        assert again.range == pytest.approx(spread.range)


def test_a_championship_in_plain_numbers() -> None:
    # by hand: 18 greens within 4 in means an sd of 4 / 3.640 = 1.10 in, and that two greens
    # picked at random typically differ by 0.954 x 1.10 = 1.05 in
    spread = spread_from_range(4.0, 18)
    assert spread.sd == pytest.approx(1.099, abs=1e-3)
    assert spread.pair == pytest.approx(1.048, abs=1e-3)


def test_nonsense_is_refused() -> None:
    for bad in (lambda: spread_from_sd(-1.0, 18), lambda: spread_from_sd(1.0, 1)):
        with pytest.raises(BadInput):
            bad()
    with pytest.raises(BadInput):
        spread_from_sd(float("nan"), 18)
