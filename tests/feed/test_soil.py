"""The mass balance obeys its own arithmetic and refuses what it cannot take."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import value
from greenwright.feed import (
    ELEMENTS,
    mehlich_minimum,
    oxide_factor,
    oxide_name,
    per_area,
    per_mass,
    soil_index,
    soil_need,
)

LAYER = {"depth_m": 0.1, "density_kg_m3": 1500.0}
contents = st.floats(0, 5000)
depths = st.floats(0.02, 0.4)
densities = st.floats(600, 1900)


@given(contents, depths, densities)
def test_per_mass_undoes_per_area(mg_kg: float, depth: float, density: float) -> None:
    layer = {"depth_m": depth, "density_kg_m3": density}
    assert per_mass(per_area(mg_kg, **layer), **layer) == pytest.approx(mg_kg)


@given(contents, st.floats(0, 60), contents)
def test_need_is_the_positive_part_of_the_balance(test: float, use: float, left: float) -> None:
    got = soil_need("K", test, use, reserve_mg_kg=left, **LAYER)
    assert got.balance == pytest.approx(got.use + got.reserve - got.present)
    assert got.need == max(got.balance, 0)


@pytest.mark.parametrize("element", ELEMENTS)
def test_a_soil_at_its_minimum_needs_what_the_grass_uses(element: str) -> None:
    got = soil_need(element, mehlich_minimum(element), 3.0, **LAYER)
    assert got.need == pytest.approx(3.0)  # by hand: reserve and present cancel


@pytest.mark.parametrize("element", ELEMENTS)
def test_index_falls_from_one_as_the_soil_grows_richer(element: str) -> None:
    levels = [soil_index(element, x) for x in (0, 5, 20, 80, 300, 3000)]
    assert levels[0] == 1
    assert all(a > b for a, b in pairwise(levels))
    assert all(0 < level <= 1 for level in levels)


def test_a_rich_soil_needs_nothing_and_says_by_how_much() -> None:
    got = soil_need("K", 200, 8, reserve_mg_kg=37, **LAYER)
    assert got.need == got.need_oxide == 0
    assert got.balance == pytest.approx(8 + 5.55 - 30)  # by hand: 37 and 200 mg/kg x 0.15


@pytest.mark.parametrize("element", ELEMENTS)
def test_an_oxide_outweighs_its_element(element: str) -> None:
    assert oxide_factor(element) > 1


@pytest.mark.parametrize("element", ["N", "k", "", "Fe"])
def test_an_unknown_element_is_named_with_the_known_ones(element: str) -> None:
    with pytest.raises(UnknownKey, match=r"K \| P \| Ca \| Mg \| S"):
        soil_need(element, 50, 8, **LAYER)


@pytest.mark.parametrize(
    ("test", "use", "depth", "density", "named"),
    [
        (-1, 8, 0.1, 1500, "soil content"),
        (float("nan"), 8, 0.1, 1500, "soil content"),
        (50, -8, 0.1, 1500, "use"),
        (50, float("inf"), 0.1, 1500, "use"),
        (50, 8, 0, 1500, "depth"),
        (50, 8, 0.1, -1, "bulk density"),
    ],
)
def test_impossible_numbers_are_refused_by_name(
    test: float, use: float, depth: float, density: float, named: str
) -> None:
    with pytest.raises(BadInput, match=named):
        soil_need("K", test, use, depth_m=depth, density_kg_m3=density)


@pytest.mark.parametrize("element", ELEMENTS)
@pytest.mark.parametrize(("depth", "density"), [(0.1, 1500.0), (0.15, 1400.0), (0.05, 900.0)])
def test_need_there_and_back_for_every_element(element: str, depth: float, density: float) -> None:
    """What is needed, spread on the layer, lifts its test to the reserve after the use."""
    layer = {"depth_m": depth, "density_kg_m3": density}
    test, use = 0.4 * mehlich_minimum(element), 2.5
    got = soil_need(element, test, use, **layer)
    lifted = test + per_mass(got.need, **layer) - per_mass(use, **layer)
    assert lifted == pytest.approx(mehlich_minimum(element))
    assert got.need_oxide / oxide_factor(element) == pytest.approx(got.need)
    assert got.oxide == oxide_name(element)


@given(contents, depths, densities)
def test_twice_the_depth_or_density_is_twice_the_amount(
    mg_kg: float, depth: float, density: float
) -> None:
    one = per_area(mg_kg, depth_m=depth, density_kg_m3=density)
    assert per_area(mg_kg, depth_m=2 * depth, density_kg_m3=density) == pytest.approx(2 * one)
    assert per_area(mg_kg, depth_m=depth, density_kg_m3=2 * density) == pytest.approx(2 * one)


@pytest.mark.parametrize("element", ELEMENTS)
def test_half_of_well_performing_soils_hold_more_than_the_scale(element: str) -> None:
    # by hand: x = b gives 1 / (1 + 1)
    assert soil_index(element, value(f"soil.mehlich3.{element}.scale")) == pytest.approx(0.5)


@pytest.mark.parametrize("element", ELEMENTS)
@pytest.mark.parametrize("test", [3.0, 40.0, 700.0])
def test_index_is_the_upper_tail_of_a_log_logistic(element: str, test: float) -> None:
    scale, shape = (value(f"soil.mehlich3.{element}.{k}") for k in ("scale", "shape"))
    # reference: scipy's log-logistic distribution
    assert soil_index(element, test) == pytest.approx(stats.fisk(shape, scale=scale).sf(test))


@pytest.mark.parametrize(("element", "name"), [("P", "P2O5"), ("Ca", "CaO"), ("S", "SO3")])
def test_oxides_by_their_formula(element: str, name: str) -> None:
    assert oxide_name(element) == name


@pytest.mark.parametrize("mg_kg", [1.01e6, 1e300])
def test_no_soil_holds_more_than_itself(mg_kg: float) -> None:
    with pytest.raises(BadInput, match="soil itself"):
        soil_index("K", mg_kg)
    with pytest.raises(BadInput, match="soil itself"):
        per_area(mg_kg, **LAYER)
    # by hand: a layer of 1 kg/m2 that is all potassium holds 1000 g/m2
    assert per_area(1e6, depth_m=0.001, density_kg_m3=1000) == pytest.approx(1000)


def test_nothing_used_and_nothing_reserved_needs_nothing() -> None:
    got = soil_need("Mg", 0, 0, reserve_mg_kg=0, **LAYER)
    assert (got.balance, got.need, got.need_oxide) == (0, 0, 0)
