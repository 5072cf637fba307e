"""The clock tells the course's own day."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from greenwright.base.errors import BadInput
from greenwright.desk import clock


def test_now_is_aware_and_in_utc() -> None:
    assert clock.now().tzinfo == UTC


def test_the_day_is_the_course_s_own(monkeypatch: pytest.MonkeyPatch) -> None:
    moment = datetime(2026, 6, 5, 13, 30, tzinfo=UTC)
    monkeypatch.setattr(clock, "now", lambda: moment)
    # by hand: 13:30 UTC is 01:30 the next day at +12 and 03:30 the same day at -10
    assert clock.today("Pacific/Auckland") == moment.date() + timedelta(days=1)
    assert clock.today("Pacific/Honolulu") == moment.date()
    assert clock.today("") == moment.date()


@pytest.mark.parametrize("name", ["Mars/Olympus", "../../etc/passwd", "x\0y"])
def test_a_zone_that_is_none_is_refused(name: str) -> None:
    with pytest.raises(BadInput, match="time zone"):
        clock.today(name)


def test_a_stopwatch_runs() -> None:
    first = clock.stopwatch()
    assert clock.stopwatch() >= first
