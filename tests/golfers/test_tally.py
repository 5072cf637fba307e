"""The rule of the tally: what a blank day means, and what a written zero means."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from greenwright.base.errors import BadInput
from greenwright.base.values import Feedback
from greenwright.golfers.tally import (
    TOPICS,
    DayOfPlay,
    chance_blank,
    counted_days,
    surveyed,
    volunteered,
)

MONDAY = date(2026, 6, 1)


def day(offset: int, counts: dict[str, int] | None, rounds: float = 50.0) -> DayOfPlay:
    return DayOfPlay(MONDAY + timedelta(days=offset), rounds, 7.0, 0.2, counts)


def said(topic: str, count: int, *, offset: int = 0, **more: object) -> Feedback:
    return Feedback(date=MONDAY + timedelta(days=offset), topic=topic, count=count, **more)  # type: ignore[arg-type]


def test_rows_of_greens_add_up_and_zeros_stay() -> None:
    rows = [said("bumpy", 2, green="3"), said("bumpy", 1, green="7"), said("slow", 0, offset=1)]
    found = volunteered(rows)
    # by hand
    assert found == {MONDAY: {"bumpy": 3}, MONDAY + timedelta(days=1): {"slow": 0}}


def test_asked_and_volunteered_are_kept_apart() -> None:
    rows = [said("bumpy", 5, asked=True, n_asked=20), said("bumpy", 1), said("slow", 2, asked=True)]
    assert volunteered(rows) == {MONDAY: {"bumpy": 1}}
    (survey,) = surveyed(rows)  # the row that does not say how many were asked is left out
    assert (survey.count, survey.n_asked) == (5, 20)


def test_days_without_a_row_and_days_without_play_are_not_counted() -> None:
    days = [day(2, {"slow": 1}), day(0, {"bumpy": 0}), day(1, None), day(3, {"fast": 1}, 0.0)]
    assert [d.date.day for d in counted_days(days)] == [1, 3]


def test_a_course_that_writes_every_day_has_no_hidden_quiet_days() -> None:
    every = [day(t, {"bumpy": t % 3 == 0}) for t in range(70)]
    assert set(chance_blank(every).values()) == {0.0}


def test_a_course_that_never_writes_a_zero_hides_all_of_them() -> None:
    spoken = [day(t, {"bumpy": 1} if t % 3 == 0 else None) for t in range(70)]
    assert set(chance_blank(spoken).values()) == {1.0}


def test_zeros_written_on_sundays_alone_make_sundays_days_of_counting() -> None:
    days = [
        day(t, {"bumpy": 1} if t % 4 == 0 else {"bumpy": 0} if t % 7 == 6 else None)
        for t in range(140)
    ]
    blank = chance_blank(days)
    assert blank[6] == 0.0
    # by hand: 15 of 105 quiet days carry a zero; two borrowed days at that share among the 15
    # quiet days of a weekday are 2 x 0.143 / 17 = 0.0168, over the quarter that is needed
    assert blank[0] == pytest.approx(1 - 0.0168 / 0.25, abs=0.01)


def test_one_zero_in_a_year_does_not_make_a_habit() -> None:
    days = [day(t, None) for t in range(363)] + [day(363, {"slow": 0})]
    assert min(chance_blank(days).values()) > 0.8


def test_days_of_remarks_alone_with_no_quiet_day_known_hide_nothing() -> None:
    assert set(chance_blank([day(t, {"slow": 1}) for t in range(20)]).values()) == {0.0}


def test_days_that_are_not_even_listed_are_blank() -> None:
    spoken = [day(t, {"bumpy": 1}) for t in range(0, 70, 3)]
    assert set(chance_blank(spoken).values()) == {1.0}


@pytest.mark.parametrize(
    "days",
    [
        [day(0, None), day(0, {"slow": 1})],
        [day(0, {"slow": -1})],
        [day(0, {"slow": 1}, -5.0)],
        [day(0, None, float("nan"))],
    ],
)
def test_nonsense_is_refused(days: list[DayOfPlay]) -> None:
    with pytest.raises(BadInput):
        counted_days(days)


def test_topics_are_those_of_the_record_format() -> None:
    # outside: the record format's list of feedback topics
    listed = "bumpy | untrue | slow | fast | uneven | soft | hard | scarred | praise | other"
    assert set(TOPICS) == set(listed.split(" | "))
