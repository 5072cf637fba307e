"""Other days, another green, an event: forms of why and forecast, addresses, and the pages."""

from __future__ import annotations

import re
from datetime import date, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.web import choosing
from greenwright.web.options import in_address, options_of, unknown_to
from tests.show import handmade_learning as made
from tests.show.handmade import ON
from tests.web.client import Client
from tests.web.handed_learning import Learned, answered, learned
from tests.web.test_questions import reply_of, wait

__all__ = ["learned"]

GREENS = ("1", "2", "3")


def controls(answer, **options) -> dict[str, choosing.Control]:
    events = [
        {"name": "Club day", "start": ON + timedelta(days=9)},
        {"name": "Far cup", "start": ON + timedelta(days=40)},
    ]
    held = choosing.controls(answer, options, greens=GREENS, events=events)
    return {one.name: one for one in held}


# -- from the address


@answered("why", "forecast")
def test_days_greens_and_events_are_read_from_the_address() -> None:
    params = {"from": "2026-05-01", "until": "2026-06-01", "green": "7", "against": "3"}
    assert options_of("why", params) == {
        "from": date(2026, 5, 1),
        "until": date(2026, 6, 1),
        "green": "7",
        "against": "3",
    }
    assert options_of("forecast", {"days": "7", "event": "Club day"}) == {
        "days": 7,
        "event": "Club day",
    }
    assert options_of("why", {"from": " ", "green": ""}) == {}


@answered("why", "forecast")
@pytest.mark.parametrize(
    ("question", "params", "where"),
    [
        ("why", {"from": "yesterday"}, "from"),
        ("why", {"until": "2026-13-01"}, "until"),
        ("forecast", {"days": "seven"}, "days"),
        ("forecast", {"days": "7.5"}, "days"),
    ],
)
def test_what_cannot_be_read_names_its_field(question: str, params: dict, where: str) -> None:
    with pytest.raises(BadInput) as fault:
        options_of(question, params)
    assert fault.value.where == where


@answered("why")
@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.sampled_from(["7", "Övre 2", "a&b=c"]))
def test_an_address_carries_days_and_greens_there_and_back(day: date, green: str) -> None:
    options = {"from": day, "green": green}
    assert options_of("why", in_address(options)) == options


def test_options_of_one_question_are_none_of_another() -> None:
    with pytest.raises(BadInput, match="takes no option 'days'"):
        unknown_to("why", {"days": "7"})


# -- the form


def test_the_form_of_why_shows_what_was_answered() -> None:
    answer = made.why()
    held = controls(
        answer.__class__(
            "why",
            ON,
            answer.record,
            findings=answer.findings,
            more={**answer.more, "from": made.BEGAN, "until": ON, "green": "course"},
        )
    )
    assert (held["from"].value, held["until"].value) == ("2026-05-22", "2026-06-05")
    assert held["from"].high == held["until"].high == "2026-06-05"  # no day to come
    assert held["green"].value == "" and held["green"].choices[0] == ("", "the whole course")
    assert [value for value, _ in held["against"].choices] == ["", "1", "2", "3"]


def test_what_was_asked_for_stays_in_the_form() -> None:
    held = controls(made.why("7", "3"), green="3", against="2", until=ON)
    assert (held["green"].value, held["against"].value) == ("3", "2")
    assert held["until"].value == ON.isoformat()


def test_the_form_of_forecast_offers_events_within_reach() -> None:
    held = controls(made.forecast(days=7))
    assert (held["days"].value, held["days"].low, held["days"].high) == ("7", "1", "14")
    assert held["event"].choices == (("", "no event"), ("Club day", "Club day, 14 Jun"))
    assert held["event"].value == ""
    assert controls(made.forecast(event=True))["event"].value == "Club day"


def test_without_events_none_is_offered() -> None:
    held = choosing.controls(made.forecast(), {}, greens=GREENS)
    assert [one.name for one in held] == ["days"]


def test_track_and_effects_ask_nothing() -> None:
    assert controls(made.track()) == {} and controls(made.effects()) == {}


def test_what_was_typed_stays() -> None:
    held = choosing.controls(made.why(), {}, greens=GREENS)
    again = {one.name: one for one in choosing.retyped(held, {"from": "x" * 200, "green": "2"})}
    assert again["from"].value == "x" * 80 and again["green"].value == "2"


# -- on the page


@answered("why")
def test_why_is_asked_of_two_days_and_a_green(small: Client, learned: Learned) -> None:
    path = "/why?from=2026-05-22&until=2026-06-05&green=1"
    text = wait(small, path)
    asked = {"from": date(2026, 5, 22), "until": date(2026, 6, 5), "green": "1"}
    assert learned.asked == [("why", asked)]
    assert "<h1>Why did it change?</h1>" in text and 'class="fold what-if" open' in text
    assert '<option value="1" selected>green 1</option>' in text
    assert 'name="from" value="2026-05-22"' in text


