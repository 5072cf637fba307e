"""What players of this course say: the trade's rule, corrected by the course's own remarks.

The log rate of each topic is a straight line of the log rate that the trade's rule gives for
the score of the surface: slope 1 is the trade, slope 0 a course whose complaints have nothing
to do with the surface. Remarks are weak evidence: they cluster, come in spells, and are known
only when somebody writes them down. Survey answers are kept apart.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate, draws_estimate
from greenwright.base.evidence import log_sd, look_up, value
from greenwright.golfers.complaints import COMPLAINT_KEYS, trade_rate
from greenwright.golfers.surveys import Survey, survey_shares
from greenwright.golfers.tally import (
    COMPLAINT_TOPICS,
    PRAISE,
    TOPICS,
    Asked,
    DayOfPlay,
    chance_blank,
    counted_days,
)
from greenwright.golfers.verdict import Verdict, verdict
from greenwright.stats.counts import (
    GRID_WEIGHTS,
    CountDraws,
    CountFit,
    CountPrior,
    Counts,
    count_draws,
    fit_counts,
)

Floats = NDArray[np.float64]

ANY = "any"
"""Complaints of whatever topic; praise is none."""

REMARK_KEYS: tuple[str, ...] = (
    *COMPLAINT_KEYS,
    "complaints.slope_sd",
    "complaints.topic_shares",
    "complaints.topic_slopes",
    "complaints.topic_spread",
    "complaints.overdispersion",
    "praise.base_rate",
    "remarks.day_sd",
    "remarks.memory",
    "remarks.counting_share",
    "remarks.score_unknown_sd",
)

DRAWS = 2000


@dataclass(frozen=True, slots=True)
class TopicRemarks:
    """What is believed of one topic on the surface that was asked about.

    Args:
        rates: draws of the mean remarks per round, after this course's own (DRAWS,).
        prior_rates: the same before (DRAWS,).
        overdispersion, spell_sd: draws of how remarks cluster (DRAWS,).
        share_local: 0..1, how much of the certainty comes from this course.
        verdict: whether the remarks follow the surface here.
        n_days, n_remarks: days counted, remarks on them.
    """

    topic: str
    rates: Floats
    prior_rates: Floats
    overdispersion: Floats
    spell_sd: Floats
    share_local: float
    verdict: Verdict
    n_days: int
    n_remarks: int

    @property
    def related(self) -> str:
        """Answer yes | partly | cannot tell."""
        return self.verdict.related

    @property
    def reason(self) -> str:
        """Answer why, in a sentence."""
        return self.verdict.reason


@dataclass(frozen=True, slots=True)
class Remarks:
    """Remarks to expect by topic, and what surveys said."""

    topics: Mapping[str, TopicRemarks]
    surveys: tuple[Survey, ...]

    def topic(self, name: str) -> TopicRemarks:
        """Return one topic.

        Raises:
            BadInput: no such topic.
        """
        if name not in self.topics:
            raise BadInput(f"no topic {name!r}", where="remarks", expected=" | ".join(self.topics))
        return self.topics[name]

    def expected(self, topic: str, rounds: float) -> Estimate:
        """Return the remarks to expect in so many rounds, unit 1."""
        held = self.topic(topic)
        return draws_estimate((rounds * held.rates).tolist(), "1", n=held.n_remarks)

    def prior(self, topic: str, rounds: float) -> Estimate:
        """Return the same before this course's remarks were looked at."""
        rates = self.topic(topic).prior_rates
        return draws_estimate((rounds * rates).tolist(), "1", basis="prior")

    def chance_of_any(self, topic: str, rounds: float) -> float:
        """Return the chance of at least one, clustering counted."""
        held = self.topic(topic)
        return float(np.mean(1 - _chance_none(rounds * held.rates, held.overdispersion)))


@dataclass(frozen=True, slots=True)
class _Record:
    """Counted days as arrays: day number, rounds, covariate and its sd, chance of a blank."""

    days: tuple[DayOfPlay, ...]
    time: Floats
    rounds: Floats
    covariate: Floats
    unsure: Floats
    blank: Floats


def remarks_model(
    days: Sequence[DayOfPlay],
    *,
    score: float | None,
    score_sd: float = 0.0,
    surveys: Sequence[Asked] = (),
    topics: Sequence[str] = (ANY, *TOPICS),
    seed: int,
) -> Remarks:
    """Return the remarks to expect on a surface of this score, learnt from these days.

    Args:
        days: every day of play known, also those without a tally (they say how often quiet
            days are left blank); at best one to three years.
        score: the roll's score on the day asked about (0..10); None where never estimated.
        score_sd: how unsure it is.
        surveys: answers of those who were asked; kept apart.
        topics: to learn about; each takes about 25 ms for a year of days.
        seed: of the draws.

    Raises:
        BadInput: a day twice, negative rounds or counts.

    Valid for: volunteered remarks in ordinary play. Greens are not told apart.

    Source keys: REMARK_KEYS.
    """
    record = _record(days)
    rng = np.random.default_rng(seed)
    at = _covariates([score], [score_sd])
    spoken = _tally(record, TOPICS)
    held = {}
    for name in topics:
        count = _tally(record, COMPLAINT_TOPICS if name == ANY else (name,))
        # A day on which something else was said is known whatever this topic's count.
        unseen = np.where(spoken > count, 0.0, record.blank)
        held[name] = _topic(name, record, (count, unseen), at=at, rng=rng)
    return Remarks(held, survey_shares(surveys))


