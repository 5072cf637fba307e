"""Pictures of weather read back: marks stand where the numbers are, in both sizes."""

from __future__ import annotations

import re
from datetime import timedelta
from functools import cache
from itertools import pairwise

import pytest

from greenwright.show.figures import frame
from greenwright.show.figures.season import season_figure, week_of
from greenwright.show.figures.strips import regulator_figure, risk_figure
from greenwright.show.figures.thirst import thirst_figure
from greenwright.show.page import Figure
from tests.show import handmade_weather as made
from tests.show.drawn_svg import attributes
from tests.show.handmade import FEET, ON, US

SIDES = ("svg", "svg_narrow")
NUMBER = r"-?\d+(?:\.\d+)?"


@cache
def thirst() -> Figure:
    """Return the picture of water, drawn once."""
    return thirst_figure(made.water(), ON, FEET)


@cache
def regulator() -> Figure:
    """Return the picture of the regulator, drawn once."""
    found = regulator_figure(made.findings(), made.use(), ON)
    assert found is not None
    return found


@cache
def risk() -> Figure:
    """Return the strips of risk, drawn once."""
    found = risk_figure(made.findings(), made.RISKS, ON)
    assert found is not None
    return found


def tags(svg: str, name: str) -> list[dict[str, str]]:
    """Return the attributes of every tag of a kind."""
    return [attributes(tag) for tag in re.findall(rf"<{name}\b[^>]*>", svg)]


def lines(svg: str, colour: str) -> list[list[tuple[float, float]]]:
    """Return the points of every drawn line of a colour that is not filled."""
    found = []
    for held in tags(svg, "path"):
        if held.get("stroke", "").lower() != colour or held.get("fill") not in (None, "none"):
            continue
        points = re.findall(rf"[ML]({NUMBER}),({NUMBER})", held.get("d", ""))
        if len(points) > 1:
            found.append([(float(x), float(y)) for x, y in points])
    return found


def words_at(svg: str) -> dict[str, tuple[float, float]]:
    """Return where each word of a drawing stands in its own group, the last of each."""
    found = {}
    for tag, word in re.findall(r"(<text[^>]*>)([^<]*)</text>", svg):
        at = re.search(rf"translate\(({NUMBER}),({NUMBER})\)", tag)
        if at:
            found[word] = (float(at[1]), float(at[2]))
    return found


@pytest.mark.parametrize("side", SIDES)
def test_the_line_of_water_falls_with_the_deficit(side: str) -> None:
    svg = getattr(thirst(), side)
    behind = max(lines(svg, frame.INK), key=len)
    assert len(behind) == 11  # by hand: ten days before ON, and ON
    # 2 mm more each day from the fourth day before: equal steps down the page
    steps = [b[1] - a[1] for a, b in pairwise(behind[-5:])]
    assert steps[0] > 0 and steps == pytest.approx([steps[0]] * 4, abs=0.05)
    ahead = max(lines(svg, frame.US), key=len)
    assert len(ahead) == made.AHEAD + 1 and ahead[0] == pytest.approx(behind[-1], abs=0.05)


@pytest.mark.parametrize("side", SIDES)
def test_the_refill_line_stands_at_its_depth(side: str) -> None:
    svg = getattr(thirst(), side)
    behind = max(lines(svg, frame.INK), key=len)
    millimetre = (behind[-1][1] - behind[-2][1]) / 2
    # by hand: 16 mm lies 8 mm under today's 8 mm
    expected = behind[-1][1] + 8 * millimetre
    rules = [
        float(at[2])
        for tag in re.findall(r"<line[^>]*>", svg)
        if (at := re.search(rf"translate\(({NUMBER}),({NUMBER})\)", tag))
        and attributes(tag).get("stroke", "").lower() == frame.INK
        and float(attributes(tag).get("x2", "0")) != 0
    ]
    assert any(y == pytest.approx(expected, abs=0.6) for y in rules)


