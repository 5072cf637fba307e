"""Answers of courses that are not like the others: each said as it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.values import Course
from greenwright.show import page, words
from greenwright.show.knowing import gathered, plain_value, source_row
from tests.show import handmade
from tests.show.handmade import FEET, METRES, ON, US

NO_MONEY = Course(course="fen", name="Fen")


def week_of(*rows: dict, **more: object) -> Answer:
    return replace(handmade.week(), choices=rows, more={**handmade.week().more, **more})


def days_of(*rows: dict, course: Course = FEET) -> tuple:
    return page(week_of(*rows), course, pictures=False).days


def gain(quantity: str, low: float, high: float, horizon: int = 0) -> dict:
    unit = "m" if quantity == "green_speed" else "score"
    held = Estimate((low + high) / 2, unit, (high - low) / 3.29, low, high)
    return {"quantity": quantity, "horizon_days": horizon, "estimate": held}


# -- today


def test_a_course_without_any_target_says_nothing_of_being_inside() -> None:
    rows = tuple({**r, "in_target": None, "target": None} for r in handmade.today().findings)
    answer = replace(handmade.today(), findings=rows)
    made = page(answer, FEET, pictures=False)
    assert not any("target" in line or "wanted" in line for line in made.lead)
    tables = [t for s in made.sections for t in s.tables]
    assert all("Inside target" not in t.columns for t in tables)


def test_a_course_of_one_green() -> None:
    answer = handmade.today(("4",))
    text = words(answer, course=FEET)
    assert text.count("\n4 ") == 1 and "Green by green" in text


def test_a_column_that_never_speaks_is_left_out_and_others_stay() -> None:
    rows = tuple({**r, "change_7d": None} for r in handmade.today().findings)
    made = page(replace(handmade.today(), findings=rows), FEET, pictures=False)
    each = made.sections[-1].tables[0]
    assert each.columns == ("Green", "Now", "Inside target", "Read")
    assert each.numbers == {1, 2} and each.rows[0][-1] == "4 Jun"


def test_what_changed_clearly_is_said_and_the_rest_is_not() -> None:
    def moved(row: dict) -> dict:
        fell = normal_estimate(-0.2, 0.05, "m") if row["quantity"] == "green_speed" else None
        return {**row, "change_7d": fell or normal_estimate(0.0, 0.3, row["estimate"].unit)}

    rows = tuple(moved(r) for r in handmade.today().findings)
    told = page(replace(handmade.today(), findings=rows), METRES, pictures=False).short.sections[0]
    # by hand: 1.645 x 0.05 = 0.082
    assert told.sentences == ("Clearly changed in 7 days: green speed −0.20 m (−0.28 to −0.12).",)
    still = tuple({**r, "change_7d": None} for r in handmade.today().findings)
    bare = page(replace(handmade.today(), findings=still), METRES, pictures=False).short.sections[0]
    assert bare.sentences == ("",)


def test_smoothness_alone_leads_where_speed_was_never_read() -> None:
    rows = tuple(r for r in handmade.today().findings if r["quantity"] == "smoothness")
    made = page(replace(handmade.today(), findings=rows), FEET, pictures=False)
    assert len(made.lead) == 1 and made.lead[0].startswith("Smoothness is 7.4")
    assert made.short.sections[1].tables[0].columns == ("Green", "Smoothness", "Inside target")


def test_a_green_read_in_one_quantity_only_has_an_empty_cell_beside_it() -> None:
    rows = tuple(
        r
        for r in handmade.today().findings
        if not (r["green"] == "5" and r["quantity"] == "smoothness")
    )
    table = page(replace(handmade.today(), findings=rows), FEET, pictures=False)
    beside = table.short.sections[1].tables[0]
    assert {row[0]: row[3] for row in beside.rows}["5"] == ""


@pytest.mark.parametrize("name", ["Första greenen", "練習", "Ελιά", "²", "x" * 70])
def test_greens_of_any_name_are_printed_whole(name: str) -> None:
    rows = tuple(
        {**r, "green": name} if r["green"] == "4" else r for r in handmade.today().findings
    )
    text = words(replace(handmade.today(), findings=rows), course=FEET, full=True)
    assert text.count(name) >= 2  # speed and smoothness


def test_an_observer_s_name_stands_as_it_was_written() -> None:
    caution = {"kind": "observer", "observer": "Åsa", "text": "Åsa reads 3 in lower"}
    made = page(replace(handmade.today(), cautions=(caution,)), FEET, pictures=False)
    assert made.cautions == ("Åsa reads 3 in lower.",)


# -- week


def test_like_jobs_of_all_groups_are_one_line_for_all_greens() -> None:
    groups = {"A": ("1", "2"), "B": ("3",)}
    rows = [
        handmade.job(1, "mow", keys, amount=3.4, unit="mm", group=name, labour_h=1.0)
        for name, keys in groups.items()
    ]
    answer = week_of(*rows, greens=("1", "2", "3"))
    (line,) = page(answer, FEET, pictures=False).days[0].lines
    # by hand: two groups of an hour each
    assert (line.what, line.greens, line.hours) == ("Mow at 3.4 mm", "all greens", "2 h")


def test_part_of_a_group_is_named_by_its_greens() -> None:
    rows = (
        handmade.job(1, "roll", ("1", "3"), group="A"),
        handmade.job(2, "roll", ("1",), group="A"),
    )
    days = days_of(*rows)
    assert days[0].lines[0].greens == "group A" and days[1].lines[0].greens == "green 1"
    assert page(week_of(*rows), FEET, pictures=False).groups == ("Group A: greens 1 and 3",)


def test_different_heights_stay_apart() -> None:
    rows = [
        handmade.job(1, "mow", (key,), amount=height, unit="mm")
        for key, height in (("1", 3.4), ("2", 3.5), ("3", 3.4))
    ]
    lines = days_of(*rows)[0].lines
    assert [(x.what, x.greens) for x in lines] == [
        ("Mow at 3.4 mm", "greens 1 and 3"),
        ("Mow at 3.5 mm", "green 2"),
    ]


def test_planned_work_and_advice_stay_apart() -> None:
    rows = (
        handmade.job(1, "roll", ("1",), fixed=True, confidence="try"),
        handmade.job(1, "roll", ("2",)),
    )
    lines = days_of(*rows)[0].lines
    assert [x.mark for x in lines] == ["Already planned", ""]
    jobs = days_of(*rows)[0].jobs
    assert [x.confidence for x in jobs] == ["Already planned", "Do it"]


@pytest.mark.parametrize(
    ("extra", "text"),
    [
        ({"passes": 2.0, "amount": 3.4, "unit": "mm"}, "Mow twice at 3.4 mm"),
        ({"passes": 3.0, "amount": 3.4, "unit": "mm"}, "Mow 3 times at 3.4 mm"),
        ({"amount": 2.0, "unit": "pass"}, "Mow twice"),
        ({}, "Mow"),
    ],
)
def test_passes_are_said_before_the_height(extra: dict, text: str) -> None:
    assert days_of(handmade.job(1, "mow", ("1",), **extra))[0].lines[0].what == text


def test_materials_and_amounts_in_us_units() -> None:
    row = handmade.job(1, "topdress", ("1",), amount=0.5, unit="L/m2", material="dry-sand")
    (line,) = days_of(row, course=US)[0].lines
    # 0.5 L = 0.017657 ft3 (1 ft3 = 28.3168 L), x 92.903 m2 = 1.64
    assert line.what == "Topdress 1.6 ft³/1000 ft² of dry sand"
    mow = handmade.job(1, "mow", ("1",), amount=3.175, unit="mm")
    assert days_of(mow, course=US)[0].lines[0].what == "Mow at 0.125 in"  # 3.175 mm is 1/8 in


def test_only_sure_effects_stand_in_the_line() -> None:
    row = handmade.job(
        1,
        "roll",
        ("1",),
        effects=[gain("green_speed", 0.1, 0.3), gain("smoothness", -0.2, 1.0)],
    )
    (day, *_) = days_of(row)
    # 0.2, 0.1 and 0.3 m / 0.0254 = 7.9, 3.9 and 11.8 in
    assert day.lines[0].expect == "green speed +8 in (+4 to +12)"
    assert len(day.jobs[0].expect) == 2 and day.jobs[0].expect[1].startswith("Smoothness +0.4")


def test_a_loss_has_a_true_minus_and_the_strongest_day_is_told() -> None:
    row = handmade.job(
        1,
        "verticut",
        ("1",),
        effects=[gain("smoothness", -1.5, -0.5, 2), gain("smoothness", -0.4, -0.2, 7)],
    )
    (text,) = days_of(row)[0].jobs[0].expect
    assert text == "Smoothness −1.0 (−1.5 to −0.5) after 2 days."


def test_the_range_of_a_joined_line_covers_that_of_each_group() -> None:
    rows = [
        handmade.job(1, "roll", (key,), effects=[gain("green_speed", low, high)])
        for key, low, high in (("1", 0.10, 0.20), ("2", 0.15, 0.40))
    ]
    (line,) = days_of(*rows, course=METRES)[0].lines
    # by hand: middles 0.15 and 0.275, mean 0.2125; ends 0.10 and 0.40
    assert line.expect == "green speed +0.21 m (+0.10 to +0.40)"


def test_no_effect_at_all_says_nothing() -> None:
    (line,) = days_of(handmade.job(1, "hole_change", ("1",), effects=[]))[0].lines
    assert line.expect == ""


def test_work_that_takes_no_time_is_still_work() -> None:
    days = days_of(handmade.job(1, "roll", ("1",), labour_h=0.0))
    assert days[0].hours == "0 h" and days[1].hours == "no work" and len(days) == 7


def test_work_past_the_seven_days_is_shown_on_its_day() -> None:
    days = days_of(handmade.job(9, "roll", ("1",)))
    assert [d.day for d in days] == [
        *(ON + timedelta(days=k) for k in range(1, 8)),
        date(2026, 6, 14),
    ]


def test_where_the_greens_stand_is_told_once_a_week() -> None:
    rows = [
        handmade.job(
            d,
            "roll",
            ("1",),
            reason=f"Green speed is 8'0\" today; 9'0\" is wanted on {d + 5} June. "
            "One pass gives a lot.",
        )
        for d in (1, 2, 3)
    ]
    text = words(week_of(*rows), course=FEET)
    assert text.count("Green speed is 8'0\" today") == 1 and "gives a lot" not in text
    whole = " ".join(words(week_of(*rows), course=FEET, full=True).split())
    assert whole.count("One pass gives a lot.") == 3


def test_planned_without_a_reason_gives_none() -> None:
    row = handmade.job(
        1, "hole_change", ("1",), fixed=True, reason="Planned in the record; not modelled."
    )
    assert days_of(row)[0].lines[0].reasons == ()


@pytest.mark.parametrize(
    ("course", "cost", "text"),
    [(FEET, 480.0, " and €480."), (NO_MONEY, 480.0, "crew time."), (FEET, 0.0, "crew time.")],
)
def test_money_is_said_only_with_its_currency(course: Course, cost: float, text: str) -> None:
    plans = dict(handmade.week().more["plans"])
    plans["advised"] = {**plans["advised"], "cost": cost}
    answer = replace(handmade.week(), more={**handmade.week().more, "plans": plans})
    assert page(answer, course, pictures=False).lead[0].endswith(text)


def test_no_plan_says_which_limits_and_shows_no_days() -> None:
    answer = week_of(no_plan="The limits leave no work: labour_h_day is 0 on every day")
    made = page(answer, FEET, pictures=False)
    assert made.lead == ("No plan keeps all the limits: crew hours a day is 0 on every day.",)
    assert made.days == () and "Saturday" not in words(answer, course=FEET)


def test_leaving_the_greens_alone_is_an_answer() -> None:
    made = page(week_of(), FEET, pictures=False)
    assert made.lead[0].startswith("Leave the greens alone") and made.days == ()
    assert made.short.sections[0].tables[0].columns[-1] == "Cost"


def test_a_learning_day_alone_shows_the_days() -> None:
    left = {"date": ON + timedelta(days=2), "greens": ["1"], "practice": "mow", "to_learn": "it"}
    made = page(week_of(leave_outs=[left]), FEET, pictures=False)
    assert made.days[1].leave_out == ("To learn it, do not mow green 1.",)


def test_the_plans_stand_beside_each_other_with_whole_numbers() -> None:
    (section,) = page(handmade.week(), FEET, pictures=False).sections
    rows = {row[0]: row[1:] for row in section.tables[0].rows}
    assert rows["Advised"] == ("62 of 100", "1.2", "22 h", "€480", "6.1")
    assert rows["No work"] == ("8 of 100", "4.6", "0 h", "€0", "24.3")


def test_no_target_and_many_complaints() -> None:
    plan = {"in_target": None, "complaints": 107.46, "labour_h": 0.4, "cost": -0.2, "loss": 0.0}
    answer = week_of(plans={"advised": plan})
    (section,) = page(answer, FEET, pictures=False).sections
    assert section.tables[0].rows == (("Advised", "no target", "107", "24 min", "€0", "0.0"),)


# -- effects


def effects_of(*rows: dict) -> Answer:
    return replace(handmade.effects(), findings=rows)


def test_a_record_without_work_says_so() -> None:
    made = page(effects_of(), FEET)
    assert made.lead == ("We cannot tell yet: the record holds no work to learn from.",)
    assert made.sections == () and made.figures == ()


def test_no_sure_gain_is_not_called_one() -> None:
    unsure = handmade.effect("roll", "green_speed", 0, normal_estimate(0.05, 0.1, "m"))
    assert page(effects_of(unsure), FEET, pictures=False).lead[0] == (
        "Nothing here is sure to add speed."
    )


def test_an_effect_too_small_to_print_is_none() -> None:
    tiny = Estimate(0.002, "m", 0.0, 0.0, 0.0001)
    row = handmade.effect("topdress", "green_speed", 14, tiny)
    section = page(effects_of(row), FEET, pictures=False).sections[-1]
    assert section.tables[0].rows[0][2] == "none"


def test_a_mean_outside_its_range_is_drawn_back_into_it() -> None:
    row = handmade.effect("roll", "green_speed", 1, Estimate(0.5, "m", 0.2, 0.1, 0.3))
    text = words(effects_of(row), course=METRES)
    assert "+0.30 m (+0.10 to +0.30)" in text and "+0.50" not in text


def test_doses_are_told_in_the_course_s_units() -> None:
    text = words(handmade.effects(), course=US)
    # 0.25 mm = 0.0098 in
    assert "height 0.01 in lower" in text and "1.6 ft³/1000 ft² of sand" in text
    assert "0.25 mm" not in text and "L/m" not in text


def test_what_a_practice_s_own_reason_adds_is_kept() -> None:
    rows = (
        handmade.effect("roll", "green_speed", 0, normal_estimate(0.2, 0.05, "m"))
        | {"reason": "Too few acts. Always before events."},
        handmade.effect("brush", "green_speed", 0, normal_estimate(0.1, 0.05, "m"))
        | {"reason": "Too few acts."},
    )
    made = page(effects_of(*rows), FEET, pictures=False)
    shared, _, roll, brush = made.sections
    assert shared.sentences == ("We cannot tell yet: too few acts.",)
    assert "Always before events." in roll.sentences and len(brush.sentences) == 1


@pytest.mark.parametrize(
    ("lives", "text"),
    [([None], ""), ([1.0], "a day"), ([0.02], "0.1 days"), ([0.5, 2.0], "0.5–2 days")],
)
def test_how_fast_effects_fade(lives: list[float | None], text: str) -> None:
    held = normal_estimate(0.2, 0.05, "m")
    rows = [
        handmade.effect("roll", "green_speed", n, held, half_life_days=life)
        for n, life in enumerate(lives)
    ]
    told = page(effects_of(*rows), FEET, pictures=False).sections[-1].sentences[0]
    assert (f"gone after {text}." in told) if text else ("gone" not in told)


# -- what stands on every page


def test_gaps_are_few_in_short_and_whole_in_full() -> None:
    gaps = tuple({"text": f"Gap {n}.", "why": "it matters"} for n in range(6))
    made = page(replace(handmade.today(), gaps=gaps), FEET, pictures=False)
    assert made.short.dont_know == ("Gap 0.", "Gap 1.", "Gap 2.", "3 more gaps of this kind.")
    assert len(made.dont_know) == 6 and made.dont_know[0] == "Gap 0. It matters."


def test_four_gaps_are_not_cut_to_save_one() -> None:
    gaps = tuple({"text": f"Gap {n}."} for n in range(4))
    made = page(replace(handmade.today(), gaps=gaps), FEET, pictures=False)
    assert len(made.short.dont_know) == 4 and "more" not in made.short.dont_know[-1]


@pytest.mark.parametrize(
    ("reading", "text"),
    [
        ({"kind": "roll_score", "green": "4", "n": 1, "minutes": 0.4}, "about a minute."),
        ({"kind": "roll_score", "green": "4", "n": 1, "minutes": 2.2}, "about 2 minutes."),
        ({"kind": "firmness", "greens": ["1", "2", "3"]}, "firmness on greens 1–3."),
        ("walk it.", "Cheapest way to tell: walk it."),
        ({"text": "Walk it."}, "Cheapest way to tell: Walk it."),
        (None, "Speed is unknown."),
    ],
)
def test_the_cheapest_reading_in_words(reading: object, text: str) -> None:
    answer = replace(handmade.today(), gaps=({"text": "Speed is unknown", "reading": reading},))
    (gap,) = page(answer, FEET, pictures=False).dont_know
    assert gap.endswith(text)


def test_cautions_on_greens_with_spaces_in_their_names_are_gathered() -> None:
    texts = ["Green short game, 2026-06-01: too wet.", "green 10, 2026-06-03: too wet."]
    assert gathered(texts) == ["Too wet: greens 10 and short game, 2 times, the last one on 3 June"]


def test_a_text_said_twice_is_said_once_and_order_is_kept() -> None:
    assert gathered(["b", "a", "b"]) == ["b", "a"]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (-0.25, "−0.25"),
        (3, "3"),
        ([1.0, -2.0], "1, −2"),
        ({"low": 2.7, "high_end": 3.1}, "low 2.7, high end 3.1"),
        ("warm", "warm"),
    ],
)
def test_outside_numbers_in_print(value: object, text: str) -> None:
    assert plain_value(value) == text


def test_a_source_without_a_citation_says_none() -> None:
    row = {"key": "soil.k", "value": 5.0, "unit": "g/m2", "grade": "memory"}
    assert source_row(row) == ("Soil: k", "5 g/m²", "from memory, source not yet read", "none")
