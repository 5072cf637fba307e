"""Who scatters more, who has begun to drift; planted, and not cried at for steady ones."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from greenwright.measure import ObserverShift, surface
from greenwright.measure.sounding import Sounding
from greenwright.measure.soundings import DRIFT_D, late_flags
from tests.measure.invented import day, reading, record
from tests.measure.scorers import SCORERS, scored_season

SEASONS = 40


@cache
def told(
    seed: int, drift: float = 0.0, scatter: tuple[float, float, float] = (0.7, 0.7, 0.7)
) -> tuple[ObserverShift, ...]:
    found = surface(scored_season(seed, drift=drift, scatter=scatter), "smoothness")
    assert found is not None
    assert [o.observer for o in found.observers] == list(SCORERS)
    return found.observers


def test_a_drifting_observer_is_found() -> None:
    """Planted: cedar gives 1.2 points more in the last 30 days; found in 8 of 10 at least."""
    found = [told(seed, 1.2) for seed in range(20)]
    assert np.mean([seen[2].drifts for seen in found]) >= 0.8
    cedar = [seen[2].drift for seen in found]
    assert all(d is not None and d.value > 0.3 for d in cedar)
    # drawn towards none by the prior, and shared out a little over the others
    assert 0.7 < np.mean([d.value for d in cedar if d]) < 1.2
    others = [seen[i].drifts for seen in found for i in (0, 1)]
    assert np.mean(others) <= 0.15


def test_a_falling_one_is_found_too_and_said_to_fall() -> None:
    found = [told(seed, -1.2)[2] for seed in range(10)]
    assert np.mean([one.drifts for one in found]) >= 0.7
    assert all(one.drift is not None and one.drift.high < 0.2 for one in found if one.drifts)


def test_steady_observers_are_not_cried_at() -> None:
    """False alarms among 120 steady observers (measured: none); 2 % is the most allowed."""
    alarms = [one.drifts for seed in range(SEASONS) for one in told(seed)]
    assert len(alarms) == 3 * SEASONS
    assert np.mean(alarms) <= 0.02


def test_drift_intervals_hold_none_for_steady_observers() -> None:
    inside = [
        one.drift.low <= 0 <= one.drift.high
        for seed in range(SEASONS)
        for one in told(seed)
        if one.drift is not None
    ]
    assert len(inside) == 3 * SEASONS
    # truth 0 is the middle of the prior, so more than 90 in 100 are right
    assert np.mean(inside) >= 0.9


def test_who_scatters_more_is_found() -> None:
    """Planted sds 0.4, 0.8 and 1.2: ratios 1 to 2 to 3."""
    seen = [[o.spread for o in told(seed, 0.0, (0.4, 0.8, 1.2))] for seed in range(8)]
    values = np.array([[s.value for s in row if s] for row in seen])
    assert np.all(np.diff(values, axis=1) > 0)
    ratio = values.mean(axis=0) / values.mean(axis=0)[1]
    # drawn together by the prior (log sd 0.35), half points add to the narrow one
    assert ratio == pytest.approx([0.5, 1.0, 1.5], abs=0.15)
    for row in seen:
        for spread in row:
            assert spread is not None
            assert spread.low < spread.value < spread.high
            assert spread.unit == "1"


def test_observers_alike_are_said_to_be_alike() -> None:
    held = [o.spread.low < 1 < o.spread.high for s in range(SEASONS) for o in told(s) if o.spread]
    assert np.mean(held) >= 0.85


def sounding(n: int, who: str = "ana", kind: str = "smoothness_score") -> Sounding:
    return Sounding(date=day(n), green="1", value=7, variance=0.1, observer=who, kind=kind)


def test_the_late_period_by_hand() -> None:
    """Last sounding on day 49: days 20 to 49 are late. Five on each side are needed."""
    assert DRIFT_D == 30
    rows = [sounding(n) for n in (0, 5, 10, 15, 19, 20, 30, 40, 45, 49)]
    flags = late_flags(rows)
    assert flags is not None
    assert flags.tolist() == [0] * 5 + [1] * 5
    assert late_flags(rows[1:]) is None  # four before
    assert late_flags([]) is None
    both = [*rows, *(sounding(n, "ben") for n in range(25, 49))]
    flags = late_flags(both)
    assert flags is not None
    assert flags.sum() == 5  # ben has none before


def test_counting_and_scoring_are_two_things() -> None:
    rows = [sounding(n, kind=k) for n in range(0, 50, 5) for k in ("smoothness_score", "hops")]
    flags = late_flags(rows[:-2])
    assert flags is None or flags.sum() > 0
    assert rows[0].rater != rows[1].rater


def test_few_readings_tell_no_spread_and_no_drift() -> None:
    found = surface(record([reading("smoothness_score", 7.0)]), "smoothness")
    assert found is not None
    assert (found.observers[0].spread, found.observers[0].drift) == (None, None)
    assert found.observers[0].drifts is False


def test_a_drifting_ramp_is_found_as_well() -> None:
    """Planted: one of two observers of green speed reads 12 cm longer in the last 30 days."""
    rng, rows = np.random.default_rng(4), []
    for t in range(0, 90, 2):
        for g in "123":
            for who in ("ana", "ben"):
                late = 0.12 if who == "ben" and t > 59 else 0.0
                value = 2.7 + late + 0.03 * rng.standard_normal()
                rows.append(reading("green_speed", value, date=day(t), green=g, observer=who))
    found = surface(record(rows, on=day(88)), "green_speed")
    assert found is not None
    ana, ben = found.observers
    assert (ana.drifts, ana.spread) == (False, None)
    assert ben.drift is not None and ana.drift is not None
    assert ben.drift.value - ana.drift.value == pytest.approx(0.12, abs=0.03)
