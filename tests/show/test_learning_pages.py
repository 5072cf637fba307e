"""Pages of why, forecast, track and learned effects: what is said, from hand-made answers."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from greenwright.base.answer import Answer
from greenwright.base.estimate import normal_estimate
from greenwright.show import Page, page, words
from tests.show import handmade
from tests.show import handmade_learning as made
from tests.show.handmade import FEET, METRES, ON, US
from tests.show.test_pages import JARGON

LOOK = "What if the look of the greens counted less, or more, than it seems?"
ANSWERS = {
    "effects": made.effects(),
    "why": made.why(),
    "why of a green": made.why("7"),
    "why against": made.why("7", "3"),
    "forecast": made.forecast(),
    "event": made.forecast(event=True),
    "track": made.track(),
    "untracked": made.untracked(),
}


def page_of(answer: Answer, course=FEET) -> Page:
    return page(answer, course, pictures=False)


def section(held: Page, title: str):
    return next(s for s in held.sections if s.title.startswith(title))


@pytest.mark.parametrize("name", ANSWERS)
@pytest.mark.parametrize("course", [FEET, METRES, US], ids=["ft", "m", "us"])
def test_no_jargon_no_keys_and_whole_sentences(name: str, course) -> None:
    text = words(ANSWERS[name], course=course, full=True)
    assert JARGON.findall(text) == []
    held = page_of(ANSWERS[name], course)
    assert held.lead and all(line.endswith(".") for line in held.lead)
    assert all(told.endswith(".") for s in held.sections for _, told in s.asked)


@pytest.mark.parametrize("name", ANSWERS)
def test_words_stay_within_their_width(name: str) -> None:
    lines = words(ANSWERS[name], course=FEET, width=60, full=True).splitlines()
    assert max(len(line) for line in lines[2:]) <= 60


# -- effects


def test_effects_say_what_the_record_can_and_cannot_tell() -> None:
    lead = page_of(made.effects()).lead
    # by hand: 6.2 in, 1.645 x 0.9 in = 1.5 in each way
    assert (
        lead[0] == "Roll adds most speed: +6.2 in (+4.7 to +7.7) the same day for one extra pass."
    )
    assert lead[1] == (
        "This course's own record can tell what comes of roll, in part what comes of mow lower; "
        "of topdress it cannot tell yet."
    )


def test_a_doubter_is_answered_point_by_point() -> None:
    held = dict(section(page_of(made.effects()), "How do you know? Roll").asked)
    assert list(held) == [
        "Can this record tell?",
        "What was compared?",
        "What did this record add?",
        "Why not simply compare the days?",
        LOOK,
    ]
    compared = held["What was compared?"]
    assert "812 days of single greens with it and 2,410 without" in compared
    # by hand: -2.4 in against +0.8 in
    assert "the greens stood 3 in slower than on other days" in compared
    assert "About 4 in 10 choices could as well have gone the other way" in compared
    assert "about 120 tosses of a coin" in compared  # 118, two figures that count
    added = held["What did this record add?"]
    assert "+8 in (+4 to +12)" in added and "82 of 100 parts were settled here" in added


def test_a_plain_comparison_is_said_to_mislead_only_where_it_does() -> None:
    asked = "Why not simply compare the days?"
    told = dict(section(page_of(made.effects()), "How do you know? Roll").asked)[asked]
    assert "+2.6 in" in told and "greens are slower anyway, and gets the blame" in told
    roll = {**made.LEARNED_ROLL, "plain": made.speed_part(6.0, 0.5)}
    near = replace(made.effects(), more={"learned": [roll]})
    told = dict(section(page_of(near), "How do you know? Roll").asked)[asked]
    assert told.endswith("in this record that is not far off +6.2 in.")
    roll["plain"] = made.speed_part(9.5, 0.5)
    over = replace(made.effects(), more={"learned": [roll]})
    told = dict(section(page_of(over), "How do you know? Roll").asked)[asked]
    assert told.endswith("the greens are faster anyway, and gets the thanks for them.")


def test_what_the_look_of_the_greens_could_do_is_told() -> None:
    told = dict(section(page_of(made.effects()), "How do you know? Roll").asked)[LOOK]
    assert told.startswith("Had the look of the surface played no part, +4.6 in (+3.1 to +6.1);")
    assert told.endswith("Its direction stands in every case.")
    weak = [{"strength": s, "estimate": made.speed_part(e, 0.9)} for s, e in ((0, 0.5), (2, 4))]
    roll = {**made.LEARNED_ROLL, "need": weak}
    doubtful = replace(made.effects(), more={"learned": [roll]})
    told = dict(section(page_of(doubtful), "How do you know? Roll").asked)[LOOK]
    assert told.startswith("Counts nothing, +0.5 in") and "; counts twice, +4.0 in" in told
    assert told.endswith("Then its direction is not sure.")


def test_of_a_practice_one_effect_is_doubted_the_one_with_a_direction() -> None:
    vague = normal_estimate(0.0, 0.1, "m")
    more = (
        handmade.effect("topdress", "green_speed", 2, vague, share_local=0.5, n_events=2)
        | {"dose": {"value": 0.5, "unit": "L/m2"}},
    )
    held = page_of(replace(made.effects(), findings=(*made.effects().findings, *more)))
    titles = [s.title for s in held.sections if s.title.startswith("How do you know?")]
    assert titles == [
        "How do you know? Roll and green speed",
        "How do you know? Mow lower and green speed",
        "How do you know? Topdress and smoothness",
    ]


def test_a_ratio_is_told_as_so_much_more_or_less() -> None:
    times = normal_estimate(1.25, 0.05, "1")
    row = handmade.effect("feed", "clippings", 14, times, share_local=0.5, n_events=9)
    text = words(replace(made.effects(), findings=(row,)), course=FEET, full=True)
    # by hand: 1.25 times is 25 % more, 1.645 x 5 % = 8 % each way
    assert "+25 % (+17 to +33)" in text


def test_where_the_record_cannot_tell_the_smallest_comparison_is_named() -> None:
    held = dict(section(page_of(made.effects()), "How do you know? Topdress").asked)
    told = held["What would settle it?"]
    assert "greens 2, 5 and 8" in told and "3 mornings chosen by the toss of a coin" in told
    # by hand: 90 minutes are 1.5 h
    assert "108 readings, 1.5 h of reading and about 0.4 points of smoothness" in told
    assert held["Can this record tell?"].startswith("We cannot tell yet:")


def test_practices_never_done_here_stand_apart_with_their_names() -> None:
    held = section(page_of(made.effects()), "Not done here yet")
    assert held.folded and held.tables[0].rows[0][0].startswith("Core")
    titles = [s.title for s in page_of(made.effects()).sections]
    assert not any(title.startswith("Core") for title in titles)


def test_effects_without_details_have_no_doubters_section() -> None:
    bare = tuple({**r, "share_local": 0.0} for r in made.effects().findings)
    held = page_of(replace(made.effects(), findings=bare, more={}))
    assert not any(s.title.startswith("How do you know") for s in held.sections)
    assert "other people's results" in held.lead[1]


# -- why


def test_why_says_the_change_and_its_largest_part() -> None:
    lead = page_of(made.why()).lead
    # by hand: 3.5 in, 1.645 x 1.1 in = 1.8 in; 14 days before Friday 5 June 2026
    assert lead[0] == (
        "Green speed changed by +3.5 in (+1.7 to +5.3) from Friday 22 May to Friday 5 June."
    )
    assert lead[1] == (
        "The largest part is roll (+3.0 in); growth and season pulled the other way (−1.2 in)."
    )


def test_why_two_greens_differ() -> None:
    lead = page_of(made.why("7", "3")).lead
    assert lead[0] == (
        "Green speed differs by +3.5 in (+1.7 to +5.3) between green 7 and green 3 on "
        "Friday 5 June."
    )


def test_a_change_that_is_not_clear_is_not_called_one() -> None:
    vague = tuple(
        {**r, "estimate": made.speed_part(0.5, 3.0)} if r["part"] == "total" else r
        for r in made.why().findings
    )
    assert "has not clearly changed" in page_of(replace(made.why(), findings=vague)).lead[0]
    pair = replace(made.why("7", "3"), findings=tuple({**r, "green": "7"} for r in vague))
    assert "no clear difference between green 7 and green 3" in page_of(pair).lead[0]
    parts = tuple({**r, "estimate": made.speed_part(0.2, 3.0)} for r in made.why().findings)
    assert page_of(replace(made.why(), findings=parts)).lead[1] == (
        "No part of it is clear by itself."
    )


def test_why_lists_the_work_between_or_says_there_is_none() -> None:
    held = section(page_of(made.why()), "What was done between")
    assert held.tables[0].rows == (("Roll", "4", "27 May, 31 May, 2 Jun and 4 Jun"),)
    idle = tuple(r for r in made.why().findings if not r["part"].startswith("work:"))
    none = page_of(replace(made.why(), findings=idle, more={}))
    assert section(none, "What was done").sentences == (
        "No work is written down between the two days.",
    )


def test_why_without_rows_says_it_cannot_tell() -> None:
    held = page_of(replace(made.why(), findings=()))
    assert held.lead[0].startswith("We cannot tell yet")


# -- forecast


def test_forecast_says_where_it_will_be_and_under_which_work() -> None:
    lead = page_of(made.forecast()).lead
    # by hand: 112.8 in - 14 x 0.3 in = 108.6 in; 1.645 x 1.6 x (1 + 14/9) in = 6.7 in: threes
    assert lead[0] == "Green speed on Friday 19 June: 9'0\" (8'6\"–9'6\")."
    assert lead[-1] == "That is with the work planned in the record: roll on 3 days."


def test_forecast_says_when_the_work_is_assumed_or_none() -> None:
    usual = {**made.forecast().more, "plan": "usual"}
    assert (
        "so the usual work is taken: roll on 3 days."
        in (page_of(replace(made.forecast(), more=usual)).lead[-1])
    )
    none = {**made.forecast().more, "plan": "none", "work": []}
    assert "without any work" in page_of(replace(made.forecast(), more=none)).lead[-1]


def test_the_chance_of_the_event_is_told() -> None:
    lead = page_of(made.forecast(event=True)).lead
    assert lead[0] == "Club day is on Sunday 14 June."  # nine days after Friday 5 June
    assert "the chance of 9'0\"–10'0\" is about 6 in 10" in lead[1]


def test_each_green_has_its_row_of_days() -> None:
    tables = section(page_of(made.forecast()), "Green by green").tables
    assert tables[0].columns == ("Green", "Tomorrow", "In 7 days", "In 14 days")
    assert [row[0] for row in tables[0].rows] == [str(n) for n in range(1, 19)]
    short = section(page_of(made.forecast(days=5)), "Green by green").tables
    assert short[0].columns == ("Green", "Tomorrow", "In 5 days")


def test_forecast_says_where_its_weather_is_from() -> None:
    told = " ".join(page_of(made.forecast()).how_we_know)
    assert "a forecast in the record for 5 days and the usual of the season for 9 days" in told


def test_a_forecast_says_it_is_kept_only_where_it_is() -> None:
    assert "kept in the record" not in " ".join(page_of(made.forecast()).how_we_know)
    kept = replace(made.forecast(), more={**made.forecast().more, "kept": True})
    assert "kept in the record" in " ".join(page_of(kept).how_we_know)


def test_forecast_without_rows_says_it_cannot_tell() -> None:
    assert page_of(replace(made.forecast(), findings=())).lead[0].startswith("We cannot tell yet")


def test_the_short_print_shows_few_days() -> None:
    text = words(made.forecast(event=True), course=FEET)
    rows = re.findall(r"^(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d+", text, re.MULTILINE)
    # tomorrow, in 7 and 14 days and the day of the event, for each of two quantities
    assert rows == ["Sat 6", "Fri 12", "Sun 14", "Fri 19"] * 2


# -- track


def test_track_says_whether_ranges_held() -> None:
    lead = page_of(made.track()).lead
    # by hand: (0.88 x 240 + 0.90 x 90) / 330 = 0.885
    assert lead[0] == (
        "Ranges that should hold 90 times in 100 held 89 times (330 readings): as promised."
    )
    assert lead[1] == (
        "Green speed: against the best of the simple rules our miss was 31 % smaller "
        "a day ahead; not so 14 days ahead."
    )


@pytest.mark.parametrize(("share", "told"), [(0.7, "too narrow"), (0.99, "wider than")])
def test_track_says_which_way_ranges_were_wrong(share: float, told: str) -> None:
    rows = (made.track_row("coverage", share, level=0.9),)
    assert told in page_of(replace(made.track(), findings=rows)).lead[0]


def test_few_readings_are_told_as_few() -> None:
    rows = (made.track_row("coverage", 0.9, level=0.9, n=11),)
    held = page_of(replace(made.track(), findings=rows))
    assert held.lead[-1] == "These are few readings yet: take the shares with care."


def test_before_anything_came_due_track_says_how_it_fills() -> None:
    lead = page_of(made.untracked()).lead
    assert lead[0] == "We cannot tell yet: no forecast of ours has come due."
    assert "this page fills by itself" in lead[1] and "open Forecast" in lead[2]
    due = made.untracked(n_forecasts=36, first_due=ON + timedelta(days=1))
    assert page_of(due).lead[2] == (
        "36 forecasts are kept; the first can be judged on Saturday 6 June 2026."
    )


def test_no_skill_is_told_as_none() -> None:
    rows = tuple({**r, "value": -0.1} if r["what"] == "skill" else r for r in made.track().findings)
    lead = page_of(replace(made.track(), findings=rows)).lead
    assert "did as well as our forecasts or better" in lead[1]


def test_mean_misses_are_in_the_reader_units() -> None:
    held = section(page_of(made.track()), "Which way did we miss?")
    # by hand: -0.4 in a day
    assert [row[1] for row in held.tables[0].rows] == ["−0.4 in", "−1.2 in", "−2.8 in", "−5.6 in"]


def test_gains_are_told_of_ten() -> None:
    held = section(page_of(made.track()), "Did the advice bring")
    assert "about 8 came" in held.sentences[0] and "11 weeks" in held.sentences[1]


def tried(**more: object):
    """Return track of forecasts that were made afterwards."""
    days = [{"made_on": ON - timedelta(days=d)} for d in (112, 14)]
    told = {"mode": "backtest", "first": days[0]["made_on"], "last": days[1]["made_on"]}
    return replace(made.track(), more={**told, "pairs": days, "n_afterwards": 9, **more})


def test_forecasts_made_afterwards_are_never_told_as_kept() -> None:
    page = page_of(tried())
    # by hand: 112 and 14 days before 5 June 2026
    assert page.lead[0] == (
        "No kept forecast has come due yet, so we tried it out afterwards from days between "
        "13 Feb and 22 May."
    )
    assert page.how_we_know[0].startswith("These forecasts were made afterwards")
    assert not any("kept before the day" in text for text in page.how_we_know)
    assert page_of(tried(first=None)).lead[0].endswith("afterwards.")
    one = page_of(tried(pairs=[{"made_on": ON}]))
    assert one.lead[0].endswith("afterwards.")


def test_forecasts_asked_for_late_are_not_told_as_promised() -> None:
    late = page_of(replace(made.track(), more={"mode": "stored", "n_afterwards": 3}))
    assert "already gone by" in late.how_we_know[0] and "No kept" not in late.lead[0]
    assert "kept before the day" in page_of(made.track()).how_we_know[0]


@pytest.mark.parametrize(
    ("value", "low", "high", "says"),
    [
        (0.8, 0.5, 1.1, "Of 10 inches of change forecast for green speed, about 8 came."),
        (0.4, -0.3, 1.2, "We cannot tell yet whether changes of green speed come as forecast."),
        (0.1, -0.2, 0.4, "Changes of green speed from one reading to the next did not come"),
    ],
)
def test_what_came_of_changes_says_no_more_than_it_knows(
    value: float, low: float, high: float, says: str
) -> None:
    row = made.track_row("gain_slope", value, low=low, high=high, basis="forecast", n=353)
    page = page_of(replace(made.track(), findings=(*made.track().findings[:4], row)))
    held = section(page, "Did changes come as forecast?")
    assert held.sentences[0].startswith(says) and "353 pairs" in held.sentences[2]


def test_only_two_quantities_are_pictured_and_the_others_are_tabled() -> None:
    names = ("green_speed", "smoothness", "moisture", "clippings")
    rows = [
        made.track_row("skill", 0.1, horizon_days=1, against="persistence", quantity=name)
        for name in names
    ]
    held = page(replace(made.track(), findings=tuple(rows)), FEET)
    assert [f.key for f in held.figures] == ["skill-green-speed", "skill-smoothness"]
    tables = section(held, "The other readings").tables
    assert [t.title.split(":")[0] for t in tables] == ["Soil moisture", "Clippings"]


def test_misses_have_their_range_and_span() -> None:
    told = {"low": -0.03, "high": 0.01, "horizon_days": None}
    rows = (made.track_row("coverage", 0.9, level=0.9), made.track_row("mean_error", -0.01, **told))
    held = section(page_of(replace(made.track(), findings=rows)), "Which way did we miss?")
    # by hand: -0.01 m is -0.4 in, from -1.2 to +0.4
    assert held.tables[0].rows[0][:2] == ("any day", "−0.4 in (−1.2 to +0.4)")


def test_an_earlier_forecast_on_today_has_its_date() -> None:
    held = made.today_with_ahead()
    for ago, told in ((3, "on Tuesday 2 June"), (0, "today")):
        more = {**held.more, "ahead_made_on": ON - timedelta(days=ago)}
        notes = [n for s in page(replace(held, more=more), FEET).sections for n in s.notes]
        assert any(f"From the forecast given {told};" in note for note in notes)


def test_an_estimate_of_nothing_is_printed_as_none() -> None:
    none = tuple(
        {**r, "estimate": normal_estimate(0.0, 0.0, "m")} if r["part"] == "weather" else r
        for r in made.why().findings
    )
    rows = dict(page_of(replace(made.why(), findings=none)).short.sections[0].tables[0].rows)
    assert "Weather" not in rows and "Roll" in rows


# -- the days ahead on Today


def test_today_shows_the_days_ahead_of_the_forecast_given_today() -> None:
    held = page(made.today_with_ahead(), FEET)
    speed, smooth = (s for s in held.sections if s.figure and s.figure.key.startswith("ahead"))
    assert speed.figure.title == "Green speed: the next 7 days"
    # by hand: 112.8 in - 7 x 0.3 in = 110.7 in against 9.42 ft = 113.04 in today
    assert speed.figure.finding == (
        "Best guess for Friday 12 June: about where it is today, 9'5\"."
    )
    assert speed.see == "" and smooth.see == "forecast" and "given today" in smooth.notes[0]
    assert len(speed.figure.table.rows) == 7


def test_today_without_a_forecast_leads_to_it() -> None:
    held = page(handmade.today(), FEET)
    (told,) = [s for s in held.sections if s.title == "The days ahead"]
    assert told.see == "forecast" and told.figure is None
    assert told.sentences == ("Forecast looks two weeks ahead, under the work that is planned.",)
    kept = replace(handmade.today(), more={**handmade.today().more, "ahead": ()})
    (told,) = [s for s in page(kept, FEET).sections if s.title == "The days ahead"]
    assert "No forecast was given today yet" in told.sentences[0]


def test_today_without_readings_looks_nowhere() -> None:
    bare = Answer("today", ON, {"readings": 0, "last_reading": None})
    assert not any(s.see for s in page(bare, FEET).sections)


def test_a_practice_is_judged_by_speed_not_by_its_worst_quantity() -> None:
    wet = normal_estimate(0.5, 1.0, "%")
    odd = handmade.effect("roll", "moisture", 1, wet, n_events=96, reason="too few readings")
    held = page_of(replace(made.effects(), findings=(*made.effects().findings, odd)))
    told = section(held, "Roll: one extra pass").sentences
    assert told[1] == (
        "Can this record tell, on green speed? Yes: the crew rolled or not on mornings that "
        "looked alike."
    )


def test_the_short_print_leaves_out_what_was_never_done_here() -> None:
    text = words(made.effects(), course=FEET)
    assert "Roll" in text and "\nCore" not in text


@pytest.mark.parametrize(
    ("verdict", "told"),
    [
        ("partly", "can tell in part what comes of roll."),
        ("cannot tell", "has begun to speak, but cannot tell anything apart yet."),
    ],
)
def test_a_record_that_tells_little_is_not_said_to_tell_more(verdict: str, told: str) -> None:
    rows = tuple(
        {**r, "separable": verdict} for r in made.effects().findings if r["practice"] == "roll"
    )
    assert page_of(replace(made.effects(), findings=rows)).lead[1].endswith(told)
