"""Pages and words of hand-made answers: what is said, in which units, without jargon."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from greenwright.base.answer import Answer
from greenwright.base.errors import UnknownKey
from greenwright.show import page, words
from greenwright.show.pages.acts import shared_reason
from tests.show import handmade, handmade_golfers
from tests.show.handmade import FEET, METRES

ANSWERS = {
    "today": handmade.today(),
    "golfers": handmade_golfers.golfers(),
    "effects": handmade.effects(),
    "week": handmade.week(),
}
JARGON = re.compile(
    r"\b(posterior|priors?|bayes\w*|covariance|draws?|sd|std|nan|null|estimate|quantile|"
    r"dashboard|kpi|widget|payload|traffic light|insights?|alert|score card|basis|"
    r"[a-z]+_[a-z_]+)\b",
    re.IGNORECASE,
)


@pytest.mark.parametrize("name", ANSWERS)
def test_words_hold_no_jargon_and_no_keys(name: str) -> None:
    found = JARGON.findall(words(ANSWERS[name], course=FEET))
    assert found == []


def test_the_jargon_test_can_fail() -> None:
    assert JARGON.search("the posterior of green_speed") and JARGON.search("green_speed")


@pytest.mark.parametrize("name", ANSWERS)
def test_words_stay_within_their_width(name: str) -> None:
    lines = words(ANSWERS[name], course=FEET, width=60).splitlines()
    heads = 2  # heading and the line of the record are left whole
    assert max(len(line) for line in lines[heads:]) <= 60


@pytest.mark.parametrize("name", ANSWERS)
def test_every_page_has_the_parts_in_order(name: str) -> None:
    made = page(ANSWERS[name], FEET, pictures=False)
    assert made.heading.endswith("?")
    assert made.lead and all(line.endswith(".") for line in made.lead)
    assert made.how_we_know
    assert made.context.startswith("812 readings")


def test_today_says_level_range_target_and_chance() -> None:
    lead = page(handmade.today(), FEET, pictures=False).lead
    # by hand: 9.42 ft = 113.04 in -> 9'5"; 1.645 x 2 in = 3.3 in each way; 2.75 m = 108.3 in
    assert lead[0].startswith("Green speed is 9'5\" (9'2\"–9'8\"), on the edge of the wanted 9'0\"")
    assert "about 6 in 10" in lead[0]
    assert lead[1].startswith("Smoothness is 7.4 of 10 (7.0–7.8), under the usual 8–10")
    assert lead[2] == "Green 7 stands out as slower."


def test_today_in_metres() -> None:
    lead = page(handmade.today(), METRES, pictures=False).lead
    # by hand: 9.42 ft = 2.871 m; 3.29 in = 0.0836 m
    assert lead[0].startswith("Green speed is 2.87 m (2.79–2.95)")
    assert "2.75–3.05 m" in lead[0]


def test_today_says_when_readings_are_old() -> None:
    old = tuple({**row, "last_read": "2026-05-01"} for row in handmade.today().findings)
    lead = page(replace(handmade.today(), findings=old), FEET, pictures=False).lead
    assert lead[-1] == "The last smoothness reading was 35 days ago: read again soon."


def test_today_without_readings_says_so() -> None:
    bare = Answer("today", handmade.ON, {"readings": 0, "last_reading": None})
    made = page(bare, FEET)
    assert made.lead == ("We cannot tell yet: there is no reading to go by.",)
    assert made.context == "No readings in the record yet" and made.figures == ()


def test_the_same_caution_on_many_greens_is_said_once() -> None:
    texts = [f"green {g}, 2026-06-0{d}: rolls differ" for g in (3, 1, 2) for d in (1, 2)]
    rows = tuple({"kind": "data", "text": t} for t in texts)
    made = page(replace(handmade.today(), cautions=rows), FEET, pictures=False)
    assert made.cautions == ("Rolls differ: greens 1–3, 6 times, the last one on 2 June.",)


def test_gaps_name_the_cheapest_reading() -> None:
    (gap,) = page(handmade.today(), FEET, pictures=False).dont_know
    assert gap.endswith("Cheapest way to tell: 5 × firmness on green 7, about 4 minutes.")


def test_effects_say_that_they_are_not_from_here() -> None:
    made = page(handmade.effects(), FEET, pictures=False)
    assert made.lead[0] == (
        "Roll adds most speed: +8 in (+4 to +12) the same day for one extra pass."
    )
    assert "other people's results" in made.lead[1]
    assert made.sections[0].title == "Can this record tell?"


def test_effects_say_what_this_record_knows() -> None:
    local = tuple(
        {**r, "share_local": 0.6, "separable": "yes", "reason": "rolled on chosen greens"}
        for r in handmade.effects().findings
    )
    made = page(replace(handmade.effects(), findings=local), FEET, pictures=False)
    assert "can tell what comes of" in made.lead[1]
    table = next(s for s in made.sections if s.title.startswith("Roll")).tables[0]
    assert table.columns[-1] == "From this record" and table.rows[0][-1] == "60 of 100"


def test_a_reason_is_shared_only_when_all_rows_give_it() -> None:
    rows = [{"separable": "cannot tell", "reason": f"too few. Done {n} times"} for n in (1, 2)]
    assert shared_reason(rows) == "We cannot tell yet: too few."
    mixed = [*rows, {"separable": "yes", "reason": "too few"}]
    assert shared_reason(mixed) == ""


def test_week_leads_with_work_hours_money_and_gain() -> None:
    lead = page(handmade.week(), FEET, pictures=False).lead
    assert lead[0] == (
        "Mow every day, roll on 3 days and topdress on one day: 22 h of crew time and €480."
    )
    assert "62 inside the target, against 55 with the usual work and 8 with none" in lead[1]


def test_week_lists_every_day_with_hours() -> None:
    days = page(handmade.week(), FEET, pictures=False).days
    assert [d.title for d in days][::6] == ["Saturday 6 June", "Friday 12 June"]
    # by hand: 2.5 h of mowing and 0.42 h of rolling; 2.5 + 3.0 on the third day
    assert (days[1].hours, days[2].hours) == ("2.9 h", "5.5 h")
    assert days[2].lines[1].what == "Topdress 0.3 L/m² of dry sand"
    assert days[2].lines[1].greens == "group A" and days[2].lines[1].mark == "Worth trying"


def test_the_same_work_on_two_groups_is_one_line_for_the_crew() -> None:
    rows = (
        handmade.job(1, "roll", ("1", "3"), group="A"),
        handmade.job(1, "roll", ("2", "5"), group="B"),
    )
    made = page(replace(handmade.week(), choices=rows), FEET, pictures=False)
    (line,) = made.days[0].lines
    # by hand: 2 x 0.42 h = 50 min
    assert (line.greens, line.hours) == ("groups A and B", "50 min")
    assert made.groups == ("Group A: greens 1 and 3", "Group B: greens 2 and 5")


def test_week_without_work_or_plan_says_so() -> None:
    idle = replace(handmade.week(), choices=())
    assert "Leave the greens alone" in page(idle, FEET, pictures=False).lead[0]
    more = {**idle.more, "no_plan": "the hours clash"}
    clash = replace(idle, more=more)
    assert page(clash, FEET, pictures=False).lead == (
        "No plan keeps all the limits: the hours clash.",
    )


def test_stops_and_leave_outs_are_sentences() -> None:
    left = {"date": "2026-06-08", "greens": ["4"], "practice": "roll", "to_learn": "what it does"}
    more = {**handmade.week().more, "leave_outs": [left]}
    made = page(replace(handmade.week(), more=more), FEET, pictures=False)
    assert made.stops == ("Frost on the leaf.", "Standing water.")
    assert made.days[2].leave_out == ("To learn what it does, do not roll green 4.",)


def test_a_repeated_reason_is_given_once_in_the_terminal() -> None:
    text = words(handmade.week(), course=FEET, full=True)
    assert text.count("Mow at 3.4 mm, all greens") == 7
    assert text.count("pass lasts over the weekend") == 3  # mow, roll, topdress
    assert words(handmade.week(), course=FEET).count("pass lasts over the weekend") == 1


def test_sources_are_listed_with_their_strength() -> None:
    table = page(handmade.today(), FEET, pictures=False).sources
    assert table is not None
    assert table.rows[0][1:3] == ("0.08 m", "a judgement, no source gives it")


def test_tables_as_csv_are_safe_in_a_spreadsheet() -> None:
    from greenwright.show import Table

    text = Table("t", ("a", "b"), (("=1+1", "−0.2"), ("@x", "-0.2"))).as_csv()
    assert text.splitlines() == ["a,b", "'=1+1,−0.2", "'@x,-0.2"]


def test_a_question_without_a_page_is_refused_by_name() -> None:
    with pytest.raises(UnknownKey, match="no page for 'check'"):
        page(Answer("check", handmade.ON, {}), FEET)
