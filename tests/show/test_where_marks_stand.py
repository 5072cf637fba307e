"""Marks stand where their numbers say: drawings read back in pixels against the answer."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.show import causes, judged, learned, ways
from greenwright.show.figures import frame
from greenwright.show.figures.ahead import ahead_figure
from greenwright.show.figures.bridge import bridge_figure
from greenwright.show.figures.coverage import coverage_figure
from greenwright.show.figures.decay import decay_figure
from greenwright.show.figures.differs import differs_figure
from greenwright.show.figures.doubts import doubts_figure, reckonings
from greenwright.show.figures.effects import chosen
from greenwright.show.figures.ranges import Range, ranges_svg
from greenwright.show.figures.skill import LOWEST, skill_figure
from greenwright.show.formats import Scale
from tests.show import drawn_svg as svg
from tests.show import handmade
from tests.show import handmade_learning as made
from tests.show.handmade import FEET, METRES

CLOSE = 0.02  # pixels


def sides(figure) -> list[str]:
    return [figure.svg, figure.svg_narrow]


def first_detail() -> learned.Detail:
    answer = made.effects()
    return learned.details(answer, chosen(answer, "green_speed"))[0]


def test_the_rule_itself_can_fail() -> None:
    assert svg.off_straight([0, 10, 20], [0, 1, 2]) == 0
    assert svg.off_straight([0, 12, 20], [0, 1, 2]) == pytest.approx(2)


# -- rows of ranges


@pytest.mark.parametrize("size", [frame.WIDE, frame.NARROW], ids=["wide", "narrow"])
def test_ranges_stand_at_their_values_and_reach_their_ends(size: frame.Size) -> None:
    values = [-0.3, 0.05, 0.2, 0.4]
    held = [normal_estimate(v, 0.05 + n / 50, "m") for n, v in enumerate(values)]
    rows = [Range((f"row {n}",), "here", one) for n, one in enumerate(held)]
    drawn = ranges_svg(rows, Scale("m"), size)
    dots = [mark for mark in svg.symbols(drawn) if mark.fill.lower() == frame.US]
    assert svg.off_straight([m.x for m in dots], values) < CLOSE
    lines = [m for m in svg.level_lines(drawn) if m.stroke.lower() == frame.US]
    ends = [x for m in lines for x in (m.x, m.x + m.run)]
    assert svg.off_straight([*ends, dots[0].x], [*_ends(held), values[0]]) < CLOSE
    assert [m.y for m in dots] == pytest.approx([m.y for m in lines])


def _ends(held: list[Estimate]) -> list[float]:
    return [end for one in held for end in (one.low, one.high)]


def test_elsewhere_stands_above_here_in_the_same_row() -> None:
    one, other = normal_estimate(0.1, 0.02, "m"), normal_estimate(0.2, 0.02, "m")
    rows = [Range(("act",), "elsewhere", one), Range(("act",), "here", other)]
    grey, blue = svg.symbols(ranges_svg(rows, Scale("m"), frame.WIDE))
    assert (grey.fill.lower(), blue.fill.lower()) == (frame.GREY, frame.US)
    assert grey.y < blue.y and grey.x < blue.x


def test_each_reckoning_stands_in_its_row() -> None:
    detail = first_detail()
    for drawn in sides(doubts_figure(detail, METRES)):
        found = svg.symbols(drawn)
        wanted = [one.value for _, _, one in reckonings(detail)]
        assert svg.off_straight([m.x for m in found], wanted) < CLOSE
        assert [m.y for m in found] == sorted(m.y for m in found)
        assert [m.fill.lower() for m in found][1:4] == [frame.OUTSIDE, frame.OUTSIDE, frame.US]


def test_greens_stand_in_playing_order_at_their_heights() -> None:
    detail = first_detail()
    held = learned.by_green(made.effects(), detail)
    for drawn in sides(differs_figure(detail, held, FEET)):
        found = svg.symbols(drawn)
        assert [m.x for m in found] == sorted(m.x for m in found) and len(found) == 18
        assert svg.off_straight([m.y for m in found], [r["here"].value for r in held]) < CLOSE


# -- the bridge


def test_each_part_begins_where_the_one_before_it_ended() -> None:
    (split,) = causes.splits(made.why())
    sizes = [part.held.value for part in split.parts]
    for drawn in sides(bridge_figure(split, FEET)):
        found = sorted(svg.bars(drawn), key=lambda m: m.y)
        scale = abs(found[0].run / sizes[0])  # pixels for a metre
        ends = [m for m in svg.symbols(drawn) if m.fill.lower() == frame.INK]
        place = ends[0].x
        for bar, size in zip(found, sizes, strict=True):
            left, right = sorted((place, place + scale * size))
            assert abs(bar.x - left) < CLOSE and abs(bar.x + bar.run - right) < CLOSE
            place += scale * size
        assert abs(place - ends[-1].x) < CLOSE  # the last part ends where it stands now


def test_work_is_blue_and_what_nothing_explains_an_outline() -> None:
    (split,) = causes.splits(made.why())
    found = sorted(svg.bars(bridge_figure(split, FEET).svg), key=lambda m: m.y)
    colours = [m.fill.lower() for m in found]
    assert colours[:4] == [frame.US, frame.US, frame.GREY, frame.GREY]
    assert found[4].stroke.lower() == frame.GREY


# -- the days ahead


@pytest.mark.parametrize("course", [FEET, METRES], ids=["ft", "m"])
def test_past_and_ahead_are_one_line_on_one_scale(course) -> None:
    way, _ = ways.ways(made.forecast())
    past, ahead = svg.ways(ahead_figure(way, course).svg)
    before = [step.held.value for step in way.past]
    coming = [before[-1], *(step.held.value for step in way.ahead)]
    pixels = [y for _, y in (*past, *ahead)]
    assert svg.off_straight(pixels, [*before, *coming]) < CLOSE
    days = [*range(-21, 1), *range(15)]
    assert svg.off_straight([x for x, _ in (*past, *ahead)], days) < CLOSE
    assert past[-1] == pytest.approx(ahead[0])


def test_more_is_higher_and_later_is_further_right() -> None:
    way, _ = ways.ways(made.forecast())
    (_, ahead) = svg.ways(ahead_figure(way, METRES).svg_narrow)
    assert ahead[1][1] < ahead[-1][1]  # it slows: lower on the page is a larger y
    assert [x for x, _ in ahead] == sorted(x for x, _ in ahead)


def test_work_stands_under_its_day() -> None:
    way, _ = ways.ways(made.forecast())
    drawn = ahead_figure(way, FEET).svg
    past, _ = svg.ways(drawn)
    step = (past[-1][0] - past[0][0]) / 21
    squares = [m for m in svg.marks(drawn) if frame.US in (m.fill.lower(), m.stroke.lower())]
    days = sorted(round((m.x - past[-1][0]) / step, 2) for m in squares)
    # rolled 1, 3, 5, 9 and 12 days ago, sanded 8 days ago, to be rolled in 2, 4 and 9 days
    assert days == pytest.approx([-12, -9, -8, -5, -3, -1, 2, 4, 9], abs=0.02)
    hollow = [m for m in squares if m.stroke.lower() == frame.US]
    assert all(m.x > past[-1][0] for m in hollow) and len(hollow) == 3


# -- decay and track


def test_what_is_left_of_an_act_is_drawn_day_by_day() -> None:
    detail = first_detail()
    points = learned.curve(made.effects(), detail)
    drawn = decay_figure(detail, points, METRES).svg
    lines = svg.ways(drawn)
    values = [[p.prior.low for p in points], [p.prior.high for p in points]]
    values += [[p.prior.value for p in points], [p.here.value for p in points]]
    assert len(lines) == 4
    pixels = [y for line in lines for _, y in line]
    assert svg.off_straight(pixels, [v for held in values for v in held]) < CLOSE


def test_held_and_promised_share_one_scale() -> None:
    every = judged.coverage(made.track(), "green_speed")
    answer = made.track()
    speed = tuple(r for r in answer.findings if r["quantity"] == "green_speed")
    figure = coverage_figure(replace(answer, findings=speed))
    for drawn in sides(figure):
        dots = [m for m in svg.symbols(drawn) if m.fill.lower() == frame.US]
        assert svg.off_straight([m.x for m in dots], [one.held for one in every]) < CLOSE
        ticks = [b for b in svg.bars(drawn) if b.fill.lower() == frame.INK]
        middles = [b.x + b.run / 2 for b in ticks]
        both = [*middles, *(m.x for m in dots)]
        wanted = [*(one.promised for one in every), *(one.held for one in every)]
        assert len(ticks) == 4 and svg.off_straight(both, wanted) < CLOSE


def test_a_rule_that_beat_us_is_a_triangle_left_of_the_line() -> None:
    drawn = skill_figure(made.track(), "green_speed").svg
    lost = [m for m in svg.symbols(drawn) if m.fill.lower() == frame.OUTSIDE]
    won = [m for m in svg.symbols(drawn) if m.fill.lower() == frame.US]
    assert len(lost) == 1 and len(won) == 15


def test_a_very_bad_day_is_drawn_at_the_edge_and_told_in_the_table() -> None:
    rows = [
        made.track_row("skill", value, horizon_days=1, against=rule)
        for rule, value in zip(judged.REFERENCES, (-7.5, LOWEST / 100, 0.2, 0.4), strict=True)
    ]
    figure = skill_figure(replace(made.track(), findings=tuple(rows)), "green_speed")
    worst, edge, *_ = svg.symbols(figure.svg)
    assert worst.x == pytest.approx(edge.x)
    assert figure.table.rows[0][2] == "−750 %"


def test_hatching_is_put_into_the_drawing_once() -> None:
    way, _ = ways.ways(made.forecast())
    drawn = ahead_figure(way, FEET).svg
    (name,) = re.findall(r'<pattern id="([^"]*)"', drawn)
    assert drawn.count(f"url(#{name})") == 1 == drawn.count("<defs>")
    assert frame.hatching(name) == f"url(#{name})"
    assert "<defs>" not in bridge_figure(causes.splits(made.why())[0], FEET).svg


def test_axes_of_changes_hold_no_change() -> None:
    for values in ([0.2, 0.4], [-0.4, -0.2], [0.0], [-1.0, 3.0]):
        axis = frame.changes_axis(values, Scale("m"))
        low, high = axis["scale"].domain
        assert low <= 0 <= high and low <= min(values) and high >= max(values)
        assert all(low <= tick <= high for tick in axis["axis"].values)


def test_handmade_greens_are_those_of_the_other_answers() -> None:
    assert made.effects().more["greens"] == handmade.GREENS
