"""The page of weather: what is said, drawn and left open, from hand-made answers."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from jsonschema.validators import validator_for

from greenwright.base.answer import Answer, answer_schema
from greenwright.show import Page, page, words
from greenwright.show.figures.season import season_figure, season_finding
from greenwright.show.figures.strips import (
    STATES,
    model_label,
    regulator_figure,
    regulator_finding,
    risk_figure,
    risk_finding,
)
from greenwright.show.figures.thirst import shown, thirst_figure, thirst_finding
from tests.show import handmade_weather as made
from tests.show.handmade import FEET, METRES, ON, US
from tests.show.test_pages import JARGON

SHAPE = validator_for(answer_schema())(answer_schema())
ANSWERS = {
    "full": made.weather(),
    "bare": made.bare(),
    "no water": made.weather(water=None),
    "no regulator": made.weather(regulators=[]),
    "unknown regulator": made.weather(
        regulators=[made.use(state="not known", left=None, degree_days=None, top_up=None)]
    ),
    "salty": made.weather(
        salts=[made.salt("SAR", 9.6, "1", "severe"),
               made.salt("infiltration", 0.1, "dS/m", "severe", lower_is_worse=True)]
    ),
    "sweet": made.weather(salts=[made.salt("EC", 0.3, "dS/m", "none")]),
}  # fmt: skip


def page_of(answer: Answer, course=FEET) -> Page:
    """Return a page without its pictures."""
    return page(answer, course, pictures=False)


def section(held: Page, title: str):
    """Return a section by how its title begins."""
    return next(s for s in held.sections if s.title.startswith(title))


@pytest.mark.parametrize("name", ANSWERS)
def test_handmade_answers_are_answers(name: str) -> None:
    SHAPE.validate(ANSWERS[name].as_dict())


@pytest.mark.parametrize("name", ANSWERS)
@pytest.mark.parametrize("course", [FEET, METRES, US], ids=["ft", "m", "us"])
def test_no_jargon_no_keys_and_whole_sentences(name: str, course) -> None:
    text = words(ANSWERS[name], course=course, full=True)
    assert JARGON.findall(text) == []
    held = page_of(ANSWERS[name], course)
    assert held.lead and all(line.endswith(".") for line in held.lead)
    assert not re.search(r"\b[a-z]+_[a-z_]+\b", text)  # no key of the answer


@pytest.mark.parametrize("name", ANSWERS)
def test_words_stay_within_their_width(name: str) -> None:
    lines = words(ANSWERS[name], course=FEET, width=60, full=True).splitlines()
    assert max(len(line) for line in lines[2:]) <= 60


def test_the_lead_answers_in_thirty_seconds() -> None:
    water, growth, regulator, risk = page_of(made.weather()).lead
    assert water == (
        "By this evening the greens miss 8 mm (5–11) of water; the refill line is at 16 mm, "
        "reached in about 4 days (2 to 6) without more water than is planned."
    )
    assert growth == (
        "This week temperature allows about 80 of 100 of the fullest growth, more than the 55 "
        "usual here at this time of year."
    )
    assert "growth is held back after 180 degree days" in regulator
    assert "begins to fade on Saturday 6 June" in regulator  # the day after ON, 5 June 2026
    assert risk == "2 of the 4 days ahead with an answer favour dollar spot."


def test_inches_for_those_who_count_in_them() -> None:
    # 8 mm is 0.31 in, 16 mm 0.63 in; by hand at 25.4
    lead = page_of(made.weather(), US).lead[0]
    assert "0.3" in lead and "at 0.63 in" in lead and "mm" not in lead


def test_too_little_weather_is_said_plainly() -> None:
    held = page(made.bare(), FEET)
    assert held.lead == ("We cannot tell yet: too little weather is in the record.",)
    assert held.figures == ()
    assert "needs rain and temperature" in section(held, "Water").sentences[0]
    assert "No growth regulator" in section(held, "Growth regulators").sentences[0]
    assert "lab.csv" in section(held, "Salt").sentences[0]
    assert "nothing is known" in held.dont_know[0]


@pytest.mark.parametrize(
    ("left", "told"),
    [
        (made.left(0.0, 0.0, 0.0), "so they are past it by our best guess."),
        (made.left(0.0, 0.0, 3.0), "though the range reaches short of it."),
        (made.left(None, None, None), "nothing ahead dries them to it."),
        (made.left(9.0, 5.0, None), "reached in about 9 days (5 or more) without"),
        (made.left(80.0, 30.0, None), "months away at this rate."),
        (made.left(0.4, 0.0, 3.0), "reached within a day without"),
    ],
)
def test_when_the_refill_line_is_reached(left, told: str) -> None:
    held = made.water()
    held["course"] = {**held["course"], "days_left": left}
    assert told in thirst_finding(held, ON, FEET)


def test_a_record_without_watering_says_if() -> None:
    told = thirst_finding(made.water(watered=False), ON, FEET)
    assert told.startswith("If no water was given but the rain: by this evening")
    wet = made.water(watered=False, refill_mm=30.0)  # 8 mm missing of 30: no word of drought
    assert thirst_finding(wet, ON, FEET).startswith("By this evening")


def test_growth_against_the_usual() -> None:
    assert "cannot say yet" in season_finding(made.year(usual=False), ON)
    level = [{**row, "value": 0.5} for row in made.year()]
    assert "about as usual here" in season_finding(level, ON)
    low = [{**row, "value": 0.2} for row in made.year()]
    assert "less than the 55 usual" in season_finding(low, ON)
    assert "Too little weather" in season_finding([], ON)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"state": "fading", "degree_days": 220.0}, "it is fading after 220 degree days; from"),
        ({"state": "rebound risk"}, "growth may come back stronger than without"),
        ({"state": "not known"}, "we cannot tell; no source says"),
        ({"fades": None}, "growth is held back after 180 degree days."),
        ({"state": "worn off"}, "it has worn off"),
    ],
)
def test_where_a_regulator_stands(changes, told: str) -> None:
    assert told in regulator_finding(made.use(**changes))


def test_what_has_worn_off_is_not_in_the_lead() -> None:
    lead = page_of(made.weather(regulators=[made.use(state="worn off")])).lead
    assert not any("Trinexapac" in line for line in lead)
    old = made.use(applied=ON - timedelta(days=61), state="rebound risk")
    held = page_of(made.weather(regulators=[old]))
    assert not any("Trinexapac" in line for line in held.lead)
    assert "Trinexapac" in section(held, "Growth regulators").tables[0].rows[0][0]


def test_which_disease_the_days_ahead_favour() -> None:
    none = [made.risk("dollar_spot", "x", (0, 4)), made.risk("pythium", "x", (0, 4))]
    assert risk_finding(none) == ("No day ahead that has an answer favours dollar spot or pythium.")
    foreign = [made.risk("brown_patch", "ryegrass", (1, 1), host_here=False)]
    assert risk_finding(foreign) == (
        "The one day ahead with an answer favours brown patch (a model of ryegrass, not of your "
        "grass)."
    )
    assert "no disease model has an answer" in risk_finding([made.risk("x", "y", (0, 0))])
    assert model_label("grey_leaf") == "Grey leaf"


def test_nothing_names_a_product_or_tells_to_spray() -> None:
    for answer in ANSWERS.values():
        text = words(answer, course=FEET, full=True).lower()
        assert "fungicide" not in text
        for place in re.finditer("spray", text):
            assert "no instruction to" in re.sub(r"\s+", " ", text[: place.start()])[-40:]


def test_every_model_names_its_host() -> None:
    table = section(page_of(made.weather()), "The disease models").tables[0]
    assert table.rows[1][:2] == ("Anthracnose", "annual bluegrass (not here)")
    assert table.rows[0][3:] == ("0 of 11", "2 of 4") and table.rows[1][4] == "no answer"
    own = made.weather(risks=[made.risk("dollar_spot", "x", (1, 2), own_threshold=True)])
    assert section(page_of(own), "The disease").tables[0].rows[0][2] == "0.2 (your own)"


def test_greens_have_a_row_each() -> None:
    table = section(page_of(made.weather()), "Water green by green").tables[0]
    assert [row[0] for row in table.rows] == ["1", "2", "3"]
    assert table.rows[0][3:] == ("4 (2–6)", "150 mm", "2 days ago")
    assert table.rows[2][3:] == ("4 (2–on)", "150 mm (taken)", "never")


def test_the_days_ahead_have_a_row_each() -> None:
    table = section(page_of(made.weather()), "The days ahead").tables[0]
    assert len(table.rows) == made.AHEAD and table.rows[0][0] == "Sat 6"
    assert table.rows[0][1:] == ("forecast", "80 of 100", "4 mm", "10 mm (7–13)", "none")
    assert table.rows[1][5] == "Dollar spot" and table.rows[5][5] == "no answer"


def test_salt_says_what_calls_for_care() -> None:
    told = section(page_of(ANSWERS["full"]), "Salt")
    assert told.sentences == ("Salinity calls for watching.",)
    assert told.tables[0].rows[0][2:] == ("0.9 dS/m", "watch", "0.7 dS/m")
    assert "calls for care" in section(page_of(ANSWERS["salty"]), "Salt").sentences[0]
    rows = section(page_of(ANSWERS["salty"]), "Salt").tables[0].rows
    assert rows[1][4] == "under 0.7 dS/m"
    assert "Nothing" in section(page_of(ANSWERS["sweet"]), "Salt").sentences[0]


def test_a_top_up_stands_beside_its_caution() -> None:
    held = section(page_of(made.weather()), "Growth regulators")
    assert held.tables[0].rows[0][-1] == "0.023 mL/m²" and "label" in held.notes[0]


# -- pictures


def texts(svg: str) -> list[str]:
    """Return every word of a drawing."""
    return [re.sub("<[^>]*>", "", t) for t in re.findall(r"<text.*?</text>", svg, re.DOTALL)]


def test_four_pictures_each_with_its_finding_and_table() -> None:
    held = page(made.weather(), FEET)
    assert [f.key for f in held.figures] == [
        "weather-water", "weather-growth", "weather-regulator", "weather-risk",
    ]  # fmt: skip
    for figure in held.figures:
        assert figure.finding.endswith(".") and figure.description.endswith(".")
        assert figure.table.rows and figure.svg.startswith("<svg") and figure.svg_narrow
        assert len({len(row) for row in figure.table.rows}) == 1


def test_the_water_picture_shows_its_line_rain_and_watering() -> None:
    figure = thirst_figure(made.water(), ON, FEET)
    for svg in (figure.svg, figure.svg_narrow):
        assert "refill line" in texts(svg) and "today" in texts(svg)
        assert svg.count("pattern id") == 1  # what is ahead is hatched
    rows = {row[0]: row for row in figure.table.rows}
    assert rows["1 Jun"][2:] == ("12 mm", "0 mm", "2 mm", "0 mm", "0.0 mm (0.0–3.0)")
    assert rows["29 May"][3] == "4 mm"
    assert rows["11 Jun"][1] == "usual of the season" and rows["6 Jun"][1] == "forecast"


def test_the_water_picture_keeps_to_the_last_month() -> None:
    long = made.water()
    old = {**long["daily"][0], "date": ON - timedelta(days=45)}
    long["daily"] = [old, *long["daily"]]
    assert len(shown(long, ON)) == len(long["daily"]) - 1


def test_the_growth_picture_holds_every_week() -> None:
    figure = season_figure(made.year(), ON, grass="creeping bentgrass")
    assert len(figure.table.rows) == 52
    assert {row[1] for row in figure.table.rows} == {"seen", "forecast", "usual of the season"}
    assert "Jan" in texts(figure.svg) and "Grey band" in figure.description
    alone = season_figure(made.year(usual=False)[:1], ON.replace(month=1, day=4), grass="x")
    assert "Grey band" not in alone.description and alone.svg


def test_the_regulator_picture_names_the_states() -> None:
    figure = regulator_figure(made.findings(), made.use(), ON)
    assert figure is not None
    shown_states = {STATES[s] for s in ("suppressed", "fading", "rebound risk")}
    assert shown_states <= set(texts(figure.svg))
    assert figure.table.rows[0] == ("27 May", "0", "100 of 100 (97–103)", "held back")
    other = regulator_figure(made.findings(), made.use(active="another"), ON)
    assert other is None


def test_the_risk_picture_tells_risk_from_none_by_shape() -> None:
    figure = risk_figure(made.findings(), made.RISKS, ON)
    assert figure is not None and "Filled square" in figure.description
    assert {"Dollar spot", "Pythium"} <= set(texts(figure.svg))
    rows = {row[0]: row for row in figure.table.rows}
    assert rows["7 Jun"][1] == "0.31 (risk)" and rows["5 Jun"][1] == "0.12"
    assert risk_figure([], (), ON) is None


def test_words_and_page_say_the_same() -> None:
    answer = made.weather()
    text = re.sub(r"\s+", " ", words(answer, course=FEET))
    for line in page_of(answer).lead:
        assert line in text


def test_json_dates_do_as_well_as_days() -> None:
    answer = made.weather()
    plain = answer.as_dict()
    again = replace(
        answer,
        findings=tuple(plain["findings"]),
        more={k: plain[k] for k in answer.more},
    )
    assert page_of(again) == page_of(answer)
