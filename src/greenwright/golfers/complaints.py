"""Complaints: how many to expect from the eye's score of the surface and the rounds played."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value

COMPLAINT_KEYS: tuple[str, ...] = (
    "complaints.base_rate",
    "complaints.doubling_score",
    "complaints.score_threshold",
    "complaints.most_per_round",
)

LOWEST_SCORE, HIGHEST_SCORE = 0.0, 10.0


def complaint_rate(roll_score: ArrayLike) -> NDArray[np.float64] | float:
    """Return the complaints to expect from one round.

    r = base_rate x 2^((threshold - score) / doubling_score) under the threshold, none from it
    up, flattened towards the most that a round volunteers: 1 / rate^2 = 1 / r^2 + 1 / most^2.

    Args:
        roll_score: the eye's score of the roll, 0..10, any shape; values beyond the scale are
            taken at its end.

    Raises:
        BadInput: a score that is not a number.

    Valid for: an ordinary day's volunteered remarks; the numbers are elicited, not measured.

    Source keys: complaints.base_rate, complaints.doubling_score, complaints.score_threshold,
    complaints.most_per_round.

    >>> round(complaint_rate(6.0), 4)
    0.0186
    """
    given = np.asarray(roll_score, dtype=float)
    if np.isnan(given).any():
        raise BadInput("complaints need a score of every green", expected="scores from 0 to 10")
    score = np.clip(given, LOWEST_SCORE, HIGHEST_SCORE)
    rate = np.where(score < value("complaints.score_threshold"), trade_rate(score), 0.0)
    return float(rate) if rate.ndim == 0 else rate


def trade_rate(score: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the flattened rate of the trade's rule, carried on above its threshold.

    Args:
        score: the eye's score of the roll, any shape.
    """
    base, doubling, threshold, most = (value(key) for key in COMPLAINT_KEYS)
    rate = base * np.exp2((threshold - score) / doubling)
    return rate / np.sqrt(1 + (rate / most) ** 2)


def expected_complaints(rounds: ArrayLike, scores: ArrayLike) -> NDArray[np.float64] | float:
    """Return the complaints to expect: every round meets every green once.

    Args:
        rounds: rounds of the day, not negative; shape of `scores` without its last axis, or 1.
        scores: the eye's score by green along the last axis.

    Raises:
        BadInput: negative rounds, or no green.

    >>> round(expected_complaints(100, [6.0, 9.0]), 2)
    0.93
    """
    played, score = np.asarray(rounds, dtype=float), np.atleast_1d(np.asarray(scores, dtype=float))
    if not np.all(played >= 0) or score.shape[-1] == 0:
        raise BadInput("complaints need rounds that are not negative and at least one green")
    count = played * np.mean(complaint_rate(score), axis=-1)
    return float(count) if np.ndim(count) == 0 else count


def chance_of_any(expected: ArrayLike) -> NDArray[np.float64] | float:
    """Return the chance of at least one complaint, for a Poisson count of that mean.

    Raises:
        BadInput: an expectation that is negative or not a number.

    >>> round(chance_of_any(1.0), 4)
    0.6321
    """
    mean = np.asarray(expected, dtype=float)
    if not np.all(mean >= 0):
        raise BadInput("complaints to expect cannot be fewer than none")
    chance = -np.expm1(-mean)
    return float(chance) if chance.ndim == 0 else chance
