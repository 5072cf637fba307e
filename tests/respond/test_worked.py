"""Doses of a whole record by hand: how much, and from which morning on it is felt."""

from __future__ import annotations

from dataclasses import replace
from datetime import time, timedelta

import numpy as np
import pytest

from greenwright.base.values import Green, Material
from greenwright.respond.learning.worked import Worked, amount_of, pieces, playing, worked
from tests.respond.learning_records import DAY, FIRST, ago, held, reading, work

LAST = (DAY - FIRST).days
UREA = Material(material="urea", n_pct=46.0)
LIQUID = Material(material="liquid", n_pct=10.0, density_kg_l=1.2)
SAND = Material(material="iron", fe_pct=20.0)


def laid(*done: object, **more: object) -> Worked:
    return worked(held(*done, **more), first=FIRST, until=DAY)  # type: ignore[arg-type]


def felt(found: Worked, act: str, green: int = 0) -> dict[int, float]:
    """Days before today -> dose."""
    dose = found.doses[act][green]
    return {LAST - int(day): float(dose[day]) for day in np.flatnonzero(dose)}


@pytest.mark.parametrize("practice", ["roll", "brush", "groom", "mark_repair"])
def test_work_before_play_is_felt_the_same_morning(practice: str) -> None:
    assert felt(laid(work(practice, 5)), practice) == {5: 1.0}


@pytest.mark.parametrize(
    "practice", ["topdress", "verticut", "core", "feed", "regulator", "irrigate", "hand_water"]
)
def test_other_work_is_felt_from_the_next_morning(practice: str) -> None:
    assert list(felt(laid(work(practice, 5)), practice)) == [4]


def test_written_times_overrule_the_usual_order() -> None:
    read = tuple(reading("green_speed", 2.9, d, time=time(7, 30)) for d in (5, 9))
    found = laid(
        work("roll", 5, time=time(18, 0)), work("irrigate", 9, time=time(4, 0)), readings=read
    )
    # by hand: the evening roll after the reading counts tomorrow, the night's water today
    assert felt(found, "roll") == {4: 1.0} and felt(found, "irrigate") == {9: 1.0}
    # green 2 was not read: there the usual order stands
    assert felt(found, "roll", 1) == {5: 1.0} and felt(found, "irrigate", 1) == {8: 1.0}


def test_work_of_today_that_is_felt_tomorrow_is_not_yet_felt() -> None:
    assert felt(laid(work("topdress", 0)), "topdress") == {}


def test_a_second_cut_is_an_act_of_its_own() -> None:
    found = laid(work("mow", 3, passes=2.0, amount=3.5), work("mow", 2, amount=3.5))
    assert felt(found, "double_cut") == {3: 1.0}
    assert found.days_done["mow"] == 2 and found.days_done["double_cut"] == 1
    assert found.mown[0, [LAST - 3, LAST - 2, LAST - 1]].tolist() == [True, True, False]


def test_acts_of_a_piece_of_work() -> None:
    assert pieces(work("mow", 1)) == ()
    assert pieces(work("mow", 1, passes=3.0)) == (("double_cut", 2.0),)
    assert pieces(work("roll", 1, passes=2.0)) == (("roll", 2.0),)
    assert pieces(work("hole_change", 1)) == ()


@pytest.mark.parametrize(
    ("piece", "doses"),
    [
        (work("topdress", 1, amount=0.25), 0.5),  # 0.25 of 0.5 L/m2
        (work("topdress", 1), 1.0),  # not written: one reference dose
        (work("core", 1, amount=2.5), 0.5),  # 2.5 of 5 %
        (work("irrigate", 1, amount=10.0), 2.0),  # 10 of 5 mm
        (work("hand_water", 1, amount=1.0), 0.5),
        (work("overseed", 1, amount=10.0), 2.0),
        (work("brush", 1, amount=3.0), 1.0),  # a depth is no dose
        (work("verticut", 1, amount=2.0), 1.0),
    ],
)
def test_amounts_in_reference_doses(piece: object, doses: float) -> None:
    assert amount_of(piece, materials={}, usual={}) == pytest.approx(doses)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("more", "doses"),
    [
        ({"amount": 1.0, "material": "urea", "unit": "g/m2"}, 0.92),  # 0.46 g N of 0.5
        ({"amount": 5.0, "material": "liquid", "unit": "mL/m2"}, 1.2),  # 5 x 1.2 x 0.1 = 0.6 g N
        ({"amount": 0.25, "material": "urea", "detail": "as N"}, 0.5),
        ({"amount": 3.0, "material": "iron"}, 0.0),  # holds no nitrogen
        ({"amount": 3.0, "material": "unknown"}, 1.0),
        ({"material": "urea"}, 1.0),
    ],
)
def test_feeding_counts_nitrogen(more: dict[str, object], doses: float) -> None:
    known = {m.material: m for m in (UREA, LIQUID, SAND)}
    assert amount_of(work("feed", 1, **more), materials=known, usual={}) == pytest.approx(doses)


