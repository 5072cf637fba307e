"""Growth regulators as they were applied, from a record made up for it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from greenwright.base.values import Course, Green, Material, Snapshot, Work
from greenwright.weather.applied import Applied, applied_of
from greenwright.weather.given import given_days
from tests.weather.days_made import DAY, ahead, seen

BENT, ULTRA = "creeping bentgrass", "ultradwarf bermudagrass"
FIRST = DAY - timedelta(days=12)
WEATHER = (*(seen(k, t_min_c=15.0, t_max_c=25.0) for k in range(-12, 1)),
           *(ahead(k, 0, t_min_c=10.0, t_max_c=20.0) for k in (1, 2, 3)))  # fmt: skip


def used(k: int, green: str = "all", material: str = "shield", **more) -> Work:
    """Return the use of a regulator k days after DAY."""
    day = DAY + timedelta(days=k)
    held = {"amount": 0.04, "unit": "mL/m2"} | more
    return Work(date=day, green=green, practice="regulator", material=material, **held)


def uses(*work: Work, grasses: tuple[str, ...] = (BENT, BENT), **material) -> tuple[Applied, ...]:
    """Return the uses of a record of greens with these grasses."""
    held = {"active": "trinexapac-ethyl"} | material
    record = Snapshot(
        course=Course(course="fen", name="Fen"),
        as_of=DAY,
        greens=tuple(Green(green=str(i + 1), grass=g) for i, g in enumerate(grasses)),
        weather=WEATHER,
        work=work,
        materials=(Material(material="shield", **held),),
    )
    return applied_of(record, given_days(record, FIRST, DAY + timedelta(days=3)))


def test_degree_days_add_up_from_the_day_after() -> None:
    (one,) = uses(used(-5))
    assert one.gdd_at(DAY - timedelta(days=5)) == 0.0
    assert one.gdd_at(DAY) == pytest.approx(100.0)  # by hand: 5 days of 20
    assert one.gdd_at(DAY + timedelta(days=3)) == pytest.approx(145.0)  # and 3 of 15 forecast
    assert one.gdd_at(DAY - timedelta(days=6)) is None
    assert one.gdd_at(DAY + timedelta(days=9)) is None
    assert one.state_at(DAY) == "suppressed" and one.greens == ("1", "2")


def test_the_days_on_which_it_fades_and_may_rebound() -> None:
    (one,) = uses(used(-12))
    # By hand: 20 a day: 200 on the tenth day, 250 reached on the first forecast day (240 + 15)
    assert one.first_at(200.0) == DAY - timedelta(days=2)
    assert one.first_at(250.0) == DAY + timedelta(days=1)
    assert one.state_at(DAY) == "fading"
    assert one.state_at(DAY + timedelta(days=1)) == "rebound risk"
    assert one.first_at(900.0) is None and one.first_at(None) is None


def test_only_the_last_use_of_each_green_counts() -> None:
    found = uses(used(-9), used(-4, "2"))
    assert [(u.greens, u.on) for u in found] == [
        (("2",), DAY - timedelta(days=4)),
        (("1",), DAY - timedelta(days=9)),
    ]


def test_each_grass_has_its_own_numbers() -> None:
    found = {u.grass: u for u in uses(used(-5), grasses=(BENT, ULTRA))}
    assert found[BENT].gdd_at(DAY) == pytest.approx(100.0)
    assert found[ULTRA].gdd_at(DAY) == pytest.approx(50.0)  # by hand: base 10
    assert found[ULTRA].regulator.reapply_gdd == 220.0


def test_nothing_is_claimed_for_what_no_source_tells() -> None:
    (one,) = uses(used(-5), grasses=("fine fescue",))
    assert one.regulator is None and one.state_at(DAY) == "not known"
    (other,) = uses(used(-5, material="something else"))
    assert other.active == "something else" and other.regulator is None
    assert other.gdd_at(DAY) == pytest.approx(100.0)  # base 0 where none is named


def test_the_active_may_stand_in_the_work_itself_and_the_half_life_on_the_material() -> None:
    (named,) = uses(used(-5, material="Trinexapac-ethyl"))
    assert named.active == "trinexapac-ethyl" and named.regulator.half_life == 145.5
    (own,) = uses(used(-5), half_life_gdd=120.0)
    assert own.regulator.half_life == 120.0


def test_what_was_planned_declined_or_long_ago_is_no_use() -> None:
    assert uses(used(-5, status="declined"), used(2, status="planned"), used(-30)) == ()
