"""The simple rules, worked by hand, and that none knows more than the forecast could."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.verify.references import (
    CLIMATOLOGY,
    FEWEST_MISSES,
    HORIZONS,
    PERSISTENCE,
    RULES,
    SEASONAL,
    TREND,
    Readings,
    ruled,
)


def made(*rows: tuple[int, int, float]) -> Readings:
    """Return readings of (day, green, value), by day."""
    rows = tuple(sorted(rows))
    return Readings(
        np.array([g for _, g, _ in rows]),
        np.array([d for d, _, _ in rows]),
        np.array([v for _, _, v in rows], dtype=float),
    )


def walk(days: int = 900, greens: int = 3, step: int = 3) -> Readings:
    """Return readings that wander, every third day, some greens a day."""
    rng = np.random.default_rng(11)
    level = np.cumsum(rng.normal(0, 0.05, days)) + 3
    rows = [
        (d, g, level[d] + 0.1 * g + rng.normal(0, 0.05))
        for d in range(0, days, step)
        for g in range(greens)
    ]
    return made(*rows)


def said(readings: Readings, rule: str, row: int, ahead: int) -> float:
    return float(ruled(readings, rule).middle[row, ahead - 1])


def test_persistence_is_the_green_s_last_reading_by_the_day_of_asking() -> None:
    held = made((0, 0, 3.0), (4, 0, 3.2), (4, 1, 2.0), (9, 0, 3.5), (10, 0, 9.9))
    row = 4  # the reading of day 10
    assert said(held, PERSISTENCE, row, 1) == 3.5
    assert said(held, PERSISTENCE, row, 2) == 3.2 and said(held, PERSISTENCE, row, 6) == 3.2
    assert said(held, PERSISTENCE, row, 7) == 3.0 and said(held, PERSISTENCE, row, 10) == 3.0
    assert np.isnan(said(held, PERSISTENCE, row, 11))


def test_two_sets_of_one_day_are_one_last_reading() -> None:
    held = made((0, 0, 3.0), (0, 0, 3.4), (2, 0, 3.1))
    assert said(held, PERSISTENCE, 2, 2) == pytest.approx(3.2)  # by hand


def test_the_trend_is_the_greens_common_slope() -> None:
    # by hand: both greens lose 0.01 a day about their own levels, whatever day each was read
    rows = [(d, 0, 3.0 - 0.01 * d) for d in (70, 75, 80)]
    rows += [(d, 1, 2.5 - 0.01 * d) for d in (72, 77, 82)]
    held = made(*rows, (90, 0, 0.0))
    assert said(held, TREND, 6, 8) == pytest.approx(2.1)  # 3.0 - 0.01 x 90, from day 82
    # asked ten days before, the reading of day 82 was not known: the slope is the same
    assert said(held, TREND, 6, 9) == pytest.approx(2.1)


def test_no_trend_is_drawn_through_two_days_or_old_ones() -> None:
    held = made((0, 0, 3.0), (5, 0, 3.1), (20, 0, 3.2), (21, 0, 3.2))
    assert np.isnan(said(held, TREND, 2, 10))  # two days known
    late = made((0, 0, 3.0), (5, 0, 3.1), (10, 0, 3.1), (60, 0, 3.2))
    assert np.isnan(said(late, TREND, 3, 1))  # none within four weeks of day 59


def test_climatology_is_the_mean_of_the_season_so_far() -> None:
    # by hand: day 405 is place 40 of its year; days 15, 20 and 400 lie within 30 days, 100 not
    held = made((15, 0, 1.0), (20, 0, 2.0), (100, 0, 9.0), (400, 0, 6.0), (405, 0, 0.0))
    assert said(held, CLIMATOLOGY, 4, 5) == pytest.approx(3.0)
    assert said(held, CLIMATOLOGY, 4, 6) == pytest.approx(1.5)  # day 400 was not read yet
    assert said(held, CLIMATOLOGY, 4, 14) == pytest.approx(1.5)


def test_the_season_goes_over_the_turn_of_the_year() -> None:
    held = made((350, 0, 4.0), (375, 0, 0.0))
    assert said(held, CLIMATOLOGY, 1, 14) == 4.0


def test_seasonal_naive_is_the_same_day_last_year_and_nothing_else() -> None:
    held = made((20, 0, 1.0), (28, 0, 2.0), (36, 0, 3.0), (380, 0, 9.0), (393, 0, 0.0))
    # by hand: a year before day 393 is day 28; within a week of it only day 28 itself
    assert said(held, SEASONAL, 4, 13) == 2.0
    assert np.isnan(said(held, SEASONAL, 3, 1)) or said(held, SEASONAL, 3, 1) == 1.0
    assert np.isnan(said(made((0, 0, 1.0), (100, 0, 1.0)), SEASONAL, 1, 1))


@pytest.mark.parametrize("rule", RULES)
def test_no_rule_knows_what_was_read_after_the_day_of_asking(rule: str) -> None:
    held = walk()
    row, ahead = 700, 6
    origin = held.day[row] - ahead
    later = held.day > origin
    changed = Readings(held.green, held.day, np.where(later, held.value + 5.0, held.value))
    before, after = ruled(held, rule), ruled(changed, rule)
    assert np.isfinite(before.middle[row, ahead - 1])
    assert after.middle[row, ahead - 1] == pytest.approx(before.middle[row, ahead - 1], rel=1e-12)
    assert after.sd[row, ahead - 1] == pytest.approx(before.sd[row, ahead - 1], rel=1e-12)


@pytest.mark.parametrize("rule", RULES)
def test_the_spread_is_that_of_the_rule_s_own_misses_at_that_distance(rule: str) -> None:
    held = walk()
    found, row = ruled(held, rule), 850
    for ahead in (2, 6, 13):
        first, last = next(span for span in HORIZONS.values() if span[0] <= ahead <= span[1])
        past = held.day <= held.day[row] - ahead
        missed = (held.value[:, None] - found.middle)[past, first - 1 : last]
        # by definition: the root mean square of what it missed by until then
        wanted = np.sqrt(np.nanmean(missed**2))
        assert found.sd[row, ahead - 1] == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("rule", [PERSISTENCE, TREND])
def test_a_rule_s_ranges_hold_about_as_often_as_they_say(rule: str) -> None:
    held, found = walk(3000), ruled(walk(3000), rule)
    z = ((held.value[:, None] - found.middle) / found.sd)[1500:]
    kept = np.abs(z[np.isfinite(z)]) <= 1.645
    # A wandering level is no stationary one: near nine in ten is what its own past can promise.
    assert 0.8 < kept.mean() < 0.97


def test_a_rule_that_missed_too_seldom_has_no_spread() -> None:
    few = made(*((3 * k, 0, 3.0 + 0.1 * (k % 3)) for k in range(FEWEST_MISSES)))
    assert np.isnan(ruled(few, PERSISTENCE).sd).all()
    more = made(*((3 * k, 0, 3.0 + 0.1 * (k % 3)) for k in range(FEWEST_MISSES + 6)))
    assert np.isfinite(ruled(more, PERSISTENCE).sd).any()


def test_nothing_read_is_nothing_said() -> None:
    empty = Readings(*(np.array([], dtype=t) for t in (np.intp, np.intp, float)))
    assert all(ruled(empty, rule).middle.shape == (0, 14) for rule in RULES)
