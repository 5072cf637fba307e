"""Scores of past days: readings, what lies between them, and an observer's leaning."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from greenwright.base.estimate import normal_estimate
from greenwright.base.evidence import value
from greenwright.desk.golfing.past import past_scores
from tests.desk.golfing.made import before, record, scored, smoothness

LEVEL = value("measure.smoothness.level")


def test_a_course_never_scored_has_no_past() -> None:
    assert past_scores(record(), None, [before(1)]) == [(None, 0.0)]
    assert past_scores(record(), smoothness(), [before(1), before(2)]) == [(None, 0.0)] * 2


def test_a_day_scored_often_is_known_well_and_one_far_off_is_not() -> None:
    rows = tuple(scored(before(50), 5.0, green=str(g), observer="") for g in (1, 2, 3))
    (on, on_sd), (far, far_sd) = past_scores(
        record(readings=rows), smoothness(), [before(50), before(0)]
    )
    assert on is not None and far is not None
    assert abs(on - 5.0) < abs(far - 5.0) and on_sd < far_sd


def test_scores_between_two_days_lie_between_them() -> None:
    rows = (scored(before(10), 5.0), scored(before(8), 7.0))
    days = [before(n) for n in (10, 9, 8)]
    first, middle, last = (s for s, _ in past_scores(record(readings=rows), smoothness(), days))
    assert first is not None and middle is not None and last is not None
    assert first < middle < last


def test_one_reading_is_weighed_as_by_hand() -> None:
    one = smoothness()
    ((got, sd),) = past_scores(record(readings=(scored(before(5), 5.0),)), one, [before(5)])
    # by hand: one normal reading on one normal prior
    prior = value("measure.smoothness.level_sd") ** 2 + 0.3**2 + 0.2**2
    noise = value("measure.smoothness.noise_sd") ** 2 + value("measure.smoothness.observer_sd") ** 2
    gain = prior / (prior + noise)
    assert got == pytest.approx(LEVEL + gain * (5.0 - LEVEL))
    assert sd == pytest.approx(np.sqrt(prior * (1 - gain)))


def test_an_observers_leaning_is_taken_off() -> None:
    one, leaning = smoothness(), smoothness()
    leaning.observers = (SimpleNamespace(observer="ana", shift=normal_estimate(1.0, 0.1, "score")),)
    rows = record(readings=tuple(scored(before(n), 8.0) for n in range(5, 9)))
    (plain, _), (corrected, _) = (past_scores(rows, s, [before(6)])[0] for s in (one, leaning))
    assert plain is not None and corrected is not None and plain > corrected + 0.3


def test_scores_stay_on_the_scale() -> None:
    rows = record(readings=tuple(scored(before(n), 10.0, observer="") for n in range(30)))
    for score, sd in past_scores(rows, smoothness(), [before(n) for n in range(30)]):
        assert score is not None and 0 <= score <= 10 and sd > 0
