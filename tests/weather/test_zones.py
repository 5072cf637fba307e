"""Root zones of greens: entered, learned from soakings, or common practice."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from greenwright.base.errors import BadInput
from greenwright.base.values import Course, Green, Reading, Snapshot
from greenwright.weather.zones import Own, zones_of
from tests.weather.days_made import DAY


def read(k: int, green: str, value: float, kind: str = "moisture") -> Reading:
    """Return a reading k days after DAY."""
    return Reading(date=DAY + timedelta(days=k), green=green, kind=kind, value=value, unit="%")


def course(*greens: Green, readings: tuple[Reading, ...] = ()) -> Snapshot:
    """Return a record of greens and readings."""
    held = Course(course="fen", name="Fen")
    return Snapshot(course=held, as_of=DAY, greens=greens, readings=readings)


SAND, SOIL = Green(green="1"), Green(green="2", rootzone="soil", grass="bermudagrass")


def test_common_practice_stands_in_and_is_named() -> None:
    found = zones_of(course(SAND, SOIL), ())
    # Common practice: sand 0.18 to 0.22 and 0.05 to 0.06; memory: soil 0.32 and 0.14
    assert found.zone.field_capacity == pytest.approx([0.20, 0.32])
    assert found.zone.wilting_point == pytest.approx([0.055, 0.14])
    assert found.zone.depth_m == pytest.approx([0.2, 0.2])
    assert found.coefficient.tolist() == [0.8, 0.6]
    assert found.zone.depletion.tolist() == [0.4, 0.5]
    assert found.capacity_from == found.depth_from == ("common", "common")
    assert {"soil.sand.field_capacity", "soil.root_depth_default"} <= found.evidence_keys
    # By hand: a range of 0.18 to 0.22 read as nine of ten: 0.04 / 3.29
    assert found.capacity_sd[0] == pytest.approx(0.04 / 3.29, abs=1e-4)


def test_what_the_course_entered_goes_first() -> None:
    own = {"field_capacity_pct": "24", "wilting_point_pct": "7", "root_depth_mm": "90",
           "crop_coefficient": "0.7"}  # fmt: skip
    found = zones_of(course(Green(green="1", other=own)), ())
    assert found.zone.field_capacity[0] == pytest.approx(0.24)
    assert found.zone.total_available[0] == pytest.approx(15.3)  # by hand: 1000·0.17·0.09
    assert found.coefficient[0] == 0.7 and found.own_coefficient == (True,)
    assert found.capacity_from == ("entered",) and found.depth_from == ("entered",)
    asked = zones_of(course(Green(green="1", other=own)), (), Own(0.6, 0.15))
    assert asked.coefficient[0] == 0.6 and asked.zone.depth_m[0] == 0.15


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("field_capacity_pct", "wet"),
        ("field_capacity_pct", "0.2"),
        ("wilting_point_pct", "90"),
        ("root_depth_mm", "5"),
        ("crop_coefficient", "2.85"),
    ],
)
def test_slips_in_what_was_entered_are_named(column: str, text: str) -> None:
    with pytest.raises(BadInput):
        zones_of(course(Green(green="1", other={column: text})), ())


def test_root_depth_is_the_last_one_read() -> None:
    deep = [read(-40, "1", 150.0, "root_depth"), read(-3, "1", 90.0, "root_depth"),
            read(-3, "1", 110.0, "root_depth")]  # fmt: skip
    found = zones_of(course(SAND, SOIL, readings=tuple(deep)), ())
    assert found.zone.depth_m == pytest.approx([0.1, 0.2])  # by hand: the mean of 90 and 110 mm
    assert found.depth_from == ("read", "common")


def test_six_readings_after_soakings_set_a_green_s_own_field_capacity() -> None:
    wet = [DAY - timedelta(days=k) for k in range(2, 20, 3)]
    mornings = [(day - DAY).days + 1 for day in wet]
    own = tuple(read(k, "1", v) for k, v in zip(mornings, (24, 25, 26, 25, 24, 26), strict=True))
    dry = tuple(read(k + 1, "1", 15.0) for k in mornings)  # the day after tells nothing
    found = zones_of(course(SAND, SOIL, readings=own + dry), wet)
    assert found.zone.field_capacity == pytest.approx([0.25, 0.32])
    assert found.capacity_from == ("read", "common")
    assert 0.005 <= found.capacity_sd[0] < 0.01
    few = zones_of(course(SAND, SOIL, readings=own[:5] + dry), wet)
    assert few.capacity_from == ("common", "common")


def test_greens_alike_lend_each_other_their_readings() -> None:
    wet = [DAY - timedelta(days=k) for k in (2, 5, 8)]
    rows = tuple(read((day - DAY).days + 1, green, 23.0) for day in wet for green in ("1", "3"))
    found = zones_of(course(SAND, SOIL, Green(green="3"), readings=rows), wet)
    assert found.zone.field_capacity == pytest.approx([0.23, 0.32, 0.23])
    assert found.capacity_from == ("read", "common", "read")


def test_a_probe_that_reads_low_draws_the_wilting_point_down() -> None:
    wet = [DAY - timedelta(days=k) for k in range(2, 20, 3)]
    rows = tuple(read((day - DAY).days + 1, "1", 8.0) for day in wet)
    zone = zones_of(course(SAND, readings=rows), wet).zone
    assert zone.field_capacity[0] == pytest.approx(0.08)
    assert zone.wilting_point[0] == pytest.approx(0.04)
    assert np.all(zone.total_available > 0)


def test_greens_out_of_play_are_left_out() -> None:
    found = zones_of(course(SAND, Green(green="9", in_play=False)), ())
    assert found.greens == ("1",)
