"""Cautions speak the course's units and name nobody without cause."""

from __future__ import annotations

from datetime import date

import pytest

from greenwright.base.answer import CAUTION_KINDS
from greenwright.base.estimate import normal_estimate
from greenwright.base.values import Course
from greenwright.desk import cautions

FEET = Course(course="a", name="A")
METRES = Course(course="a", name="A", speed_units="m")


@pytest.mark.parametrize(
    ("value", "sd", "named"),
    [
        (0.25, 0.1, False),  # by hand: 2.5 sd is under 2.576, the two-sided 99 % point
        (0.26, 0.1, True),
        (-0.26, 0.1, True),
        (0.0, 0.1, False),
        (0.5, 0.0, False),
    ],
)
def test_an_observer_is_named_only_when_it_is_clear(value: float, sd: float, named: bool) -> None:
    shift = normal_estimate(value, sd, "m")
    assert (cautions.observer("kim", shift, "green_speed", FEET) is not None) == named


@pytest.mark.parametrize(
    ("value", "unit", "quantity", "course", "says"),
    [
        (0.2032, "m", "green_speed", FEET, "about 8 in higher"),  # by hand: 8 x 0.0254
        (-0.2032, "m", "green_speed", METRES, "about 20 cm lower"),
        (-1.24, "score", "smoothness", FEET, "about 1.2 points lower"),
        (3.0, "%", "moisture", FEET, "about 3 % higher"),
    ],
)
def test_the_size_is_told_in_the_course_s_units(
    value: float, unit: str, quantity: str, course: Course, says: str
) -> None:
    row = cautions.observer("kim", normal_estimate(value, abs(value) / 5, unit), quantity, course)
    assert row is not None and says in row["text"] and row["observer"] == "kim"


@pytest.mark.parametrize("word", ["label", "licensed", "code", "Lightning", "Heat", "Machines"])
def test_the_usual_cautions_stand_beside_advice(word: str) -> None:
    assert any(word in row["text"] for row in cautions.safety())
    assert {row["kind"] for row in cautions.safety()} == {"safety"} <= set(CAUTION_KINDS)


@pytest.mark.parametrize(("last", "told"), [(29, 0), (28, 1), (None, 0)])
def test_a_record_is_old_after_a_week(last: int | None, told: int) -> None:
    day = date(2026, 5, last) if last else None
    # by hand: 29 May to 5 June is seven days, 28 May eight
    assert len(cautions.old_record(day, date(2026, 6, 5))) == told
