"""Feed on the last of November: one green, a month to come, and every number on paper.

The record is invented: twenty degrees all year, so that growth is full and December asks for the
whole ceiling of creeping bentgrass, 2 g/m2 ("Monthly or annual maximum N", article, 2023).
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import jsonschema
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.base.values import Course
from greenwright.desk import books
from greenwright.desk.questions.feed import year_of
from greenwright.show import page, words
from tests.desk.records import write_csv

ON = date(2026, 11, 30)
FEN = Course(course="fen", name="Sedge Hill", currency="EUR")
MATERIALS = (
    "material,form,n_pct,p2o5_pct,k2o_pct,s_pct,price,price_unit,stock,pack\n"
    "urea,soluble,46,0,0,0,0.85,per kg,1,25\n"
    "potassium sulfate,soluble,0,0,50,18,1.4,per kg,0,\n"
)
LIMITS = "limit,value,unit\nn_application_g_m2,0.8,g/m2\n"
WORK = (
    "date,time,status,green,practice,amount,unit,passes,material,carrier_l_ha,operator,licence\n"
    "2026-05-20,06:30,done,1,feed,1.2,g/m2,1,urea,500,Ida,L-7\n"
    "2025-12-10,06:30,done,1,feed,2,g/m2,1,urea,,Ida,L-7\n"
)
CREW = "practice,minutes,people,cost_per_h\nfeed,30,1,20\n"


def sunny(first: date, days: int) -> str:
    rows = (f"{first + timedelta(days=k)},15,25" for k in range(days))
    return "\n".join(("date,t_min_c,t_max_c", *rows)) + "\n"


def ask(folder: Path, *, year: int | None = None, on: date = ON, **files: str | None) -> Answer:
    """Return the answer of the record with some files put in place of its own, None = left out."""
    held: dict[str, str | None] = {
        "course": "course,name\nfen,Sedge Hill\n",
        "greens": "green,area_m2,grass,rootzone\n1,500,creeping bentgrass,sand\n",
        "weather": sunny(date(2025, 12, 1), 365),
        "materials": MATERIALS, "limits": LIMITS, "work": WORK, "crew": CREW,
    } | files  # fmt: skip
    for name, text in held.items():
        if text is not None:
            write_csv(folder / "files", name, text)
    with books.open_book(folder / "book.db", create=True) as store:
        report = books.load_paths(store, [folder / "files"], on=on)
        assert not report.refusals, report.refusals
        return desk.feed(store, on=on, year=year)


def lab(*rows: str) -> str:
    return "date,green,medium,depth_cm,extractant,analyte,value,unit\n" + "".join(
        f"{row}\n" for row in rows
    )


def soil(element: str, mg_kg: float, day: str = "2025-12-31") -> str:
    return f"{day},1,soil,10,mehlich-3,{element},{mg_kg},mg/kg"


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Answer:
    return ask(tmp_path_factory.mktemp("december"))


@pytest.fixture(scope="module")
def poor(tmp_path_factory: pytest.TempPathFactory) -> Answer:
    """Return the answer of a soil poor in potassium and rich in all the rest."""
    rich = (soil("P", 200), soil("Ca", 2000), soil("Mg", 400), soil("S", 200))
    return ask(tmp_path_factory.mktemp("poor"), lab=lab(soil("K", 100), *rich))


def rows_of(answer: Answer, element: str) -> list[dict]:
    return [row for row in answer.as_dict()["findings"] if row["element"] == element]


# -- the plan of one month


def test_december_is_fed_in_three_passes_of_urea(plain: Answer) -> None:
    held = plain.as_dict()
    # by hand: 2 g at most 0.8 a pass is three passes; 2/0.46 g/m2 on 500 m2 are 2.174 kg
    assert {row["material"] for row in held["choices"]} == {"urea"}
    assert sum(row["passes"] for row in held["choices"]) == 3
    assert sum(row["amount"] for row in held["choices"]) == pytest.approx(2.1739, abs=1e-3)
    assert sum(row["supplies"]["N"] for row in held["choices"]) == pytest.approx(2.0, abs=1e-4)
    assert held["short"] == [] and held["clashes"] == []


def test_december_costs_its_urea_and_its_hours(plain: Answer) -> None:
    held = plain.as_dict()
    # by hand: 2.174 kg at 0.85, three passes of half an hour at 20 an hour
    assert held["cost"] == pytest.approx(2.1739 * 0.85 + 3 * 10, abs=0.01)
    assert sum(row["labour_h"] for row in held["choices"]) == pytest.approx(1.5)
    assert sum(row["cost"] for row in held["choices"]) == pytest.approx(2.1739 * 0.85, abs=0.01)


def test_the_tank_of_each_line_by_hand(plain: Answer) -> None:
    for row in plain.as_dict()["choices"]:
        spray = row["spray"]
        # by hand: 500 L/ha was the carrier last written down; 500 m2 are a twentieth of a hectare
        assert spray["carrier_l_ha"] == 500 and spray["water_l"] == pytest.approx(25.0)
        assert spray["product_kg"] == pytest.approx(row["rate"] * 0.5)
        # 1 g/m2 is 10 kg/ha, in 500 L/ha 20 g/L, 2000 g in 100 L
        assert spray["g_per_100_l"] == pytest.approx(row["rate"] * 2000)


def test_days_of_a_line_lie_in_its_half_month_and_after_today(plain: Answer) -> None:
    for row in plain.as_dict()["choices"]:
        first, last = (date.fromisoformat(row[name]) for name in ("from", "until"))
        assert first > ON and (last - first).days <= 15 and first.month == last.month == 12


def test_what_to_buy_takes_the_store_first_and_whole_packs(plain: Answer) -> None:
    (row,) = plain.as_dict()["shopping"]
    # by hand: 2.17 kg used, 1 kg there, one pack of 25 kg
    assert row["mass_kg"] == pytest.approx(2.1739, abs=1e-3) and row["stock_kg"] == 1
    assert (row["packs"], row["buy_kg"]) == (1, 25)


def test_last_december_stands_beside_the_advice(plain: Answer) -> None:
    advised, given = plain.as_dict()["programmes"]
    assert (advised["name"], given["name"]) == ("advised", "as given")
    assert (given["first"], given["last"]) == ("2025-12-01", "2025-12-31")
    assert given["supplies"]["N"] == pytest.approx(0.92)  # by hand: 2 g of 46 %
    assert given["cost"] == pytest.approx(2 * 0.5 * 0.85 + 10)  # a kilogram and one pass
    assert given["salt_g_m2"] == pytest.approx(2 * 0.744)  # salt index 74.4, list of 2001 values


# -- keys


COMMON = {"question", "as_of", "record", "findings", "choices", "gaps", "cautions", "sources",
          "made_by"}  # fmt: skip


def test_the_keys_that_programs_read(poor: Answer) -> None:
    held = json.loads(poor.as_json())
    jsonschema.validate(held, answer_schema())
    assert set(held) >= COMMON and held["question"] == "feed" and held["as_of"] == "2026-11-30"
    for row in held["findings"]:
        assert set(row) >= {"element", "month", "year", "need", "parts", "verdict"}
        assert set(row["parts"]) == {"growth", "reserve", "soil"} and row["year"] == 2026
        assert row["verdict"] in ("needed", "not needed", "test first")
    wanted = {"material", "from", "until", "rate", "unit", "amount", "cost", "supplies"}
    assert held["choices"] and all(set(row) >= wanted for row in held["choices"])


def test_each_need_is_an_estimate_with_its_level(poor: Answer) -> None:
    for row in poor.as_dict()["findings"]:
        need = row["need"]
        assert set(need) >= {"value", "unit", "sd", "low", "high", "level", "n", "basis"}
        assert need["unit"] == "g/m2" and need["level"] == 0.9
        assert 0 <= need["low"] <= need["high"]
        assert need["basis"] in ("readings", "model", "prior", "draws")


def test_each_source_tells_its_grade(poor: Answer) -> None:
    grades = {"published", "reported", "common practice", "memory", "derived", "elicited"}
    for row in poor.as_dict()["sources"]:
        assert row["grade"] in grades and row["key"] and "value" in row


def test_months_and_the_year_of_nitrogen(plain: Answer) -> None:
    months = {row["month"]: row for row in rows_of(plain, "N")}
    assert set(months) == {None, *range(1, 13)}
    # by hand: twelve months of 2 g at full growth; 1.2 g of urea of 46 % in May
    assert months[12]["need"]["value"] == pytest.approx(2.0)
    assert months[None]["need"]["value"] == pytest.approx(24.0)
    assert months[None]["given"] == pytest.approx(0.552) == pytest.approx(months[5]["given"])


# -- needed, not needed, test first


def test_one_element_is_needed_and_the_rest_are_not(poor: Answer) -> None:
    verdicts = {row["element"]: row["verdict"] for row in poor.as_dict()["findings"]}
    assert {e for e, v in verdicts.items() if v == "needed"} == {"N", "K"}
    assert {e for e, v in verdicts.items() if v == "not needed"} == {"P", "Ca", "Mg", "S"}


def test_the_balance_of_potassium_by_hand(poor: Answer) -> None:
    (row,) = rows_of(poor, "K")
    # by hand: 24 g of N at one half; 37 and 100 mg/kg at 0.15: 12 + 5.55 - 15 = 2.55 g/m2
    assert row["parts"]["growth"]["value"] == pytest.approx(12.0)
    assert row["balance"]["value"] == pytest.approx(2.55, abs=1e-3)
    # classical sufficiency from 50 mg/kg: 12 + 7.5 - 15 = 4.5
    assert row["against"][1]["need"]["value"] == pytest.approx(4.5, abs=1e-3)
    # 1/(1 + (100/73.475)^3.2038) = 0.271 of good soils hold more (preprint, 2016)
    assert row["index"] == pytest.approx(0.271, abs=1e-3)


def test_potassium_is_bought_for_its_need(poor: Answer) -> None:
    lines = [row for row in poor.as_dict()["choices"] if row["material"] == "potassium sulfate"]
    brings = sum(row["supplies"]["K"] for row in lines)
    assert brings == pytest.approx(2.55, abs=1e-3) and poor.as_dict()["short"] == []
    (over,) = poor.as_dict()["excess"]
    # by hand: 18/(50 x 0.8301) g of sulfur ride along with each gram of potassium
    assert over["element"] == "S" and over["amount"] == pytest.approx(
        brings * 18 / 41.505, rel=1e-3
    )


def test_without_soil_tests_every_element_is_tested_first(plain: Answer) -> None:
    for element in ("K", "P", "Ca", "Mg", "S"):
        (row,) = rows_of(plain, element)
        assert (row["verdict"], row["need"], row["content"]) == ("test first", None, None)
    assert any("Mehlich-3" in str(gap["reading"]) for gap in plain.gaps)
    assert {row["material"] for row in plain.choices} == {"urea"}  # nothing is bought on a guess


# -- records that lack something


def test_without_materials_the_need_stands_and_says_what_is_missing(tmp_path: Path) -> None:
    held = ask(tmp_path, materials=None, work=None).as_dict()
    assert held["choices"] == [] and held["cost"] == 0
    assert [row["element"] for row in held["short"]] == ["N"]
    assert held["short"][0]["amount"] == pytest.approx(2.0)
    assert [row["limit"] for row in held["clashes"]] == ["no material"]
    assert any("No material of the record brings N" in gap["text"] for gap in held["gaps"])


def test_without_weather_the_balance_of_a_test_still_stands(tmp_path: Path) -> None:
    held = ask(tmp_path, weather=None, lab=lab(soil("K", 400)))
    verdicts = {row["month"]: row["verdict"] for row in rows_of(held, "N")}
    assert set(verdicts.values()) == {"test first"}
    (row,) = rows_of(held, "K")
    # by hand, twelve unknown months of 0 to 2 g are 12 g: 6 + 5.55 - 60 is far under nought
    assert row["parts"]["growth"]["value"] == pytest.approx(6.0)
    assert row["verdict"] == "not needed" and held.choices == ()


def test_barred_phosphorus_is_short_and_named(tmp_path: Path) -> None:
    stuff = MATERIALS + "triple phosphate,granular,0,46,0,0,1.2,per kg,0,\n"
    held = ask(
        tmp_path, materials=stuff, limits=f"{LIMITS}p_allowed,0,bool\n", lab=lab(soil("P", 5))
    ).as_dict()
    assert {row["element"] for row in held["short"]} == {"P"}
    assert [row["limit"] for row in held["clashes"]] == ["p_allowed"]
    assert held["short"][0]["because"] == ["phosphorus is not allowed"]
    # by hand: 24 g of N x 0.6/4.6, and 21 less 5 mg/kg at 0.15
    assert held["short"][0]["amount"] == pytest.approx(24 * 0.6 / 4.6 + 16 * 0.15, abs=2e-3)


def test_a_blackout_of_december_shuts_the_plan(tmp_path: Path) -> None:
    shut = (
        "limit,value,unit,from,until\nn_application_g_m2,0.8,g/m2,,\n"
        "no_feed,,,2026-12-01,2026-12-31\n"
    )
    held = ask(tmp_path, limits=shut).as_dict()
    assert held["choices"] == [] and [row["limit"] for row in held["clashes"]] == ["no_feed"]
    assert held["short"][0]["because"] == ["days without feeding"]


def test_the_year_s_limit_counts_what_was_given(tmp_path: Path) -> None:
    held = ask(tmp_path, limits=f"{LIMITS}n_year_g_m2,1.5,g/m2\n").as_dict()
    # by hand: 0.552 g went out in May, 0.948 are left
    brings = sum(row["supplies"]["N"] for row in held["choices"])
    assert brings == pytest.approx(1.5 - 0.552, abs=1e-3)
    assert [row["limit"] for row in held["limits_hit"]][:1] == ["n_year_g_m2"]
    assert held["short"][0]["because"] == ["nitrogen a year"]


def test_a_distance_to_water_comes_back_as_a_caution(tmp_path: Path) -> None:
    held = ask(tmp_path, limits=f"{LIMITS}buffer_m,5,m\n")
    told = " ".join(row["text"] for row in held.cautions)
    assert "at least 5 m, as entered" in told
    assert not any("distance to water" in gap["text"] for gap in held.gaps)


def test_next_year_starts_on_its_first_day(tmp_path: Path) -> None:
    held = ask(tmp_path, year=2027, materials=None, work=None).as_dict()
    assert held["year"] == 2027 and {row["year"] for row in held["findings"]} == {2027}
    months = {row["month"] for row in held["short"]}
    assert months == set(range(1, 13))  # nothing brings it, and every month asks


@pytest.mark.parametrize(
    ("given", "year"), [(None, 2026), ("", 2026), ("2027", 2027), (1900, 1900)]
)
def test_years_that_can_be_asked_for(given: object, year: int) -> None:
    assert year_of(given, ON) == year


@pytest.mark.parametrize("given", ["2028", "next", 1899, 2026.5])
def test_a_year_that_cannot_says_what_where_and_what_then(given: object) -> None:
    with pytest.raises(BadInput) as caught:
        year_of(given, ON)
    held = caught.value
    assert repr(given) in held.what and held.where == "year"
    assert held.expected == "a year up to 2027" and held.do


def test_a_record_of_greens_alone_says_what_to_load(tmp_path: Path) -> None:
    with pytest.raises(CannotAnswer) as caught:
        ask(tmp_path, weather=None, materials=None, limits=None, work=None, crew=None)
    assert "2026-11-30" in caught.value.what and "soil test" in caught.value.expected
    assert "weather.csv" in caught.value.do


# -- the log


def logged(answer: Answer) -> list[dict[str, str]]:
    (table,) = [t for t in page(answer, FEN, pictures=False).tables if t.title.startswith("Log")]
    return list(csv.DictReader(io.StringIO(table.as_csv())))


def test_the_log_as_csv_by_hand(plain: Answer) -> None:
    (row,) = logged(plain)  # the year before is another log
    assert (row["Date"], row["Who"], row["Licence"]) == ("2026-05-20 06:30", "Ida", "L-7")
    assert (row["Material"], row["Rate"], row["Water"]) == ("urea", "1.2 g/m²", "500 L/ha")
    assert row["In all"] == "0.6 kg"  # by hand: 1.2 g on 500 m2
    assert "15" in row["Weather"] and "25" in row["Weather"]


def test_no_amount_is_logged_where_no_area_is_known(tmp_path: Path) -> None:
    held = ask(tmp_path, greens="green,grass\n1,creeping bentgrass\n")
    (entry,) = held.as_dict()["log"]
    assert entry["amount"] is None and entry["area_m2"] is None and entry["rate"] == 1.2
    (row,) = logged(held)
    assert row["In all"] == "" and row["Rate"] == "1.2 g/m²"
    jsonschema.validate(json.loads(held.as_json()), answer_schema())


def test_a_name_that_starts_like_a_formula_is_kept_from_being_one(tmp_path: Path) -> None:
    held = ask(tmp_path, work=WORK.replace("Ida", "=1+1"))
    (row,) = logged(held)
    assert row["Who"] == "'=1+1"


# -- words


@pytest.mark.parametrize(
    ("change", "part"),
    [
        (dict, "Urea will do, for €32 with the labour."),  # by hand: 1.85 and 30
        (lambda: {"materials": None, "work": None}, "falls short of nitrogen"),
        (lambda: {"limits": f"{LIMITS}n_year_g_m2,0.552,g/m2\n"}, "nitrogen a year"),
    ],
)
def test_the_answer_in_words(tmp_path: Path, change: Callable, part: str) -> None:
    text = " ".join(words(ask(tmp_path, **change()), course=FEN, full=True).split())
    assert part in text and "None" not in text
