"""The page Golfers of hand-made answers: three answers kept apart, what-ifs, empty records."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from greenwright.base.answer import Answer
from greenwright.base.estimate import normal_estimate
from greenwright.show import Page, Section, page, words
from greenwright.show.pages.golfers import sideways
from greenwright.show.pages.missed import cost_words
from tests.show import handmade_golfers as made
from tests.show.handmade import FEET, METRES, US

HELD = page(made.golfers(), FEET, pictures=False)


def sections(held: Page) -> dict[str, Section]:
    return {section.title: section for section in held.sections}


def drawn_page(answer: Answer, **more: Any) -> Page:
    return page(answer, more.get("course", FEET), pictures=False)


def without(answer: Answer, what: str) -> Answer:
    return replace(answer, findings=tuple(r for r in answer.findings if r["what"] != what))


def changed(answer: Answer, about: str, quantity: str = "green_speed", **more: Any) -> Answer:
    return replace(
        answer,
        findings=tuple(
            {**r, **more} if r["about"] == about and r["quantity"] == quantity else r
            for r in answer.findings
        ),
    )


def even() -> Answer:
    """Return the answer of a course on which no green stands out."""
    rows = [
        {**r, "chance": 0.2, "estimate": made.share(0.2)} if r["about"] == "others" else r
        for r in made.golfers().findings
    ]
    return made.golfers(rows)


def test_the_three_answers_stand_one_under_another_in_their_order() -> None:
    titles = [s.title for s in HELD.sections]
    assert titles == [
        "What they will notice",
        "What they will say",
        "What they will miss",
        "For the pro shop",
        "For the crew",
    ]
    assert [line.split(":")[0] for line in HELD.lead] == [
        "To the eye",
        "In the talk",
        "On the card",
    ]


def test_no_number_blends_the_three() -> None:
    text = words(made.golfers(), course=FEET, full=True).lower()
    assert not re.search(r"\b(index|overall|combined|in total score|rating)\b", text)


def test_the_lead_by_hand() -> None:
    # by hand: 11 in x 0.92 chance -> "about 9 in 10"; 1.2 +- 1.645 x 0.4 = 0.5 to 1.9;
    # 0.1333 +- ... a topic of nine: 1 - exp(-0.133) = 0.125; 1 / 0.07 = 14.3 rounds
    assert HELD.lead == (
        "To the eye: hardly anybody will notice a change since yesterday, but green 7, 11 in "
        "slower than the others, stands out to about 9 in 10 players.",
        "In the talk: 1.2 complaints (0.5–1.9) to expect in 120 rounds, and about 1 in 10 for one "
        "about bumps; complaints are weak evidence.",
        "On the card: the surface costs a 90-shooter about one putt in 14 rounds against a "
        "perfectly true one, 0.07 in 18 holes (0.03–0.11); it would take about 5,900 rounds of "
        "counting to tell.",
    )


def test_a_change_since_yesterday_is_told_with_its_way() -> None:
    moved = normal_estimate(-7 * made.INCH, made.INCH, "m")
    answer = changed(even(), "yesterday", chance=0.52, difference=moved)
    assert drawn_page(answer).lead[0] == (
        "To the eye: about 5 in 10 players will notice that the greens are 7 in slower than "
        "yesterday; about 1 in 10 will notice a difference of green speed from one green to the "
        "next."
    )


def test_a_change_whose_way_is_not_clear_is_told_without_it() -> None:
    unclear = normal_estimate(-2 * made.INCH, 4 * made.INCH, "m")
    answer = changed(even(), "yesterday", chance=0.21, difference=unclear)
    assert (
        drawn_page(answer)
        .lead[0]
        .startswith(
            "To the eye: about 2 in 10 players will notice a change of green speed since yesterday;"
        )
    )


@pytest.mark.parametrize(
    ("quantity", "difference", "text"),
    [
        ("smoothness", -1.5, "1.5 points bumpier"),
        ("smoothness", 1.0, "1 point smoother"),
        ("trueness_score", -2.0, "2 points less true"),
        ("trueness_score", 2.0, "2 points truer"),
    ],
)
def test_points_of_a_score_are_told_in_the_words_of_the_trade(
    quantity: str, difference: float, text: str
) -> None:
    moved = normal_estimate(difference, 0.1, "score")
    answer = changed(even(), "yesterday", quantity, chance=0.7, difference=moved)
    assert f"the greens are {text} than yesterday" in drawn_page(answer).lead[0]


def test_many_greens_that_stand_out_are_counted() -> None:
    rows = [
        {**r, "chance": 0.9} if r["about"] == "others" and r["green"] in ("2", "3", "4", "7") else r
        for r in made.golfers().findings
    ]
    assert "4 greens stand out from the others" in drawn_page(made.golfers(rows)).lead[0]


def test_nothing_noticed_is_said_plainly() -> None:
    answer = even()
    for quantity in made.UNITS:
        answer = changed(answer, "next green", quantity, chance=0.01)
    assert drawn_page(answer).lead[0] == (
        "To the eye: hardly anybody will notice a change since yesterday; as few will notice a "
        "difference from one green to the next."
    )


# -- notice


def test_differences_are_told_with_their_range_and_consistency_names_its_measure() -> None:
    told = sections(HELD)["What they will notice"].sentences
    # by hand: 1 in +- 1.645 x 0.8 in = -0.3 to +2.3; 0.15 +- 0.33 = -0.2 to +0.5
    assert told[0] == (
        "Since yesterday: green speed +1.0 in (−0.3 to +2.3), smoothness +0.1 (−0.2 to +0.5), "
        "trueness by eye +0.1 (−0.2 to +0.5); green speed is noticed most, by less than 1 in 20 "
        "players."
    )
    # by hand: 3 in, a tenth of it as sd: 3.0 +- 0.5
    assert told[3].startswith(
        "Consistency: the standard deviation of green speed between greens is 3.0 in (2.5–3.5)"
    )


def test_the_worst_pair_of_greens_is_named() -> None:
    told = sections(HELD)["What they will notice"].sentences[2]
    assert told.endswith("and from green 1 to 2 by about 8 in 10 (green speed).")
    mild = {"greens": ["1", "2"], "estimate": made.share(0.15)}
    answer = made.golfers()
    for quantity in made.UNITS:
        answer = changed(answer, "next green", quantity, worst=mild)
    assert "from green 1" not in sections(drawn_page(answer))["What they will notice"].sentences[2]


def test_thresholds_are_stated_with_their_strength() -> None:
    (note,) = sections(HELD)["What they will notice"].notes
    # by hand: 0.1778 m = 7 in
    assert note.startswith(
        "Half of players notice a difference of 7 in of green speed (a judgement"
    )
    (metric,) = sections(page(made.golfers(), METRES, pictures=False))[
        "What they will notice"
    ].notes
    assert "0.18 m of green speed" in metric


def test_chances_stand_in_one_table_and_spreads_in_another() -> None:
    chances, spreads = sections(HELD)["What they will notice"].tables
    assert [row[0] for row in chances.rows] == [
        "Since yesterday",
        "In the last 14 days",
        "One green to the next",
        "Any two greens",
    ]
    assert chances.rows[2][1] == "about 1 in 10 (1–2 in 10)"
    # by hand: 14 in +- 1.645 x 0.3 in
    assert spreads.rows[0] == (
        "Green speed",
        "3.0 in (2.5–3.5)",
        "14.0 in (13.5–14.5)",
        "2.5 in (2.0–3.0)",
    )


# -- say


def test_complaints_are_told_here_and_by_the_trade_and_as_weak_evidence() -> None:
    told = sections(HELD)["What they will say"].sentences
    # by hand: 0.96 +- 1.645 x 0.72 is below zero: no fewer than none
    assert told[0].endswith(
        "about 7 in 10 for at least one; by the trade's rule alone it would be 1.0 (0.0–2.1)."
    )
    assert told[1] == (
        "Take them as weak evidence of the surface: what was said does not follow the surface "
        "clearly: 41 remarks on 120 days counted."
    )


@pytest.mark.parametrize(
    ("related", "text"),
    [("yes", "They follow the surface here:"), ("partly", "follow the surface here in part")],
)
def test_what_follows_the_surface_is_said(related: str, text: str) -> None:
    rows = [
        {**r, "related": related} if r["what"] == "complaints" and not r["asked"] else r
        for r in made.golfers().findings
    ]
    assert text in sections(drawn_page(made.golfers(rows)))["What they will say"].sentences[1]


def test_topics_that_differ_in_what_they_tell_get_a_column() -> None:
    table = sections(HELD)["What they will say"].tables[0]
    assert table.columns == ("Topic", "Here", "By the trade's rule")
    rows = [
        {**r, "related": "yes"} if r["about"] == "bumpy" and not r.get("asked") else r
        for r in made.golfers().findings
    ]
    mixed = sections(drawn_page(made.golfers(rows)))["What they will say"].tables[0]
    assert mixed.columns[-1] == "Follows the surface"
    assert {r[0]: r[-1] for r in mixed.rows}["Bumpy"] == "Yes"


def test_every_topic_stands_in_the_table_and_surveys_apart() -> None:
    topics, survey = sections(HELD)["What they will say"].tables
    assert len(topics.rows) == 2 + len(made.TOPICS) and topics.rows[-1][0] == "Praise"
    # by hand: 0.35 +- 1.645 x 0.05
    assert survey.rows[0] == ("Bumpy", "35 of 100 (27–43)", "60")
    assert "unasked" in topics.title and "asked" in survey.title


# -- miss


def test_putts_of_a_round_are_told_for_the_usual_player_and_tabled_for_all() -> None:
    held = sections(HELD)["What they will miss"]
    # by hand: 0.07 +- 1.645 x 0.0233; 34.73 +- 0.82
    assert held.sentences == (
        "90-shooter: 0.07 putts more in 18 holes (0.03–0.11) than on a perfectly true surface, "
        "of 34.7 (33.9–35.6) in all; it would take about 5,900 rounds of counting to tell.",
    )
    assert [row[0] for row in held.tables[0].rows] == [
        "Tour player",
        "90-shooter",
        "ana, from putts here",
    ]


def test_distances_follow_the_course() -> None:
    feet = sections(HELD)["What they will miss"].tables[1]
    metres = sections(page(made.golfers(), METRES, pictures=False))["What they will miss"].tables[1]
    # by hand: 0.61 m is 2.00 ft, 9.14 m is 29.99 ft
    assert [r[1] for r in feet.rows[:9]][::4] == ["2 ft", "7 ft", "30 ft"]
    assert [r[1] for r in metres.rows[:9]][::4] == ["0.61 m", "2.13 m", "9.14 m"]


@pytest.mark.parametrize(
    ("more", "text"),
    [
        ({"rounds_to_tell": None}, "it would take about 170,000 counted putts to tell"),
        ({"rounds_to_tell": None, "putts_to_tell": None}, "no amount of counting would tell"),
    ],
)
def test_what_it_takes_to_tell(more: dict[str, None], text: str) -> None:
    rows = [
        {**r, **more} if r["about"] == "putts per 18 holes" else r for r in made.golfers().findings
    ]
    assert text in drawn_page(made.golfers(rows)).lead[2]


@pytest.mark.parametrize(
    ("extra", "text"),
    [
        (0.0, "next to nothing"),
        (0.049, "next to nothing"),
        (0.05, "about one putt in 20 rounds"),  # by hand: 1 / 0.05
        (0.34, "about one putt in 3 rounds"),
        (0.7, "about one putt a round"),
        (1.4, "about one putt a round"),
        (2.14, "2.1 putts a round"),
    ],
)
def test_putts_are_told_as_people_count_them(extra: float, text: str) -> None:
    assert cost_words(extra) == text


# -- passed on


def test_the_pro_shop_and_the_crew_get_a_sentence_with_its_sources() -> None:
    held = sections(HELD)
    shop, crew = held["For the pro shop"], held["For the crew"]
    assert shop.sentences == (
        "The greens roll about 9'5\"; green 7 is slower than the others; what bumps there are "
        "cost an ordinary player about one putt in 14 rounds.",
    )
    assert crew.sentences == (
        "Bring green 7, 11 in slower than the others, nearer to them: it shows to about 9 in 10 "
        "players.",
    )
    for section in (shop, crew):
        (note,) = section.notes
        assert note.startswith("Rests on this record's readings; ")
        assert "(a judgement, no source gives it)" in note


def test_the_crew_hears_of_a_change_that_most_notice() -> None:
    moved = normal_estimate(9 * made.INCH, made.INCH, "m")
    answer = changed(even(), "lately", chance=0.8, difference=moved)
    held = sections(drawn_page(answer))
    assert held["For the crew"].sentences == (
        "Steady the green speed: the greens are 9 in faster than in the 14 days before, and about "
        "8 in 10 players notice.",
    )
    assert (
        "roll about 9'5\", 9 in faster than in the 14 days before;"
        in (held["For the pro shop"].sentences[0])
    )


def test_the_crew_is_not_sent_after_a_change_whose_way_is_not_clear() -> None:
    unclear = normal_estimate(6 * made.INCH, 6 * made.INCH, "m")
    held = sections(drawn_page(changed(even(), "lately", chance=0.6, difference=unclear)))
    assert "Steady" not in held["For the crew"].sentences[0]
    assert "faster" not in held["For the pro shop"].sentences[0]


def test_the_crew_hears_of_complaints_only_where_they_follow_the_surface() -> None:
    rows = [
        {**r, "related": "yes"} if r["about"] == "any" and not r.get("asked") else r
        for r in even().findings
    ]
    told = sections(drawn_page(made.golfers(rows)))["For the crew"].sentences[0]
    assert told == "A smoother roll is what players ask for: about one complaint a day to expect."
    calm = sections(drawn_page(even()))["For the crew"].sentences[0]
    assert calm == "Nothing that players would notice or miss asks for extra work today."


def test_the_crew_hears_of_trueness_where_it_costs_putts() -> None:
    dear = normal_estimate(1.2, 0.2, "1")
    rows = [
        {**r, "estimate": dear} if r["about"] == "putts per 18 holes" else r
        for r in even().findings
    ]
    told = sections(drawn_page(made.golfers(rows)))["For the crew"].sentences[0]
    assert told == "Trueness is worth work: it costs players more than half a putt in 18 holes."


# -- what if


def test_levels_of_the_day_are_told() -> None:
    assert HELD.as_if == ""
    # by hand: 5 +- 1.645 x 0.7 = 3.8 to 6.2
    assert HELD.worked_for == (
        "Worked out for green speed 9'5\" (9'2\"–9'8\"), smoothness 7.4 of 10 (7.0–7.8), "
        "5.0 mm/m sideways (3.8–6.2) and 120 rounds."
    )


def test_what_stands_in_place_of_todays_is_named_beside_todays() -> None:
    asked = made.what_if(speed_m=3.048, smoothness=6.0, trueness_t=3.24e-6)
    held = page(made.golfers(what_if=asked), FEET, pictures=False)
    # by hand: 1000 sqrt(3.24e-6 x 3.048) / 0.47744 = 6.58
    assert held.as_if == (
        "As if green speed were 10'0\" (today 9'5\"), smoothness were 6 of 10 (today 7.4) and "
        "balls wandered 6.6 mm/m sideways (today 5.0 mm/m); all else as today."
    )
    text = words(made.golfers(what_if=asked), course=FEET)
    assert text.index("As if green speed") < text.index("To the eye")
    assert "Worked out for" not in text
    assert "The greens would roll 10'0\"" in text


def test_a_what_if_of_something_never_read_says_so() -> None:
    answer = made.golfers(what_if=made.what_if(smoothness=6.0), now=made.now(smoothness=None))
    held = page(answer, FEET, pictures=False)
    assert "smoothness were 6 of 10 (never read)" in held.as_if
    assert "smoothness" not in held.worked_for


def test_sideways_goes_with_the_root_of_index_and_speed() -> None:
    # ball-roll science: 6.5 mm/m at 10 ft is the index 3.2e-6 m, to its printed digits
    assert sideways(3.2e-6, 3.048) == pytest.approx(6.5, abs=0.05)
    assert sideways(4 * 3.2e-6, 3.048) == pytest.approx(2 * sideways(3.2e-6, 3.048))
    assert sideways(0.0, 3.0) == 0.0


def test_american_courses_read_sideways_in_inches() -> None:
    held = page(made.golfers(), US, pictures=False)
    # by hand: 5 mm/m is 0.05 in in 10 in, so 0.6 in in 120 in
    assert "0.60 in per 10 ft sideways" in held.worked_for


# -- empty states


def test_without_a_reading_of_trueness_what_is_missed_is_called_a_guess() -> None:
    guess = normal_estimate(2e-6, 5e-7, "m", basis="prior")
    wide = normal_estimate(5.0, 2.0, "mm/m", basis="prior")
    held = drawn_page(made.golfers(now=made.now(trueness=guess, sideways_mm_per_m=wide)))
    assert "by a guess of its trueness" in held.lead[2]
    assert sections(held)["What they will miss"].notes[0].startswith("Trueness has never been read")
    assert "sideways (2–8, a guess)" in held.worked_for
    asked = made.what_if(trueness_t=3e-6)
    told = drawn_page(made.golfers(now=made.now(trueness=guess), what_if=asked))
    assert "guess" not in told.lead[2]  # it was asked for, not guessed


def test_without_remarks_the_trades_rule_is_said_to_stand_alone() -> None:
    rows = [
        {**r, "n_days": 0, "n_remarks": 0} if r["what"] == "complaints" else r
        for r in made.golfers().findings
        if not r.get("asked")
    ]
    told = sections(drawn_page(made.golfers(rows)))["What they will say"]
    assert told.sentences[1:] == (
        "Nobody has written down what players say here yet: this is the trade's rule alone.",
        "Nobody was asked in a survey lately: what is volunteered comes from the few who speak up.",
    )
    assert len(told.tables) == 1


def test_one_green_is_compared_with_no_other() -> None:
    rows = [r for q in made.UNITS for r in made.notice_rows(q, ["1"])]
    rows += [r for r in made.golfers().findings if r["what"] != "notice"]
    held = drawn_page(made.golfers(rows, ["1"]))
    assert held.lead[0] == "To the eye: hardly anybody will notice a change since yesterday."
    told = sections(held)["What they will notice"]
    assert len(told.sentences) == 3 and len(told.tables) == 1
    assert told.sentences[2].startswith("Only one green has been read")
    assert [row[0] for row in told.tables[0].rows] == ["Since yesterday", "In the last 14 days"]


@pytest.mark.parametrize(
    ("what", "place", "text"),
    [
        ("notice", 0, "To the eye: we cannot tell yet, there is no reading to compare."),
        ("complaints", 1, "In the talk: we cannot tell yet."),
        ("holing", 2, "On the card: we cannot tell yet."),
    ],
)
def test_what_is_not_known_is_said_to_be_so(what: str, place: int, text: str) -> None:
    held = drawn_page(without(made.golfers(), what))
    assert held.lead[place] == text
    assert len(held.lead) == 3 and page(without(made.golfers(), what), FEET).sections


def test_an_answer_of_nothing_still_makes_a_page() -> None:
    bare = made.golfers([], now={}, putts=None)
    held = page(bare, FEET)
    assert all("cannot tell yet" in line for line in held.lead)
    assert held.worked_for == "" and held.as_if == ""
    assert words(bare, course=FEET).count("cannot tell yet") >= 3


def test_a_quantity_never_read_leaves_no_empty_column() -> None:
    rows = [r for r in made.golfers().findings if r["quantity"] in ("green_speed", None)]
    table = sections(drawn_page(made.golfers(rows)))["What they will notice"].tables[0]
    assert table.columns == ("Compared", "Green speed")
