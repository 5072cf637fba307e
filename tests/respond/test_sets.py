"""Readings as the engine's sets: what counts, on which scale, and by whom."""

from __future__ import annotations

from datetime import time

import numpy as np
import pytest

from greenwright.base.evidence import value
from greenwright.base.values import Reading
from greenwright.respond.learning.sets import (
    Set,
    engine_readings,
    groups_of,
    level_of,
    log_of,
    scales,
    sets_of,
    usual_hour,
)
from greenwright.stats.dynamic import SCALES
from tests.respond.learning_records import FIRST, ago, held, reading


def sets(quantity: str, *rows: Reading, method: str = "") -> tuple[Set, ...]:
    return sets_of(held(readings=rows), quantity, method=method, first=FIRST)


def test_balls_rolled_both_ways_are_one_level_speed() -> None:
    rows = [
        reading("roll_distance", v, 3, direction=d, set="s", unit="m", station="front",
                observer="ana", instrument="ramp-1", time=time(7))
        for d, v in (("a", 2.4), ("b", 3.6), ("a", 2.4), ("b", 3.6))
    ]  # fmt: skip
    (one,) = sets("green_speed", *rows)
    # by hand: 2 x 2.4 x 3.6 / 6.0
    assert one.value == pytest.approx(2.88)
    assert (one.who, one.tool, one.spot) == ("ana", "ramp-1", "front")
    assert one.count == np.inf and 0 < one.variance < 0.05**2


def test_rows_of_a_visit_are_one_set_with_its_scatter() -> None:
    rows = [reading("moisture", v, 2, time=time(8), instrument="probe") for v in (20.0, 22.0, 24.0)]
    (one,) = sets("moisture", *rows)
    # by hand: mean 22, squares 4 + 0 + 4, three readings
    assert (one.value, one.squares, one.count) == (22.0, 8.0, 3.0)


def test_another_hour_another_green_another_reader_is_another_visit() -> None:
    rows = [
        reading("moisture", 20.0, 2, time=time(8)),
        reading("moisture", 20.0, 2, time=time(15)),
        reading("moisture", 20.0, 2, green="2", time=time(8)),
        reading("moisture", 20.0, 2, time=time(8), observer="bo"),
    ]
    assert len(sets("moisture", *rows)) == 4


def test_a_reading_that_sums_up_several_counts_as_many() -> None:
    (one,) = sets("moisture", reading("moisture", 21.0, 2, n=9))
    assert (one.count, one.squares) == (9.0, 0.0)


def test_volumes_and_firmness_are_logs_and_nothing_is_below_half_a_step() -> None:
    found = sets("clippings", reading("clippings", 12.0, 2), reading("clippings", 0.0, 1))
    assert found[0].value == pytest.approx(np.log(12.0))
    assert np.isfinite(found[1].value)
    assert log_of("clippings") and log_of("firmness") and not log_of("green_speed")


def test_methods_of_firmness_are_never_pooled() -> None:
    rows = [
        reading("firmness", 90.0, 2, method="impact deceleration"),
        reading("firmness", 9.0, 2, method="penetration depth", unit="mm"),
    ]
    assert len(sets("firmness", *rows, method="impact deceleration")) == 1
    assert sets("firmness", *rows, method="penetration depth")[0].value == pytest.approx(np.log(9))


def test_scores_of_both_kinds_are_told_apart_and_counts_are_left_out() -> None:
    rows = [
        reading("smoothness_score", 7.0, 3, observer="ana"),
        reading("roll_score", 7.5, 3, observer="ana"),
        reading("hops", 2.0, 3, n=10, unit="count"),
    ]
    found = sets("smoothness", *rows)
    assert {(s.value, s.scale) for s in found} == {(7.0, ""), (7.5, "roll_score")}
    assert {g.name: g.size for g in groups_of(found, "smoothness")} == {"scale": 1}


def test_readings_of_later_days_other_greens_and_before_the_calendar_are_left_out() -> None:
    rows = [
        reading("moisture", 20.0, -1),
        reading("moisture", 20.0, 200),
        reading("moisture", 20.0, 1, green="gone"),
    ]
    assert sets("moisture", *rows) == ()


def test_sets_stand_in_order_of_time() -> None:
    rows = [reading("quality", 7.0, d, green=g) for d, g in ((1, "1"), (9, "2"), (9, "1"))]
    assert [(s.date, s.green) for s in sets("quality", *rows)] == [
        (ago(9), "1"), (ago(9), "2"), (ago(1), "1"),
    ]  # fmt: skip


def test_groups_have_those_who_read_and_only_where_there_are_several() -> None:
    one = [reading("green_speed", 2.9, d, observer="ana") for d in range(3)]
    assert groups_of(sets("green_speed", *one), "green_speed") == ()
    two = [*one, reading("green_speed", 2.9, 5, observer="bo", instrument="r1")]
    (who,) = groups_of(sets("green_speed", *two), "green_speed")
    assert (who.name, who.size) == ("who", 2)
    assert who.spread.median == value("measure.observer_sd_speed")


def test_places_members_and_hours_reach_the_engine() -> None:
    rows = [
        reading("green_speed", 2.9, 4, green="2", observer="bo", time=time(9, 30)),
        reading("green_speed", 2.8, 2, green="1", observer="ana", time=time(6, 30)),
        reading("green_speed", 2.7, 1, green="1"),
    ]
    found = sets("green_speed", *rows)
    hour = usual_hour(found)
    assert hour == pytest.approx(8.0)
    made = engine_readings(found, greens=("1", "2"), first=FIRST, hour=hour)
    assert made.unit.tolist() == [1, 0, 0]
    assert (89 - made.day).tolist() == [4, 2, 1]
    assert made.members["who"].tolist() == [1, 0, -1]
    # a set without an hour is taken as read at the usual one
    assert made.conditions["hour"].tolist() == pytest.approx([1.5, -1.5, 0.0])


def test_no_time_at_all_is_seven_in_the_morning() -> None:
    assert usual_hour(()) == 7.0


@pytest.mark.parametrize(
    "quantity", ["green_speed", "smoothness", "trueness", "firmness", "moisture", "clippings"]
)
def test_every_scale_has_a_prior(quantity: str) -> None:
    found = scales(quantity)
    assert set(found) == set(SCALES)
    assert all(p.median > 0 and p.log_sd > 0 for p in found.values())


def test_the_noise_of_a_speed_set_is_that_of_six_balls() -> None:
    # by hand: 0.0508 / sqrt 6
    assert scales("green_speed")["noise_sd"].median == pytest.approx(0.0508 / 6**0.5)


def test_levels_are_the_table_s_or_for_a_method_the_readings_own() -> None:
    assert level_of("green_speed", ()) == (
        value("measure.green_speed.level"),
        value("measure.green_speed.level_sd"),
    )
    rows = [
        reading("firmness", v, 1, method="x", time=time(7 + k)) for k, v in enumerate((80, 90, 100))
    ]
    found = sets("firmness", *rows, method="x")
    assert level_of("firmness", found)[0] == pytest.approx(np.log(90))
