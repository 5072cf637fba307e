"""A course's own remarks: prior alone, prior corrected, and what cannot be told."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import cache

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.base.evidence import evidence
from greenwright.golfers.complaints import complaint_rate
from greenwright.golfers.feedback import ANY, REMARK_KEYS, Remarks, remarks_model
from greenwright.golfers.tally import COMPLAINT_TOPICS, TOPICS, Asked, DayOfPlay
from tests.golfers.remark_days import BASE, FIRST, remark_days, true_rate


@cache
def related(zeros: bool = True, slope: float = 1.0) -> Remarks:
    return remarks_model(remark_days(7, zeros=zeros, slope=slope), score=6.5, seed=1)


@cache
def nothing() -> Remarks:
    return remarks_model([], score=7.0, seed=1)


def test_without_a_record_the_trade_speaks_alone() -> None:
    found, rule = nothing(), 100 * float(complaint_rate(7.0))
    expected, prior = found.expected(ANY, 100), found.prior(ANY, 100)
    # the elicited rule's rate at a score of 7, unsure by a factor of two or so each way
    assert expected.value == pytest.approx(rule, rel=0.15)
    assert expected.low < rule / 2 and expected.high > rule * 1.8
    assert expected.value == pytest.approx(prior.value, rel=0.1)
    assert prior.basis == "prior"
    for topic in found.topics.values():
        assert (topic.related, topic.n_days, topic.n_remarks) == ("cannot tell", 0, 0)
        assert topic.share_local == pytest.approx(0.0, abs=0.01)


def test_topics_before_anything_is_known_add_up_to_any() -> None:
    parts = sum(nothing().prior(topic, 100).value for topic in COMPLAINT_TOPICS)
    # slopes differ by topic, so not exactly
    assert parts == pytest.approx(nothing().prior(ANY, 100).value, rel=0.35)


def test_expectations_are_proportional_to_rounds() -> None:
    one, ten = (related().expected("bumpy", n) for n in (20, 200))
    assert ten.value == pytest.approx(10 * one.value)
    assert related().expected("bumpy", 0).value == 0.0


@pytest.mark.parametrize("zeros", [True, False])
def test_a_talkative_related_course_is_learnt(zeros: bool) -> None:
    found = related(zeros)
    topic = found.topic(ANY)
    truth = 60 * true_rate(6.5, 1.0)
    expected = found.expected(ANY, 60)
    assert expected.low < truth < expected.high
    assert topic.related in ("yes", "partly")
    assert topic.share_local > 0.6
    prior = found.prior(ANY, 60)
    assert expected.high - expected.low < 0.6 * (prior.high - prior.low)


def test_days_known_only_by_their_remarks_do_not_double_the_rate() -> None:
    days = remark_days(7, zeros=False)
    spoken = [day for day in days if day.counts]
    naive = sum(sum(d.counts.values()) - d.counts.get("praise", 0) for d in spoken if d.counts)
    naive /= sum(day.rounds for day in spoken)
    learnt = related(False).expected(ANY, 1).value
    # by hand: days picked because somebody spoke look far worse than the surface is
    assert naive > 1.4 * true_rate(7.0, 1.0)
    assert learnt == pytest.approx(true_rate(6.5, 1.0), rel=0.4)


def test_an_unrelated_course_is_said_to_be_so() -> None:
    found = related(True, 0.0)
    assert found.topic(ANY).related == "cannot tell"
    assert "does not follow the surface" in found.topic(ANY).reason
    good, bad = (
        remarks_model(remark_days(7, slope=0.0), score=s, topics=(ANY,), seed=1).expected(ANY, 60)
        for s in (8.0, 5.0)
    )
    prior = [remarks_model([], score=s, topics=(ANY,), seed=1).prior(ANY, 60) for s in (8.0, 5.0)]
    # the trade would have the bad surface draw six times as much; this course half believes it
    assert bad.value / good.value < 0.5 * prior[1].value / prior[0].value


def test_a_worse_surface_is_expected_to_draw_more() -> None:
    days = remark_days(3)
    values = [
        remarks_model(days, score=s, topics=(ANY,), seed=1).expected(ANY, 60).value
        for s in (8.5, 7.5, 6.5, 5.5)
    ]
    assert values == sorted(values)


def quiet(n: int, counts: dict[str, int] | None) -> list[DayOfPlay]:
    days = [FIRST + timedelta(days=t) for t in range(n)]
    return [DayOfPlay(day, 60.0, 7 + 0.5 * (day.day % 3 - 1), 0.2, counts) for day in days]


def test_written_zeros_count_and_blanks_do_not() -> None:
    zeros, blanks = (
        remarks_model(quiet(90, counts), score=7.0, topics=(ANY, "bumpy"), seed=1)
        for counts in ({"bumpy": 0}, None)
    )
    before = blanks.prior(ANY, 60).value
    assert blanks.expected(ANY, 60).value == pytest.approx(before, rel=0.1)
    # 5,400 rounds without a word: far under the trade's 53 remarks
    assert zeros.expected(ANY, 60).value < before / 3
    assert zeros.topic("bumpy").n_days == 90
    assert zeros.topic(ANY).related == "cannot tell"
    assert "too little" in zeros.topic(ANY).reason


def test_a_day_with_another_topic_was_counted() -> None:
    days = quiet(60, {"slow": 1})
    found = remarks_model(days, score=7.0, topics=("bumpy", "slow"), seed=1)
    assert found.topic("bumpy").n_days == 60
    assert found.expected("bumpy", 60).value < found.prior("bumpy", 60).value
    assert found.expected("slow", 60).value > found.prior("slow", 60).value


def test_a_score_that_is_hardly_known_teaches_less() -> None:
    sure = remark_days(9)
    vague = [replace(day, score_sd=1.5) for day in sure]
    unknown = [replace(day, score=None) for day in sure]
    shares = [
        remarks_model(days, score=5.0, topics=(ANY,), seed=1).topic(ANY).share_local
        for days in (sure, vague, unknown)
    ]
    assert shares[0] > shares[1]
    assert shares[0] > shares[2]
    same = remarks_model(unknown, score=5.0, topics=(ANY,), seed=1).topic(ANY)
    assert same.related == "cannot tell" and "the same on all days" in same.reason


def test_an_unknown_surface_today_widens_the_answer() -> None:
    days = remark_days(4)
    known, unsure, unknown = (
        remarks_model(days, score=s, score_sd=sd, topics=(ANY,), seed=1).expected(ANY, 60)
        for s, sd in ((8.0, 0.0), (8.0, 0.8), (None, 0.0))
    )
    assert known.sd < unsure.sd < unknown.sd


def test_praise_goes_the_other_way() -> None:
    good, bad = (remarks_model([], score=s, topics=("praise",), seed=1) for s in (9.0, 6.0))
    assert good.expected("praise", 100).value > 2 * bad.expected("praise", 100).value


def test_clustering_makes_silence_more_likely_than_poisson() -> None:
    found = related()
    expected = found.expected(ANY, 60)
    # by hand: of one mean, a mixture is silent more often than a Poisson count of that mean
    assert found.chance_of_any(ANY, 60) < 1 - np.exp(-expected.value)
    assert 0 < found.chance_of_any(ANY, 5) < found.chance_of_any(ANY, 500) < 1


def test_surveys_stay_apart() -> None:
    days = remark_days(5)
    asked = [Asked(FIRST, "bumpy", 18, 20)]
    with_, without = (
        remarks_model(days, score=7.0, topics=("bumpy",), surveys=s, seed=1) for s in (asked, [])
    )
    assert with_.expected("bumpy", 60) == without.expected("bumpy", 60)
    assert with_.surveys[0].share.value == pytest.approx(18.5 / 21)  # by hand, Jeffreys


def test_the_same_seed_gives_the_same_answer_in_any_order_of_days() -> None:
    days = remark_days(6, n=100)
    one, two = (
        remarks_model(rows, score=7.0, topics=(ANY,), seed=9).expected(ANY, 60)
        for rows in (days, days[::-1])
    )
    assert one == two


def test_every_key_it_names_exists_and_every_topic_is_there() -> None:
    assert set(REMARK_KEYS) <= set(evidence())
    assert set(nothing().topics) == {ANY, *TOPICS}
    with pytest.raises(BadInput, match="no topic"):
        nothing().expected("windy", 10)


def test_the_base_rate_of_this_file_is_the_trades() -> None:
    assert evidence()["complaints.base_rate"].value == BASE
