"""Rows of the question weather from their parts, without a store."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest

from greenwright.base.values import Course, Green, LabResult, Material, Snapshot, Work
from greenwright.desk.weathering import growing, held_back, mind, risks, salty, wet
from greenwright.desk.weathering.told import row
from greenwright.weather.applied import applied_of
from greenwright.weather.disease import disease_models
from greenwright.weather.evapotranspiration import Place
from greenwright.weather.given import GivenDay, given_days
from greenwright.weather.greens import GreenWater, water_of
from tests.weather.days_made import DAY, ahead, seen

BENT, ULTRA = "creeping bentgrass", "ultradwarf bermudagrass"
FINE = {"t_min_c": 12.0, "t_max_c": 22.0, "rain_mm": 0.0, "rh_mean_pct": 70.0, "wind_m_s": 2.0,
        "solar_mj_m2": 20.0}  # fmt: skip
WEATHER = (
    seen(-20, **(FINE | {"rain_mm": 80.0})),
    *(seen(k, **FINE) for k in range(-19, 1)),
    *(ahead(k, 0, **FINE) for k in range(1, 6)),
)


def fen(**changes) -> Snapshot:
    """Return a record of two greens, three weeks of fine days after a soaking."""
    held = {
        "course": Course(course="fen", name="Fen", latitude=52.0),
        "as_of": DAY,
        "greens": (Green(green="1", grass=BENT), Green(green="2", grass=BENT)),
        "weather": WEATHER,
    }
    return Snapshot(**(held | changes))


def days(record: Snapshot, first: int = -20, last: int = 5) -> tuple[GivenDay, ...]:
    """Return its days."""
    return given_days(record, DAY + timedelta(days=first), DAY + timedelta(days=last))


def water(record: Snapshot) -> GreenWater:
    """Return its water."""
    found = water_of(record, days(record), Place(52.0))
    assert found is not None
    return found


def test_a_row_has_every_fixed_key() -> None:
    (day,) = days(fen(), 0, 0)
    held = row(day, "eto", 3.2, "mm/d", low=2.0)
    assert held == {
        "date": DAY, "kind": "observed", "quantity": "eto", "value": 3.2, "unit": "mm/d",
        "above_threshold": None, "green": "course", "filled": False, "low": 2.0,
    }  # fmt: skip


# -- growth


def test_the_commonest_grass_comes_first() -> None:
    greens = (Green(green="1", grass=ULTRA), Green(green="2", grass=BENT),
              Green(green="3", grass=BENT),
              Green(green="4", grass=ULTRA, in_play=False))  # fmt: skip
    assert growing.grasses_of(fen(greens=greens)) == (BENT, ULTRA)


def test_growth_of_each_grass_on_each_known_day() -> None:
    made = growing.growth_rows(days(fen(), 0, 5), (BENT, ULTRA))
    assert len(made) == 12
    by = {(r["date"], r["grass"]): r["value"] for r in made}
    # 17 degC by hand: exp(-½(3/5.5)²) = 0.8618, exp(-½(14/7)²) = 0.1353
    assert by[DAY, BENT] == pytest.approx(0.8618, abs=5e-5)
    assert by[DAY, ULTRA] == pytest.approx(0.1353, abs=5e-5)


def test_warmth_adds_up_and_days_before_the_year_do_not_count() -> None:
    told, since = days(fen(), -2, 2), days(fen(), -19, 5)
    made = {r["date"]: r for r in growing.warmth_rows(told, since)}
    assert made[DAY]["value"] == 17.0
    assert made[DAY]["total"] == pytest.approx(20 * 17.0)  # by hand: from the 19th day before
    assert growing.warmth_rows(told, ()) == []


def test_a_year_by_weeks_seen_forecast_and_usual() -> None:
    year = given_days(fen(), date(2026, 1, 1), date(2026, 12, 31))
    before = tuple(GivenDay(seen(k, t_min_c=5.0, t_max_c=15.0), {}, {}) for k in range(-380, -340))
    made = growing.year_rows(before, year, (BENT,))
    by = {r["date"]: r for r in made}
    now = max(d for d in by if d <= DAY)
    # usual: days of 10 degC a year ago, by hand 0.1915
    assert by[now]["usual"] == pytest.approx(
        {"low": 0.1915, "value": 0.1915, "high": 0.1915}, abs=5e-5
    )
    assert by[now]["kind"] == "observed" and by[now]["value"] == pytest.approx(0.8618, abs=5e-5)
    assert {r["kind"] for r in made} >= {"observed", "typical"}
    assert all(r["until"] - r["date"] <= timedelta(days=6) for r in made)
    assert growing.year_rows((), (), (BENT,)) == []


def test_few_days_of_another_year_make_nothing_usual() -> None:
    before = tuple(GivenDay(seen(k, t_min_c=5.0, t_max_c=15.0), {}, {}) for k in range(-367, -361))
    made = growing.year_rows(before, days(fen()), (BENT,))
    assert all(r["usual"] is None for r in made)


def test_growing_days_by_hand() -> None:
    told = growing.growing_days(days(fen()), BENT, DAY)
    assert told["sum"] == pytest.approx(21 * 0.8618, abs=1e-3) and told["days"] == 21
    none = growing.growing_days((), BENT, DAY)
    assert (none["sum"], none["days"]) == (0.0, 0)


def test_ends_of_a_year() -> None:
    assert growing.first_of_year(date(2024, 2, 29)) == date(2024, 1, 1)
    assert growing.last_of_year(date(2024, 2, 29)) == date(2024, 12, 31)


# -- water


def test_the_daily_rows_close() -> None:
    held = water(fen())
    told = days(fen(), -19, 5)
    made = wet.water_row(fen(), held, told, DAY + timedelta(days=5))
    rows = made["daily"]
    assert [r["date"] for r in rows] == [d.weather.date for d in told]
    for before, after in pairwise(rows):
        change = (
            after["corrected"] + after["use"] - after["rain"] - after["given"] + after["drained"]
        )
        assert after["deficit"] - before["deficit"] == pytest.approx(change, abs=1e-9)  # mass
    assert all(r["low"] <= r["deficit"] <= r["high"] for r in rows)


def test_days_left_agree_with_the_path_ahead() -> None:
    held = water(fen())
    last = DAY + timedelta(days=5)
    made = wet.water_row(fen(), held, days(fen(), -19, 5), last)
    best = made["course"]["days_left"]["value"]
    line = made["refill_mm"]
    on = held.at(DAY)
    path = held.balance.deficit[on:].mean(axis=1)
    if path[0] >= line:
        assert best == 0.0
    elif (path >= line).any():
        assert best == pytest.approx(float(np.interp(line, path, np.arange(path.size))), abs=0.01)
    else:
        assert best > path.size - 1


def test_a_deficit_over_the_line_is_over_its_threshold() -> None:
    held = water(fen())
    made = wet.deficit_rows(held, days(fen(), -19, 5))
    line = wet.refill_line(held, DAY + timedelta(days=5))
    assert made and all(r["above_threshold"] == (r["value"] >= line) for r in made)
    assert {True, False} == {r["above_threshold"] for r in made}


def test_water_given_lately() -> None:
    gave = Work(date=DAY - timedelta(days=4), green="1", practice="irrigate", amount=6.0, unit="mm")
    assert wet.given_lately(water(fen(work=(gave,))), DAY) == pytest.approx(3.0)  # by hand: 6 / 2
    assert wet.given_lately(water(fen()), DAY) == 0.0


def test_days_outside_the_balance_are_left_out() -> None:
    held = water(fen())
    assert wet.deficit_rows(held, days(fen(), -40, -30)) == []


# -- regulators


def regulated(**material) -> Snapshot:
    """Return the record with a regulator ten days ago."""
    used = Work(date=DAY - timedelta(days=10), green="all", practice="regulator", amount=0.05,
                unit="mL/m2", material="shield")  # fmt: skip
    held = Material(material="shield", **({"active": "trinexapac-ethyl"} | material))
    return fen(work=(used,), materials=(held,))


def test_a_use_by_hand() -> None:
    record = regulated(half_life_gdd=170.0)
    uses = applied_of(record, days(record))
    (told,) = held_back.use_rows(uses, DAY)
    # ten days of 17: 170 degree days, one half-life: half is left, half the rate tops it up
    assert told["degree_days"] == pytest.approx(170.0) and told["left"]["value"] == 0.5
    assert told["top_up"] == pytest.approx(0.025) and told["state"] == "suppressed"
    assert told["fades"] == DAY + timedelta(days=2)  # 200 by the second day ahead
    assert told["rebounds"] == DAY + timedelta(days=5)
    made = held_back.left_rows(uses, days(record, -10, 5))
    assert [r["above_threshold"] for r in made if r["date"] > DAY] == [
        False,
        True,
        True,
        True,
        True,
    ]
    assert {r["green"] for r in made} == {"1;2"} and len(made) == 16
    assert "regulator.trinexapac_ethyl.creeping_bentgrass.base_c" in held_back.evidence_of(uses)


def test_an_unknown_active_has_no_numbers() -> None:
    record = regulated(active="something new")
    uses = applied_of(record, days(record))
    (told,) = held_back.use_rows(uses, DAY)
    assert (told["state"], told["left"], told["top_up"]) == ("not known", None, None)
    assert held_back.left_rows(uses, days(record)) == []
    assert held_back.evidence_of(uses) == frozenset()


# -- risks


@pytest.mark.parametrize(
    ("grass", "host", "here"),
    [
        (BENT, "creeping bentgrass", True),
        ("bentgrass-bluegrass mix", "annual bluegrass", True),
        ("annual bluegrass", "creeping bentgrass", False),
        (BENT, "ryegrass", False),
        ("fine fescue", "cool-season turf", True),
        (ULTRA, "cool-season turf", False),
    ],
)
def test_whether_the_host_grows_here(grass: str, host: str, here: bool) -> None:
    assert risks.host_here(fen(greens=(Green(green="1", grass=grass),)), host) is here


def test_what_is_told_of_each_model() -> None:
    record = fen()
    held = days(record)
    found = risks.risks_of(held, disease_models({"dollar_spot": 0.1}))
    told = {r["name"]: r for r in risks.told_risks(record, found, held, ("dollar_spot",))}
    spot = told["dollar_spot"]
    # 70 % and 17 degC: p = 1/(1 + exp(11.4041 - 6.258 - 3.2844)) = 0.1345, over 0.1 of one's own
    assert spot["back"] == {"days": 21, "known": 17, "risk": 17} and spot["own_threshold"]
    assert spot["ahead"] == {"days": 5, "known": 5, "risk": 5}
    assert told["anthracnose"]["missing"] == ["leaf_wet_h"]
    assert told["anthracnose"]["ahead"]["known"] == 0
    rows = risks.risk_rows(found, held, DAY)
    assert {r["quantity"] for r in rows} == {"risk:dollar_spot", "risk:brown_patch"}
    assert min(r["date"] for r in rows) == DAY
    assert next(r for r in rows)["value"] == pytest.approx(0.1345, abs=5e-5)


# -- gaps, salt


def test_gaps_of_a_bare_balance() -> None:
    record = fen()
    held = days(record)
    found = mind.gaps_of(record, held, water(record), risks.risks_of(held, disease_models()))
    about = [g["about"] for g in found]
    assert {"moisture", "root_depth", "field_capacity", "risk:anthracnose", "risk:pythium"} <= set(
        about
    )
    assert "latitude" not in about and "rain" not in about
    nowhere = replace(record, course=Course(course="fen", name="Fen"))
    assert "latitude" in [g["about"] for g in mind.gaps_of(nowhere, held, None, ())]
    assert "rain" in [g["about"] for g in mind.gaps_of(record, held, None, ())]


def test_one_day_without_forecast_is_told_as_one() -> None:
    record = fen(weather=WEATHER[:-1])
    texts = [g["text"] for g in mind.gaps_of(record, days(record), None, ())]
    assert any("for one day ahead" in text for text in texts)


def lab(analyte: str, value: float, unit: str, **more) -> LabResult:
    """Return one analyte of a water sample."""
    held = {"date": date(2026, 3, 1), "medium": "water"} | more
    return LabResult(analyte=analyte, value=value, unit=unit, **held)


def test_samples_of_two_places_are_kept_apart() -> None:
    rows = (lab("EC", 0.5, "dS/m", green="1"), lab("EC", 3.5, "dS/m", green="2"),
            lab("K", 5.0, "mg/L", green="2"))  # fmt: skip
    made, unread = salty.salt_rows(fen(lab=rows))
    assert [(r["green"], r["verdict"]) for r in made] == [("1", "none"), ("2", "severe")]
    assert unread == [] and salty.evidence_of(made) == {"water_quality.ec"}


def test_a_bare_number_takes_the_usual_unit_and_another_kind_is_told() -> None:
    made, unread = salty.salt_rows(fen(lab=(lab("EC", 0.5, ""), lab("HCO3", 100.0, ""))))
    assert {r["what"]: r["value"] for r in made} == {"EC": 0.5, "HCO3": 100.0} and not unread
    _, odd = salty.salt_rows(fen(lab=(lab("Na", 3.0, "kg"),)))
    assert odd and "Na" in odd[0]