def test_holes_by_diameter_and_spacing() -> None:
    # by hand: pi / 4 x 12^2 / (40 x 50) = 5.65 % of the surface, over the reference of 5 %
    piece = work("core", 1, diameter_mm=12.0, spacing_mm=40.0, spacing2_mm=50.0)
    assert amount_of(piece, materials={}, usual={}) == pytest.approx(5.6549 / 5, abs=1e-4)


def test_a_usual_dose_is_the_record_s_own() -> None:
    doses = [
        work("regulator", d, amount=a, material="x") for d, a in ((9, 0.04), (6, 0.04), (3, 0.02))
    ]
    # by hand: the median amount is 0.04, so the last was half a usual dose
    assert felt(laid(*doses), "regulator") == {8: 1.0, 5: 1.0, 2: 0.5}


def test_planned_and_declined_work_is_not_done_but_a_plan_may_be_laid_in() -> None:
    coming = replace(work("roll", -2), status="planned")
    record = held(replace(work("roll", 2), status="declined"), coming)
    assert felt(worked(record, first=FIRST, until=DAY), "roll") == {}
    ahead = worked(record, first=FIRST, until=DAY + timedelta(days=3), planned=(coming,))
    assert ahead.doses["roll"][0, LAST + 2] == 1.0
    assert ahead.days_done.get("roll", 0) == 0


def test_a_plan_for_a_day_gone_by_is_not_laid_in() -> None:
    past = replace(work("roll", 4), status="planned")
    assert not worked(held(), first=FIRST, until=DAY, planned=(past,)).doses["roll"].any()


def test_heights_hold_and_greens_never_cut_are_taken_as_cut_daily() -> None:
    found = laid(work("mow", 20, green="1", amount=3.8), work("mow", 10, green="1", amount=3.4))
    assert found.bench_mm[0, LAST - 15] == 3.8 and found.bench_mm[0, LAST] == 3.4
    assert np.isnan(found.bench_mm[1]).all() and found.mown[1].all()


def test_leaf_grows_from_the_eve_and_is_cut_away() -> None:
    found = laid(work("mow", 4), work("mow", 1), work("mow", 3, green="2"))
    left, gathered = found.grown()
    grown = float(found.growth[0, 0])  # every day alike: 18 degC
    # by hand: one day's growth each on the two mornings after the cut, then cut again
    assert left[0, LAST - 4 :].tolist() == pytest.approx([0.0, grown, 2 * grown, 0.0, grown])
    assert gathered[0, LAST - 1] == pytest.approx(3 * grown)


def test_greens_out_of_play_are_left_out() -> None:
    record = held(work("roll", 1), greens=3)
    shut = tuple(replace(g, in_play=g.green != "2") for g in record.greens)
    record = replace(record, greens=shut)
    assert playing(record) == ("1", "3")
    assert worked(record, first=FIRST, until=DAY).doses["roll"].shape == (2, LAST + 1)


def test_a_group_named_is_worked_together() -> None:
    found = laid(work("roll", 3, green="A"), greens=3)
    assert [bool(row.any()) for row in found.doses["roll"]] == [True, True, False]


def test_work_before_the_calendar_is_not_laid_out() -> None:
    record = held(work("roll", 200), work("roll", 3))
    found = worked(record, first=ago(10), until=DAY)
    assert found.doses["roll"].sum() == 2.0 and found.days_done["roll"] == 1
    assert isinstance(record.greens[0], Green)
