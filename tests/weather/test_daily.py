"""Series over days: numbers with their holes, and averages that need every day."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.base.values import WeatherDay
from greenwright.weather.daily import (
    air_of,
    mean_temperatures,
    numbers,
    reference_days,
    risk_days,
)
from greenwright.weather.disease import disease_models
from greenwright.weather.evapotranspiration import Air, Place, reference_et
from greenwright.weather.given import GivenDay, given_days
from tests.weather.days_made import DAY, ahead, record, seen

FEN = Place(52.0, 20.0)
FULL = {"t_min_c": 9.0, "t_max_c": 19.0, "rh_min_pct": 50.0, "rh_max_pct": 90.0,
        "wind_m_s": 3.0, "wind_height_m": 10.0, "solar_mj_m2": 18.0}  # fmt: skip
MODELS = {model.name: model for model in disease_models()}


def days_of(*rows: WeatherDay) -> tuple[GivenDay, ...]:
    """Return days without filling anything."""
    return tuple(GivenDay(row, {}, {}) for row in rows)


def test_numbers_keep_their_holes() -> None:
    days = days_of(seen(0, rain_mm=1.5), seen(1), seen(2, rain_mm=0.0))
    assert numbers(days, "rain_mm").tolist()[::2] == [1.5, 0.0]
    assert np.isnan(numbers(days, "rain_mm")[1]) and numbers((), "rain_mm").size == 0


def test_mean_temperature_is_given_or_midway() -> None:
    days = days_of(
        seen(0, t_mean_c=11.0, t_min_c=0.0, t_max_c=10.0),
        seen(1, t_min_c=0.0, t_max_c=10.0),
        seen(2, t_min_c=0.0),
    )
    assert mean_temperatures(days)[:2].tolist() == [11.0, 5.0]
    assert np.isnan(mean_temperatures(days)[2])


def test_a_day_of_the_record_is_the_air_of_the_equation() -> None:
    found, sd = reference_days(days_of(seen(0, **FULL)), FEN)
    by_hand = reference_et(
        Air(t_min=9, t_max=19, rh_min=50, rh_max=90, wind=3, wind_height=10, solar=18),
        FEN,
        DAY.timetuple().tm_yday,
    )
    assert found.eto[0] == pytest.approx(float(by_hand.eto))
    assert sd[0] == pytest.approx(0.10 * float(by_hand.eto))  # evidence water.eto_sd
    assert air_of(days_of(seen(0, **FULL))).wind.tolist() == [3.0]


def test_a_wind_without_its_height_is_taken_at_two_metres() -> None:
    bare = {k: v for k, v in FULL.items() if k != "wind_height_m"}
    high, low = (reference_days(days_of(seen(0, **held)), FEN)[0].u2[0] for held in (FULL, bare))
    assert low == 3.0 and high == pytest.approx(3 * 4.87 / np.log(67.8 * 10 - 5.42))


def test_a_forecast_is_less_sure_than_a_reading() -> None:
    read, coming = days_of(seen(0, **FULL)), days_of(ahead(0, -1, **FULL))
    sds = [reference_days(days, FEN)[1][0] for days in (read, coming)]
    eto = reference_days(read, FEN)[0].eto[0]
    # by hand: sqrt(0.10² + 0.15²) of it
    assert sds == pytest.approx([0.10 * eto, np.hypot(0.10, 0.15) * eto])


@pytest.mark.parametrize(
    ("name", "step", "direction"),
    [("t_max_c", 4.0, 1), ("solar_mj_m2", 5.0, 1), ("wind_m_s", 2.0, 1), ("rh_mean_pct", 10.0, -1)],
)
def test_what_stood_in_widens_by_what_it_may_be_off(name: str, step: float, direction: int) -> None:
    held = {"t_min_c": 9.0, "t_max_c": 19.0, "rh_mean_pct": 70.0, "wind_m_s": 2.0,
            "solar_mj_m2": 18.0}  # fmt: skip
    row = seen(0, **held)
    sure = GivenDay(row, {}, {})
    stood_in = GivenDay(row, {name: "season"}, {name: step})
    moved = GivenDay(seen(0, **(held | {name: held[name] + step})), {}, {})
    eto = [reference_days((day,), FEN)[0].eto[0] for day in (sure, moved)]
    assert (eto[1] - eto[0]) * direction > 0
    # by hand: the two kinds of doubt add in squares
    expected = np.hypot(reference_days((sure,), FEN)[1][0], eto[1] - eto[0])
    assert reference_days((stood_in,), FEN)[1][0] == pytest.approx(expected)


def brute(values: list[float | None], need: int) -> list[float]:
    """Return the mean of each day and those before it, one loop at a time."""
    made = []
    for i in range(len(values)):
        window = values[i - need + 1 : i + 1] if i >= need - 1 else []
        whole = len(window) == need and all(v is not None for v in window)
        made.append(sum(window) / need if whole else np.nan)  # type: ignore[arg-type]
    return made


@given(st.lists(st.none() | st.floats(11, 34), max_size=12))
def test_averages_need_every_day_of_theirs(temperatures: list[float | None]) -> None:
    rows = [seen(k, t_mean_c=t, rh_mean_pct=80.0) for k, t in enumerate(temperatures)]
    model = MODELS["dollar_spot"]
    found = risk_days(days_of(*rows), model)
    means = np.array(brute(temperatures, model.days))
    expected = [np.nan if np.isnan(t) else float(model.index(80.0, t)) for t in means]
    assert found.index == pytest.approx(expected, nan_ok=True)
    missing = sum(t is None for t in temperatures)
    assert found.missing.get("t_mean_c", 0) == missing
    assert found.risky.sum() == sum(p >= 0.2 for p in expected)


@pytest.mark.parametrize("name", MODELS)
def test_each_model_reads_its_own_fields(name: str) -> None:
    held = {"rh_mean_pct": 92.0, "t_mean_c": 24.0, "t_min_c": 21.0, "t_max_c": 31.0,
            "leaf_wet_h": 15.0, "rh90_h": 15.0}  # fmt: skip
    whole = risk_days(days_of(*(seen(k, **held) for k in range(6))), MODELS[name])
    assert np.isfinite(whole.index[-1]) and whole.risky[-1]  # hot, damp and wet: all agree
    for field in MODELS[name].needs:
        rows = [seen(k, **{k2: v for k2, v in held.items() if k2 != field}) for k in range(6)]
        if field == "t_mean_c":
            rows = [seen(k, **{k2: v for k2, v in held.items() if k2[:2] != "t_"})
                    for k in range(6)]  # fmt: skip
        found = risk_days(days_of(*rows), MODELS[name])
        assert np.isnan(found.index).all() and found.missing[field] == 6


@st.composite
def patchy(draw: st.DrawFn) -> list[WeatherDay]:
    """Draw up to six weeks of days of which anything may be missing."""
    rows = []
    for k in range(-draw(st.integers(1, 40)), 1):
        if draw(st.integers(0, 3)):
            low = draw(st.floats(-5, 20))
            held = {"t_min_c": low, "t_max_c": low + draw(st.floats(0, 15)),
                    "rain_mm": draw(st.floats(0, 30)), "rh_mean_pct": draw(st.floats(20, 100)),
                    "wind_m_s": draw(st.floats(0, 9)),
                    "solar_mj_m2": draw(st.floats(1, 28))}  # fmt: skip
            gone = draw(st.sets(st.sampled_from(sorted(held)), max_size=3))
            rows.append(seen(k, **{n: v for n, v in held.items() if n not in gone}))
    return rows


@settings(max_examples=30)
@given(patchy())
def test_any_patchy_record_is_a_day_each_and_never_contradicts_itself(rows) -> None:
    first = DAY - timedelta(days=41)
    days = given_days(record(*rows), first, DAY + timedelta(days=5))
    assert [d.weather.date for d in days] == [first + timedelta(days=k) for k in range(47)]
    read = {row.date: row for row in rows}
    for day in days:
        held, row = day.weather, read.get(day.weather.date)
        if held.t_min_c is not None and held.t_max_c is not None:
            assert held.t_min_c <= held.t_max_c
        assert set(day.spread) == set(day.filled)
        assert all(sd >= 0 for sd in day.spread.values())
        for name in ("t_min_c", "t_max_c", "rain_mm", "wind_m_s"):
            was = getattr(row, name) if row else None
            if was is not None:
                assert getattr(held, name) == was and name not in day.filled
            elif getattr(held, name) is not None:
                assert day.filled[name] in ("neighbours", "season")
    assert np.isfinite(reference_days([d for d in days if d.known], FEN)[1]).all()
