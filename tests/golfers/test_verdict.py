"""The verdict on a relation: what it takes, which way it looks, and what it never uses."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.golfers.verdict import FEWEST_DAYS, FEWEST_REMARKS, LIKELY, SURE, verdict
from greenwright.stats.counts import CountPrior, Counts

GRID = ((0.4, 1.0, 2.2), (0.25, 0.5, 1.2), (3.0, 10.0, 30.0))


def prior(slope: float = 1.0) -> CountPrior:
    return CountPrior(np.array([0.0, slope]), np.array([0.6, 0.4]), *GRID)


def counts(slope: float, n: int = 200, *, seed: int = 1, level: float = 0.0) -> Counts:
    rng = np.random.default_rng(seed)
    x = rng.standard_normal(n)
    y = rng.poisson(np.exp(level + slope * x)).astype(float)
    return Counts(y, np.ones(n), np.arange(n) * 1.0, np.column_stack([np.ones(n), x]))


def test_a_strong_rise_is_seen_and_a_fall_is_not_called_one() -> None:
    rise, fall = verdict(counts(0.8), prior()), verdict(counts(-0.8), prior())
    assert (rise.related, fall.related) == ("yes", "cannot tell")
    assert rise.chance >= SURE
    assert fall.chance <= 1 - LIKELY
    assert "less was said when the surface was worse" in fall.reason


def test_praise_is_looked_at_the_other_way_round() -> None:
    held = counts(-0.8)
    assert verdict(held, prior(), falling=True).related == "yes"
    assert "better" in verdict(held, prior(), falling=True).reason
    both = verdict(held, prior()).chance + verdict(held, prior(), falling=True).chance
    assert both == pytest.approx(1.0)  # by hand: either it rises or it falls


def test_the_trades_slope_is_forgotten() -> None:
    held = counts(0.1, seed=4)
    assert verdict(held, prior(1.0)).chance == verdict(held, prior(-1.0)).chance


def test_the_reason_says_how_much_was_written_down() -> None:
    held = counts(0.0, n=50)
    said = int(held.count.sum())
    assert f"{said} remarks on 50 days counted" in verdict(held, prior()).reason


@pytest.mark.parametrize("n", [0, FEWEST_DAYS - 1])
def test_too_few_days_tell_nothing(n: int) -> None:
    found = verdict(counts(2.0, n), prior())
    assert (found.related, found.chance) == ("cannot tell", 0.5)


def test_too_few_remarks_tell_nothing() -> None:
    held = counts(0.0, level=-5.0)
    assert held.count.sum() < FEWEST_REMARKS
    assert "too little" in verdict(held, prior()).reason


def test_a_surface_that_never_changed_tells_nothing() -> None:
    held = counts(0.0)
    flat = Counts(held.count, held.exposure, held.time, np.ones((200, 2)))
    assert "the same on all days" in verdict(flat, prior()).reason


def test_a_weak_rise_in_plenty_of_days_lies_between() -> None:
    chances = [verdict(counts(s, n=150, seed=2), prior()).chance for s in (0.0, 0.15, 0.3, 0.6)]
    assert chances == sorted(chances)
