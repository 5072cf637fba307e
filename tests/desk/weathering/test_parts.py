"""Gaps, cautions and salts of the question weather, from records made up for them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from greenwright import desk
from greenwright.base.answer import Answer
from greenwright.base.evidence import look_up
from greenwright.desk import books
from greenwright.desk.weathering.asked import asked_of
from greenwright.desk.weathering.told import ends
from greenwright.record import Store
from tests.desk.weathering.records import COURSE, ON, WEATHER, ahead, fill, line, seen


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with books.open_book(tmp_path / "book.db", create=True) as held:
        yield held


def answered(store: Store, folder: Path, **files: str) -> Answer:
    """Return the answer of a record of these files."""
    held = {"weather": WEATHER + seen(range(-40, 1)) + ahead(range(1, 15))} | files
    return desk.ask("weather", fill(store, folder, **held), on=ON)


def texts(rows) -> str:
    """Return the words of rows in one string."""
    return " ".join(str(row["text"]) for row in rows)


def test_frost_ahead_is_a_caution(store: Store, tmp_path: Path) -> None:
    weather = WEATHER + seen(range(-40, 1)) + ahead((1, 3), "2.9,9,0,80,2,8,") + ahead((2,))
    found = answered(store, tmp_path / "f", weather=weather).cautions
    (told,) = [c["text"] for c in found if c["kind"] == "weather"]
    # common practice: look for frost at air of 3 °C or less
    assert "look for frost" in told and "on 1 more days" in told and "2026-06-13" in told
    assert look_up("limits.frost_air_c").grade == "common practice"


def test_no_frost_no_word(store: Store, tmp_path: Path) -> None:
    found = answered(store, tmp_path / "f").cautions
    assert not [c for c in found if c["kind"] == "weather"]
    assert {c["kind"] for c in found} == {"safety"}


@pytest.mark.parametrize(
    ("rain", "asked"),
    # by hand: 365 days of 0.2, 2 and 20 mm are 73, 730 and 7,300 mm
    [("0.2", True), ("2", False), ("20", True)],
)
def test_rain_that_looks_like_another_unit_is_questioned(
    store: Store, tmp_path: Path, rain: str, asked: bool
) -> None:
    weather = WEATHER + seen(range(-370, 1), f"5,15,{rain},70,2,10,")
    found = texts(answered(store, tmp_path / "f", weather=weather).cautions)
    assert ("in another unit" in found) is asked


def test_gaps_that_were_filled_are_told(store: Store, tmp_path: Path) -> None:
    days = [k for k in range(-40, 1) if k not in (-5, -6)]
    weather = WEATHER + seen(days) + ahead(range(1, 15))
    answer = answered(store, tmp_path / "f", weather=weather)
    assert "On 2 of the last 41 days some weather was not read" in texts(answer.cautions)
    assert answer.more["weather"]["filled"] == 2
    held = [r for r in answer.findings if r["date"] == ON - timedelta(days=5)]
    assert held and all(r["filled"] and r["kind"] == "typical" for r in held)
    # what stood in makes no risk day
    assert not [r for r in held if r["quantity"].startswith("risk:")]


def test_water_without_an_amount_is_told(store: Store, tmp_path: Path) -> None:
    work = f"date,green,practice\n{ON - timedelta(days=2)},all,irrigate\n"
    assert "hold no amount" in texts(answered(store, tmp_path / "f", work=work).cautions)


def test_a_record_silent_of_watering_says_so(store: Store, tmp_path: Path) -> None:
    dry = answered(store, tmp_path / "f")
    assert "No watering is in the record for the last 21 days" in texts(dry.gaps)
    assert dry.more["water"]["watered"] is False


def test_a_soaked_record_needs_no_word_of_watering(store: Store, tmp_path: Path) -> None:
    weather = WEATHER + seen(range(-40, 0)) + line(0, "11,15,60,95,2,5,") + ahead(range(1, 15))
    assert "No watering" not in texts(answered(store, tmp_path / "f", weather=weather).gaps)


def test_the_cheapest_reading_that_would_tell(store: Store, tmp_path: Path) -> None:
    gaps = {g["about"]: g for g in answered(store, tmp_path / "f").gaps}
    assert gaps["moisture"]["reading"]["kind"] == "moisture"
    assert gaps["root_depth"]["reading"] == {"kind": "root_depth", "green": "1", "n": 1}
    assert gaps["field_capacity"]["reading"]["n"] == 5
    assert "default:crop_coefficient" in gaps and "forecast" not in gaps


def test_what_was_entered_leaves_no_gap(store: Store, tmp_path: Path) -> None:
    greens = (
        "green,grass,rootzone,field_capacity_pct,root_depth_mm,crop_coefficient\n"
        "1,creeping bentgrass,sand,22,120,0.7\n"
    )
    read = f"date,green,kind,value,unit\n{ON},1,moisture,18,%\n"
    held = answered(store, tmp_path / "f", greens=greens, readings=read)
    about = {g["about"] for g in held.gaps}
    assert not about & {"moisture", "root_depth", "field_capacity", "default:crop_coefficient"}
    (green,) = held.more["water"]["greens"]
    assert green["field_capacity_pct"] == pytest.approx(22.0)
    assert green["root_depth_mm"] == pytest.approx(120.0)
    assert (green["crop_coefficient"], green["depth_from"]) == (0.7, "entered")


# -- salt

LAB = "date,green,medium,depth_cm,extractant,analyte,value,unit\n"
WATER = (
    # the middle one of three waters in a trade magazine of golf courses, June 2013
    "2026-03-01,,water,,,EC,2.0,dS/m\n2026-03-01,,water,,,Na,230,mg/L\n"
    "2026-03-01,,water,,,Ca,63.8,ppm\n2026-03-01,,water,,,Mg,20.5,mg/L\n"
    "2026-03-01,,water,,,HCO3,392.2,mg/L\n"
)


def salts(answer: Answer) -> dict[str, dict]:
    """Return the checks by what they check."""
    return {row["what"]: row for row in answer.more["salts"]}


def test_a_printed_water_analysis(store: Store, tmp_path: Path) -> None:
    found = salts(answered(store, tmp_path / "f", lab=LAB + WATER))
    # printed there: SAR 6.41, residual carbonate 1.56
    assert found["SAR"]["value"] == pytest.approx(6.41, abs=0.006)
    assert found["RSC"]["value"] == pytest.approx(1.56, abs=0.006)
    assert {k: v["verdict"] for k, v in found.items()} == {
        "EC": "watch", "SAR": "watch", "infiltration": "none", "HCO3": "watch", "RSC": "watch",
    }  # fmt: skip


def test_units_of_the_laboratory(store: Store, tmp_path: Path) -> None:
    rows = (
        "2026-03-01,,water,,,EC,2000,uS/cm\n2026-03-01,,water,,,Na,10.0,meq/L\n"
        "2026-03-01,,water,,,Ca,3.18,me/L\n2026-03-01,,water,,,Mg,1.69,mmolc/L\n"
    )
    found = salts(answered(store, tmp_path / "f", lab=LAB + rows))
    assert found["EC"]["value"] == pytest.approx(2.0)
    # by hand: 10 / sqrt((3.18 + 1.69) / 2) = 6.408
    assert found["SAR"]["value"] == pytest.approx(6.408, abs=1e-3)


def test_a_unit_nobody_knows_is_told_and_left_out(store: Store, tmp_path: Path) -> None:
    answer = answered(store, tmp_path / "f", lab=LAB + "2026-03-01,,water,,,EC,2,salty\n")
    assert answer.more["salts"] == [] and "could not be read" in texts(answer.cautions)


def test_the_newest_sample_counts(store: Store, tmp_path: Path) -> None:
    rows = "2025-03-01,,water,,,EC,4,dS/m\n2026-03-01,,water,,,EC,0.4,dS/m\n"
    found = salts(answered(store, tmp_path / "f", lab=LAB + rows))
    assert found["EC"]["value"] == 0.4 and found["EC"]["verdict"] == "none"


def test_soil_salinity_counts_when_extracted_with_water(store: Store, tmp_path: Path) -> None:
    rows = "2026-03-01,1,soil,10,water,EC,3.5,dS/m\n2026-03-01,2,soil,10,other,EC,9,dS/m\n"
    found = answered(store, tmp_path / "f", lab=LAB + rows).more["salts"]
    # memory: bentgrass from 3 dS/m of the saturated paste
    assert [(r["green"], r["verdict"]) for r in found] == [("1", "watch")]


# -- small parts


def test_ends_stay_in_what_can_be() -> None:
    # by hand: 1.6449 standard deviations either side
    assert ends(10.0, 2.0) == pytest.approx({"low": 6.710, "high": 13.290}, abs=1e-3)
    assert ends(1.0, 2.0)["low"] == 0.0 and ends(9.0, 2.0, high=10.0)["high"] == 10.0
    assert ends(1.0, float("nan")) == {}


def test_thresholds_are_read_as_typed() -> None:
    held = asked_of(threshold="dollar-spot = 0.3, brown_patch=5;")
    assert held.thresholds == {"dollar_spot": 0.3, "brown_patch": 5.0}
    assert asked_of().thresholds == {} and asked_of().days == 14
    assert {m.name: m.threshold for m in held.models}["brown_patch"] == 5.0


def test_a_course_in_the_south(store: Store, tmp_path: Path) -> None:
    south = COURSE.replace("52.0", "-37.0")
    warm = answered(store, tmp_path / "f", course=south)
    june = next(r for r in warm.findings if r["quantity"] == "eto" and r["date"] == ON)
    assert 0.5 < june["value"] < 6  # winter sun there; radiation read still counts
