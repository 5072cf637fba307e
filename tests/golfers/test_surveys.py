"""Those who were asked: Jeffreys shares, wider where days differ."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from scipy.stats import beta

from greenwright.base.errors import BadInput
from greenwright.golfers.surveys import survey_shares
from greenwright.golfers.tally import Asked

FIRST = date(2026, 5, 2)


def asked(*pairs: tuple[int, int], topic: str = "bumpy") -> list[Asked]:
    return [Asked(FIRST + timedelta(days=28 * i), topic, k, n) for i, (k, n) in enumerate(pairs)]


def test_one_day_is_the_jeffreys_interval() -> None:
    (found,) = survey_shares(asked((7, 20)))
    # outside: scipy.stats, Beta(7.5, 13.5)
    assert found.share.value == pytest.approx(7.5 / 21)
    ends = beta.ppf([0.05, 0.95], 7.5, 13.5)
    assert (found.share.low, found.share.high) == pytest.approx(tuple(ends))
    assert (found.n_asked, found.n_days) == (20, 1)


def test_days_that_agree_are_simply_added() -> None:
    (found,) = survey_shares(asked((6, 20), (7, 20), (6, 20)))
    assert found.share.value == pytest.approx(19.5 / 61)  # by hand
    assert found.n_asked == 60


def test_days_that_disagree_widen_the_interval() -> None:
    even, uneven = (
        survey_shares(asked(*pairs))[0].share
        for pairs in (((10, 20), (10, 20), (10, 20)), ((1, 20), (10, 20), (19, 20)))
    )
    assert uneven.value == pytest.approx(even.value)
    # by hand: Pearson 2 x 81 / 5 = 32.4 on 2 degrees, with two borrowed 34.4 / 4 = 8.6 times the
    # variance: 60 answers count for 6.98, and a Jeffreys sd goes as 1 / sqrt(answers + 2)
    assert uneven.sd / even.sd == pytest.approx(np.sqrt(62 / 8.977), rel=1e-3)


def test_nobody_or_everybody_is_no_reason_to_widen() -> None:
    assert survey_shares(asked((0, 20), (0, 10)))[0].share.value == pytest.approx(0.5 / 31)
    assert survey_shares(asked((20, 20)))[0].share.high > 0.97


def test_topics_apart_and_in_order() -> None:
    found = survey_shares(asked((1, 20), topic="slow") + asked((5, 20)))
    assert [s.topic for s in found] == ["bumpy", "slow"]
    assert survey_shares([]) == ()


def test_more_answers_than_asked_are_refused() -> None:
    with pytest.raises(BadInput, match="were asked"):
        survey_shares(asked((21, 20)))