@answered("why")
def test_the_form_leads_to_an_address_without_empty_boxes(small: Client, learned: Learned) -> None:
    sent = {"form": "1", "from": "2026-05-22", "until": "2026-06-05", "green": "", "against": ""}
    reply = small.get("/why", params=sent, follow_redirects=False)
    assert reply.status_code == 303
    parts = urlsplit(reply.headers["location"])
    assert parts.path == "/why"
    assert parse_qs(parts.query) == {"from": ["2026-05-22"], "until": ["2026-06-05"]}


@answered("why")
def test_a_slip_is_said_and_kept_in_its_box(small: Client, learned: Learned) -> None:
    reply = reply_of(small, "/why?form=1&from=soon")
    assert reply.status_code == 400 and 'role="alert"' in reply.text
    assert 'value="soon"' in reply.text and 'aria-invalid="true"' in reply.text
    assert "The largest part is roll" in reply.text  # the plain answer stands below


@answered("forecast")
def test_forecast_is_asked_for_days_and_an_event(small: Client, learned: Learned) -> None:
    text = wait(small, "/forecast?days=7&event=Founders+Day")
    assert learned.asked == [("forecast", {"days": 7, "event": "Founders Day"})]
    assert "Club day is on Sunday 14 June." in text
    # the event of the small record: 13 June, eight days after 5 June 2026
    assert '<option value="Founders Day" selected>Founders Day, 13 Jun</option>' in text


@pytest.mark.parametrize(
    ("path", "pictures"),
    [
        pytest.param("/why", 1, marks=answered("why")),
        pytest.param("/forecast", 2, marks=answered("forecast")),
        pytest.param("/track", 2, marks=answered("track")),
        ("/effects", 5),
    ],
)
def test_pictures_have_names_and_words_for_both_widths(
    small: Client, learned: Learned, path: str, pictures: int
) -> None:
    text = wait(small, path)
    assert text.count('role="img"') == 2 * pictures
    assert text.count("<desc id=") == text.count("<title id=") == 2 * pictures
    ids = re.findall(r' id="([^"]+)"', text)
    assert len(ids) == len(set(ids))


def test_a_doubter_finds_his_questions(small: Client, learned: Learned) -> None:
    text = wait(small, "/effects")
    assert "<dt>Why not simply compare the days?</dt>" in text
    assert "How do you know? Roll and green speed</h2>" in text


@answered("track")
def test_track_without_forecasts_says_how_it_fills(small: Client, learned: Learned) -> None:
    learned.tracked = made.untracked()
    text = wait(small, "/track")
    assert "no forecast of ours has come due" in text and 'role="img"' not in text


@answered("why", "forecast", "track")
def test_the_pages_are_in_the_navigation_and_speak_json(small: Client, learned: Learned) -> None:
    text = wait(small, "/why")
    for path in ("/effects", "/why", "/forecast", "/track"):
        assert f'<a href="{path}"' in text
    reply = small.get("/api/ask/why", params={"from": "2026-05-22", "green": "1"})
    assert reply.status_code == 200 and reply.json()["question"] == "why"
    assert small.get("/api/ask/why?days=3").status_code == 400


@answered("why")
def test_nothing_typed_gets_into_the_page_as_markup(small: Client, learned: Learned) -> None:
    reply = reply_of(small, "/why?form=1&from=%22%3E%3Cb%3E")
    assert "<b>" not in reply.text


def test_looking_ahead_makes_other_answers_no_older(small: Client, learned: Learned) -> None:
    from datetime import datetime

    from greenwright import record

    for path in ("/effects", "/"):
        wait(small, path)
    store = small.app.state.room.store
    # an answer is kept as a forecast is: the file changes, the record's rows do not
    record.keep_answer(store, made.forecast(), course=None, now=datetime(2026, 6, 5, 7))
    wait(small, "/effects")
    assert [question for question, _ in learned.asked] == ["effects"]
    wait(small, "/")  # its band rests on what was kept: asked again
    assert learned.every == ["effects", "today", "today"]
    row = {"kind": "moisture", "green": "1", "value": "24", "date": "2026-06-05", "token": "a"}
    assert small.post("/record/enter", data=row, follow_redirects=False).status_code == 303
    wait(small, "/effects")
    assert [question for question, _ in learned.asked] == ["effects", "effects"]


def test_today_leads_to_the_days_ahead(small: Client, learned: Learned) -> None:
    text = wait(small, "/?on=2026-06-04")
    assert "<h2>The days ahead</h2>" in text
    link = '<a class="further" href="/forecast?on=2026-06-04">Where will the greens be?</a>'
    assert link in text


def test_only_events_to_come_are_offered(small: Client) -> None:
    from greenwright.web.asking import Asked
    from greenwright.web.records import events_of

    room = small.app.state.room
    (course,) = _courses(room)
    for on, named in ((date(2026, 6, 12), ["Founders Day"]), (date(2026, 6, 13), [])):
        asked = Asked(course, on, on, (course,), dated=False)
        assert [e["name"] for e in events_of(room, asked)] == named


def _courses(room) -> tuple:
    from greenwright.desk import books

    return books.courses(room.store)