def _topic(
    name: str,
    record: _Record,
    seen: tuple[Floats, Floats],
    *,
    at: tuple[Floats, Floats],
    rng: np.random.Generator,
) -> TopicRemarks:
    count, unseen = seen
    prior, slope = _prior(name), _slope(name)
    before = _before(name)
    after = fit_counts(_counts(record, count, unseen, slope=slope), prior)
    noise = rng.standard_normal(DRAWS)
    drawn = count_draws(after, n=DRAWS, rng=rng)
    prior_rates = _rates(count_draws(before, n=DRAWS, rng=rng), at, noise)
    return TopicRemarks(
        name,
        _rates(drawn, at, noise),
        prior_rates,
        drawn.overdispersion,
        drawn.wander_sd,
        _local(before, after, float(at[0][0])),
        verdict(_counts(record, count, unseen, slope=0.0), prior, falling=name == PRAISE),
        len(count),
        int(count.sum()),
    )


@lru_cache(maxsize=32)
def _before(name: str) -> CountFit:
    """Return what is believed of a topic before any day was counted: the evidence alone."""
    none = np.zeros(0)
    return fit_counts(_counts(_record(()), none, none, slope=_slope(name)), _prior(name))


def _rates(drawn: CountDraws, at: tuple[Floats, Floats], noise: Floats) -> Floats:
    """Return draws of the mean rate: the surface unsure, spells of talk averaged over."""
    level, slope = drawn.coefficients.T
    return np.exp(level + slope * (at[0] + at[1] * noise) + drawn.wander_sd**2 / 2)


def _local(before: CountFit, after: CountFit, at: float) -> float:
    """Return the share of the prior's variance of the log rate that the course took away."""
    here = np.array([1.0, at])
    return float(np.clip(1 - (here @ after.cov @ here) / (here @ before.cov @ here), 0.0, 1.0))


def _counts(record: _Record, count: Floats, unseen: Floats, *, slope: float) -> Counts:
    """Return the regression's data; an unsure score adds to the mean and to the scatter."""
    unsure = (slope * record.unsure) ** 2
    design = np.column_stack([np.ones(len(count)), record.covariate])
    exposure = record.rounds * np.exp(unsure / 2)
    return Counts(count, exposure, record.time, design, unseen, np.expm1(unsure))


def _prior(name: str) -> CountPrior:
    """Return the trade's belief about a topic."""
    shares = look_up("complaints.topic_shares").value
    assert isinstance(shares, Mapping)
    key = "praise.base_rate" if name == PRAISE else "complaints.base_rate"
    rate, log_variance = value(key), log_sd(key) ** 2
    if name in shares:
        rate *= float(shares[name])
        log_variance += value("complaints.topic_spread") ** 2
    return CountPrior(
        np.array([math.log(rate) - log_variance / 2 - _log_spells(), _slope(name)]),
        np.array([math.sqrt(log_variance), value("complaints.slope_sd")]),
        _overdispersions(),
        _triple("remarks.day_sd"),
        _triple("remarks.memory"),
    )


def _log_spells() -> float:
    """Return what spells of talk add to the log of the mean rate before anything is known."""
    sds = np.array(_triple("remarks.day_sd"))
    return float(np.log(np.array(GRID_WEIGHTS) @ np.exp(sds**2 / 2)))


def _slope(name: str) -> float:
    slopes = look_up("complaints.topic_slopes").value
    assert isinstance(slopes, Mapping)
    return 1.0 if name == ANY else float(slopes[name])


def _triple(key: str) -> tuple[float, float, float]:
    entry = look_up(key)
    assert entry.low is not None and entry.high is not None
    return entry.low, value(key), entry.high


def _overdispersions() -> tuple[float, float, float]:
    """Return low, middle and high clustering: the entry's mean and sd as a log-normal."""
    key = "complaints.overdispersion"
    middle, reach = value(key), math.exp(1.2 * log_sd(key))
    return middle / reach, middle, middle * reach


def _record(days: Sequence[DayOfPlay]) -> _Record:
    counted, blank = counted_days(days), chance_blank(days)
    known = [day.score for day in days if day.score is not None]
    usual = float(np.mean(known)) if known else None
    scores = [usual if day.score is None else day.score for day in counted]
    unknown = value("remarks.score_unknown_sd")
    sds = [unknown if day.score is None else day.score_sd for day in counted]
    covariate, unsure = _covariates(scores, sds)
    return _Record(
        counted,
        np.array([day.date.toordinal() for day in counted], dtype=float),
        np.array([day.rounds for day in counted], dtype=float),
        covariate,
        unsure,
        np.array([blank[day.date.weekday()] for day in counted], dtype=float),
    )


def _covariates(scores: Sequence[float | None], sds: Sequence[float]) -> tuple[Floats, Floats]:
    """Return the trade's log rate over its base rate, and its sd from the score's."""
    base, doubling, threshold, most = (value(key) for key in COMPLAINT_KEYS)
    unknown = value("remarks.score_unknown_sd")
    score = np.array([threshold if s is None else s for s in scores], dtype=float)
    sd = np.array([unknown if s is None else d for s, d in zip(scores, sds, strict=True)])
    rate = trade_rate(np.clip(score, 0.0, 10.0))
    steepness = math.log(2) / doubling * (1 - (rate / most) ** 2)
    return np.log(rate / base), steepness * sd


def _tally(record: _Record, topics: Sequence[str]) -> Floats:
    rows = [sum((day.counts or {}).get(t, 0) for t in topics) for day in record.days]
    return np.array(rows, dtype=float)


def _chance_none(mean: Floats, overdispersion: Floats | float) -> Floats:
    return (1 + overdispersion * mean) ** (-1 / np.asarray(overdispersion))
