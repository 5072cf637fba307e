"""What golfers will say: remarks to expect by topic, and what those said who were asked."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from greenwright.base.estimate import Estimate
from greenwright.base.values import Snapshot
from greenwright.desk.answering import SEED, Row
from greenwright.desk.golfing.levels import Levels
from greenwright.desk.golfing.past import past_scores
from greenwright.golfers.feedback import ANY, REMARK_KEYS, Remarks, remarks_model
from greenwright.golfers.surveys import Survey
from greenwright.golfers.tally import PRAISE, TOPICS, DayOfPlay, surveyed, volunteered
from greenwright.measure import Surface

LOOK_BACK_D = 365
"""Days of play that the remarks are learnt from."""

SURVEYS_D = 90
"""Days whose surveys still speak of the present surface."""


def remarks(record: Snapshot, smoothness: Surface | None, levels: Levels) -> Remarks:
    """Return the remarks to expect of a surface, learnt from the course's own days.

    Args:
        record: as known on the day, at least LOOK_BACK_D of it.
        smoothness: of the day; None where it was never read.
        levels: of the day, with anything asked in their place.
    """
    score, sd = spoken_of(levels)
    since = record.as_of - timedelta(days=SURVEYS_D)
    return remarks_model(
        _days_of_play(record, smoothness, levels),
        score=score,
        score_sd=sd,
        surveys=[one for one in surveyed(record.feedback) if one.date > since],
        seed=SEED,
    )


def complaint_rows(model: Remarks, rounds: float) -> tuple[Row, ...]:
    """Return the rows of remarks by topic, then those of surveys.

    Args:
        model: what is to be expected of one round.
        rounds: of the day.
    """
    said = tuple(_row(model, topic, rounds) for topic in (ANY, *TOPICS))
    return (*said, *(_survey_row(one) for one in model.surveys))


def spoken_of(levels: Levels) -> tuple[float | None, float]:
    """Return the score that remarks go by, and how unsure it is; None where never read."""
    if "smoothness" in levels.given:
        return levels.given["smoothness"], 0.0
    held = levels.smoothness
    return (None, 0.0) if held is None else (held.value, held.sd)


def _row(model: Remarks, topic: str, rounds: float) -> Row:
    held = model.topic(topic)
    return _base(topic, model.expected(topic, rounds), model.chance_of_any(topic, rounds)) | {
        "rounds": rounds,
        "prior": model.prior(topic, rounds),
        "share_local": held.share_local,
        "related": held.related,
        "reason": held.reason,
        "n_days": held.n_days,
        "n_remarks": held.n_remarks,
        "asked": False,
        "sources": list(_keys(topic)),
    }


def _survey_row(one: Survey) -> Row:
    return _base(one.topic, one.share, None) | {
        "rounds": None,
        "asked": True,
        "n_asked": one.n_asked,
        "n_days": one.n_days,
        "sources": [],
    }


def _base(about: str, estimate: Estimate, chance: float | None) -> dict[str, object]:
    return {
        "green": "course",
        "what": "complaints",
        "about": about,
        "distance_m": None,
        "player": None,
        "quantity": None,
        "chance": chance,
        "chance_perfect": None,
        "estimate": estimate,
    }


def _keys(topic: str) -> tuple[str, ...]:
    if topic == PRAISE:
        return tuple(key for key in REMARK_KEYS if key != "complaints.base_rate")
    shared = tuple(key for key in REMARK_KEYS if key != "praise.base_rate")
    by_topic = ("complaints.topic_shares", "complaints.topic_slopes", "complaints.topic_spread")
    return tuple(key for key in shared if topic != ANY or key not in by_topic)


def _days_of_play(record: Snapshot, smoothness: Surface | None, levels: Levels) -> list[DayOfPlay]:
    """Return every day with rounds or remarks, with the score it was believed to have."""
    first = record.as_of - timedelta(days=LOOK_BACK_D)
    rounds = {row.date: row.rounds for row in record.rounds if first < row.date <= record.as_of}
    told: Mapping[date, dict[str, int]] = {
        day: counts
        for day, counts in volunteered(record.feedback).items()
        if first < day <= record.as_of
    }
    days = sorted({*rounds, *told})
    scores = past_scores(record, smoothness, days)
    return [
        DayOfPlay(day, rounds.get(day, levels.rounds), *score, counts=told.get(day))
        for day, score in zip(days, scores, strict=True)
    ]
