"""The soil arithmetic agrees with published examples.

Sources
[M] "Minimum soil nutrient guidelines for turfgrass developed from Mehlich 3 soil test results",
    PeerJ Preprints 2144, 2016.
[T] Turfgrass nutrition, slides of a talk with a worked potassium example, 2015.
"""

from __future__ import annotations

import pytest

from greenwright.feed import (
    mehlich_minimum,
    oxide_factor,
    per_area,
    per_mass,
    soil_index,
    soil_need,
)

LAYER = {"depth_m": 0.10, "density_kg_m3": 1500.0}


def test_potassium_example() -> None:
    got = soil_need("K", 50, 16 / 2, reserve_mg_kg=37, **LAYER)
    assert got.use == 8  # [T]: 16 g N/m2 a year, K:N of one half
    assert got.reserve == pytest.approx(5.55)  # [T] prints 5.5; 37 x 0.15 by hand
    assert got.present == pytest.approx(7.5)  # [T]
    assert round(got.need, 1) in (6.0, 6.1)  # [T] prints 6.1
    assert got.need == pytest.approx(6.05, abs=1e-9)  # by hand: 8 + 5.55 - 7.5 = 6.05
    assert got.need_oxide == pytest.approx(7.29, abs=0.005)  # by hand: 6.05 / 0.8301
    assert got.oxide == "K2O"


def test_potassium_example_in_parts_per_million() -> None:
    assert round(per_mass(8, **LAYER)) == 53  # by hand: 8 / 0.15 = 53.3 ([T] prints 54)
    assert round(per_mass(6.05, **LAYER), 1) == 40.3  # by hand: 6.05 / 0.15 ([T] prints 41)


@pytest.mark.parametrize(
    ("depth_m", "density", "g_m2"),
    [
        (0.10, 1500, 0.15),  # [T]: 1 ppm at 10 cm and 1.5 g/cm3
        (0.10, 1400, 0.14),  # by hand: 10 x 1.4 / 100
        (0.1524, 1500, 0.2286),  # by hand: six inches, 15.24 x 1.5 / 100
    ],
)
def test_one_part_per_million(depth_m: float, density: float, g_m2: float) -> None:
    assert per_area(1, depth_m=depth_m, density_kg_m3=density) == pytest.approx(g_m2)


def test_one_gram_a_square_metre() -> None:
    assert round(per_mass(1, **LAYER), 1) == 6.7  # [T]


@pytest.mark.parametrize(
    ("element", "minimum"),
    [("K", 37), ("P", 21), ("Ca", 348), ("Mg", 47), ("S", 7)],  # [M], table of minimums
)
def test_minimums(element: str, minimum: float) -> None:
    assert mehlich_minimum(element) == minimum


def test_index_of_a_classically_high_potassium() -> None:
    assert round(soil_index("K", 117), 2) == 0.18  # [M] prints 0.18
    # by hand: 1 / (1 + (117 / 73.475)**3.2038)
    assert soil_index("K", 117) == pytest.approx(0.184, abs=0.0005)


@pytest.mark.parametrize("element", ["K", "P", "Ca", "Mg", "S"])
def test_index_at_the_minimum(element: str) -> None:
    # [M] defines the minimum as the point where the index is 0.9; it prints whole mg/kg.
    assert soil_index(element, mehlich_minimum(element)) == pytest.approx(0.9, abs=0.02)


@pytest.mark.parametrize(
    ("element", "share"),
    # Molar masses by hand; the K and P factors are also printed in any fertiliser table.
    [("P", 0.4364), ("K", 0.8301), ("Ca", 0.7147), ("Mg", 0.6030), ("S", 0.4005)],
)
def test_oxide_to_element(element: str, share: float) -> None:
    assert 1 / oxide_factor(element) == pytest.approx(share, abs=1e-4)
