"""The table and the sentence beside a picture, against the answer, worked out again here."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.values import Course
from greenwright.show.figures.effects import chosen, effects_figures
from greenwright.show.figures.greens import greens_figure
from greenwright.show.figures.paths import week_figures
from tests.show import handmade
from tests.show.handmade import FEET, METRES, US
from tests.show.reading_back import inches, numbers, places

INCH = 0.0254  # m, by definition
FEW = settings(max_examples=6, deadline=None)


def green_rows(quantity: str) -> list[dict]:
    found = handmade.today().findings
    return [r for r in found if r["quantity"] == quantity and r["green"] != "course"]


def ends(held: Estimate) -> tuple[float, float, float]:
    return held.value, held.low, held.high


def test_the_speed_table_holds_every_green_to_the_inch() -> None:
    table = greens_figure(handmade.today(), FEET, "green_speed", "").table
    assert [row[0] for row in table.rows] == list(handmade.GREENS)
    for cells, row in zip(table.rows, green_rows("green_speed"), strict=True):
        # half widths here are 1.645 x 2.4 in = 3.9 in: whole inches
        for printed, held in zip(inches(cells[1]), ends(row["estimate"]), strict=True):
            assert abs(printed - held / INCH) <= 0.5 + 1e-9


@pytest.mark.parametrize("course", [METRES, FEET, US], ids=["m", "ft", "us"])
@pytest.mark.parametrize("quantity", ["green_speed", "smoothness"])
def test_the_change_table_holds_every_change(course: Course, quantity: str) -> None:
    figure = greens_figure(handmade.today(), course, quantity, "")
    size = INCH if quantity == "green_speed" and course.speed_units == "ft" else 1.0
    for cells, row in zip(figure.table.rows, green_rows(quantity), strict=True):
        step = 10.0 ** -places(cells[2])
        for printed, held in zip(numbers(cells[2]), ends(row["change_7d"]), strict=True):
            assert abs(printed - held / size) <= step / 2 + 1e-9


@FEW
@given(st.lists(st.floats(2.2, 3.6), min_size=2, max_size=6))
def test_the_sentence_on_greens_is_true(speeds: list[float]) -> None:
    band = {"low": 2.75, "high": 3.05, "default": False}
    rows = [
        handmade.today_row(str(n), "green_speed", normal_estimate(s, 0.05, "m"), target=band)
        for n, s in enumerate(speeds, 1)
    ]
    answer = replace(handmade.today(), findings=tuple(rows))
    told = greens_figure(answer, METRES, "green_speed", "").finding
    slow, fast = min(range(len(speeds)), key=speeds.__getitem__), max(speeds)
    assert told.startswith(f"Slowest is green {slow + 1} with ")
    printed = numbers(told)
    assert abs(printed[1] - speeds[slow]) <= 0.006 and abs(printed[3] - fast) <= 0.006
    inside = sum(2.75 <= s <= 3.05 for s in speeds)
    word = {0: "none", len(speeds): "all"}.get(inside, str(inside))
    assert f"{word} of {len(speeds)} inside the target" in told


def test_a_green_outside_is_marked_by_shape_and_words() -> None:
    figure = greens_figure(handmade.today(), FEET, "green_speed", "")
    assert "A triangle points the way" in figure.description
    rows = tuple({**r, "in_target": None, "target": None} for r in handmade.today().findings)
    free = greens_figure(replace(handmade.today(), findings=rows), FEET, "green_speed", "")
    assert "target" not in free.description + free.finding


def paths() -> dict[str, list[dict]]:
    return {key: plan["by_day"] for key, plan in handmade.week().more["plans"].items()}


@pytest.mark.parametrize("quantity", ["green_speed", "smoothness"])
def test_the_week_table_holds_every_plan_and_day(quantity: str) -> None:
    held = {f.key: f for f in week_figures(handmade.week(), METRES)}
    table = held[f"week-{quantity.replace('_', '-')}"].table
    assert table.columns == ("Day", "Advised", "Usual work", "No work")
    order = ("advised", "usual", "nothing")
    assert len(table.rows) == 7
    for place, key in enumerate(order, 1):
        wanted = [r for r in paths()[key] if r["quantity"] == quantity]
        for cells, row in zip(table.rows, wanted, strict=True):
            text = cells[place].replace(" of 10", "")
            step = 10.0 ** -places(text)
            top = 10.0 if quantity == "smoothness" else 99.0
            for printed, true in zip(numbers(text), ends(row["estimate"]), strict=True):
                assert abs(printed - min(true, top)) <= step / 2 + 1e-9


def test_the_week_sentence_tells_the_last_day() -> None:
    told = week_figures(handmade.week(), METRES)[0].finding
    last = [[r for r in paths()[k] if r["quantity"] == "green_speed"][-1] for k in paths()]
    assert told.startswith("By Friday 12 June we expect")  # the seventh day after 5 June 2026
    for row in last:
        assert any(abs(n - row["estimate"].value) <= 0.051 for n in numbers(told))


def test_a_week_without_paths_draws_nothing() -> None:
    plans = {k: {**v, "by_day": []} for k, v in handmade.week().more["plans"].items()}
    bare = replace(handmade.week(), more={**handmade.week().more, "plans": plans})
    assert week_figures(bare, FEET) == ()
    assert week_figures(replace(bare, more={}), FEET) == ()


def test_a_plan_without_days_is_left_out() -> None:
    plans = dict(handmade.week().more["plans"])
    plans["usual"] = {**plans["usual"], "by_day": []}
    answer = replace(handmade.week(), more={**handmade.week().more, "plans": plans})
    figure = week_figures(answer, FEET)[0]
    assert figure.table.columns == ("Day", "Advised", "No work")
    assert "usual" not in figure.finding + figure.description


def test_the_week_ends_where_its_days_end() -> None:
    day = handmade.ON + timedelta(days=7)
    figure = week_figures(handmade.week(), FEET)[0]
    assert figure.table.rows[-1][0] == f"Fri {day.day}"


def test_effects_show_each_practice_at_its_strongest() -> None:
    held = chosen(handmade.effects(), "green_speed")
    # by hand: roll 8, 4, 2 in; mow 3.5 in; topdress -4, 0.5, 1.5 in: its largest is the loss
    assert [(r["practice"], r["horizon_days"]) for r in held] == [
        ("roll", 0),
        ("mow", 7),
        ("topdress", 2),
    ]


@pytest.mark.parametrize("outcome", ["green_speed", "smoothness"])
def test_the_effects_table_holds_both_ranges(outcome: str) -> None:
    figures = {f.key: f for f in effects_figures(handmade.effects(), METRES)}
    table = figures[f"effects-{outcome}".replace("_", "-")].table
    for cells, row in zip(table.rows, chosen(handmade.effects(), outcome), strict=True):
        for cell, held in ((cells[2], row["prior"]), (cells[3], row["here"])):
            step = 10.0 ** -places(cell)
            for printed, true in zip(numbers(cell), ends(held), strict=True):
                assert abs(printed - true) <= step / 2 + 1e-9


def test_only_effects_of_one_sign_are_called_clear() -> None:
    finding = effects_figures(handmade.effects(), FEET)[0].finding
    # by hand: roll 8 ± 3.6 in and mow 3.5 ± 1.6 in are above 0, topdress −4 ± 2.6 in below
    assert all(name in finding for name in ("roll", "mow lower", "topdress"))
    vague = tuple(
        {**r, "here": normal_estimate(0.01, 0.1, "m")} for r in handmade.effects().findings
    )
    shown = effects_figures(replace(handmade.effects(), findings=vague), FEET)[0].finding
    assert shown == "No practice here has an effect whose direction we are sure of."


@FEW
@given(st.lists(st.floats(-0.3, 0.3), min_size=3, max_size=3))
def test_the_sentence_on_effects_names_exactly_the_clear_ones(moved: list[float]) -> None:
    names = ("roll", "topdress", "brush")
    rows = [
        handmade.effect(name, "green_speed", 1, normal_estimate(m, 0.05, "m"))
        for name, m in zip(names, moved, strict=True)
    ]
    told = effects_figures(replace(handmade.effects(), findings=tuple(rows)), METRES)[0].finding
    for name, m in zip(names, moved, strict=True):
        # 1.6449: the normal quantile of 0.95
        assert (name in told) == (abs(m) > 1.6449 * 0.05)
