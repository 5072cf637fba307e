"""Eye scores that tell of T are heard through a fitted line; those that do not are not."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.base.evidence import value as number
from greenwright.measure.trueness_link import Pairing, fit_link, linked

from .invented import DAY, day, reading, record

SLOPE, LEVEL = -0.6, -13.0


def pairs(rng: np.random.Generator, n: int, slope: float = SLOPE) -> tuple[np.ndarray, ...]:
    score = rng.uniform(4, 9, n)
    log_t = LEVEL + slope * (score - 7) + 0.3 * rng.standard_normal(n)
    variance = np.full(n, 0.2)
    return score, log_t + np.sqrt(variance) * rng.standard_normal(n), variance


def test_a_line_is_recovered() -> None:
    link = fit_link(*pairs(np.random.default_rng(1), 60))
    assert link is not None and link.pairs == 60
    # truth of the simulation above; 60 pairs leave about 0.06 on the slope
    assert link.slope == pytest.approx(SLOPE, abs=0.15)
    assert link.intercept == pytest.approx(LEVEL, abs=0.3)
    assert link.log_t(5.0) > link.log_t(8.0)


def test_what_a_score_says_is_unbiased_for_the_true_index() -> None:
    rng, errors = np.random.default_rng(2), []
    link = fit_link(*pairs(rng, 200))
    assert link is not None
    for _ in range(2000):
        score = rng.uniform(4, 9)
        truth = LEVEL + SLOPE * (score - 7) + 0.3 * rng.standard_normal()
        errors.append(((link.log_t(score) - truth), truth))
    error, truth = np.array(errors).T
    # a likelihood, not a prediction: at a given truth it is right on average
    rough, true = error[truth > -12.5].mean(), error[truth < -13.5].mean()
    assert abs(rough) < 0.25 and abs(true) < 0.25
    assert error.var() < 1.6 * link.variance


def test_scores_that_tell_nothing_get_no_voice() -> None:
    rng = np.random.default_rng(3)
    silent = sum(fit_link(*pairs(rng, 40, slope=0.0)) is None for _ in range(20))
    assert silent >= 18


def test_few_pairs_leave_the_line_unsure() -> None:
    rng = np.random.default_rng(4)
    few, many = fit_link(*pairs(rng, 8)), fit_link(*pairs(rng, 80))
    assert few is not None and many is not None
    assert few.shift_sd > many.shift_sd


def scored(n: int, alone: int) -> tuple[list[Pairing], list]:
    rng = np.random.default_rng(5)
    score, log_t, _ = pairs(rng, n)
    told = [Pairing(day(i), "1", float(t), 0.2) for i, t in enumerate(log_t)]
    rows = [
        reading("trueness_score", float(round(2 * s) / 2), date=day(i)) for i, s in enumerate(score)
    ]
    rows += [reading("trueness_score", 6.0, green="2", date=day(i)) for i in range(alone)]
    return told, rows


def test_six_pairs_are_needed() -> None:
    for n, heard in ((5, False), (6, True), (20, True)):
        told, rows = scored(n, 2)
        link, alone = linked(told, record(rows, on=day(40)), on=day(40))
        assert (link is not None) == heard
        assert len(alone) == (2 if heard else 0)


def test_scores_beside_a_direct_reading_do_not_speak_twice() -> None:
    told, rows = scored(20, 0)
    assert linked(told, record(rows, on=day(40)), on=day(40)) == (None, ())


def test_scores_after_the_day_or_long_before_are_not_seen() -> None:
    told, rows = scored(20, 1)
    rows += [reading("trueness_score", 5.0, green="3", date=day(n)) for n in (50, -200)]
    _, alone = linked(told, record(rows, on=day(60)), on=day(40))
    assert {(s.date, s.green) for s in alone} == {(DAY, "2")}


def test_drifts_count_as_a_score_through_their_log_odds() -> None:
    told, rows = scored(20, 0)
    rows += [reading("drifts", 5, n=10, green="2"), reading("drifts", 5, green="3")]
    _, alone = linked(told, record(rows, on=day(40)), on=day(40))
    # half the balls drift: log odds 0, the score that the evidence table names for half
    assert [s.green for s in alone] == ["2"]
    assert alone[0].score == pytest.approx(number("measure.clean_rolls.score_at_half"))
