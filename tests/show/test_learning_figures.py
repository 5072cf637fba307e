"""Pictures of what was learned: their sentence and table against the answer, worked out again."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.base.estimate import normal_estimate
from greenwright.show import causes, judged, learned, ways
from greenwright.show.figures import frame
from greenwright.show.figures.ahead import ahead_figure, ahead_table
from greenwright.show.figures.bridge import bridge_figure
from greenwright.show.figures.coverage import coverage_figure
from greenwright.show.figures.coverage import finding as held_words
from greenwright.show.figures.decay import decay_figure
from greenwright.show.figures.differs import apart, differs_figure
from greenwright.show.figures.doubts import doubts_figure, reckonings
from greenwright.show.figures.effects import MOST, chosen, drawn, effects_figures
from greenwright.show.figures.ranges import Range, ranges_svg
from greenwright.show.figures.skill import finding as skill_words
from greenwright.show.figures.skill import skill_figure
from greenwright.show.formats import Scale
from tests.show import handmade
from tests.show import handmade_learning as made
from tests.show.handmade import FEET, METRES
from tests.show.reading_back import inches, numbers, places

INCH = 0.0254  # m, by definition
FEW = settings(max_examples=5, deadline=None)
SURE = 1.6449  # the normal quantile of 0.95


def texts(svg: str) -> list[str]:
    """Return every word of a drawing, a label of several lines word by word."""
    return [re.sub("<[^>]*>", "", t) for t in re.findall(r"<text.*?</text>", svg, re.DOTALL)]


def detail(act: str = "Roll") -> learned.Detail:
    answer = made.effects()
    rows = [*chosen(answer, "green_speed"), *chosen(answer, "smoothness")]
    return next(one for one in learned.details(answer, rows) if one.act == act)


# -- ranges and effects


def test_rows_are_drawn_with_their_lines_and_notes() -> None:
    held = normal_estimate(0.1, 0.02, "m")
    both = [Range(("One", "line"), k, held, ("note", "more")) for k in ("elsewhere", "here")]
    svg = ranges_svg(both, Scale("m"), frame.WIDE)
    assert svg.count("note") == 1 and "One" in svg and "line" in svg


def test_a_lopsided_range_keeps_its_mark_inside() -> None:
    odd = replace(normal_estimate(0.1, 0.01, "m"), value=0.3)
    svg = ranges_svg([Range(("x",), "here", odd)], Scale("m"), frame.NARROW)
    ticks = [t for t in texts(svg) if t.strip() and t != "x"]
    assert "+0.3" not in ticks  # the axis need not reach what lies outside the range


def test_the_verdict_stands_as_mark_and_word() -> None:
    figure = effects_figures(made.effects(), FEET)[0]
    for svg in (figure.svg, figure.svg_narrow):
        shown = " ".join(texts(svg))
        for told in ("● yes", "◐ partly", "○ cannot tell", "done on 96 days", "not done here"):
            assert told in shown
    words = [row[4] for row in figure.table.rows]
    assert words == ["Yes", "Partly", "We cannot tell yet"]


def test_a_crowd_of_practices_is_drawn_only_as_far_as_there_is_room() -> None:
    keys = ["roll", "brush", "verticut", "groom", "core", "feed", "topdress", "spike", "slit"]
    rows = [
        handmade.effect(key, "green_speed", 1, made.speed_part(n + 1, 1.0), n_events=n % 2)
        | {"dose": {"value": float(k), "unit": "pass"}}
        for k in (1, 2)
        for n, key in enumerate(keys)
    ]
    answer = replace(made.effects(), findings=tuple(rows))
    held = chosen(answer, "green_speed")
    shown = drawn(held)
    assert len(held) == 18 and len(shown) == MOST
    # eight are done here: they go before every larger one that is not
    assert sum(row["n_events"] for row in shown) == 8
    figure = effects_figures(answer, FEET)[0]
    assert len(figure.table.rows) == 18
    assert "9 more stand in the table only" in figure.description


# -- decay


def test_the_decay_tells_its_top_and_when_it_is_gone() -> None:
    one = detail()
    figure = decay_figure(one, learned.curve(made.effects(), one), FEET)
    # by hand: 6.2 in halved each day is under a tenth after 4 days (1/16)
    assert figure.finding == (
        "One act of roll changes it by +6.2 in (+4.7 to +7.7) the same day; next to nothing of it "
        "is left after 4 days."
    )
    assert len(figure.table.rows) == 6


def test_the_decay_does_not_say_gone_before_it_is() -> None:
    one = detail()
    points = learned.curve(made.effects(), one)[:3]
    told = decay_figure(one, points, FEET).finding
    # by hand: a quarter is left after two days
    assert "gone" not in told and "after 2 days it is +1.6 in" in told
    rising = [replace(p, day=5 - p.day) for p in reversed(points)]
    assert "had not begun to fade" in decay_figure(one, rising, FEET).finding
    assert decay_figure(one, points[:1], FEET) is None


# -- reckonings and greens


def test_every_way_to_reckon_has_its_row() -> None:
    figure = doubts_figure(detail(), METRES)
    told = {cells[0]: cells[1] for cells in figure.table.rows}
    assert len(told) == len(reckonings(detail())) == 7
    for name, inch, sd in (("Days with against without", 2.6, 0.5), ("Known from", 8.0, 2.4)):
        text = next(text for key, text in told.items() if key.startswith(name))
        step = 10.0 ** -places(text)
        wanted = [(inch + k * SURE * sd) * INCH for k in (0, -1, 1)]
        for printed, true in zip(numbers(text), wanted, strict=True):
            assert abs(printed - true) <= step / 2 + 1e-6
    assert doubts_figure(detail("Mow lower"), METRES) is None


def test_only_greens_whose_range_leaves_the_course_out_are_unlike_it() -> None:
    answer, one = made.effects(), detail()
    held = learned.by_green(answer, one)
    # by hand: green 7 lies 4.0 + 0.5 x (6 % 5 - 2) = 3.5 in off; half its range is 2.3 in
    assert [r["green"] for r in apart(one, held)] == ["7"]
    figure = differs_figure(one, held, FEET)
    assert "clearly unlike it: green 7 +10 in" in figure.finding
    assert "nothing tells the green" not in figure.description
    some = differs_figure(one, held[6:7], FEET, greens=handmade.GREENS)
    assert "nothing tells the green from the course" in some.description
    assert {"1", "7", "18"} <= set(texts(some.svg))
    calm = [row for row in held if row["green"] != "7"]
    assert differs_figure(one, calm, FEET).finding.startswith("No green is clearly unlike")
    assert differs_figure(one, [], FEET) is None


# -- the bridge


@FEW
@given(st.lists(st.floats(-6, 6), min_size=3, max_size=3))
def test_the_bridge_steps_from_then_to_now(moved: list[float]) -> None:
    names = ("work:roll", "weather", "unexplained")
    rows = [
        made.why_row(name, made.speed_part(m, 0.7)) for name, m in zip(names, moved, strict=True)
    ]
    total = made.speed_part(sum(moved), 1.0)
    answer = replace(made.why(), findings=(*rows, made.why_row("total", total)))
    (split,) = causes.splits(answer)
    figure = bridge_figure(split, FEET)
    step = 0.05 + 1e-9  # half widths of 1.15 in allow tenths of an inch
    printed = [numbers(cells[1])[0] if cells[1] != "none" else 0.0 for cells in figure.table.rows]
    for told, true in zip(printed, [*moved, sum(moved)], strict=True):
        assert abs(told - true) <= step


def test_the_bridge_says_what_pushed_up_and_what_down() -> None:
    (split,) = causes.splits(made.why())
    told = bridge_figure(split, FEET).finding
    assert told.startswith("Up: roll +3.0 in (+1.7 to +4.3) and mow +1.5 in")
    assert "; down: growth and season −1.2 in" in told and "; unexplained +1 in" in told


def test_the_bridge_names_both_ends() -> None:
    (split,) = causes.splits(made.why())
    figure = bridge_figure(split, FEET)
    shown = texts(figure.svg)
    assert shown.count("22 May") == 1 and "5 Jun" in shown and "9'1\"" in shown and "9'5\"" in shown
    (pair,) = causes.splits(made.why("7", "3"))
    assert {"Green 3", "Green 7"} <= set(texts(bridge_figure(pair, FEET).svg))


def test_without_levels_the_bridge_begins_at_nothing() -> None:
    (split,) = causes.splits(replace(made.why(), more={}))
    figure = bridge_figure(split, FEET)
    assert any(t.startswith("+") and t.endswith(" in") for t in texts(figure.svg))
    assert bridge_figure(replace(split, parts=()), FEET) is None


# -- ahead


def test_the_days_ahead_are_told_with_their_ranges() -> None:
    way, _ = ways.ways(made.forecast())
    table = ahead_table(way, FEET)
    assert [row[0] for row in table.rows][:2] == ["Sat 6", "Sun 7"]
    for cells, step in zip(table.rows, way.ahead, strict=True):
        half = (step.held.high - step.held.low) / 2 / INCH
        room = (0.5 if half < 6 else 1.5) + 1e-9
        wanted = (step.held.value, step.held.low, step.held.high)
        for printed, true in zip(inches(cells[1]), wanted, strict=True):
            assert abs(printed - true / INCH) <= room


def test_the_sentence_ahead_compares_with_today() -> None:
    way, smooth = ways.ways(made.forecast())
    # by hand: 112.8 - 4.2 = 108.6 in against 112.8 - 2.2 = 110.6 in today, 2.0 in of range
    told = ahead_figure(way, FEET).finding
    assert told == "Best guess for Friday 19 June: 2 in slower than today's 9'3\"."
    assert "about where it is today" in ahead_figure(smooth, FEET).finding
    bare = replace(way, past=())
    assert ahead_figure(bare, FEET).finding == "By Friday 19 June we expect 9'0\" (8'6\"–9'6\")."


def test_done_and_planned_work_stand_under_the_days() -> None:
    way, _ = ways.ways(made.forecast())
    figure = ahead_figure(way, FEET)
    assert {"Roll", "Topdress"} <= set(texts(figure.svg_narrow))
    assert "Roll" not in texts(ahead_figure(way, FEET, small=True).svg)
    assert "open where it is to come" in figure.description


def test_days_are_named_by_the_week_from_today() -> None:
    way, _ = ways.ways(made.forecast())
    shown = texts(ahead_figure(way, FEET).svg)
    assert [t for t in ("22 May", "29 May", "today", "12 Jun", "19 Jun") if t in shown] == [
        "22 May",
        "29 May",
        "today",
        "12 Jun",
        "19 Jun",
    ]


def test_quartiles_of_the_hand_made_days_are_those_of_a_normal() -> None:
    (way, _) = ways.ways(made.forecast())
    first = way.ahead[0]
    sd = 1.6 * INCH * (1 + 1 / 9)
    assert first.inner[1] - first.held.value == pytest.approx(NormalDist().inv_cdf(0.75) * sd)


# -- track


@FEW
@given(st.floats(0.5, 1.0))
def test_the_sentence_on_ranges_follows_the_share(share: float) -> None:
    told = held_words([judged.Held("green_speed", 0.9, share, 400)])
    assert f"held {round(100 * share)} times" in told
    assert told.endswith("as promised.") == (abs(share - 0.9) <= 0.03)
    assert ("narrow" in told) == (share < 0.87) and ("wider" in told) == (share > 0.93)


def test_ranges_held_are_tabled_by_quantity_and_promise() -> None:
    table = coverage_figure(made.track()).table
    assert table.rows[0] == ("Green speed", "50 of 100", "47 of 100", "240")
    assert table.rows[-1] == ("Smoothness", "95 of 100", "97 of 100", "90")
    assert coverage_figure(made.untracked()) is None


def test_skill_is_tabled_by_day_and_rule() -> None:
    figure = skill_figure(made.track(), "green_speed")
    assert figure.table.rows[0] == ("next day", "as today", "+31 %", "60")
    assert ("after 14 days", "usual for the season", "−4 %", "60") in figure.table.rows
    assert skill_figure(made.track(), "smoothness") is None


def test_the_best_rule_is_not_drawn_twice() -> None:
    rows = [
        made.track_row("skill", value, horizon_days=1, against=rule)
        for rule, value in (("persistence", 0.3), ("climatology", 0.1), ("best", 0.1))
    ]
    rows.append(made.track_row("skill", 0.2, horizon_days=3, against="best"))
    figure = skill_figure(replace(made.track(), findings=tuple(rows)), "green_speed")
    told = [row[:2] for row in figure.table.rows]
    assert told == [
        ("next day", "as today"),
        ("next day", "usual for the season"),
        ("after 3 days", "the best of them"),
    ]


def test_skill_everywhere_is_said_to_be_everywhere() -> None:
    held = [judged.Skill("green_speed", d, judged.BEST, 0.2 + d / 100, 30) for d in (1, 3, 7)]
    # the largest is 0.27, seven days ahead
    assert skill_words(held) == (
        "Against the best of the simple rules our miss was 27 % smaller 7 days ahead, and smaller "
        "at every distance judged."
    )


def test_only_the_foremost_work_is_marked_under_the_days() -> None:
    kinds = ("mow", "roll", "feed", "brush", "topdress", "irrigate", "verticut", "groom")
    done = [
        ways.Mark(made.ON - timedelta(days=d), kind, planned=False)
        for n, kind in enumerate(kinds)
        for d in range(1, 10 - n)
    ]
    coming = [ways.Mark(made.ON + timedelta(days=2), "groom", planned=True)]
    way, _ = ways.ways(made.forecast())
    shown = texts(ahead_figure(replace(way, work=(*done, *coming)), FEET).svg)
    # groom is planned; of the others the five done on most days
    names = ["Groom", "Mow", "Roll", "Feed", "Brush", "Topdress"]
    assert all(name in shown for name in names)
    assert "Irrigate" not in shown and "Verticut" not in shown


def test_a_part_too_small_to_print_is_in_the_table_only() -> None:
    rows = tuple(
        {**r, "estimate": made.speed_part(0.0, 0.001)} if r["part"] == "weather" else r
        for r in made.why().findings
    )
    (split,) = causes.splits(replace(made.why(), findings=rows))
    figure = bridge_figure(split, FEET)
    assert "Weather" not in texts(figure.svg) and "Mow" in texts(figure.svg)
    assert ("Weather", "none") in figure.table.rows
