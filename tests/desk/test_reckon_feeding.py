"""The reckoner on feeding: tables of the trade, units as people write them, and refusals."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.base.units import split_quantity
from greenwright.desk.reckon import calculators, reckon


def got(name: str, **inputs: str) -> dict[str, float]:
    return {key: held.number for key, held in reckon(name, inputs).result.items()}


@pytest.mark.parametrize(
    ("material", "inputs", "published"),
    [
        # published: extension table ANR-174; the rule's own result lies within 3 kg
        ("urea", {"n_pct": "46"}, -81),
        ("ammonium sulfate", {"n_pct": "20.5", "s_pct": "23.4"}, -110),
        ("ammonium nitrate", {"n_pct": "33.5"}, -61),
        ("calcium nitrate", {"n_pct": "11.86", "ca_pct": "16.97"}, 20),
        ("potassium nitrate", {"n_pct": "13.85", "k_pct": "38.67"}, 26),
    ],
)
def test_acidity_by_rule_and_by_table(material: str, inputs: dict, published: float) -> None:
    assert got("acidity", material=material)["caco3_per_100kg"] == published
    assert got("acidity", **inputs)["caco3_per_100kg"] == pytest.approx(published, abs=3)


@pytest.mark.parametrize(
    ("name", "inputs", "says"),
    [
        ("acidity", {}, "no content"),
        ("acidity", {"n_pct": "46", "material": "urea"}, "both given"),
        ("acidity", {"n_pct": "60", "s_pct": "60"}, "add up"),
        ("acidity", {"n_pct": "101"}, "outside the range"),
        ("nitrogen-plan", {"t_mean": "1,2,3"}, "3 monthly"),
        ("nitrogen-plan", {"t_mean": "99," * 11 + "99"}, "outside the range"),
        ("clippings-nitrogen", {"volume": "45"}, "has no unit"),
        ("soil-index", {"element": "N", "test": "5"}, "not a element"),
        ("sand", {}, "0 of depth"),
        ("sand", {"depth": "1", "mass": "3 kg"}, "2 of depth"),
        ("core-area", {"diameter": "60", "spacing": "50"}, "holes of 60"),
        ("om-dilution", {"om": "6", "depth": "20", "sand": "30"}, "30 mm of sand"),
        ("tank", {"tank": "300", "volume_rate": "400", "rate": "1"}, "has no unit"),
        ("sprayer", {"volume_rate": "400", "speed": "60", "spacing": "0.5"}, "outside the range"),
        ("product-for", {"nutrient": "N", "rate": "1", "grade": "146", "area": "1"}, "range"),
    ],
)
def test_refusals(name: str, inputs: dict[str, str], says: str) -> None:
    with pytest.raises(BadInput, match=says):
        reckon(name, inputs)


@given(st.floats(0.05, 5), st.floats(1, 1e4))
def test_sand_comes_back_from_its_mass_and_volume(depth: float, area: float) -> None:
    first = got("sand", depth=f"{depth!r} mm", area=f"{area!r} m2")
    for name, unit in (("volume", "m3"), ("mass", "kg")):
        again = got("sand", **{name: f"{first[name]!r} {unit}"}, area=f"{area!r} m2")
        assert again == pytest.approx(first)


@given(st.floats(0.01, 10), st.floats(1, 100))
def test_a_tank_holds_its_area_s_product(rate: float, grade: float) -> None:
    """What the tank holds, on its area, is the rate that was asked for."""
    product = got("product-for", nutrient="N", rate=f"{rate!r}", grade=f"{grade!r}", area="1000")
    per_m2 = product["product_rate"]
    assert product["product"] == pytest.approx(per_m2)  # by hand: 1000 m2 of g/m2 are kg
    if per_m2 > 500:
        return
    tank = got("tank", tank="600 L", volume_rate="400 L/ha", rate=f"{per_m2!r} g/m2")
    assert tank["product"] * 1000 / tank["area"] == pytest.approx(per_m2)
    assert tank["concentration"] == pytest.approx(tank["product"] * 1000 / 600)


@given(st.sampled_from(["K", "P", "Ca", "Mg", "S"]), st.floats(0, 1000))
def test_oxides_weigh_more_than_their_element(element: str, amount: float) -> None:
    held = got("oxide", element=element, amount=f"{amount!r} g/m2")
    assert held["oxide"] >= amount and held["oxide"] == pytest.approx(amount * held["factor"])


@pytest.mark.parametrize(("element", "at"), [("K", 37.01), ("P", 20.59), ("Ca", 348.42)])
def test_the_index_at_its_tenth_is_nine_tenths(element: str, at: float) -> None:
    # ten-percent quantiles of the refit, by script
    assert got("soil-index", element=element, test=str(at))["index"] == pytest.approx(0.9, abs=1e-3)


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [("1000 ft2", 1000.0, "ft2"), ("20 ft3", 20.0, "ft3"), ("2ft2", 2.0, "ft2")],
)
def test_an_area_in_feet_is_no_length(text: str, number: float, unit: str) -> None:
    assert split_quantity(text) == (number, unit)
    assert split_quantity("9 ft 2 in")[1] == "m"  # by hand: still a length


def test_volumes_and_masses_keep_apart_in_the_tank() -> None:
    liquid = reckon("tank", {"tank": "600", "volume_rate": "400", "rate": "0.04 mL/m2"}).result
    assert (liquid["product"].unit, liquid["concentration"].unit) == ("L", "mL/L")
    assert liquid["product"].number == pytest.approx(0.6)  # by hand: 15,000 m2 of 0.04 mL


def test_all_of_feeding_is_there() -> None:
    names = set(calculators())
    assert names >= {
        "nitrogen-plan", "clippings-nitrogen", "soil-need", "soil-index", "rate", "oxide",
        "product-for", "acidity", "sprayer", "tank", "sand", "core-area", "om-dilution",
    }  # fmt: skip


def test_money_is_told_only_where_a_price_was() -> None:
    inputs = {"nutrient": "K", "rate": "1", "grade": "41.5", "area": "1000"}
    held = reckon("product-for", inputs)
    assert held.result["cost"].number == 0 and any("no price" in note for note in held.notes)
    assert any("K2O" in note for note in held.notes)
