"""Reference evapotranspiration against a second writing of the paper's equations, in plain scalars.

Every equation carries its number in FAO Irrigation and Drainage Paper 56 [memory]. Nothing is
shared with the program but the constants' names; the numbers stand here once more.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.weather.evapotranspiration import Air, Place, hargreaves, reference_et


def vapour(t: float) -> float:
    """Return saturated vapour pressure [kPa], equation 11."""
    return 0.6108 * math.exp(17.27 * t / (t + 237.3))


def top_of_air(latitude: float, day: int) -> tuple[float, float]:
    """Return radiation [MJ/m2/d] and daylight [h], equations 21 to 25 and 34."""
    phi = latitude * math.pi / 180
    dr = 1 + 0.033 * math.cos(2 * math.pi * day / 365)
    delta = 0.409 * math.sin(2 * math.pi * day / 365 - 1.39)
    ws = math.acos(-math.tan(phi) * math.tan(delta))
    ra = (24 * 60 / math.pi) * 0.0820 * dr
    ra *= ws * math.sin(phi) * math.sin(delta) + math.cos(phi) * math.cos(delta) * math.sin(ws)
    return ra, 24 / math.pi * ws


def by_scalars(
    *, t_min: float, t_max: float, rh: tuple[float, float], wind: float, sun: float,
    latitude: float, elevation: float, day: int,
) -> float:  # fmt: skip
    """Return reference evapotranspiration [mm/d] by equation 6."""
    t = (t_min + t_max) / 2
    pressure = 101.3 * ((293 - 0.0065 * elevation) / 293) ** 5.26  # 7
    gamma = 0.000665 * pressure  # 8
    es = (vapour(t_max) + vapour(t_min)) / 2  # 12
    slope = 4098 * vapour(t) / (t + 237.3) ** 2  # 13
    ea = (vapour(t_min) * rh[1] / 100 + vapour(t_max) * rh[0] / 100) / 2  # 17
    ea = min(ea, es)
    ra, daylight = top_of_air(latitude, day)
    rs = (0.25 + 0.50 * min(sun / daylight, 1.0)) * ra  # 35
    rso = (0.75 + 2e-5 * elevation) * ra  # 37
    rns = 0.77 * rs  # 38
    warm = 4.903e-9 * ((t_max + 273.16) ** 4 + (t_min + 273.16) ** 4) / 2
    cloud = 1.35 * min(max(rs / rso, 0.3), 1.0) - 0.35
    rnl = warm * (0.34 - 0.14 * math.sqrt(ea)) * cloud  # 39
    rn = rns - rnl  # 40
    over = 0.408 * slope * rn + gamma * 900 / (t + 273) * wind * (es - ea)
    return max(over / (slope + gamma * (1 + 0.34 * wind)), 0.0)


@settings(max_examples=150)
@given(
    st.floats(-10, 28),
    st.floats(0.5, 20),
    st.tuples(st.floats(5, 100), st.floats(0, 1)),
    st.floats(0.1, 9),
    st.floats(0, 14),
    st.floats(-60, 60),
    st.floats(0, 2500),
    st.integers(1, 365),
)
def test_array_and_scalar_writing_agree(
    t_min: float, span: float, rh: tuple[float, float], wind: float, sun: float,
    latitude: float, elevation: float, day: int,
) -> None:  # fmt: skip
    high = rh[0] + rh[1] * (100 - rh[0])
    _, daylight = top_of_air(latitude, day)
    sun = min(sun, daylight)
    expected = by_scalars(
        t_min=t_min, t_max=t_min + span, rh=(rh[0], high), wind=wind, sun=sun,
        latitude=latitude, elevation=elevation, day=day,
    )  # fmt: skip
    air = Air(t_min=t_min, t_max=t_min + span, rh_min=rh[0], rh_max=high, wind=wind, sunshine=sun)
    found = reference_et(air, Place(latitude, elevation), day)
    assert float(found.eto) == pytest.approx(expected, abs=1e-9)


@given(st.floats(-15, 30), st.floats(0, 22), st.floats(-60, 60), st.integers(1, 365))
def test_temperature_alone_agrees(t_min: float, span: float, latitude: float, day: int) -> None:
    ra, _ = top_of_air(latitude, day)
    expected = max(0.0023 * (t_min + span / 2 + 17.8) * math.sqrt(span) * 0.408 * ra, 0.0)  # 52
    found = hargreaves(t_min, t_min + span, Place(latitude), day)
    assert float(found) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("latitude", "day", "ra", "n"),
    [
        # Paper 56, example 8 and 9: 20 degrees south on 3 September [memory]
        (-20.0, 246, 32.2, 11.7),
        # its worked examples 17, 18 and 20
        (13.73, 105, 38.06, 12.31),
        (50.8, 187, 41.09, 16.1),
        (45.72, 196, 40.55, 15.17),
    ],
)
def test_the_scalars_themselves_hold_the_printed_steps(latitude, day, ra, n) -> None:
    found = top_of_air(latitude, day)
    assert found == pytest.approx((ra, n), abs=0.05)


def test_the_scalars_themselves_hold_a_printed_answer() -> None:
    found = by_scalars(
        t_min=12.3, t_max=21.5, rh=(63, 84), wind=2.0777, sun=9.25, latitude=50.8,
        elevation=100, day=187,
    )  # fmt: skip
    assert found == pytest.approx(3.88, abs=0.005)  # example 18