def test_every_reading_day_has_its_dot() -> None:
    water = made.water()
    for row in water["daily"]:
        row["read"] = 1 if row["date"] <= ON and row["date"].day % 2 else 0
    expected = sum(bool(row["read"]) for row in water["daily"])
    svg = thirst_figure(water, ON, FEET).svg
    dots = [
        held
        for held in tags(svg, "path")
        if held.get("fill", "").lower() == frame.INK and held.get("transform") and "A" in held["d"]
    ]
    assert len(dots) == expected


def test_inches_and_millimetres_draw_the_same_line() -> None:
    heights = []
    for course in (FEET, US):
        line = max(lines(thirst_figure(made.water(), ON, course).svg, frame.INK), key=len)
        top, bottom = line[0][1], line[-1][1]
        heights.append([(y - top) / (bottom - top) for _, y in line])
    assert heights[0] == pytest.approx(heights[1], abs=0.02)


@pytest.mark.parametrize("side", SIDES)
def test_growth_stands_higher_the_fuller_it_is(side: str) -> None:
    year = [{**row, "value": i / 60} for i, row in enumerate(made.year())]
    svg = getattr(season_figure(year, ON, grass="x"), side)
    seen = max(lines(svg, frame.INK), key=len)
    heights = [y for _, y in seen]
    assert heights == sorted(heights, reverse=True)
    steps = [a[1] - b[1] for a, b in pairwise(seen)]
    assert steps == pytest.approx([steps[0]] * len(steps), abs=0.05)  # equal rises, equal steps


def test_the_week_of_a_day() -> None:
    year = made.year()
    now = week_of(year, ON)
    assert now is not None and now["date"] <= ON <= now["until"]
    assert week_of(year, ON - timedelta(days=400)) is None


@pytest.mark.parametrize("side", SIDES)
def test_what_is_left_halves_as_it_should(side: str) -> None:
    figure = regulator()
    behind = max(lines(getattr(figure, side), frame.INK), key=len)
    assert len(behind) == 10  # applied nine days ago, a point a day
    # by hand: 0.5^(20·k/145): the share of the way down from 1 after k days
    full, foot = behind[0][1], behind[0][1] + 150 / 1.02
    found = [(foot - y) / (foot - full) for _, y in behind]
    assert found == pytest.approx([0.5 ** (20 * k / 145) for k in range(10)], abs=0.01)


def test_states_run_as_many_days_as_they_last() -> None:
    figure = regulator()
    places = words_at(figure.svg)
    first, second, third = (places[w][0] for w in ("held back", "fading", "may rebound"))
    # by hand: 200 degree days on the 10th day, 250 on the 13th (of 20 a day)
    assert (third - second) / (second - first) == pytest.approx(3 / 10, abs=0.02)


@pytest.mark.parametrize("side", SIDES)
def test_as_many_squares_as_risk_days(side: str) -> None:
    figure = risk()
    svg = getattr(figure, side)
    risky = sum(bool(r["above_threshold"]) for r in made.findings()
                if r["quantity"].startswith("risk:"))  # fmt: skip
    asked = sum(r["quantity"].startswith("risk:") for r in made.findings())
    squares = [h for h in tags(svg, "path") if h.get("fill", "").lower() == frame.OUTSIDE]
    rings = [h for h in tags(svg, "path")
             if h.get("stroke", "").lower() == frame.GREY and "A" in h.get("d", "")]  # fmt: skip
    assert risky == 2 and len(squares) == risky and len(rings) == asked - risky


def test_drawings_hold_no_other_colour_than_the_house_s() -> None:
    house = {c.lower() for c in frame.THEME} | {"none", "transparent"}
    figures = [
        thirst(),
        season_figure(made.year(), ON, grass="x"),
        regulator(),
        risk(),
    ]
    for figure in figures:
        for svg in (figure.svg, figure.svg_narrow):
            used = {c.lower() for c in re.findall(r'(?:fill|stroke)="([^"]*)"', svg)}
            assert {c for c in used if not c.startswith("url(")} <= house
            assert "style=" not in svg
