"""The model of an outcome: one and the same whatever calendar it is asked for."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np

from greenwright.respond.learning import first_day, learn, model_of
from greenwright.respond.learning.modelling import MOST_DAYS
from greenwright.stats.dynamic import levels
from tests.respond.learning_records import (
    DAY,
    FIRST,
    ago,
    held,
    reading,
    rolled_course,
    weather,
    work,
)


def test_learning_looks_back_three_years_at_most() -> None:
    assert first_day(held()) == DAY
    assert first_day(held(work("roll", 40), readings=(reading("moisture", 20.0, 50),))) == ago(50)
    # by hand: three years of 365 days and a leap day, today included
    assert first_day(held(work("roll", 3000))) == ago(MOST_DAYS - 1) == ago(1095)


def test_planned_work_and_readings_to_come_do_not_begin_it() -> None:
    assert first_day(held(replace(work("roll", 20), status="planned"))) == DAY


def test_a_longer_calendar_has_the_same_parts() -> None:
    record = held(
        work("roll", 3), work("core", 30), replace(work("feed", -4), status="planned"),
        readings=(reading("green_speed", 2.9, 2, observer="a"),
                  reading("green_speed", 2.9, 1, observer="b")),
        days=weather(after=5),
    )  # fmt: skip
    short = model_of(record, "green_speed", first=FIRST, until=DAY)
    long = model_of(
        record, "green_speed", first=FIRST, until=DAY + timedelta(days=14),
        planned=[work("roll", -3)],
    )  # fmt: skip
    assert [t.name for t in short.terms] == [t.name for t in long.terms]
    assert [c.name for c in short.covariates] == [c.name for c in long.covariates]
    assert short.groups == long.groups and short.hypers == long.hypers
    assert long.days == short.days + 14
    for one, other in zip(short.terms, long.terms, strict=True):
        assert np.allclose(one.dose, other.dose[:, : short.days])
    for one, other in zip(short.covariates, long.covariates, strict=True):
        assert np.allclose(one.values, other.values[:, : short.days], atol=1e-9)


def test_a_planned_roll_lifts_its_morning_and_fades() -> None:
    record = rolled_course()
    one = learn(record, seed=1, quantities=["green_speed"]).outcomes["green_speed", ""]
    ahead, unit = 6, np.zeros(6, dtype=int)
    day = one.day(DAY) + 1 + np.arange(ahead)
    last = DAY + timedelta(days=ahead)
    mows = [work("mow", -d, amount=3.6) for d in range(1, ahead + 1)]
    plans = [mows, [*mows, work("roll", -2, green="1")]]
    found = [
        levels(
            one.fit, unit, day,
            model=model_of(record, "green_speed", first=one.first, until=last, planned=plan),
        ).mean
        for plan in plans
    ]  # fmt: skip
    gain = found[1] - found[0]
    assert gain[0] == 0.0
    assert gain[1] > gain[2] > gain[3] > 0
    # the invented gain is 0.2 m, halving each 0.8 d: 0.084 m on the next morning
    assert abs(gain[1] - 0.2) < 0.04 and abs(gain[2] - 0.084) < 0.04


def test_days_left_uncut_lose_speed() -> None:
    record = rolled_course()
    one = learn(record, seed=1, quantities=["green_speed"]).outcomes["green_speed", ""]
    last = DAY + timedelta(days=3)
    mown = [work("mow", -d, amount=3.6) for d in (1, 2, 3)]
    day, unit = np.array([one.day(last)]), np.array([0])
    cut, left = (
        levels(
            one.fit, unit, day,
            model=model_of(record, "green_speed", first=one.first, until=last, planned=plan),
        ).mean[0]
        for plan in (mown, ())
    )  # fmt: skip
    assert left < cut


def test_work_that_neither_record_nor_plan_knows_moves_nothing() -> None:
    record = rolled_course()
    last = DAY + timedelta(days=5)
    plain = model_of(record, "green_speed", first=FIRST, until=last)
    slit = model_of(record, "green_speed", first=FIRST, until=last, planned=[work("slit", -1)])
    assert [t.name for t in plain.terms] == [t.name for t in slit.terms]
    assert all(np.array_equal(a.dose, b.dose) for a, b in zip(plain.terms, slit.terms, strict=True))
