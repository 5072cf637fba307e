"""Calculators of water, warmth and risk: any unit, the tables, and what is refused."""

from __future__ import annotations

import pytest

from greenwright.base.errors import BadInput
from greenwright.desk.reckon import reckon

LYON = {"t_min": "14.8", "t_max": "26.6", "latitude": "45.72", "elevation": "200", "day": "196"}
BRUSSELS = {
    "t_min": "12.3", "t_max": "21.5", "latitude": "50.8", "elevation": "100", "day": "187",
    "rh_min": "63", "rh_max": "84", "wind": "2.7778", "wind_height": "10", "sunshine": "9.25",
}  # fmt: skip


def number(name: str, typed: dict[str, str], key: str) -> float:
    """Return one result of a calculation."""
    return reckon(name, typed).result[key].number


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"t_min": "54.14 degF", "t_max": "70.7 degF"},
        {"rh_min": "63%", "rh_max": "84 %"},
        {"wind": "10 km/h", "wind_height": "32.80840 ft"},
        {"elevation": "328.084 ft", "latitude": "50.8 deg"},
        {"sunshine": "555 min"},
    ],
)
def test_example_18_in_any_unit(changes: dict[str, str]) -> None:
    # FAO Irrigation and Drainage Paper 56: 3.9 mm/d, by its steps 3.880
    assert number("reference-et", BRUSSELS | changes, "eto") == pytest.approx(3.880, abs=1e-3)


def test_what_stood_in_is_said() -> None:
    notes = reckon("reference-et", LYON).notes
    assert [n for n in notes if "stands in" in n] and len([n for n in notes if "no " in n]) == 3
    full = reckon("reference-et", BRUSSELS)
    assert not [n for n in full.notes if "stands in" in n]
    assert "eto.default_wind" not in {s["key"] for s in full.sources}
    assert "eto.default_wind" in {s["key"] for s in reckon("reference-et", LYON).sources}


@pytest.mark.parametrize(
    ("etc", "readily", "days"),
    [
        # by hand for a store of 48 mm: p + 0.04·(5 - ETc)
        ({}, 19.2, 3.84),
        ({"etc": "5 mm"}, 19.2, 3.84),
        ({"etc": "4"}, 21.12, 5.28),
        ({"etc": "6"}, 17.28, 2.88),
        ({"etc": "0.2 in"}, 19.0464, 3.7493),
    ],
)
def test_the_store_corrects_p_only_when_use_is_given(etc, readily: float, days: float) -> None:
    typed = {"field_capacity": "22%", "wilting_point": "6%", "depth": "30", "p": "0.4"} | etc
    assert number("water-store", typed, "readily_available") == pytest.approx(readily)
    assert number("water-store", typed, "days") == pytest.approx(days, abs=1e-4)
    assert any("no evapotranspiration" in n for n in reckon("water-store", typed).notes) == (
        not etc
    )


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ({"t_min": "16,16,16", "t_max": "28,28,28"}, 66.0),  # by hand: 3 · 22
        ({"t_min": "4", "t_max": "12"}, 8.0),
        ({"t_min": "20, 2", "t_max": "30, 12", "base": "10"}, 15.0),
        ({"t_min": "0", "t_max": "10", "base": "-5"}, 10.0),
        ({"t_min": "50 degF", "t_max": "50 degF", "base": "32 degF"}, 10.0),
    ],
)
def test_degree_days(typed: dict[str, str], expected: float) -> None:
    assert number("degree-days", typed, "degree_days") == pytest.approx(expected)


@pytest.mark.parametrize(
    ("rate", "unit", "expected"),
    # by hand: 7·(1 - 0.5^(100/116)) = 3.149, in the unit of the rate
    [("7", "mL/m2", 3.149), ("7 g/m2", "g/m2", 3.149), ("70 L/ha", "mL/m2", 3.149)],
)
def test_a_top_up_comes_in_the_unit_of_the_rate(rate: str, unit: str, expected: float) -> None:
    got = reckon("regulator-left", {"degree_days": "100", "half_life": "116", "rate": rate})
    assert got.result["top_up"].unit == unit
    assert got.result["top_up"].number == pytest.approx(expected, abs=5e-4)
    assert any("label" in note for note in got.notes)


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("dollar-spot", {"rh_mean": "80", "t_mean": "20"}),
        ("brown-patch", {"rh_mean": "90", "t_min": "20"}),
        ("anthracnose", {"wet_hours": "15", "t_mean": "22"}),
    ],
)
def test_a_risk_is_information_and_its_threshold_a_setting(name: str, typed) -> None:
    got = reckon(name, typed)
    assert got.result["above_threshold"].number == 1.0
    assert any("never an instruction" in n for n in got.notes)
    assert any(n.startswith("built on ") for n in got.notes)
    most = {"dollar-spot": "0.9", "brown-patch": "9", "anthracnose": "5"}[name]
    assert number(name, typed | {"threshold": most}, "above_threshold") == 0.0


@pytest.mark.parametrize(
    ("name", "typed", "where"),
    [
        ("reference-et", LYON | {"rh_max": "101"}, "rh_max"),
        ("reference-et", LYON | {"t_max": "10"}, "t_max"),
        ("reference-et", LYON | {"latitude": "95"}, "latitude"),
        ("reference-et", LYON | {"day": "367"}, "day"),
        ("reference-et", LYON | {"day": "12.5"}, "day"),
        ("reference-et", LYON | {"solar": "90"}, "solar"),
        ("water-store", {"depth": "30", "field_capacity": "5%", "wilting_point": "6%"},
         "field_capacity"),
        ("water-store", {"depth": "30", "field_capacity": "22"}, "field_capacity"),
        ("degree-days", {"t_min": "5,6", "t_max": "9"}, "t_max"),
        ("degree-days", {"t_min": "9", "t_max": "5"}, "t_max"),
        ("regulator-left", {"degree_days": "-1"}, "degree_days"),
        ("regulator-left", {"degree_days": "10", "half_life": "0"}, "half_life"),
        ("dollar-spot", {"rh_mean": "80", "t_mean": "9.9"}, "t_mean"),
        ("dollar-spot", {"rh_mean": "80", "t_mean": "35.1"}, "t_mean"),
        ("brown-patch", {"rh_mean": "101", "t_min": "20"}, "rh_mean"),
        ("anthracnose", {"wet_hours": "7", "t_mean": "20"}, "wet_hours"),
        ("anthracnose", {"t_mean": "20"}, ""),
    ],
)  # fmt: skip
def test_outside_its_range_there_is_no_answer(name: str, typed: dict[str, str], where: str) -> None:
    with pytest.raises(BadInput) as caught:
        reckon(name, typed)
    assert caught.value.where == where or where in str(caught.value)


@pytest.mark.parametrize(
    ("t", "curve", "expected"),
    # by hand from the bell curves of 7, uncapped, and of 8.5
    [("33", "c4_uncapped", 0.9600), ("35", "c4_uncapped", 0.8494), ("25", "c4_wide", 0.7795)],
)
def test_variants_of_growth_potential(t: str, curve: str, expected: float) -> None:
    typed = {"t_mean": t, "grass": curve}
    assert number("growth-potential", typed, "growth_potential") == pytest.approx(
        expected, abs=5e-5
    )
