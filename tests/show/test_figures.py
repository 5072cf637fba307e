"""Pictures: each says in words what it draws, holds at both widths, and takes no style inline."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from greenwright.show import Figure, page
from greenwright.show.figures import frame
from greenwright.show.figures.frame import axis_values, room, step_for, themed
from greenwright.show.figures.greens import greens_figure
from greenwright.show.figures.paths import apart
from greenwright.show.formats import Scale
from tests.show import handmade, handmade_golfers, handmade_learning
from tests.show.handmade import FEET, METRES


def figures() -> list[Figure]:
    made = []
    answers = (
        handmade.today(),
        handmade.effects(),
        handmade.week(),
        handmade_golfers.golfers(),
        handmade_learning.effects(),
        handmade_learning.why(),
        handmade_learning.forecast(greens=("1", "2")),
        handmade_learning.track(),
    )
    for answer in answers:
        for course in (FEET, METRES):
            held = page(answer, course)
            made += [*held.figures, *(s.figure for s in held.sections if s.figure)]
    return made


FIGURES = figures()


def texts(svg: str) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", svg)


def test_every_page_has_its_pictures() -> None:
    # today 2, effects 2 and a decay, week 2, golfers 3; learned effects: 2 by outcome, decay,
    # reckonings, greens; why 1; forecast 2; track: ranges held, skill of speed
    assert len(FIGURES) == (2 + 3 + 2 + 3 + 5 + 1 + 2 + 2) * 2


@pytest.mark.parametrize("figure", FIGURES, ids=lambda f: f.key)
def test_every_picture_has_its_words_and_its_table(figure: Figure) -> None:
    assert figure.title and figure.description and figure.table.rows
    assert figure.finding.endswith(".") and re.search(r"\d|No practice", figure.finding)


@pytest.mark.parametrize("figure", FIGURES, ids=lambda f: f.key)
@pytest.mark.parametrize("width", ["wide", "narrow"])
def test_drawings_are_bare_and_fit(figure: Figure, width: str) -> None:
    svg = figure.svg if width == "wide" else figure.svg_narrow
    assert "style=" not in svg and " role=" not in svg and "<script" not in svg
    room_px = float(re.search(r'viewBox="0 0 ([\d.]+)', svg)[1])
    most = frame.WIDE.width if width == "wide" else frame.NARROW.width
    assert room_px <= most + 16
    sizes = [float(s) for s in re.findall(r'font-size="([\d.]+)px"', svg)]
    # drawn at about its own size, so the letters keep theirs
    assert min(sizes) >= 12 and room_px >= 0.6 * most


@pytest.mark.parametrize("figure", FIGURES, ids=lambda f: f.key)
def test_only_the_house_colours_are_used(figure: Figure) -> None:
    used = set(re.findall(r'"(#[0-9a-fA-F]{3,6})"', figure.svg))
    assert {c.lower() for c in used} <= set(frame.THEME)
    paints = re.findall(r'(?:fill|stroke)="([^"]*)"', themed(figure.svg))
    hatchings = set(re.findall(r'<pattern id="([^"]*)"', figure.svg))
    assert {p[5:-1] for p in paints if p.startswith("url(#")} == hatchings
    assert "#" not in "".join(p for p in paints if not p.startswith("url(#"))


def test_hatchings_have_names_of_their_own() -> None:
    # the drawing for the phone stands on the same page as the one for the laptop
    held = handmade_learning.forecast(greens=("1",))
    drawn = [svg for f in page(held, FEET).figures for svg in (f.svg, f.svg_narrow)]
    names = [name for svg in drawn for name in re.findall(r'<pattern id="([^"]*)"', svg)]
    assert len(names) == len(set(names)) == 4


def test_greens_stand_in_playing_order_with_their_levels() -> None:
    figure = greens_figure(handmade.today(), FEET, "green_speed", "")
    heads = [t for t in texts(figure.svg) if re.match(r"\d+: ", t.replace("\u00a0", " "))]
    assert [h.split(":")[0] for h in heads] == list(handmade.GREENS)


def test_the_odd_green_is_found_in_the_data() -> None:
    figure = greens_figure(handmade.today(), FEET, "green_speed", "")
    # by hand: green 7 at 9.3 - 1.0 = 8.3 ft = 99.6 in; greens 6 and 13 at 9.66 ft = 115.9 in
    assert figure.finding == (
        "Slowest is green 7 with 8'4\", fastest green 13 with 9'8\"; "
        "17 of 18 inside the target by our best guess."
    )


def test_a_finding_follows_the_data() -> None:
    moved = tuple(
        {**r, "estimate": handmade.speed(11.0, 2.0)} if r["green"] == "3" else r
        for r in handmade.today().findings
    )
    figure = greens_figure(replace(handmade.today(), findings=moved), FEET, "green_speed", "")
    assert "fastest green 3 with 11'0\"; 16 of 18" in figure.finding


def test_no_picture_of_what_no_green_has() -> None:
    assert greens_figure(handmade.today(), FEET, "moisture", "") is None


def test_one_read_green_is_said_to_be_the_only_one() -> None:
    figure = greens_figure(handmade.today(("4",)), FEET, "green_speed", "")
    assert figure.finding.startswith("Only green 4 with")


def test_week_finding_tells_all_three_plans() -> None:
    figure = page(handmade.week(), FEET).figures[0]
    # by hand: 9.3 + 7 x 0.06 = 9.72 ft; + 7 x 0.02 = 9.44 ft; 9.2 - 0.84 = 8.36 ft
    assert re.search(
        r"9'9\" .* as advised, 9'6\" .* usual work and 8'3\" .* no work", figure.finding
    )


def test_ticks_of_feet_are_whole_inches_that_divide_a_foot() -> None:
    feet = Scale(feet=True)
    assert [step_for(span, feet) for span in (3, 10, 22, 40, 100)] == [1, 3, 6, 12, 36]
    assert axis_values(97, 116, 6) == [96, 102, 108, 114, 120]


def test_a_domain_holds_the_data_and_its_ticks() -> None:
    domain, ticks = room(7.2, 8.6, 0.5)
    assert domain[0] < 7.2 and domain[1] > 8.6
    assert ticks == [7.5, 8.0, 8.5]


def test_labels_are_moved_apart() -> None:
    placed = apart({"a": 1.0, "b": 1.0, "c": 1.0}, 0.5)
    assert placed == {"a": 1.0, "b": 1.5, "c": 2.0}
