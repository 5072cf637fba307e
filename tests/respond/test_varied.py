"""What not knowing the work or the weather ahead adds: by hand, and against whole plans."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from greenwright.base.values import Work
from greenwright.respond.ahead import COURSE, Forecast, Window, believed, forecast
from greenwright.respond.coming import others_of, outlook, plan_of
from greenwright.respond.learning import LearnedOutcome
from greenwright.respond.varied import varied
from greenwright.stats.dynamic import effects
from tests.respond.handmade import FIRST, GREENS, TODAY, outcome, record, roll

IDLE: tuple[Work, ...] = ()
BUSY = (roll(2, "2"), roll(3, "1;2;3"))


@pytest.fixture(scope="module")
def learned() -> LearnedOutcome:
    return outcome()


def looked(learned: LearnedOutcome, *likely: tuple[Work, ...], planned=IDLE, days=5) -> Forecast:
    coming = outlook(record(), first=FIRST, n_days=days, planned=planned, likely=likely)
    return forecast(learned, record(), days=days, coming=coming)


def level(found: Forecast, green: str, ahead: int):
    day = TODAY + timedelta(days=ahead)
    return next(s.level for s in found.ahead if (s.green, s.date) == (green, day))


def test_the_mean_is_that_of_the_plans_that_may_come(learned: LearnedOutcome) -> None:
    each = [looked(learned, planned=plan) for plan in (IDLE, BUSY)]
    both = looked(learned, IDLE, BUSY)
    for green in (COURSE, *GREENS):
        for ahead in range(1, 6):
            wanted = np.mean([level(one, green, ahead).value for one in each])
            assert level(both, green, ahead).value == pytest.approx(wanted, abs=1e-9)


def test_what_is_planned_only_shifts_where_all_agree(learned: LearnedOutcome) -> None:
    sure = looked(learned, planned=BUSY)
    agreed = looked(learned, BUSY, BUSY)
    for ahead in (1, 3, 5):
        assert level(agreed, "2", ahead).value == pytest.approx(level(sure, "2", ahead).value)


def test_an_open_roll_spreads_its_day_by_its_size(learned: LearnedOutcome) -> None:
    sure, open_ = looked(learned), looked(learned, IDLE, (roll(3, "1;2;3"),))
    size = effects(learned.fit).at("roll")[0]
    for ahead, left in ((2, 0.0), (3, 1.0)):
        more = level(open_, "1", ahead).sd ** 2 - level(sure, "1", ahead).sd ** 2
        # by hand: half a roll either side, raised by 3 / 1 as two ways tell little of a third
        assert more == pytest.approx(left * 3 * (size / 2) ** 2, rel=0.05, abs=1e-6)
    # The same roll on all greens: their mean is as unsure of it as each of them.
    whole = level(open_, COURSE, 3).sd ** 2 - level(sure, COURSE, 3).sd ** 2
    assert whole == pytest.approx(3 * (size / 2) ** 2, rel=0.05)


def test_with_many_ways_the_spread_is_their_own(learned: LearnedOutcome) -> None:
    ways = tuple((roll(3, "1;2;3"),) if k % 2 else IDLE for k in range(20))
    sure, open_ = looked(learned), looked(learned, *ways)
    size = effects(learned.fit).at("roll")[0]
    more = level(open_, "1", 3).sd ** 2 - level(sure, "1", 3).sd ** 2
    assert more == pytest.approx(21 / 19 * (size / 2) ** 2, rel=0.05)  # by hand


def test_a_sure_plan_adds_nothing(learned: LearnedOutcome) -> None:
    plan = plan_of(learned, outlook(record(), first=FIRST, n_days=4))
    means, covs = varied(learned.fit, plan, (), units=np.arange(3), days=4)
    assert not means.any() and not covs.any() and covs.shape[1:] == (4, 3, 3)


def test_effects_that_differ_by_green_move_each_by_its_own(learned: LearnedOutcome) -> None:
    # Work done differently is a whole other plan: the engine's own levels under it must agree.
    coming = outlook(record(), first=FIRST, n_days=4, likely=(BUSY, BUSY))
    plan, others = plan_of(learned, coming), others_of(learned, coming)
    means, _ = varied(learned.fit, plan, others, units=np.arange(3), days=4)
    busy = plan_of(learned, outlook(record(), first=FIRST, n_days=4, planned=BUSY))
    window = Window(learned, plan, GREENS, first=1, last=4)
    gap = believed(replace(window, plan=busy)).means - believed(window).means
    # beliefs run course, then greens, each by day
    by_green = gap[:, 4:].reshape(len(learned.fit.at), 3, 4).transpose(0, 2, 1)
    assert means == pytest.approx(by_green, abs=1e-9)


def test_work_that_is_as_planned_differs_in_nothing_however_long_its_acts_last(
    learned: LearnedOutcome,
) -> None:
    # Cores, sand and verticuts of the past still act, some for months: of both plans alike.
    long = [
        Work(date=TODAY - timedelta(days=ago), green="all", practice=name, amount=dose)
        for name, ago, dose in (("core", 100, 5.0), ("topdress", 15, 0.5), ("verticut", 8, 2.0))
    ]
    coming = outlook(record(*long), first=FIRST, n_days=4, planned=BUSY, likely=(BUSY, BUSY))
    for one in others_of(learned, coming):
        assert len(one.more) > 5
        assert max(float(np.abs(dose).max()) for dose in one.more.values()) == 0.0


def test_each_way_is_met_by_each_weather(learned: LearnedOutcome) -> None:
    coming = outlook(record(), first=FIRST, n_days=4, likely=(IDLE, BUSY))
    others = others_of(learned, coming)
    # by hand: twelve weathers and two works, each pair as often
    assert len(others) == 12 and {one.once for one in others} == {2}
    rolls = [one.more["roll"].sum() for one in others]
    assert sorted(rolls) == [0.0] * 6 + [4.0] * 6
