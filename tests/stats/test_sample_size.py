"""How many measurements are enough, against hand figures, another method and chance itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats as peer

from greenwright.base.errors import BadInput
from greenwright.stats.sample_size import (
    groups_to_detect,
    power_reached,
    standard_error_of_mean,
)


@pytest.mark.parametrize(
    ("spots", "feet"),
    # by hand: √(0.09/m + 0.0289/(6m)) ft
    [(1, 0.308), (2, 0.218), (3, 0.178), (6, 0.126)],
)
def test_the_error_of_a_green_mean(spots: int, feet: float) -> None:
    got = standard_error_of_mean(spots, 6, spot_sd=0.3, repeat_sd=0.17)
    assert got == pytest.approx(feet, abs=5e-4)


def test_the_error_of_a_mean_by_chance() -> None:
    rng = np.random.default_rng(1)
    spots = rng.normal(0, 0.3, (20000, 3, 1))
    means = (spots + rng.normal(0, 0.17, (20000, 3, 4))).mean(axis=(1, 2))
    # Monte Carlo of 20,000 greens: its own error is 0.5 %
    assert standard_error_of_mean(3, 4, spot_sd=0.3, repeat_sd=0.17) == pytest.approx(
        means.std(), rel=0.02
    )


@given(st.integers(1, 50), st.integers(1, 50), st.floats(0, 1), st.floats(0, 1))
def test_more_spots_never_hurt_and_beat_more_repeats(
    spots: int, repeats: int, spot_sd: float, repeat_sd: float
) -> None:
    sds = {"spot_sd": spot_sd, "repeat_sd": repeat_sd}
    now = standard_error_of_mean(spots, repeats, **sds)
    more_spots = standard_error_of_mean(2 * spots, repeats, **sds)
    more_repeats = standard_error_of_mean(spots, 2 * repeats, **sds)
    assert more_spots <= more_repeats + 1e-15 <= now + 2e-15
    assert more_spots == pytest.approx(now / math.sqrt(2))


@pytest.mark.parametrize(
    ("sd", "n", "normal"),
    # power tables of the two-sample t test, 80 % at 5 % two-sided; normal: 2·(2.8016·sd/0.5)²
    [(0.2, 4, 3), (0.3, 7, 6), (0.4, 12, 11)],
)
def test_greens_for_a_difference_of_half_a_foot(sd: float, n: int, normal: int) -> None:
    got = groups_to_detect(sd, 0.5)
    assert (got.n, got.n_normal) == (n, normal)
    assert got.power >= 0.8 > power_reached(n - 1, 0.5 / sd)


@pytest.mark.parametrize("paired", [False, True])
@pytest.mark.parametrize(("n", "effect"), [(4, 2.5), (7, 1.5), (30, 0.5), (200, 0.2), (2, 1.0)])
def test_power_agrees_with_a_reference_library(n: int, effect: float, paired: bool) -> None:
    freedom = n - 1 if paired else 2 * (n - 1)
    centre = effect * math.sqrt(n if paired else n / 2)
    edge = peer.t.ppf(0.975, freedom)
    expected = peer.nct.sf(edge, freedom, centre) + peer.nct.cdf(-edge, freedom, centre)
    assert power_reached(n, effect, paired=paired) == pytest.approx(float(expected), abs=1e-6)


def test_power_by_chance() -> None:
    rng = np.random.default_rng(2)
    one, other = rng.normal(0, 0.3, (20000, 7)), rng.normal(0.5, 0.3, (20000, 7))
    share = float((peer.ttest_ind(one, other, axis=1).pvalue < 0.05).mean())
    # Monte Carlo of 20,000 comparisons: its own error is 0.3 %
    assert power_reached(7, 0.5 / 0.3) == pytest.approx(share, abs=0.012)


@given(st.floats(0.3, 3), st.floats(0.5, 0.95), st.booleans())
def test_the_number_found_is_the_smallest(effect: float, power: float, paired: bool) -> None:
    got = groups_to_detect(1.0, effect, power=power, paired=paired)
    assert power_reached(got.n, effect, paired=paired) >= power
    assert got.n == 2 or power_reached(got.n - 1, effect, paired=paired) < power
    assert got.n >= got.n_normal


def test_pairs_need_about_half_of_two_groups() -> None:
    two, paired = (groups_to_detect(0.3, 0.1, paired=p).n for p in (False, True))
    assert two / 2 <= paired <= two / 2 + 2


def test_a_difference_beyond_doubt_needs_two() -> None:
    assert groups_to_detect(0.001, 1.0).n == 2
    assert power_reached(2, 1000.0) == 1.0


@pytest.mark.parametrize(
    ("sd", "difference", "power", "alpha", "says"),
    [
        (0.0, 0.5, 0.8, 0.05, "above zero"),
        (0.3, -0.5, 0.8, 0.05, "above zero"),
        (0.3, math.nan, 0.8, 0.05, "above zero"),
        (0.3, 0.5, 1.0, 0.05, "between the level and 1"),
        (0.3, 0.5, 0.04, 0.05, "between the level and 1"),
        (0.3, 0.5, 0.8, 0.0, "cannot be planned"),
        (10.0, 0.001, 0.8, 0.05, "more than 100000"),
    ],
)
def test_what_cannot_be_planned_is_refused(
    sd: float, difference: float, power: float, alpha: float, says: str
) -> None:
    with pytest.raises(BadInput, match=says):
        groups_to_detect(sd, difference, power=power, alpha=alpha)


@pytest.mark.parametrize(
    ("spots", "repeats", "spot_sd", "repeat_sd"), [(0, 6, 1, 1), (1, 0, 1, 1), (1, 1, -1, 1)]
)
def test_a_mean_needs_something_to_stand_on(
    spots: int, repeats: int, spot_sd: float, repeat_sd: float
) -> None:
    with pytest.raises(BadInput, match="at least one spot"):
        standard_error_of_mean(spots, repeats, spot_sd=spot_sd, repeat_sd=repeat_sd)
