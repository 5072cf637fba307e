"""Numbers with units: conversions by hand, windows, slips, counts and methods."""

from __future__ import annotations

import pytest

HEADER = "date,green,kind,value,unit,n,method\n"


def reading(read, kind, value, unit="", n="", method=""):
    cell = '"' + value.replace('"', '""') + '"'
    file = read(readings=f"{HEADER}2026-06-01,1,{kind},{cell},{unit},{n},{method}\n")["readings"]
    return (file.rows[0].fields if file.rows else None), (file.refusals or (None,))[0]


@pytest.mark.parametrize(
    ("kind", "value", "unit", "canonical"),
    [
        ("roll_distance", "9'6\"", "", 2.8956),  # by hand: 114 in x 0.0254
        ("roll_distance", "9-6", "ft", 2.8956),
        ("roll_distance", "9 ft 6 in", "", 2.8956),
        ("roll_distance", "9.5", "ft", 2.8956),
        ("roll_distance", "114", "in", 2.8956),
        ("roll_distance", "2895.6", "mm", 2.8956),
        ("green_speed", "2.5", "", 2.5),
        ("height_of_cut", "0.125", "in", 3.175),  # by hand: x 25.4
        ("soil_temperature", "50", "degF", 10.0),  # by hand
        ("moisture", "24", "% VWC", 24.0),
        ("clippings", "38 mL/m2", "", 38.0),
        ("clippings", "10", "L/100 m2", 100.0),  # by hand: 10,000 mL on 100 m2
        ("soil_ec", "1.2", "mS/cm", 1.2),  # 1 mS/cm = 1 dS/m
        ("leaf_n", "4.1", "%", 4.1),
    ],
)
def test_given_units_become_canonical(read, kind, value, unit, canonical):
    fields, _ = reading(read, kind, value, unit)
    assert fields["value"] == pytest.approx(canonical, abs=1e-9)
    assert fields["given"] == value
    assert fields.get("given_unit", "") == unit


@pytest.mark.parametrize(
    ("kind", "value", "unit", "column"),
    [
        ("roll_distance", "40", "ft", "value"),
        ("roll_distance", "114", "ft", "value"),  # x12 slip: inches called feet
        ("roll_distance", "244", "m", "value"),  # x100 slip: centimetres called metres
        ("green_speed", "9.5", "", "value"),  # feet without their unit
        ("green_speed", "289.56", "ft", "value"),  # x30.48 slip: centimetres called feet
        ("green_speed", "0.95", "m", "value"),
        ("height_of_cut", "0.125", "", "value"),
        ("height_of_cut", "12.1", "mm", "value"),
        ("moisture", "71", "%", "value"),
        ("clippings", "30", "", "unit"),
        ("clippings", "501", "mL/m2", "value"),
        ("smoothness_score", "-1", "score", "value"),
        ("quality", "0.5", "rating", "value"),
        ("cover", "101", "%", "value"),
        ("moisture", "20", "mm", "unit"),
        ("moisture", "20 mm", "", "value"),
        ("roll_score", "7", "%", "unit"),
        ("roll_distance", "8 ft", "m", "unit"),
        ("roll_distance", "9-6", "m", "unit"),
        ("roll_distance", "2.4 m", "cm", "unit"),
        ("roll_distance", "8 parrots", "", "value"),
        ("roll_distance", "9'12\"", "", "value"),
        ("roll_distance", "2,44", "m", "value"),
        ("roll_distance", "", "m", "value"),
    ],
)
def test_what_cannot_be_right_is_refused(read, kind, value, unit, column):
    fields, refusal = reading(read, kind, value, unit)
    assert fields is None
    assert refusal.column == column


def test_an_implausible_bare_number_asks_its_question(read):
    _, refusal = reading(read, "green_speed", "9.5")
    assert "is it 9.5 ft = 2.9 m" in refusal.do  # by hand: 9.5 x 0.3048 = 2.8956
    _, refusal = reading(read, "height_of_cut", "0.125")
    assert "0.125 in = 3.1" in refusal.do  # by hand: 3.175


