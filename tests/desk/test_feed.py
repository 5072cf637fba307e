"""The question feed through the real rooms, and its page."""

from __future__ import annotations

import json
from datetime import date
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
from tests.desk.records import DAY, SMALL, load_small, write_csv

FEN = Course(course="heron", name="Heron Fen", currency="EUR")
US = Course(course="heron", name="Heron Fen", currency="USD", display_units="us")


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> Answer:
    path = tmp_path_factory.mktemp("feed") / "small.db"
    load_small(path)
    with books.open_book(path) as store:
        return desk.feed(store, on=DAY)


def findings(answer: Answer, element: str, green: str) -> list[dict]:
    rows = answer.as_dict()["findings"]
    return [r for r in rows if (r["element"], r["green"]) == (element, green)]


def test_it_obeys_the_published_schema(answer: Answer) -> None:
    jsonschema.validate(json.loads(answer.as_json()), answer_schema())


def test_every_element_of_every_group_has_a_verdict(answer: Answer) -> None:
    for green in ("group:A", "group:B"):
        assert len(findings(answer, "N", green)) == 13  # twelve months and the year
        for element in ("K", "P", "Ca", "Mg", "S"):
            (row,) = findings(answer, element, green)
            assert row["verdict"] in ("needed", "not needed", "test first") and row["reason"]


def test_nitrogen_is_the_ceiling_times_growth(answer: Answer) -> None:
    may = next(r for r in findings(answer, "N", "group:A") if r["month"] == 5)
    assert may["need"]["value"] == pytest.approx(2 * may["growth_potential"])  # bentgrass: 2 g
    mixed = next(r for r in findings(answer, "N", "group:B") if r["month"] == 5)
    assert mixed["need"]["value"] == pytest.approx(2.5 * mixed["growth_potential"])  # mean of 2, 3
    assert may["given"] == pytest.approx(1.2 * 0.46)  # 1.2 g of urea on 20 May


def test_months_without_weather_are_said_to_be_unknown(answer: Answer) -> None:
    row = next(r for r in findings(answer, "N", "group:A") if r["month"] == 1)
    assert row["verdict"] == "test first" and row["growth_potential"] is None
    assert any("January" in gap["text"] for gap in answer.gaps)


def test_the_parts_of_potassium_add_up(answer: Answer) -> None:
    (row,) = findings(answer, "K", "group:A")
    parts = {name: held["value"] for name, held in row["parts"].items()}
    balance = parts["growth"] + parts["reserve"] - parts["soil"] - row["given"]
    assert row["balance"]["value"] == pytest.approx(balance)
    assert parts["reserve"] == pytest.approx(37 * 0.15)  # by hand: the minimum at 10 cm, 1.5
    assert parts["soil"] == pytest.approx(70 * 0.15)  # by hand: mean of 50 and 90 mg/kg
    assert [t["source"] for t in row["against"]] == ["minimum guideline", "classical sufficiency"]


def test_what_was_not_tested_is_tested_first(answer: Answer) -> None:
    (row,) = findings(answer, "P", "group:A")
    assert row["verdict"] == "test first" and row["need"] is None and row["parts"]["soil"] is None
    assert any("Mehlich-3" in str(gap["reading"]) for gap in answer.gaps)


def test_the_plan_s_sums_close(answer: Answer) -> None:
    held = answer.as_dict()
    assert held["choices"]
    for row in held["choices"]:
        grams = row["rate"] * row["passes"] * row["area_m2"]
        assert row["amount"] == pytest.approx(grams / 1000)
        assert row["supplies"]["N"] == pytest.approx(row["rate"] * row["passes"] * 0.46)
        assert row["cost"] == pytest.approx(row["amount"] * 0.8)  # 0.8 a kg in the record
        spray = row["spray"]
        assert spray["product_kg"] * row["passes"] == pytest.approx(row["amount"])
        in_water = spray["g_per_100_l"] * spray["water_l"] / 100 / 1000
        assert in_water == pytest.approx(spray["product_kg"])
        assert DAY.isoformat() < row["from"] <= row["until"]


def test_what_no_material_brings_is_short_and_says_so(answer: Answer) -> None:
    held = answer.as_dict()
    assert {row["element"] for row in held["short"]} == {"K"}
    assert [row["limit"] for row in held["clashes"]] == ["no material"]


def test_cautions_name_ratios_water_and_the_label(answer: Answer) -> None:
    told = " ".join(row["text"] for row in answer.cautions)
    for word in ("Ratios between calcium", "water", "label", "licensed", "local code"):
        assert word in told


def test_the_log_says_who_what_where_and_the_weather(answer: Answer) -> None:
    (row,) = answer.as_dict()["log"]
    assert (row["date"], row["material"], row["rate"]) == ("2026-05-20", "urea", 1.2)
    assert row["greens"] == ["1", "2", "3"] and row["weather"]["t_max_c"] == 18
    # by hand: 1.2 g on 420 + 510 + 380 m2
    assert row["amount"] == pytest.approx(1.2 * 1310 / 1000)


