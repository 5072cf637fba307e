"""Reading the rows of why, forecast, track and effects: order, sums, what is missing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.estimate import normal_estimate
from greenwright.show import causes, judged, learned, rows, ways
from greenwright.show.figures.effects import chosen
from tests.show import handmade
from tests.show import handmade_learning as made
from tests.show.handmade import ON

INCH = 0.0254  # m, by definition

# -- causes


def test_parts_stand_in_order_and_empty_ones_are_left_out() -> None:
    (split,) = causes.splits(made.why())
    # work by size, then weather, growth, unexplained; the green itself is nothing at all here
    assert [part.name for part in split.parts] == [
        "Roll",
        "Mow",
        "Weather",
        "Growth and season",
        "Unexplained",
    ]
    assert sum(part.held.value for part in split.parts) == pytest.approx(split.total.value)
    assert split.then.value + split.total.value == pytest.approx(split.now.value)


def test_the_largest_part_is_never_the_unexplained_one() -> None:
    rows_ = tuple(
        {**r, "estimate": made.speed_part(9.0, 1.0)} if r["part"] == "unexplained" else r
        for r in made.why().findings
    )
    (split,) = causes.splits(replace(made.why(), findings=rows_))
    assert [p.key for p in split.largest()][:2] == ["work:roll", "work:mow"]


def test_two_greens_take_their_levels_from_the_same_day() -> None:
    (split,) = causes.splits(made.why("7", "3"))
    assert (split.green, split.against) == ("7", "3")
    assert split.now.value - split.then.value == pytest.approx(3.5 * INCH)


def test_a_change_without_its_total_is_not_told() -> None:
    bare = tuple(r for r in made.why().findings if r["part"] != "total")
    assert causes.splits(replace(made.why(), findings=bare)) == ()


def test_levels_may_be_missing() -> None:
    (split,) = causes.splits(replace(made.why(), more={}))
    assert split.then is None and split.now is None and split.against == ""


def test_speed_is_told_before_the_rest() -> None:
    wet = tuple({**r, "quantity": "moisture"} for r in made.why().findings)
    smooth = tuple({**r, "quantity": "smoothness"} for r in made.why().findings)
    both = (*wet, *smooth, *made.why().findings)
    found = causes.splits(replace(made.why(), findings=both))
    assert [s.quantity for s in found] == ["green_speed", "smoothness", "moisture"]


# -- ways


def test_a_way_holds_its_days_past_and_ahead() -> None:
    speed, smooth = ways.ways(made.forecast())
    assert (speed.quantity, smooth.quantity) == ("green_speed", "smoothness")
    assert [s.day for s in speed.ahead] == [ON + timedelta(days=k) for k in range(1, 15)]
    assert (speed.past[0].day, speed.past[-1].day) == (ON - timedelta(days=21), ON)
    assert len(speed.read) == 7 and smooth.read == ()
    assert (speed.band.low, speed.band.high) == (2.75, 3.05)
    assert speed.after(7).day == ON + timedelta(days=7) and speed.after(15) is None


def test_what_holds_half_of_the_time_lies_inside_the_range() -> None:
    for way in ways.ways(made.forecast()):
        for step in way.ahead:
            low, high = step.inner
            assert step.held.low < low < step.held.value < high < step.held.high


def test_shares_are_read_however_they_are_written() -> None:
    held = made.forecast()
    told = tuple(
        {**r, "quantiles": {"0.250": r["quantiles"]["0.25"], "0.75": r["quantiles"]["0.75"]}}
        for r in held.findings
    )
    assert ways.ways(replace(held, findings=told)) == ways.ways(held)
    none = tuple({**r, "quantiles": None} for r in held.findings)
    assert all(s.inner is None for w in ways.ways(replace(held, findings=none)) for s in w.ahead)


def test_work_of_other_greens_is_not_marked_on_a_green() -> None:
    held = made.forecast()
    mine = {"date": ON, "practice": "roll", "greens": ["3"], "status": "done"}
    other = {**mine, "greens": ["4"]}
    quiet = {**mine, "practice": "hole_change"}
    held = replace(held, more={**held.more, "work": [mine, other, quiet]})
    assert len(ways.ways(held)[0].work) == 2
    (way, _) = ways.ways(held, "3")
    assert [mark.greens for mark in way.work] == [("3",)]


def test_only_days_after_today_are_ahead() -> None:
    held = made.forecast()
    today = {**held.findings[0], "date": ON}
    assert ways.ways(replace(held, findings=(today,))) == ()


@pytest.mark.parametrize(
    ("planned", "told"),
    [
        ((), "no work at all"),
        ((("roll", 1),), "roll on one day"),
        ((("roll", 1), ("roll", 3), ("topdress", 2)), "roll on 2 days and topdress on one day"),
        ((("roll", -2),), "no work at all"),
    ],
)
def test_planned_work_in_words(planned: tuple, told: str) -> None:
    marks = tuple(ways.Mark(ON + timedelta(days=d), key, planned=True) for key, d in planned)
    way = ways.Way("course", "green_speed", "", ON, (), (), work=marks)
    assert ways.planned_words(way) == told


# -- judged


def test_promises_of_all_quantities_are_weighed_by_their_readings() -> None:
    every = judged.coverage(made.track())
    assert [one.promised for one in every] == [0.5, 0.8, 0.9, 0.95]
    # by hand: (240 x 0.47 + 90 x 0.49) / 330
    assert every[0].held == pytest.approx((240 * 0.47 + 90 * 0.49) / 330) and every[0].n == 330


@given(st.lists(st.tuples(st.floats(0, 1), st.integers(1, 500)), min_size=1, max_size=5))
def test_a_share_over_days_lies_between_those_of_the_days(held: list[tuple[float, int]]) -> None:
    found = tuple(
        made.track_row("coverage", share, level=0.9, n=n, horizon_days=d)
        for d, (share, n) in enumerate(held)
    )
    (one,) = judged.coverage(replace(made.track(), findings=found))
    shares = [share for share, _ in held]
    assert min(shares) - 1e-12 <= one.held <= max(shares) + 1e-12
    assert one.n == sum(n for _, n in held)


def test_a_row_over_all_days_stands_for_its_days() -> None:
    days = [made.track_row("coverage", 0.5, level=0.9, horizon_days=d, n=10) for d in (1, 3)]
    whole = made.track_row("coverage", 0.8, level=0.9, n=20)
    (one,) = judged.coverage(replace(made.track(), findings=(*days, whole)))
    assert (one.held, one.n) == (0.8, 20)


def test_skill_stands_by_day_and_rule() -> None:
    held = judged.skills(made.track(), "green_speed")
    assert [one.days for one in held] == [d for d in (1, 3, 7, 14) for _ in range(4)]
    assert [one.against for one in held[:4]] == list(judged.REFERENCES)
    # by hand, the least of each day: 0.31, 0.26, 0.17, -0.04
    hardest = judged.worst_rule(held)
    assert [hardest[d].value for d in (1, 3, 7, 14)] == [0.31, 0.26, 0.17, -0.04]


def test_the_skill_over_the_best_rule_is_taken_where_it_is_told() -> None:
    found = (
        made.track_row("skill", 0.3, horizon_days=1, against="persistence"),
        made.track_row("skill", 0.28, horizon_days=1, against="best"),
    )
    held = judged.skills(replace(made.track(), findings=found), "green_speed")
    assert judged.worst_rule(held)[1].value == 0.28


def test_rows_without_a_value_are_not_judged() -> None:
    none = tuple({**r, "value": None, "n": 0} for r in made.track().findings)
    held = replace(made.track(), findings=none)
    assert judged.coverage(held) == [] and judged.skills(held, "green_speed") == []
    assert judged.errors(held, "green_speed") == [] and judged.gain(held) is None


# -- learned


def details() -> dict[str, learned.Detail]:
    held = made.effects()
    found = learned.details(held, [*chosen(held, "green_speed"), *chosen(held, "smoothness")])
    return {one.act: one for one in found}


def test_what_an_answer_adds_is_found_by_practice_outcome_and_dose() -> None:
    held = details()
    assert held["Roll"].told is made.LEARNED_ROLL and held["Topdress"].told is made.LEARNED_SAND
    assert held["Mow lower"].told == {} and held["Mow lower"].number("plain") is None
    assert held["Roll"].number("plain").value == pytest.approx(2.6 * INCH)


def test_another_dose_is_not_the_same_effect() -> None:
    answer = made.effects()
    other = {**made.LEARNED_ROLL, "dose": {"value": 2.0, "unit": "pass"}}
    answer = replace(answer, more={"learned": [other]})
    (one, *_) = learned.details(answer, chosen(answer, "green_speed"))
    assert one.told == {}


def test_days_after_the_act_come_from_the_rows_where_nothing_is_told() -> None:
    answer = replace(made.effects(), more={})
    (one, *_) = learned.details(answer, chosen(answer, "green_speed"))
    points = learned.curve(answer, one)
    assert [p.day for p in points] == [0, 1, 2]
    # by hand: 6.2 in halved each day
    assert [p.here.value / INCH for p in points] == pytest.approx([6.2, 3.1, 1.55])


def test_greens_are_those_of_the_same_day_after() -> None:
    answer = made.effects()
    (one, *_) = learned.details(answer, chosen(answer, "green_speed"))
    assert [r["green"] for r in learned.by_green(answer, one)] == list(handmade.GREENS)


def test_the_largest_claim_comes_first() -> None:
    held = sorted(details().values(), key=learned.weight)
    # by hand: roll 6.2 in, core -6 in, mow 2.9 in, all clear; then smoothness
    assert [one.act for one in held] == ["Roll", "Core", "Mow lower", "Topdress"]


def test_estimates_may_come_as_json_does() -> None:
    row = made.ahead_rows("course", 1)[0]
    held = row["estimate"]
    flat = {
        name: getattr(held, name)
        for name in ("value", "unit", "sd", "low", "high", "level", "n", "basis")
    }
    text = {**row, "estimate": flat, "date": str(row["date"])}
    (way,) = ways.ways_of([text], {}, on=ON)
    assert way.ahead[0].day == ON + timedelta(days=1)
    assert rows.estimate(flat).value == held.value
    assert isinstance(way.ahead[0].day, date)


def test_small_parts_of_work_are_drawn_as_one_and_lose_nothing() -> None:
    sizes = {"roll": 3.0, "mow": -1.0, "feed": 0.1, "brush": -0.05, "core": 0.02}
    held = [made.why_row(f"work:{k}", made.speed_part(v, 0.2)) for k, v in sizes.items()]
    held.append(made.why_row("growth", made.speed_part(0.4, 0.2)))
    held.append(made.why_row("total", made.speed_part(2.47, 0.5)))
    (split,) = causes.splits(replace(made.why(), findings=tuple(held)))
    # a twenty-fifth of 3.0 in is 0.12 in: three kinds are under it
    assert [part.name for part in split.drawn()] == [
        "Roll",
        "Mow",
        "3 more kinds of work",
        "Growth and season",
    ]
    assert sum(p.held.value for p in split.drawn()) == pytest.approx(split.total.value)
    assert len(split.parts) == 6


def test_one_small_part_keeps_its_name() -> None:
    held = [
        made.why_row(f"work:{k}", made.speed_part(v, 0.2)) for k, v in (("roll", 3), ("feed", 0.01))
    ]
    held.append(made.why_row("total", made.speed_part(3.01, 0.5)))
    (split,) = causes.splits(replace(made.why(), findings=tuple(held)))
    assert [part.name for part in split.drawn()] == ["Roll", "Feed"]


def test_ratios_become_changes_and_the_rest_stays() -> None:
    held = learned.as_changes(made.effects())
    assert held.findings == made.effects().findings
    one = {**made.LEARNED_ROLL, "plain": normal_estimate(0.9, 0.02, "1")}
    (told,) = learned.as_changes(replace(made.effects(), more={"learned": [one]})).more["learned"]
    assert told["plain"].unit == "%" and told["plain"].value == pytest.approx(-10.0)
    assert told["need"][0]["estimate"] == one["need"][0]["estimate"]


def test_the_first_day_is_that_of_the_plain_comparison() -> None:
    held = details()
    assert held["Roll"].first.here.value == pytest.approx(6.2 * INCH)
    assert held["Mow lower"].first.day == 7
