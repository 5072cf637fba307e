"""Ticks, domains and the cleaning of a drawing: true for any data, not only the demo's."""

from __future__ import annotations

import itertools
import re
from math import isclose

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from greenwright.show.figures import frame
from greenwright.show.figures.paths import apart
from greenwright.show.formats import Scale

FEET, PLAIN = Scale(feet=True), Scale()
SPANS = st.floats(0.02, 900)
WANTED = st.integers(3, 6)


@given(SPANS, WANTED)
def test_steps_are_round_and_few(span: float, wanted: int) -> None:
    step = frame.step_for(span, PLAIN, wanted=wanted)
    lead = float(f"{step:.0e}".split("e", maxsplit=1)[0])
    assert lead in (1, 2, 5) and span / step <= wanted
    # a step of the row below would be too many: 5 is at most 2.5 times the one before it
    assert span / step > wanted / 2.5 - 1e-9 or isclose(step, 0.001)


@given(st.floats(1, 140), WANTED)
def test_steps_of_feet_divide_a_foot_or_are_feet(span: float, wanted: int) -> None:
    step = frame.step_for(span, FEET, wanted=wanted)
    assert 12 % step == 0 or step % 12 == 0
    assert span / step <= wanted or step == 36


@given(st.floats(-500, 500), st.just(0.0) | st.floats(0.01, 500), WANTED)
def test_a_domain_holds_its_data_with_room(low: float, span: float, wanted: int) -> None:
    high = low + span
    step = frame.step_for(span, PLAIN, wanted=wanted)
    (bottom, top), ticks = frame.room(low, high, step)
    assert bottom < low + 1e-6 and top > high - 1e-6 and bottom < top
    assert all(bottom <= t <= top for t in ticks)
    assert all(isclose(t / step, round(t / step), abs_tol=1e-4) for t in ticks)


@given(st.floats(-100, 100), st.floats(0.5, 100))
def test_ticks_are_even_and_hold_the_data_between_them(low: float, span: float) -> None:
    step = frame.step_for(span, PLAIN)
    ticks = frame.axis_values(low, low + span, step)
    assert ticks[0] <= low + 1e-6 and ticks[-1] >= low + span - 1e-6
    gaps = {round((b - a) / step, 4) for a, b in itertools.pairwise(ticks)}
    assert gaps == {1.0}


@given(st.lists(st.floats(0, 100), min_size=1, max_size=3), st.floats(0.1, 20))
def test_labels_keep_their_order_and_their_distance(ends: list[float], gap: float) -> None:
    names = dict(zip("abc", ends, strict=False))
    placed = apart(names, gap)
    assert set(placed) == set(names)
    by_height = sorted(placed, key=placed.__getitem__)
    for under, over in itertools.pairwise(by_height):
        assert placed[over] - placed[under] >= gap - 1e-9
        assert names[under] <= names[over] + 1e-9


@given(st.dictionaries(st.sampled_from("abc"), st.floats(0, 100), min_size=1))
def test_labels_with_room_stay_where_they_are(names: dict[str, float]) -> None:
    heights = sorted(names.values())
    assume(all(b - a > 1 for a, b in itertools.pairwise(heights)))
    assert apart(names, 1.0) == pytest.approx(names)


SVG = (
    '<svg class="marks" width="9" viewBox="0 0 9 9" style="x"><rect width="9" '
    'fill="transparent"/><g role="graphics-symbol" aria-label="secret"><path d="" class="p"/>'
    '<path d="M0,0h1" fill="#0072b2"/><text fill="#1A1A1A">9\'5"</text></g></svg>'
)


def test_a_drawing_is_cleaned_of_roles_and_empty_marks() -> None:
    clean = frame.tidy(SVG)
    assert clean.startswith('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">')
    assert not re.search(r"role=|aria-|class=|transparent|secret|d=\"\"|style=", clean)
    assert 'd="M0,0h1"' in clean and "9'5\"" in clean


def test_colours_are_handed_to_the_page_whatever_their_case() -> None:
    told = frame.themed(frame.tidy(SVG))
    assert 'fill="var(--us)"' in told and 'fill="var(--ink)"' in told and "#" not in told


@pytest.mark.parametrize(
    ("scale", "words"),
    [
        (FEET, "feet and inches"),
        (Scale("m"), "m"),
        (Scale(of="10"), "of 10"),
        (PLAIN, ""),
    ],
)
def test_units_in_words(scale: Scale, words: str) -> None:
    assert frame.unit_words(scale) == words


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]  # WCAG 2.2, definition


@pytest.mark.parametrize("colour", [frame.INK, frame.GREY, frame.US])
def test_what_is_written_can_be_read_on_paper(colour: str) -> None:
    assert 1.05 / (luminance(colour) + 0.05) >= 4.5  # WCAG 2.2, 1.4.3


@pytest.mark.parametrize("colour", [frame.OUTSIDE, frame.US, frame.GREY])
def test_what_is_drawn_can_be_seen_on_paper(colour: str) -> None:
    assert 1.05 / (luminance(colour) + 0.05) >= 3.0  # WCAG 2.2, 1.4.11
