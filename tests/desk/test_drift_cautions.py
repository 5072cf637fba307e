"""Cautions about observers who drift, and about readings that a model does not fit."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from greenwright.base.estimate import normal_estimate
from greenwright.base.values import Course
from greenwright.desk import cautions
from greenwright.measure import ObserverShift

FEET = Course(course="fen", name="Low Fen", speed_units="ft")
METRES = Course(course="fen", name="Low Fen", speed_units="m")


def drifting(value: float, *, unit: str = "m", drifts: bool = True) -> ObserverShift:
    none = normal_estimate(0.0, 1.0, unit)
    return ObserverShift("ana", none, None, normal_estimate(value, 0.03, unit), drifts)


@pytest.mark.parametrize(
    ("value", "course", "says"),
    # by hand: 0.1524 m is 6 in, 15 cm
    [
        (0.1524, FEET, "6 in higher"),
        (-0.1524, FEET, "6 in lower"),
        (0.1524, METRES, "15 cm higher"),
    ],
)
def test_a_drift_names_the_observer_size_and_side(value: float, course: Course, says: str) -> None:
    row = cautions.drift(drifting(value), "green_speed", course)
    assert row is not None and (row["kind"], row["observer"]) == ("observer", "ana")
    assert f"ana has come to read green speed about {says} than before" in row["text"]
    assert row["drift"].value == value


def test_scores_drift_in_points() -> None:
    row = cautions.drift(drifting(0.8, unit="score"), "smoothness", FEET)
    assert row is not None and "0.8 points higher" in row["text"]


def test_what_is_not_credible_is_not_told() -> None:
    assert cautions.drift(drifting(0.5, drifts=False), "green_speed", FEET) is None
    bare = ObserverShift("ana", normal_estimate(0.0, 1.0, "m"))
    assert cautions.drift(bare, "green_speed", FEET) is None


def surface(**more: Any) -> Any:
    return SimpleNamespace(**{"quantity": "green_speed", "observers": (), "misfit": "", **more})


def test_shift_and_drift_of_one_observer_are_two_cautions() -> None:
    held = ObserverShift(
        "ana", normal_estimate(0.3, 0.03, "m"), None, normal_estimate(0.2, 0.03, "m"), True
    )
    rows = cautions.observers(surface(observers=(held,)), FEET)
    assert [("shift" in row, "drift" in row) for row in rows] == [(True, False), (False, True)]
    assert cautions.observers(surface(observers=(drifting(0.1, drifts=False),)), FEET) == ()


def test_a_misfit_is_told_in_the_words_of_the_fit() -> None:
    rows = cautions.misfit(surface(misfit="Three readings lie far off."))
    assert rows == (
        {"kind": "misfit", "quantity": "green_speed", "text": "Three readings lie far off."},
    )
    assert cautions.misfit(surface()) == ()