def test_every_number_from_outside_is_listed(answer: Answer) -> None:
    keys = {row["key"] for row in answer.sources}
    assert {"nitrogen.ceiling.creeping_bentgrass", "soil.mehlich3.K.minimum"} <= keys
    assert {"soil.sufficiency.K.sand", "feed.test_cost", "soil.cation_ratio_warning"} <= keys


def test_the_same_question_gets_the_same_answer(tmp_path: Path, answer: Answer) -> None:
    load_small(tmp_path / "again.db")
    with books.open_book(tmp_path / "again.db") as store:
        again = desk.feed(store, on=DAY)
    for key in ("findings", "choices", "short", "gaps"):
        assert again.as_dict()[key] == answer.as_dict()[key]


def test_a_year_that_is_over_has_needs_and_no_plan(tmp_path: Path) -> None:
    load_small(tmp_path / "past.db")
    with books.open_book(tmp_path / "past.db") as store:
        past = desk.feed(store, on=DAY, year=2025)
    assert past.choices == () and past.more["year"] == 2025 and past.findings
    jsonschema.validate(json.loads(past.as_json()), answer_schema())


@pytest.mark.parametrize("year", ["2030", "soon", 1700])
def test_years_out_of_reach(year: object) -> None:
    with pytest.raises(BadInput, match="year"):
        year_of(year, DAY)


def test_neither_weather_nor_test_is_no_answer(tmp_path: Path) -> None:
    write_csv(tmp_path / "x", "course", "course,name\nfen,Sedge Hill\n")
    write_csv(tmp_path / "x", "greens", "green\n1\n")
    with books.open_book(tmp_path / "x.db", create=True) as store:
        books.load_paths(store, [tmp_path / "x"], on=DAY)
        with pytest.raises(CannotAnswer, match="neither weather nor a soil test"):
            desk.feed(store, on=DAY)


def test_a_grass_without_a_ceiling_is_asked_for_one(tmp_path: Path) -> None:
    write_csv(tmp_path / "x", "course", "course,name\nfen,Sedge Hill\n")
    write_csv(tmp_path / "x", "greens", "green,grass\n1,zoysiagrass\n")
    (tmp_path / "x" / "weather.csv").write_text((SMALL / "weather.csv").read_text("utf-8"), "utf-8")
    with books.open_book(tmp_path / "x.db", create=True) as store:
        books.load_paths(store, [tmp_path / "x"], on=DAY)
        got = desk.feed(store, on=date(2026, 6, 5))
    assert not [r for r in got.findings if r["element"] == "N"] and got.choices == ()
    assert any("zoysiagrass" in gap["text"] for gap in got.gaps)
    assert "No nitrogen can be worked out" in words(got, course=FEN)


# -- the page


def test_the_page_says_it_in_a_breath(answer: Answer) -> None:
    held = page(answer, FEN)
    text = " ".join(held.lead)
    assert "Nitrogen group A" in text and "potassium everywhere" in text
    assert "falls short of potassium: no material of the record brings it" in text
    assert held.figures[0].finding.startswith("Growth asks for most in June")


def test_the_crew_s_sheet_is_one_section_and_names_the_law(answer: Answer) -> None:
    held = [s for s in page(answer, FEN, pictures=False).sections if s.sheet]
    assert len(held) == 1 and "label is law" in " ".join(held[0].sentences).lower()
    assert "100 L" in held[0].tables[0].as_csv()


@pytest.mark.parametrize("course", [FEN, US])
def test_every_figure_has_its_words_and_data(answer: Answer, course: Course) -> None:
    made = page(answer, course)
    figures = [*made.figures, *(s.figure for s in made.sections if s.figure)]
    assert {f.key for f in figures} == {"nitrogen-A", "nitrogen-B", "soil"}
    for figure in figures:
        assert "<svg" in figure.svg and "<svg" in figure.svg_narrow
        assert figure.finding and figure.description and figure.table.rows


def test_american_units(answer: Answer) -> None:
    text = words(answer, course=US, full=True)
    assert "lb/1000 ft²" in text and "gal" in text and " kg in" not in text


def test_the_log_goes_out_as_csv(answer: Answer) -> None:
    (log,) = [t for t in page(answer, FEN, pictures=False).tables if t.title.startswith("Log")]
    head, row = log.as_csv().splitlines()[:2]
    for word in ("Date", "Who", "Licence", "Material", "Where", "Rate", "Weather"):
        assert word in head
    assert "2026-05-20" in row and "1.2 g/m²" in row and "urea" in row


def test_full_words_hold_every_table(answer: Answer) -> None:
    text = words(answer, course=FEN, full=True)
    for title in (
        "What is needed",
        "behind each verdict",
        "The plan by half months",
        "What to buy",
        "studies show",
    ):
        assert title in text
    assert "None" not in text and "nan" not in text.lower().split()