@pytest.mark.parametrize("kind", ["hops", "drifts", "clean_rolls"])
@pytest.mark.parametrize(
    ("value", "n", "column"),
    [
        ("7", "10", None),
        ("10", "10", None),
        ("12", "10", "value"),
        ("7", "", "n"),
        ("2.5", "10", "value"),
    ],
)
def test_counts_are_of_n(read, kind, value, n, column):
    fields, refusal = reading(read, kind, value, "count", n)
    assert (refusal.column if refusal else None) == column
    assert (fields is None) == (column is not None)


@pytest.mark.parametrize(
    ("method", "unit", "column"),
    [
        ("impact deceleration", "", None),
        ("impact deceleration (dropped hammer)", "g", None),
        ("impact deceleration", "kg", "unit"),  # g is a deceleration, not grams
        ("penetration depth", "in", None),
        ("", "g", "method"),
        ("thumb", "g", "method"),
    ],
)
def test_firmness_needs_a_method_of_the_table(read, method, unit, column):
    fields, refusal = reading(read, "firmness", "10", unit, method=method)
    assert (refusal.column if refusal else None) == column
    if fields:
        expected = {"impact deceleration": ("g", 10.0), "penetration depth": ("mm", 254.0)}
        assert (fields["unit"], fields["value"]) == expected[fields["method"]]  # by hand: x 25.4


@pytest.mark.parametrize(
    ("method", "kept"), [("bench", True), ("effective", True), ("guess", False)]
)
def test_height_of_cut_is_bench_or_effective(read, method, kept):
    fields, refusal = reading(read, "height_of_cut", "3.2", "mm", method=method)
    assert (fields is not None) is kept
    assert kept or refusal.column == "method"


def test_shear_keeps_the_unit_of_its_method(read):
    assert reading(read, "shear", "20", "N m")[0]["unit"] == "N m"
    assert reading(read, "shear", "20")[1].column == "unit"


WORK = "date,green,practice,amount,unit,passes,material,detail,status\n"


def work(read, practice, amount="", unit="", material="", detail="", passes="", **more):
    day, status = more.get("day", "2026-06-01"), more.get("status", "")
    row = f"{day},all,{practice},{amount},{unit},{passes},{material},{detail},{status}\n"
    file = read(work=WORK + row)["work"]
    return (file.rows[0].fields if file.rows else None), (file.refusals or (None,))[0]


@pytest.mark.parametrize(
    ("practice", "amount", "unit", "canonical", "canonical_unit"),
    [
        ("mow", "0.125", "in", 3.175, "mm"),  # by hand
        ("topdress", "0.5", "mm", 0.5, "L/m2"),
        ("topdress", "0.75", "kg/m2", 0.5, "L/m2"),  # by hand: 1,500 kg/m3 (evidence table)
        ("feed", "0.1", "lb/1000ft2", 0.48824, "g/m2"),  # international pound and foot
        ("feed", "12", "kg/ha", 1.2, "g/m2"),  # by hand
        ("feed", "5", "L/ha", 0.5, "mL/m2"),  # by hand
        ("regulator", "0.125", "floz/1000ft2", 0.03979, "mL/m2"),  # 0.125 x 0.3183
        ("regulator", "1", "kg/ha", 0.1, "g/m2"),  # by hand
        ("irrigate", "0.2", "in", 5.08, "mm"),  # by hand
    ],
)
def test_amounts_of_work(read, practice, amount, unit, canonical, canonical_unit):
    fields, _ = work(read, practice, amount, unit, material="stuff")
    assert fields["amount"] == pytest.approx(canonical, rel=1e-4)
    assert fields["unit"] == canonical_unit
    assert (fields["given"], fields["given_unit"]) == (amount, unit)


@pytest.mark.parametrize(
    ("practice", "more", "column"),
    [
        ("roll", {"amount": "2"}, "amount"),
        ("roll", {"passes": "-1"}, "passes"),
        ("mow", {"amount": "40", "unit": "mm"}, "amount"),
        ("mow", {"amount": "4", "unit": "g/m2"}, "unit"),
        ("feed", {"amount": "1", "unit": "g/m2"}, "material"),
        ("feed", {"amount": "1", "unit": "g/m2", "detail": "as N"}, None),
        ("roll", {"day": "2026-06-06"}, "date"),
        ("roll", {"day": "2026-06-06", "status": "planned"}, None),
    ],
)
def test_rules_of_work(read, practice, more, column):
    fields, refusal = work(read, practice, **more)
    assert (refusal.column if refusal else None) == column
    assert (fields is None) == (column is not None)
