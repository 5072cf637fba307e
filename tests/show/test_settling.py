"""What would settle it: the section, the picture of who gets it when, and the words of the cost."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest

from greenwright.base.answer import Answer
from greenwright.base.estimate import normal_estimate
from greenwright.show import learned, page, words
from greenwright.show.figures.effects import chosen
from greenwright.show.figures.tosses import tosses_figure
from greenwright.show.pages.settling import TITLE, cost, outlook, settling
from tests.show import handmade_learning as made
from tests.show.handmade import FEET, METRES

START = date(2026, 6, 8)
GREENS = ["2", "5", "8", "9"]
SAND = {
    "way": "give",
    "greens": GREENS,
    "days": 3,
    "n": 1,
    "readings": 12,
    "minutes": 12.0,
    "spacing_days": 2,
    "read_after_days": [0],
    "mornings": [
        {
            "date": START + timedelta(days=2 * k),
            "given": GREENS[:2] if k % 2 == 0 else GREENS[2:],
            "left": GREENS[2:] if k % 2 == 0 else GREENS[:2],
        }
        for k in range(3)
    ],
    "changed": 6,
    "surface_cost": normal_estimate(-0.4, 0.2, "score"),
    "surface_cost_all": normal_estimate(-2.4, 1.2, "score"),
    "sd_before": 0.6,
    "sd_after": 0.2,
    "chance_yes": 0.9,
    "chance_clear": 0.6,
    "text": "From 2026-06-08, treat half of greens 2, 5, 8 and 9.",
}
NONE = {"greens": [], "days": 0, "n": 0, "readings": 0, "surface_cost": None,
        "text": "No comparison of up to six weeks would settle this here."}  # fmt: skip


def answer(trial: object = SAND) -> Answer:
    sand = {**made.LEARNED_SAND, "trial": trial}
    held = made.effects()
    return replace(held, more={**held.more, "learned": [made.LEARNED_ROLL, sand]})


def detail(trial: object = SAND) -> learned.Detail:
    held = answer(trial)
    found = learned.details(held, chosen(held, "smoothness"))
    return next(one for one in found if one.act == "Topdress")


def texts(svg: str) -> list[str]:
    return [re.sub("<[^>]*>", "", t) for t in re.findall(r"<text.*?</text>", svg, re.DOTALL)]


def section(held: Answer, course=FEET):
    return next(s for s in page(held, course, pictures=False).sections if s.title == TITLE)


def test_the_section_says_what_is_open_and_what_to_do() -> None:
    held = section(answer())
    assert held.sentences[0].startswith("Not settled yet: topdress.")
    assert "From 8 June 2026, treat half of greens 2, 5, 8 and 9." in held.sentences[0]
    (row,) = held.tables[0].rows
    assert row[0] == "Topdress, smoothness" and "greens 2, 5, 8 and 9" in row[1]
    assert "done on half of them" in row[1] and "3 mornings" in row[1] and row[2] == "12"
    assert "−0.4" in row[3] and "6 green-days" in row[3]
    # by hand: 1.645 x 0.2 = 0.33
    assert row[4].startswith("0.3") and row[5] == "about 6 in 10"


def test_where_nothing_would_do_that_is_said() -> None:
    held = section(answer(NONE))
    assert "Nothing of up to six weeks would settle topdress and smoothness." in held.sentences
    assert held.tables == ()


def test_without_a_comparison_there_is_no_section() -> None:
    bare = page(answer(None), FEET, pictures=False)
    assert TITLE not in [s.title for s in bare.sections]
    assert settling([detail(None)], FEET, pictures=True) is None


def test_what_is_settled_is_not_asked_again() -> None:
    held = detail()
    sure = replace(held, row={**held.row, "separable": "yes"})
    assert settling([sure], FEET, pictures=False) is None


def test_the_picture_has_a_mark_for_each_green_and_morning() -> None:
    figure = tosses_figure(detail())
    assert figure is not None and figure.key == "tosses-topdress-smoothness"
    for svg in (figure.svg, figure.svg_narrow):
        shown = texts(svg)
        assert {"8 Jun", "10 Jun", "12 Jun"} <= set(shown) and set(GREENS) <= set(shown)
    assert "2 of 4 greens get it on 3 mornings from Monday 8 June to Friday 12 June" in (
        figure.finding
    )
    assert figure.table.rows[1] == ("Wednesday 10 June", "greens 8 and 9", "greens 2 and 5")
    assert tosses_figure(detail(NONE)) is None


@pytest.mark.parametrize("count", [1, 2])
def test_one_and_two_mornings_are_told_plainly(count: int) -> None:
    figure = tosses_figure(detail({**SAND, "mornings": SAND["mornings"][:count], "days": count}))
    assert figure is not None
    told = {1: "get it on Monday 8 June.", 2: "the others on Wednesday 10 June."}
    assert figure.finding.endswith(told[count])


def test_days_may_be_written() -> None:
    written = [{**m, "date": m["date"].isoformat()} for m in SAND["mornings"]]
    figure = tosses_figure(detail({**SAND, "mornings": written}))
    assert figure is not None and figure.finding == tosses_figure(detail()).finding  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("way", "changed", "told"),
    [
        ("give", 6, "about 0.4 points less smoothness on 6 green-days"),
        ("give", 1, "on one green-day"),
        ("turns", 0, "on the greens that wait, while they wait"),
    ],
)
def test_the_cost_is_told_in_readings_hours_and_surface(way: str, changed: int, told: str) -> None:
    one = detail({**SAND, "way": way, "changed": changed})
    # under an hour, minutes are told as minutes
    text = cost(one.told["trial"], one, FEET)
    assert "12 readings" in text and "12 min of reading" in text and told in text


def test_what_it_would_tell_has_a_range_and_a_chance() -> None:
    one = detail()
    told = outlook(one.told["trial"], one, METRES)
    assert "0.3 points either way" in told and "about 6 in 10" in told
    assert outlook({}, one, METRES) == ""


def test_a_ratio_is_told_in_per_cent() -> None:
    held = {**SAND, "surface_cost": normal_estimate(0.9, 0.05, "1"), "sd_after": 0.05}
    changed = learned.as_changes(answer(held))
    sand = changed.more["learned"][1]
    # by hand: 0.9 times is 10 % less
    assert sand["trial"]["surface_cost"].value == pytest.approx(-10)
    assert sand["trial"]["surface_cost"].unit == "%"


def test_the_terminal_tells_it_too() -> None:
    text = words(answer(), course=FEET, full=True)
    assert TITLE in text and "Not settled yet: topdress." in text
