"""The page of feed from a hand-made answer: what is said, where, in whose units."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from greenwright.base.answer import Answer
from greenwright.base.estimate import normal_estimate
from greenwright.show import feeding, page, words
from greenwright.show.figures.feed import soil_figure, year_figure
from greenwright.show.pages.feed_plan import WINDOWS, month_plan, sheet, shopping
from tests.show import handmade

ON = date(2026, 6, 5)
FEN, US = handmade.METRES, handmade.US


def grams(value: float, sd: float = 0.2) -> Any:
    return normal_estimate(value, sd, "g/m2", basis="model")


def month(number: int, group: str = "group:A", *, known: bool = True) -> dict[str, Any]:
    size = 2.0 - abs(number - 7) * 0.3
    return {
        "green": group, "element": "N", "month": number, "year": 2026, "need": grams(size),
        "parts": {"growth": grams(size), "reserve": grams(0), "soil": grams(0)},
        "verdict": "needed" if known else "test first", "reason": "growth",
        "given": 0.5 if number == 5 else 0.0, "growth_potential": size / 2 if known else None,
    }  # fmt: skip


def whole(group: str = "group:A") -> dict[str, Any]:
    return {**month(7, group), "month": None, "need": grams(12.0, 2.0), "given": 0.5}


def element(name: str, verdict: str, group: str = "group:A", **more: Any) -> dict[str, Any]:
    need = {"needed": grams(3.0, 1.0), "not needed": grams(0.0, 0.0), "test first": None}[verdict]
    soil = None if verdict == "test first" else grams(7.5, 1.0)
    content = None if verdict == "test first" else normal_estimate(50.0, 6.0, "mg/kg")
    return {
        "green": group, "element": name, "month": None, "year": 2026, "need": need,
        "parts": {"growth": grams(8.0), "reserve": grams(5.5), "soil": soil},
        "verdict": verdict, "reason": "by hand", "given": 0.0, "content": content,
        "index": None if content is None else 0.6, "borrowed": False,
        "against": [
            {"source": s, "low": low, "high": None, "need": need, "verdict": verdict}
            for s, low in (("minimum guideline", 37.0), ("classical sufficiency", 50.0))
        ],
    } | more  # fmt: skip


def line(first: date, group: str = "group:A", **more: Any) -> dict[str, Any]:
    greens = {"group:A": ["1", "2"], "group:B": ["3"]}[group]
    return {
        "material": "urea", "green": group, "greens": greens, "from": first,
        "until": first.replace(day=first.day + 9), "rate": 1.5, "unit": "g/m2", "passes": 2,
        "area_m2": 1000.0, "amount": 3.0, "amount_unit": "kg", "cost": 2.4, "labour_h": 0.5,
        "supplies": {"N": 1.38}, "nitrogen_pass": 0.69, "reason": "growth", "hot": False,
        "spray": {"carrier_l_ha": 400.0, "water_l": 40.0, "product_kg": 1.5, "g_per_100_l": 3750.0},
    } | more  # fmt: skip


def answer(**more: Any) -> Answer:
    groups = [
        {"group": key, "greens": greens, "grass": "creeping bentgrass"}
        for key, greens in (("group:A", ["1", "2"]), ("group:B", ["3"]))
    ]
    held = {
        "findings": (
            *(month(k, g) for g in ("group:A", "group:B") for k in range(1, 13)),
            whole(), whole("group:B"),
            element("K", "needed"), element("K", "not needed", "group:B"),
            element("P", "test first"), element("P", "test first", "group:B"),
            element("S", "not needed"), element("S", "not needed", "group:B"),
        ),
        "choices": tuple(
            line(date(2026, m, 6), g) for m in (6, 7, 8) for g in ("group:A", "group:B")
        ),
    } | more  # fmt: skip
    extra = {"year": 2026, "groups": groups, "cost": 40.0, "holds": ["it rains"]}
    extra |= held.pop("more", {})
    return Answer(question="feed", as_of=ON, record=handmade.RECORD, made_by=handmade.MADE,
                  more=extra, **held)  # fmt: skip


def test_the_lead_says_nitrogen_elements_and_materials() -> None:
    told = page(answer(), FEN, pictures=False).lead
    assert told[0].startswith("Nitrogen everywhere: growth asks for 12 g/m²")
    assert "0.5 g/m² was given" in told[0]
    for text in ("Needed: potassium group A", "to be tested first: phosphorus everywhere",
                 "not needed anywhere: sulfur"):  # fmt: skip
        assert text in told[1]
    assert told[2] == "Urea will do, for €40 with the labour."


def test_months_without_weather_are_counted() -> None:
    rows = [month(k, known=k > 3) for k in range(1, 13)]
    told = page(answer(findings=(*rows, whole()), choices=()), FEN, pictures=False).lead
    assert "(3 months without weather)" in told[0]
    assert told[-1] == "Nothing is to be bought or put out for the rest of the year."


def test_the_sheet_holds_the_next_windows_with_groups_alike_as_one_line() -> None:
    (held,) = sheet(answer(), FEN)
    rows = held.tables[0].rows
    assert len(rows) == WINDOWS and held.sheet
    # by hand: 1.5 kg a pass on each of two groups; 40 L each
    assert rows[0][1:4] == ("all greens", "1.5 g/m², 2 passes", "3 kg")
    assert rows[0][4] == "80 L in all, 3.75 kg in 100 L"
    assert "Leave it if it rains." in held.sentences


def test_granules_are_spread_dry() -> None:
    (held,) = sheet(answer(choices=(line(date(2026, 6, 6), spray=None),)), FEN)
    assert held.tables[0].rows[0][4] == "spread dry, watered in"
    assert sheet(answer(choices=()), FEN) == ()


def test_what_falls_short_is_said_with_what_clashes() -> None:
    short = [{"green": "group:A", "element": "N", "month": 7, "amount": 0.4,
              "because": ["nitrogen a year"]}]  # fmt: skip
    held = answer(more={"short": short})
    assert "falls short of nitrogen: nitrogen a year" in page(held, FEN, pictures=False).lead[-1]
    (plan,) = month_plan(held, FEN)
    assert plan.sentences == (
        "Short: 0.4 g/m² of nitrogen in July on Group A. What clashes: nitrogen a year.",
    )


@pytest.mark.parametrize(
    ("row", "buy"),
    [
        ({"packs": 2, "pack_kg": 25.0, "buy_kg": 50.0}, "2 packs of 25 kg"),
        ({"packs": 1, "pack_kg": 25.0, "buy_kg": 25.0}, "1 pack of 25 kg"),
        ({"packs": None, "pack_kg": None, "buy_kg": 4.26}, "4.26 kg"),
        ({"packs": 0, "pack_kg": 25.0, "buy_kg": 0.0}, "nothing"),
    ],
)
def test_what_to_buy_in_whole_packs(row: dict[str, Any], buy: str) -> None:
    base = {"material": "urea", "mass_kg": 60.0, "stock_kg": 10.0, "cost": 51.0}
    (held,) = shopping(answer(more={"shopping": [base | row]}), FEN)
    assert held.tables[0].rows[0][3] == buy
    assert shopping(answer(), FEN) == ()


def test_american_units_go_through() -> None:
    text = " ".join(words(answer(), course=US, full=True).split())
    # by hand: 1.5/4.8824 = 0.31 lb/1000 ft2; 3750 g in 100 L are 31.3 lb in 100 gal; 80 L 21 gal
    for part in ("0.31 lb/1000 ft²", "31.3 lb in 100 gal", "21 gal in all"):
        assert part in text


def test_groups_that_are_alike_share_a_picture() -> None:
    assert feeding.alike(answer()) == [("group:A", "group:B")]
    apart = answer(findings=(*(month(k) for k in range(1, 13)), month(5, "group:B"), whole()))
    assert feeding.alike(apart) == [("group:A",), ("group:B",)]


@pytest.mark.parametrize("course", [FEN, US])
def test_the_picture_of_the_year_says_its_month(course: Any) -> None:
    held = year_figure(answer(), ("group:A", "group:B"), course)
    assert held.finding.startswith("Growth asks for most in July")
    assert len(held.table.rows) == 12 and "everywhere" in held.title
    assert year_figure(answer(), (), course) is None


def test_the_picture_of_the_soil_names_what_is_low() -> None:
    low = element("K", "needed", content=normal_estimate(20.0, 2.0, "mg/kg"))
    assert soil_figure(answer(findings=(low,)), FEN).finding.endswith("potassium.")
    assert soil_figure(answer(findings=(element("S", "not needed"),)), FEN).finding.startswith(
        "No "
    )
    assert soil_figure(answer(findings=(element("P", "test first"),)), FEN) is None


def test_each_verdict_is_told_by_mark_and_word() -> None:
    sections = page(answer(), FEN, pictures=False).sections
    (held,) = [s for s in sections if "what is not" in s.title]
    (behind,) = [s for s in sections if s.title.startswith("The numbers behind")]
    told = {row[1] for row in behind.tables[0].rows}
    assert told == {"▲ needed", "● not needed", "○ test first"}
    assert any(text.startswith("Needed: potassium group A") for text in held.sentences)
    needs = {row[0]: row[2] for row in behind.tables[0].rows}
    assert behind.folded and held.tables == ()
    assert needs["Sulfur, group A"] == "none" and needs["Phosphorus, group A"] == "not known"


def test_studies_are_told_with_strength_and_what_speaks_against_them() -> None:
    claim = {"key": "claims.x", "text": "a claim", "strength": "moderate", "grass": "not named",
             "study": "plots", "conflict": "none read", "here": "nitrogen is given"}  # fmt: skip
    text = words(answer(more={"claims": [claim]}), course=FEN, full=True)
    for part in ("A claim", "moderate", "none read", "no product is advised"):
        assert part in text


def test_leaves_against_their_range() -> None:
    leaf = {"group": "group:A", "element": "K", "content": 1.9, "unit": "%", "low": 2.2,
            "high": 2.6, "verdict": "low"}  # fmt: skip
    text = words(answer(more={"leaf": [leaf]}), course=FEN, full=True)
    assert "Potassium" in text and "1.9 %" in text and "2.2–2.6" in text


@pytest.mark.parametrize(
    ("kilos", "metric", "us"),
    # by hand: / 0.45359237
    [(0.5, "0.5 kg", "1.1 lb"), (12.34, "12.3 kg", "27.2 lb"), (250.0, "250 kg", "551 lb")],
)
def test_masses_carry_the_digits_of_a_scale(kilos: float, metric: str, us: str) -> None:
    assert feeding.mass(kilos, FEN) == metric and feeding.mass(kilos, US) == us
