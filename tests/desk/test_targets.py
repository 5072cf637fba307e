"""The band a green is judged by: the record's own, else a default that is told."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import pytest

from greenwright.base.values import Course, Green, Snapshot, Target
from greenwright.desk.targets import Band, wanted

DAY = date(2026, 6, 5)
GREENS = tuple(Green(green=key, group=group) for key, group in (("1", "A"), ("2", "A"), ("3", "B")))


def record(*targets: Target, setting: str = "member") -> Snapshot:
    course = Course(course="fen", name="Sedge Hill", setting=setting)
    return Snapshot(course=course, as_of=DAY, greens=GREENS, targets=targets)


def surface(quantity: str = "green_speed", method: str = "") -> SimpleNamespace:
    return SimpleNamespace(quantity=quantity, method=method, greens=("1", "2", "3"), on=DAY)


def speed(low: float, high: float | None, **more: object) -> Target:
    return Target(quantity="green_speed", low=low, high=high, unit="m", **more)


def test_one_target_for_all_is_common() -> None:
    held = wanted(record(speed(2.7, 3.0)), surface())
    assert held.bands == (Band(2.7, 3.0),) * 3
    assert held.common == Band(2.7, 3.0) and held.keys == ()


def test_a_group_and_a_green_may_have_their_own() -> None:
    held = wanted(
        record(speed(2.7, 3.0), speed(2.5, 2.9, green="A"), speed(2.4, None, green="2")), surface()
    )
    assert held.bands == (Band(2.5, 2.9), Band(2.4, None), Band(2.7, 3.0))
    assert held.common is None


@pytest.mark.parametrize(
    ("first", "last", "holds"),
    [
        (DAY, DAY, True),
        (date(2026, 6, 6), None, False),
        (None, date(2026, 6, 4), False),
    ],
)
def test_a_target_holds_on_its_days(first: date | None, last: date | None, holds: bool) -> None:
    held = wanted(record(speed(3.3, 3.6, from_=first, until=last)), surface())
    assert (held.common == Band(3.3, 3.6)) == holds


@pytest.mark.parametrize(
    ("setting", "low", "high"),
    [
        ("member", 2.8956, 3.2004),  # 9.5 to 10.5 ft, common practice
        ("daily-fee", 2.4384, 2.8956),  # 8 to 9.5 ft, common practice
    ],
)
def test_without_a_target_speed_has_the_default_of_its_setting(
    setting: str, low: float, high: float
) -> None:
    held = wanted(record(setting=setting), surface())
    assert held.common == Band(low, high, default=True)
    assert held.keys == (f"targets.default.{setting}.green_speed",)


def test_a_quantity_nobody_wants_has_no_band() -> None:
    held = wanted(record(), surface("moisture"))
    assert held.bands == (None, None, None) and held.common is None and held.keys == ()


def test_a_height_target_holds_for_any_method_and_firmness_only_for_its_own() -> None:
    height = Target(quantity="height_of_cut", low=3.0, high=3.5, unit="mm")
    firm = Target(quantity="firmness", method="penetration depth", low=8, high=12, unit="mm")
    held = record(height, firm)
    assert wanted(held, surface("height_of_cut", "bench")).common == Band(3.0, 3.5)
    assert wanted(held, surface("firmness", "penetration depth")).common == Band(8, 12)
    assert wanted(held, surface("firmness", "impact deceleration")).common is None
