"""Reference evapotranspiration against the worked examples of FAO Irrigation and Drainage Paper 56.

Example 17: Bangkok in April; 18: Brussels on 6 July; 20: Lyon in July from temperatures alone.
The answers and the steps are those of the paper; a step with more digits was worked out by hand
from the paper's equations.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.weather.evapotranspiration import (
    Air,
    Place,
    Reference,
    hargreaves,
    pressure_at,
    reference_et,
    saturation,
    soil_heat_monthly,
    wind_at_2m,
)
from greenwright.weather.sun import extraterrestrial

BANGKOK, BRUSSELS, LYON = Place(13.73, 2.0), Place(50.8, 100.0), Place(45.72, 200.0)

EXAMPLES = {
    "17": (
        Air(t_min=25.6, t_max=34.8, t_mean=30.2, ea=2.85, wind=2.0, sunshine=8.5, soil_heat=0.14),
        BANGKOK,
        105,
        {
            "eto": (5.72, 0.005),
            "delta": (0.2458, 5e-5),
            "gamma": (0.0673, 5e-5),
            "es": (4.422, 5e-4),
            "ra": (38.06, 0.005),
            "daylight": (12.31, 0.005),
            "rs": (22.65, 0.005),
            "rso": (28.54, 0.005),
            "rn": (14.33, 0.005),
            "g": (0.14, 1e-9),
        },
    ),
    "18": (
        Air(t_min=12.3, t_max=21.5, rh_min=63, rh_max=84, wind=2.7778, wind_height=10.0,
            sunshine=9.25),
        BRUSSELS,
        187,
        {
            "eto": (3.880, 0.0005),
            "pressure": (100.12, 0.005),
            "delta": (0.1221, 5e-5),
            "gamma": (0.0666, 5e-5),
            "es": (1.997, 5e-4),
            "ea": (1.409, 5e-4),
            "u2": (2.078, 5e-4),
            "ra": (41.09, 0.005),
            "daylight": (16.1, 0.05),
            "rs": (22.07, 0.005),
            "rn": (13.28, 0.005),
        },
    ),
    "20": (
        Air(t_min=14.8, t_max=26.6),
        LYON,
        196,
        {
            "eto": (4.56, 0.005),
            "ea": (1.684, 5e-4),
            "ra": (40.55, 0.005),
            "rs": (22.29, 0.005),
            "rn": (13.48, 0.005),
            "u2": (2.0, 1e-9),
        },
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", EXAMPLES)
def test_worked_examples_of_the_paper_step_by_step(name: str) -> None:
    air, place, day, steps = EXAMPLES[name]
    found = reference_et(air, place, day)
    for step, (expected, within) in steps.items():
        assert float(getattr(found, step)) == pytest.approx(expected, abs=within), step


def test_temperature_alone_by_the_other_equation() -> None:
    # Example 20: 5.03 mm/d, Ra 16.55 mm of water
    assert float(hargreaves(14.8, 26.6, LYON, 196)) == pytest.approx(5.03, abs=0.005)
    ra, _ = extraterrestrial(LYON.latitude_deg, 196)
    assert 0.408 * float(ra) == pytest.approx(16.55, abs=0.005)


def test_small_worked_examples() -> None:
    # Paper 56, examples 2, 14, 8 and 9 and its table of saturated air [memory]
    assert pressure_at(1800) == pytest.approx(81.8, abs=0.05)
    assert float(wind_at_2m(3.2, 10)) == pytest.approx(2.4, abs=0.05)
    assert float(saturation(24.5)) == pytest.approx(3.075, abs=5e-4)
    assert float(saturation(15.0)) == pytest.approx(1.705, abs=5e-4)
    ra, daylight = extraterrestrial(-20, 246)
    assert (float(ra), float(daylight)) == pytest.approx((32.2, 11.7), abs=0.05)
    # By hand: 0.14·(16.1 - 14.1)
    assert soil_heat_monthly(16.1, 14.1) == pytest.approx(0.28, abs=1e-9)


def test_the_sun_at_the_ends_of_the_earth() -> None:
    ra, daylight = extraterrestrial(80.0, [172, 355])
    assert daylight.tolist() == [24.0, 0.0]  # midsummer and midwinter beyond the polar circle
    assert ra[1] == 0.0 and ra[0] > 40
    _, equator = extraterrestrial(0.0, np.arange(1, 366))
    assert equator == pytest.approx(np.full(365, 12.0))  # by geometry
    north, south = (extraterrestrial(s * 52.0, [172, 355])[1] for s in (1, -1))
    assert north[0] == pytest.approx(south[1], abs=0.05)  # a season apart, by symmetry
    for slip in ((91.0, 10), (-91.0, 10), (50.0, 0), (50.0, 367)):
        with pytest.raises(BadInput):
            extraterrestrial(*slip)


def test_where_the_sun_does_not_rise_there_is_an_answer() -> None:
    found = reference_et(Air(t_min=-20.0, t_max=-10.0), Place(80.0), 355)
    assert np.isfinite(float(found.eto)) and float(found.eto) >= 0


def brussels(**changes: float | None) -> Reference:
    """Return example 18 with something changed or left out."""
    plain = {"t_min": 12.3, "t_max": 21.5, "rh_min": 63, "rh_max": 84}
    held = plain | {"wind": 2.0777, "solar": 22.07} | changes
    return reference_et(Air(**held), BRUSSELS, 187)


def test_what_is_missing_is_stood_in_for_and_widens_the_range() -> None:
    full = brussels()
    assert not (full.no_humidity or full.no_wind or full.no_radiation)
    assert float(full.relative_sd) == pytest.approx(0.10)  # evidence water.eto_sd
    for name, left_out in (
        ("no_humidity", {"rh_min": None, "rh_max": None}),
        ("no_wind", {"wind": None}),
        ("no_radiation", {"solar": None}),
    ):
        less = brussels(**left_out)
        assert getattr(less, name) and float(less.relative_sd) > 0.10
        # The paper's stand-ins come within a fifth on this ordinary day of example 18.
        assert float(less.eto) == pytest.approx(float(full.eto), rel=0.2)
    bare = reference_et(Air(t_min=12.3, t_max=21.5), BRUSSELS, 187)
    # By hand: sqrt(0.10² + 0.08² + 0.10² + 0.12²) = 0.2020
    assert float(bare.relative_sd) == pytest.approx(0.2020, abs=5e-5)


def test_humidity_is_taken_in_the_paper_s_order() -> None:
    at_min, at_max = (float(saturation(t)) for t in (12.3, 21.5))
    bare = {"rh_min": None, "rh_max": None, "rh_mean": None}
    by_hand = (
        ({"ea": 1.3, "rh_mean": 50.0, "rh_min": 40.0, "rh_max": 90.0}, 1.3),
        ({"rh_min": 63.0, "rh_max": 84.0, "rh_mean": 10.0}, (at_min * 0.84 + at_max * 0.63) / 2),
        (bare | {"rh_mean": 70.0, "rh_max": 84.0}, 0.70 * (at_min + at_max) / 2),
        (bare | {"rh_max": 84.0}, 0.84 * at_min),
        (bare, at_min),
    )
    for given_, expected in by_hand:
        assert float(brussels(**given_).ea) == pytest.approx(expected)


def test_radiation_read_wins_over_sunshine_over_temperature() -> None:
    assert float(brussels(solar=20.0, sunshine=16.0).rs) == 20.0
    ra, daylight = (float(x) for x in extraterrestrial(50.8, 187))
    sunny = brussels(solar=None, sunshine=8.0)
    # By hand: (0.25 + 0.50 · 8 / N) Ra
    assert float(sunny.rs) == pytest.approx((0.25 + 0.5 * 8 / daylight) * ra)
    spanned = brussels(solar=None)
    assert float(spanned.rs) == pytest.approx(0.16 * np.sqrt(9.2) * ra)
    coast = reference_et(Air(t_min=12.3, t_max=21.5), Place(50.8, 100.0, coast=True), 187)
    assert float(coast.rs) == pytest.approx(0.19 * np.sqrt(9.2) * ra)


@pytest.mark.parametrize(
    ("slip", "where"),
    [
        ({"t_min": 22.0}, "t_max"),
        ({"t_max": 99.0}, "t_max"),
        ({"rh_max": 101.0}, "rh_max"),
        ({"rh_min": -1.0}, "rh_min"),
        ({"wind": -0.1}, "wind"),
        ({"solar": 200.0}, "solar"),
        ({"sunshine": 25.0}, "sunshine"),
        ({"wind_height": 0.05}, "wind_height"),
    ],
)
def test_what_no_air_has_is_refused_by_name(slip: dict[str, float], where: str) -> None:
    with pytest.raises(BadInput) as caught:
        brussels(**slip)
    assert caught.value.where == where


TEMPERATURES = st.tuples(st.floats(-20, 40), st.floats(0, 20))
MAYBE = st.none() | st.floats(0, 100)


@given(
    st.lists(TEMPERATURES, min_size=1, max_size=5),
    st.floats(-65, 65),
    st.integers(1, 366),
    MAYBE,
    st.none() | st.floats(0, 12),
)
def test_many_days_at_once_are_each_day_alone(
    ends: list[tuple[float, float]], latitude: float, day: int, rh: float | None, wind: float | None
) -> None:
    low = np.array([t for t, _ in ends])
    high = low + np.array([span for _, span in ends])
    place, n = Place(latitude, 50.0), len(ends)
    more = {"rh_mean": rh, "wind": wind}
    many = {k: None if v is None else np.full(n, v) for k, v in more.items()}
    together = reference_et(Air(t_min=low, t_max=high, **many), place, np.full(n, day))
    alone = [
        reference_et(Air(t_min=a, t_max=b, **more), place, day)
        for a, b in zip(low, high, strict=True)
    ]
    assert together.eto == pytest.approx([float(one.eto) for one in alone])
    assert np.all(together.eto >= 0) and np.all(together.ea <= together.es + 1e-12)
    assert np.all(together.rs <= together.ra + 1e-9)


def test_more_wind_dries_more_where_the_air_is_dry() -> None:
    calm, windy = (float(brussels(wind=w).eto) for w in (1.0, 5.0))
    assert windy > calm
    damp = {"rh_min": 100.0, "rh_max": 100.0}
    # Saturated air at both ends is drier than the mean of the ends only by the curve's bend.
    calm, windy = (float(brussels(wind=w, **damp).eto) for w in (1.0, 5.0))
    assert windy < calm
