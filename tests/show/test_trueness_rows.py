"""Trueness on the page Today: millimetres sideways, never metres of the index."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.show import formats, page, rows, terms, words
from greenwright.show.figures.greens import greens_figure
from greenwright.show.prose import prose
from tests.show import handmade
from tests.show.handmade import FEET, METRES, US

BAND = {"low": None, "high": 6.0, "default": True}
INDEX = normal_estimate(4e-6, 1e-6, "m")


def true_row(green: str, across: float, **more: object) -> dict:
    beside = normal_estimate(across, 0.6, "mm/m")
    held = {"sideways_mm_per_m": beside, "target": BAND, "change_7d": None}
    return {**handmade.today_row(green, "trueness", INDEX), **held, **more}


def with_trueness(**more: object) -> Answer:
    """Return today with trueness read on every green; green 7 is the least true."""
    found = [true_row("course", 5.0, between_greens_sd=None, odd_greens=[], **more)]
    found += [true_row(g, 8.0 if g == "7" else 4.0 + int(g) / 20) for g in handmade.GREENS]
    answer = handmade.today()
    return replace(answer, findings=(*answer.findings, *found))


def test_the_index_in_metres_is_never_printed() -> None:
    text = words(with_trueness(), course=FEET, full=True)
    # by hand: 5.0 +- 1.645 x 0.6 = 4.0 to 6.0
    assert "5.0 mm/m (4.0–6.0)" in text
    assert "0.00 m" not in text and "e-06" not in text


def test_trueness_stands_after_speed_and_smoothness() -> None:
    labels = [r["quantity"] for r in rows.course_rows(with_trueness())]
    assert labels == ["green_speed", "smoothness", "trueness", "moisture"]


def test_it_is_drawn_green_by_green_with_its_target_and_its_meaning() -> None:
    figure = greens_figure(with_trueness(), FEET, "trueness", "")
    # by hand: 4.05 on green 1 to 4.9 on green 18, 8.0 on green 7, which alone is over 6
    assert figure.finding.startswith("Truest is green 1 with 4.")
    assert "least true green 7 with 8.0" in figure.finding
    assert "17 of 18 inside the target" in figure.finding
    assert figure.description.endswith("the less, the truer.") and "(mm/m)" in figure.description


def test_the_page_has_its_picture_and_says_what_it_is() -> None:
    made = page(with_trueness(), FEET)
    assert "Trueness on each green" in [s.title for s in made.sections]
    assert terms.SIDEWAYS in made.how_we_know
    assert terms.SIDEWAYS not in page(handmade.today(), FEET, pictures=False).how_we_know


def test_the_target_is_told_in_the_same_unit() -> None:
    assert (
        formats.band(None, 6.0, unit="mm/m", quantity="trueness", course=FEET) == "at most 6 mm/m"
    )
    # by hand: 6 mm in 1000 mm is 0.72 in in 120 in
    told = formats.band(None, 6.0, unit="mm/m", quantity="trueness", course=US)
    assert told == "at most 0.72 in per 10 ft"


def test_a_change_of_the_index_is_told_as_one_of_what_a_ball_does() -> None:
    # by hand: the index was a quarter of today's, so balls ended half as far apart: 5 - 2.5
    moved = Estimate(3e-6, "m", 1e-7, 3e-6, 3e-6)
    row = rows.as_read(true_row("1", 5.0, change_7d=moved))
    assert row["change_7d"].value == pytest.approx(2.5) and row["change_7d"].unit == "mm/m"
    assert rows.as_read(true_row("1", 5.0))["change_7d"] is None


@given(st.floats(1e-8, 1e-4), st.floats(-1e-4, 1e-4), st.floats(0.1, 40))
def test_changes_keep_their_side_and_never_exceed_today(
    index: float, moved: float, across: float
) -> None:
    held = {
        "estimate": Estimate(index, "m", 0.0, index, index),
        "change_7d": Estimate(moved, "m", 0.0, moved, moved),
    }
    change = rows.as_read(true_row("1", across, **held))["change_7d"].value
    assert (change > 0) == (moved > 0) or abs(change) < 1e-9
    assert change <= across + 1e-9


def test_an_index_of_nothing_has_no_change() -> None:
    none = Estimate(0.0, "m", 0.0, 0.0, 0.0)
    assert rows.as_read(true_row("1", 0.0, estimate=none, change_7d=INDEX))["change_7d"] is None


def test_other_rows_are_left_as_they_are() -> None:
    for row in handmade.today().findings:
        assert rows.as_read(row) is row
    bare = handmade.today_row("1", "trueness", INDEX)
    assert rows.as_read(bare) is bare  # an answer that does not tell it in millimetres


def test_bounds_of_the_index_do_not_cut_millimetres() -> None:
    wide = normal_estimate(12.0, 2.0, "mm/m")
    # by hand: 12 +- 3.3; the index ends at 1 m
    assert formats.level(wide, "trueness", METRES) == "12 mm/m (9–15)"


@pytest.mark.parametrize(
    ("course", "told"), [(FEET, "6 mm/m sideways"), (US, "0.72 in per 10 ft sideways")]
)
def test_sentences_of_the_answer_speak_the_course_s_units(course: object, told: str) -> None:
    assert prose("6 mm/m sideways", course) == told
