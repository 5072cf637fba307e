"""The reckoner gives the tables that agronomists carry, whichever way they are typed.

Formulas: temperature growth potential (open script of its authors, 2017); level speed from rolls
both ways, Agronomy Journal, 1991. Every expected number is worked out by hand from them.
"""

from __future__ import annotations

import pytest

from greenwright.desk.reckon import reckon

GROWTH = [
    # degC, cool-season, warm-season (1 from 31 degC on); by hand from the bell curves
    (0, 0.0013, 0.0001),
    (5, 0.0243, 0.0010),
    (10, 0.1915, 0.0111),
    (12, 0.3472, 0.0251),
    (15, 0.6615, 0.0734),
    (18, 0.9360, 0.1783),
    (20, 1.0, 0.2909),
    (22, 0.9360, 0.4376),
    (25, 0.6615, 0.6926),
    (28, 0.3472, 0.9123),
    (30, 0.1915, 0.9898),
    (33, 0.0612, 1.0),
    (35, 0.0243, 1.0),
]

TWO_WAY = [
    # up ft, down ft, level ft, slope %; by hand: 2UD/(U + D), 0.7·36/(2·32.174)·(1/U - 1/D)
    (9, 11, 9.900, 0.79),
    (8, 12, 9.600, 1.63),
    (7, 14, 9.333, 2.80),
    (6, 12, 8.000, 3.26),
    (5, 15, 7.500, 5.22),
]


@pytest.mark.parametrize(("t_c", "c3", "c4"), GROWTH)
def test_growth_table(t_c: float, c3: float, c4: float) -> None:
    for grass, expected in (("c3", c3), ("c4", c4)):
        for text in (f"{t_c}", f"{t_c} degC", f"{t_c * 9 / 5 + 32:.6f} degF"):
            got = reckon("growth-potential", {"t_mean": text, "grass": grass})
            assert got.result["growth_potential"].number == pytest.approx(expected, abs=6e-5)


@pytest.mark.parametrize(("up", "down", "level", "slope"), TWO_WAY)
def test_two_way_table(up: float, down: float, level: float, slope: float) -> None:
    got = reckon("two-way-speed", {"up": f"{up}'0\"", "down": f"{down} ft"}).result
    assert got["level_speed"].number / 0.3048 == pytest.approx(level, abs=6e-4)
    # the table gives the sine; the tangent is larger by 0.14 % at 5.2 %
    assert 100 * got["slope"].number == pytest.approx(slope, abs=0.013)


@pytest.mark.parametrize(
    ("element", "minimum"),
    # Minimum soil nutrient guidelines ..., PeerJ Preprints 2144, 2016
    [("K", 37), ("P", 21), ("Ca", 348), ("Mg", 47), ("S", 7)],
)
def test_the_default_reserve_is_the_published_minimum(element: str, minimum: float) -> None:
    got = reckon("soil-need", {"element": element, "test": "0", "use": "0"})
    assert got.result["need"].number == pytest.approx(0.15 * minimum)  # by hand: 10 cm, 1.5 g/cm3
    assert f"{minimum} mg/kg" in " ".join(got.notes)


@pytest.mark.parametrize(
    ("element", "oxide_share"),
    # by hand from molar masses: 61.948/141.943, 78.196/94.195, 40.078/56.077, 24.305/40.304
    [("P", 0.4364), ("K", 0.8301), ("Ca", 0.7147), ("Mg", 0.6030)],
)
def test_the_oxide_on_the_label(element: str, oxide_share: float) -> None:
    got = reckon("soil-need", {"element": element, "test": "0", "use": "10", "reserve": "0"})
    need, oxide = got.result["need"].number, got.result["need_oxide"].number
    assert need / oxide == pytest.approx(oxide_share, abs=1e-4)
