"""Eye scores of trueness -> log T, through a line fitted where both were taken."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date as Date
from datetime import timedelta

import numpy as np

from greenwright.base.evidence import log_sd, look_up
from greenwright.base.evidence import value as number
from greenwright.base.values import Reading, Snapshot
from greenwright.stats import logit_belief

WINDOW_D = 120
_KINDS = ("trueness_score", "drifts")
_LEAST_TOLD = 0.25
_MIDDLE = 7.0


@dataclass(frozen=True, slots=True)
class Pairing:
    """A direct reading of log T that a score may stand beside."""

    date: Date
    green: str
    log_t: float
    variance: float


@dataclass(frozen=True, slots=True)
class Scored:
    """The mean eye score of a green on a day, and the readings behind it."""

    date: Date
    green: str
    score: float
    rows: int


@dataclass(frozen=True, slots=True)
class ScoreLink:
    """log T = a + b (score - 7), turned into what a score alone says of log T.

    Args:
        intercept, slope: a and b.
        pairs: greens and days it was fitted on.
        gain, offset: what a score says is gain * (a + b (score - 7)) + offset.
        variance: of that, from score to score.
        shift_sd: sd of the error that all scores share, from the line's own uncertainty.
    """

    intercept: float
    slope: float
    pairs: int
    gain: float
    offset: float
    variance: float
    shift_sd: float

    def log_t(self, score: float) -> float:
        """Return what a score [0 to 10] says of log T."""
        return self.gain * (self.intercept + self.slope * (score - _MIDDLE)) + self.offset


def linked(
    told: Sequence[Pairing], snapshot: Snapshot, *, on: Date
) -> tuple[ScoreLink | None, tuple[Scored, ...]]:
    """Return the link and the scores that stand alone; None where they inform nothing.

    Args:
        told: direct readings of log T.
        snapshot: the record; its trueness_score and drifts of the last 120 days count.
        on: the day.

    The link needs six greens and days with both, and a slope that tells: scores that say
    nothing of T get no voice.
    """
    direct = {(p.date, p.green): p for p in _merged(told)}
    scores = _scores(snapshot, on=on)
    both = [(s, direct[s.date, s.green]) for s in scores if (s.date, s.green) in direct]
    alone = tuple(s for s in scores if (s.date, s.green) not in direct)
    if len(both) < number("measure.trueness_link.least_pairs") or not alone:
        return None, ()
    score = np.array([s.score for s, _ in both])
    log_t = np.array([p.log_t for _, p in both])
    variance = np.array([p.variance for _, p in both])
    link = fit_link(score, log_t, variance)
    return (link, alone) if link else (None, ())


def fit_link(score: np.ndarray, log_t: np.ndarray, variance: np.ndarray) -> ScoreLink | None:
    """Return the link fitted to pairs; None where scores do not tell T apart.

    Args:
        score: (n,) eye scores [0 to 10].
        log_t, variance: (n,) direct readings of log T and their variance.

    Prior: slope -0.3 per point, sd 0.3; spread about the line 0.6 (measure.trueness_link.*).
    Scores must tell a quarter of the variance of log T, or they are not heard. A score's word
    is the prediction with the spread of the fitted greens taken off again, so that it is not
    pulled to their mean twice.
    """
    mean, cov, left = _line(score - _MIDDLE, log_t, variance)
    middle = float(np.mean(score)) - _MIDDLE
    of_scores = mean[1] ** 2 * float(np.var(score, ddof=1))
    if of_scores < _LEAST_TOLD * (left + of_scores):
        return None
    precision = 1 / left - 1 / (left + of_scores)
    gain = 1 / left / precision
    usual = float(mean[0] + mean[1] * middle)
    at = np.array([1.0, middle])
    return ScoreLink(
        intercept=float(mean[0]),
        slope=float(mean[1]),
        pairs=len(score),
        gain=gain,
        offset=-usual / (left + of_scores) / precision,
        variance=1 / precision,
        shift_sd=gain * math.sqrt(float(at @ cov @ at)),
    )


def _line(
    away: np.ndarray, log_t: np.ndarray, variance: np.ndarray
) -> tuple[np.ndarray, np.ndarray, float]:
    """Return mean and covariance of (a, b), and the variance about the line."""
    design = np.column_stack([np.ones_like(away), away])
    entry = look_up("measure.trueness_link.slope")
    level_sd = number("measure.trueness_log.level_sd")
    centre = np.array([number("measure.trueness_log.level"), number(entry.key)])
    prior = np.diag([1 / level_sd**2, 1 / (entry.sd or 1.0) ** 2])
    fits = [_at(design, log_t, variance + left**2, prior, centre=centre) for left in _spreads()]
    heights = np.array([f[2] for f in fits]) + _spread_prior()
    weight = np.exp(heights - heights.max())
    weight /= weight.sum()
    means, covs = np.array([f[0] for f in fits]), np.array([f[1] for f in fits])
    mean = weight @ means
    inside = np.tensordot(weight, covs, axes=1)
    between = ((means - mean) * weight[:, None]).T @ (means - mean)
    return mean, inside + between, float(weight @ _spreads() ** 2)


def _at(
    design: np.ndarray,
    log_t: np.ndarray,
    noise: np.ndarray,
    prior: np.ndarray,
    *,
    centre: np.ndarray,
) -> tuple[np.ndarray, np.ndarray, float]:
    """Return mean, covariance and log evidence of the line at one spread about it."""
    weighted = design / noise[:, None]
    cov = np.linalg.inv(design.T @ weighted + prior)
    mean = cov @ (weighted.T @ log_t + prior @ centre)
    whole = np.diag(noise) + design @ np.linalg.inv(prior) @ design.T
    away = log_t - design @ centre
    height = -0.5 * (np.linalg.slogdet(whole)[1] + away @ np.linalg.solve(whole, away))
    return mean, cov, float(height)


def _spreads() -> np.ndarray:
    return number("measure.trueness_link.residual_sd") * np.exp(np.linspace(-1.5, 1.5, 13))


def _spread_prior() -> np.ndarray:
    spread = log_sd("measure.trueness_link.residual_sd")
    return -0.5 * (np.linspace(-1.5, 1.5, 13) / spread) ** 2


def _merged(told: Sequence[Pairing]) -> list[Pairing]:
    groups: dict[tuple[Date, str], list[Pairing]] = defaultdict(list)
    for one in told:
        groups[one.date, one.green].append(one)
    made = []
    for (day, green), held in groups.items():
        precision = sum(1 / p.variance for p in held)
        mean = sum(p.log_t / p.variance for p in held) / precision
        made.append(Pairing(day, green, mean, 1 / precision))
    return made


def _scores(snapshot: Snapshot, *, on: Date) -> list[Scored]:
    groups: dict[tuple[Date, str], list[float]] = defaultdict(list)
    greens = {g.green for g in snapshot.greens}
    for row in snapshot.readings:
        seen = on - timedelta(days=WINDOW_D) < row.date <= on and row.green in greens
        if seen and row.kind in _KINDS and (row.kind == "trueness_score" or row.n):
            groups[row.date, row.green].append(_score(row))
    return [Scored(*key, sum(held) / len(held), len(held)) for key, held in sorted(groups.items())]


def _score(row: Reading) -> float:
    if row.kind == "trueness_score":
        return row.value
    odds = logit_belief(float(row.n or 0) - row.value, float(row.n or 0))
    middle = number("measure.clean_rolls.score_at_half")
    return middle + number("measure.clean_rolls.score_per_logit") * odds.mean
