"""Bands: entered, the narrower of two, and the defaults by setting."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from greenwright.advise.ahead import days_ahead, events_of, rounds_assumed
from greenwright.advise.targets import band, quality_floor, wanted
from greenwright.base.values import CalendarEntry, Rounds, Snapshot, Target
from tests.advise.hands import TODAY, course_of, event

DATES = [TODAY + timedelta(days=i) for i in range(1, 8)]


def with_targets(*targets: Target) -> Snapshot:
    return course_of({"A": 1, "B": 1}, targets=targets)


def speed(low: float | None, high: float | None, **more: object) -> Target:
    return Target(quantity="green_speed", low=low, high=high, **more)  # type: ignore[arg-type]


def test_an_entered_band_holds_with_its_half_width() -> None:
    held = band(with_targets(speed(2.75, 3.05)), "green_speed", method="", greens=["1"], days=DATES)
    # by hand: half of 0.30 m
    assert held.half == pytest.approx(0.15) and held.low[0, 0] == 2.75
    assert not held.default


def test_the_narrower_dates_then_the_fewer_greens_win() -> None:
    record = with_targets(
        speed(2.5, 3.0),
        speed(2.8, 3.2, from_=DATES[2], until=DATES[3]),
        speed(2.6, 3.1, green="B"),
    )
    held = band(record, "green_speed", method="", greens=["1", "2"], days=DATES)
    assert held.low[0].tolist() == [2.5, 2.5, 2.8, 2.8, 2.5, 2.5, 2.5]
    assert held.low[1].tolist() == [2.6, 2.6, 2.8, 2.8, 2.6, 2.6, 2.6]


def test_a_one_sided_band_takes_the_default_half_width() -> None:
    record = with_targets(Target(quantity="moisture", low=None, high=25.0, weight=2.0))
    held = band(record, "moisture", method="", greens=["1"], days=DATES)
    # elicited: 5 % for moisture
    assert held.half == pytest.approx(5.0) and held.weight[0, 0] == 2.0
    assert np.isneginf(held.low).all()
    assert "targets.default.moisture.half_width" in held.evidence_keys


def test_firmness_takes_the_half_width_of_its_method() -> None:
    method = "impact deceleration (dropped hammer)"
    record = with_targets(Target(quantity="firmness", method=method, low=90.0))
    held = band(record, "firmness", method=method, greens=["1"], days=DATES)
    assert held.half == pytest.approx(10.0)  # elicited: 10 g


def test_defaults_come_by_setting_and_say_so() -> None:
    record = course_of({"A": 1})
    held = band(record, "green_speed", method="", greens=["1"], days=DATES)
    # common practice: members' courses 9.5 to 10.5 ft
    assert held.low[0, 0] == pytest.approx(9.5 * 0.3048)
    assert held.default and held.evidence_keys == ("targets.default.member.green_speed",)
    smooth = band(record, "smoothness", method="", greens=["1"], days=DATES)
    assert (smooth.low[0, 0], smooth.high[0, 0]) == (8.0, 10.0)


def test_days_outside_an_entered_season_fall_back() -> None:
    record = with_targets(Target(quantity="moisture", low=10.0, high=20.0, until=DATES[1]))
    held = band(record, "moisture", method="", greens=["1"], days=DATES)
    assert held.weight[0].tolist() == [1, 1, 0, 0, 0, 0, 0]


def test_what_is_wanted() -> None:
    record = with_targets(
        Target(quantity="quality", low=6.5), Target(quantity="moisture", high=20.0)
    )
    assert wanted(record) == (("moisture", ""), ("green_speed", ""), ("smoothness", ""))


def test_quality_is_a_floor() -> None:
    record = with_targets(Target(quantity="quality", low=6.5, green="A"))
    assert quality_floor(record, "1", DATES[0]) == (6.5, False)
    assert quality_floor(record, "2", DATES[0]) == (6.0, True)  # common practice


def test_the_days_ahead_have_weight_and_rounds() -> None:
    record = course_of({"A": 1}, calendar=(event(3, weight=3.0),))
    found = days_ahead(record, 7)
    assert [d.weight for d in found] == [1, 1, 3, 1, 1, 1, 1]
    assert found[2].rounds == 120 and found[2].name == "Reed Cup"
    assert found[0].rounds == 100 and rounds_assumed(record)  # elicited default
    assert [e.name for e in events_of(record)] == ["Reed Cup"]


def test_rounds_are_those_of_the_weekday() -> None:
    counted = tuple(
        Rounds(date=TODAY - timedelta(days=i), rounds=40.0 + 100 * (i % 7 == 6)) for i in range(14)
    )
    found = days_ahead(course_of({"A": 1}, rounds=counted), 7)
    # by hand: six and thirteen days before a Friday are Saturdays
    assert [d.rounds for d in found] == [140, 40, 40, 40, 40, 40, 40]


def test_a_closure_weighs_nothing() -> None:
    shut = CalendarEntry(start=DATES[0], end=DATES[1], name="drains", kind="closure")
    found = days_ahead(course_of({"A": 1}, calendar=(shut,)), 3)
    assert [(d.closed, d.weight, d.rounds) for d in found] == [
        (True, 0.0, 0.0), (True, 0.0, 0.0), (False, 1.0, 100.0),
    ]  # fmt: skip


def test_a_past_event_does_not_count() -> None:
    past = replace(event(1), start=TODAY - timedelta(days=3))
    assert events_of(course_of({"A": 1}, calendar=(past,))) == ()
