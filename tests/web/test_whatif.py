"""What if it were otherwise: options from the address, from the form, and back into the form."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.answer import answer_schema
from greenwright.base.errors import BadInput
from greenwright.base.values import Course
from greenwright.web import shelf, whatif
from greenwright.web.options import LONGEST, TAKEN, in_address, options_of, unknown_to
from tests.show import handmade_golfers as made
from tests.show.handmade import FEET, METRES, US
from tests.web.client import Client
from tests.web.handed import Handed, handed, index
from tests.web.test_questions import reply_of, wait

__all__ = ["handed"]

COURSES = st.sampled_from([FEET, METRES, US])
ANSWER = made.golfers()


def boxes(answer: Any = ANSWER, course: Course = FEET, **options: Any) -> dict[str, str]:
    """Return what a browser would send of the form untouched."""
    sent = {"form": "1"}
    for field in whatif.fields(answer, course, options, greens=["1", "5"]):
        sent |= {part.name: part.text for part in field.parts}
        sent[f"was_{field.key}"] = field.was
        if field.kept:
            sent[f"kept_{field.key}"] = field.kept
    return sent


# -- from the address


def test_options_are_read_in_si_and_in_written_units() -> None:
    held = options_of("golfers", {"speed_m": "10ft", "distance_m": "3", "rounds": "90"})
    # by hand: 10 x 0.3048
    assert held == {"speed_m": pytest.approx(3.048), "distance_m": 3.0, "rounds": 90.0}
    assert options_of("golfers", {"speed_m": "9'6\""})["speed_m"] == pytest.approx(2.8956)
    assert options_of("golfers", {"sideways_mm_per_m": "6 mm/m"}) == {"sideways_mm_per_m": 6.0}


def test_empty_and_foreign_options_are_left_out() -> None:
    params = {"speed_m": " ", "green": "7", "colour": "red", "on": "2026-06-05"}
    assert options_of("golfers", params) == {"green": "7"}
    assert options_of("today", params) == {}


def test_no_address_may_name_a_file_of_this_machine() -> None:
    assert "heights" not in TAKEN["golfers"]
    assert options_of("golfers", {"heights": "/etc/passwd"}) == {}
    with pytest.raises(BadInput, match="takes no option 'heights'"):
        unknown_to("golfers", {"heights": "/etc/passwd"})


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("speed_m", "fast"),
        ("speed_m", "3 kg"),
        ("smoothness", "7,4"),
        ("rounds", "nan"),
        ("sideways_mm_per_m", "6 m"),
        ("distance_m", "inf"),
    ],
)
def test_what_cannot_be_read_names_its_field(name: str, text: str) -> None:
    with pytest.raises(BadInput) as fault:
        options_of("golfers", {name: text})
    assert fault.value.where == name.split("_")[0]


@given(st.floats(1.0, 5.5), st.floats(0, 10), st.sampled_from(["1", "Övre 2", "a&b=c"]))
def test_an_address_carries_options_there_and_back(speed: float, score: float, green: str) -> None:
    options = {"speed_m": speed, "smoothness": score, "green": green}
    back = options_of("golfers", in_address(options))
    assert back["green"] == green
    assert back["speed_m"] == pytest.approx(speed, rel=1e-5)
    assert back["smoothness"] == pytest.approx(score, rel=1e-5, abs=1e-9)


# -- from the form


@given(COURSES)
def test_a_form_that_nobody_touched_asks_for_nothing(course: Course) -> None:
    assert whatif.sent(boxes(course=course), course) == {}


@given(COURSES, st.floats(1.5, 5.0), st.floats(0.1, 50))
def test_what_was_asked_before_stays_asked_to_the_last_digit(
    course: Course, speed: float, across: float
) -> None:
    options = options_of("golfers", in_address({"speed_m": speed, "sideways_mm_per_m": across}))
    assert whatif.sent(boxes(course=course, **options), course) == options


def test_only_what_was_changed_is_asked() -> None:
    held = boxes() | {"speed_ft": "10", "speed_in": "6"}
    # by hand: 126 in x 0.0254
    assert whatif.sent(held, FEET) == {"speed_m": pytest.approx(3.2004)}
    held = boxes() | {"f_player": "tour", "f_green": "1", "f_rounds": "200"}
    assert whatif.sent(held, FEET) == {"player": "tour", "green": "1", "rounds": 200.0}


@pytest.mark.parametrize(
    ("course", "typed", "options"),
    [
        (METRES, {"f_speed_m": "3.2"}, {"speed_m": 3.2}),
        (METRES, {"f_distance_m": "2"}, {"distance_m": 2.0}),
        (FEET, {"f_distance_m": "6"}, {"distance_m": 1.8288}),  # by hand: 6 x 0.3048
        (FEET, {"f_sideways_mm_per_m": "8"}, {"sideways_mm_per_m": 8.0}),
        # by hand: 0.6 in in 120 in is 5 mm in 1000 mm; the form shows 0.6 already, so 1.2
        (US, {"f_sideways_mm_per_m": "1.2"}, {"sideways_mm_per_m": 10.0}),
        (FEET, {"speed_ft": "11", "speed_in": ""}, {"speed_m": 3.3528}),
        (FEET, {"f_sideways_mm_per_m": "0"}, {"sideways_mm_per_m": 0.0}),
    ],
)
def test_the_form_speaks_the_course_s_units(course: Course, typed: dict, options: dict) -> None:
    held = whatif.sent(boxes(course=course) | typed, course)
    assert held == {name: pytest.approx(value) for name, value in options.items()}


def test_a_box_made_empty_is_today_again() -> None:
    held = boxes(speed_m=3.2, smoothness=6.0) | {"speed_ft": "", "speed_in": ""}
    assert whatif.sent(held, FEET) == {"smoothness": 6.0}


@pytest.mark.parametrize("typed", [{"speed_ft": "ten"}, {"speed_in": "6''"}, {"f_smoothness": "x"}])
def test_a_box_that_cannot_be_read_is_refused(typed: dict) -> None:
    with pytest.raises(BadInput, match="number"):
        whatif.sent(boxes() | typed, FEET)


# -- into the form


def test_the_form_is_filled_with_todays_levels_in_the_course_s_units() -> None:
    # by hand: 9.42 ft = 9'5"; 3.05 m = 10.0 ft
    held = boxes()
    assert (held["speed_ft"], held["speed_in"]) == ("9", "5")
    assert (held["f_smoothness"], held["f_sideways_mm_per_m"], held["f_rounds"]) == (
        "7.4",
        "5",
        "120",
    )
    assert (held["f_distance_m"], held["f_player"], held["f_green"]) == ("10", "90", "5")
    assert boxes(course=METRES)["f_speed_m"] == "2.87"
    assert boxes(course=US)["f_sideways_mm_per_m"] == "0.6"


def test_the_form_shows_an_index_as_what_a_ball_does() -> None:
    held = boxes(trueness_t=index(8.0, 2.87), speed_m=2.87)
    assert float(held["f_sideways_mm_per_m"]) == pytest.approx(8.0, abs=0.06)


def test_levels_never_read_leave_their_boxes_empty() -> None:
    held = boxes(made.golfers(now=made.now(smoothness=None, green_speed=None)))
    assert held["f_smoothness"] == "" and held["speed_ft"] == "" == held["speed_in"]
    assert boxes(made.golfers(now=made.now(green_speed=None)), METRES)["f_speed_m"] == ""


def test_players_and_greens_are_chosen_by_their_words() -> None:
    held = {f.key: f for f in whatif.fields(ANSWER, FEET, {}, greens=["1", "short game"])}
    assert held["player"].choices == (
        ("tour", "Tour player"),
        ("90", "90-shooter"),
        ("ana here", "ana, from putts here"),
    )
    assert held["green"].choices[1] == ("short game", "green short game")


def test_what_was_typed_stays_in_its_box() -> None:
    fields = whatif.retyped(whatif.fields(ANSWER, FEET, {}, greens=[]), {"speed_ft": "ten" * 90})
    (speed,) = [f for f in fields if f.key == "speed_m"]
    assert speed.parts[0].text.startswith("tenten") and len(speed.parts[0].text) == LONGEST
    assert speed.parts[1].text == "5"


# -- on the page


def test_the_page_has_its_form_and_todays_levels(small: Client, handed: Handed) -> None:
    text = wait(small, "/golfers")
    assert "What if it were otherwise?" in text and "Worked out for green speed" in text
    assert 'class="as-if"' not in text and '<details class="fold what-if">' in text
    assert text.count('role="img"') == 6  # three pictures, each for two widths
    assert handed.asked == [{}]


def test_a_what_if_is_labelled_and_leads_back(small: Client, handed: Handed) -> None:
    text = wait(small, "/golfers?speed_m=3.048&on=2026-06-04")
    assert handed.asked == [{"speed_m": 3.048}]
    assert "As if green speed were 10&#39;0&#34; (today 9&#39;5&#34;)" in text
    assert '<a href="/golfers?on=2026-06-04">Back to today' in text
    assert 'class="fold what-if" open' in text


def test_the_form_leads_to_an_address_that_can_be_kept(small: Client, handed: Handed) -> None:
    wait(small, "/golfers")
    sent = boxes(course=FEET) | {"speed_ft": "10", "speed_in": "0", "on": "2026-06-04"}
    reply = small.get("/golfers", params=sent, follow_redirects=False)
    assert reply.status_code == 303
    parts = urlsplit(reply.headers["location"])
    assert parts.path == "/golfers"
    assert parse_qs(parts.query) == {"on": ["2026-06-04"], "speed_m": ["3.048"]}


def test_a_form_left_alone_leads_back_to_today(small: Client, handed: Handed) -> None:
    reply = small.get("/golfers", params=boxes(), follow_redirects=False)
    assert (reply.status_code, reply.headers["location"]) == (303, "/golfers")


def test_a_typing_slip_is_said_and_kept(small: Client, handed: Handed) -> None:
    reply = small.get("/golfers", params=boxes() | {"speed_ft": "ten"})
    assert reply.status_code == 400 and 'role="alert"' in reply.text
    assert 'value="ten"' in reply.text and 'aria-invalid="true"' in reply.text
    assert "To the eye" in reply.text and 'class="fold what-if" open' in reply.text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("speed_m=99", "99 m cannot be"),
        ("smoothness=11", "0 to 10 points"),
        ("rounds=-3", "cannot be"),
        ("speed_m=quick", "quick"),
        ("trueness_t=2e-6&sideways_mm_per_m=5", "given twice"),
    ],
)
def test_what_cannot_be_is_said_above_todays_figures(
    small: Client, handed: Handed, query: str, said: str
) -> None:
    reply = reply_of(small, f"/golfers?{query}")
    assert reply.status_code == 400
    assert said in reply.text and "To the eye" in reply.text


def test_nothing_typed_gets_into_the_page_as_markup(small: Client, handed: Handed) -> None:
    params = boxes() | {"f_player": "<script>x</script>", "speed_ft": '"><b>'}
    assert "<script>x" not in small.get("/golfers", params=params).text
    reply = small.get("/golfers", params={"green": "<b>7</b>"})
    assert "<b>7</b>" not in reply.text


def test_tables_and_progress_keep_the_what_if(small: Client, handed: Handed) -> None:
    text = wait(small, "/golfers?smoothness=6")
    found = re.findall(r'href="(/golfers/table/\d+\.csv[^"]*)"', text)
    assert found and all(link.endswith("?smoothness=6") for link in found)
    reply = small.get(found[0])
    assert reply.headers["content-type"].startswith("text/csv")
    assert handed.asked == [{"smoothness": 6.0}]  # the same answer, not another one
    done = small.get("/progress/golfers?smoothness=6", headers={"hx-request": "true"})
    assert done.headers["hx-redirect"] == "/golfers?smoothness=6"


def test_each_what_if_is_answered_once_and_few_are_held(
    small: Client, handed: Handed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shelf, "KEPT", 3)
    for query in ("", "?smoothness=6", "?smoothness=6", "?smoothness=6.0", ""):
        wait(small, f"/golfers{query}")
    assert handed.asked == [{}, {"smoothness": 6.0}]
    for score in range(5):
        wait(small, f"/golfers?smoothness={score}")
    assert len(small.app.state.room.shelf._jobs) == 3


def test_the_program_interface_takes_the_same_options(small: Client, handed: Handed) -> None:
    import jsonschema

    reply = small.get("/api/ask/golfers", params={"speed_m": "10ft", "player": "tour"})
    jsonschema.validate(reply.json(), answer_schema())
    assert reply.json()["what_if"]["given"] == ["speed_m"]
    assert handed.asked[-1] == {"speed_m": pytest.approx(3.048), "player": "tour"}


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("/api/ask/golfers?speed=3", "no option 'speed'"),
        ("/api/ask/golfers?heights=%2Fetc%2Fpasswd", "no option 'heights'"),
        ("/api/ask/today?speed_m=3", "no option 'speed_m'"),
        ("/api/ask/golfers?speed_m=99", "99 m cannot be"),
        ("/api/ask/golfers?smoothness=x", "x"),
    ],
)
def test_the_program_interface_refuses_in_words(
    small: Client, handed: Handed, path: str, said: str
) -> None:
    reply = small.get(path)
    assert reply.status_code == 400 and said in reply.json()["error"]["what"]


def test_other_questions_have_no_form(small: Client) -> None:
    text = wait(small, "/?speed_m=3")
    assert "What if it were otherwise?" not in text and "<h1>How are the greens today?" in text


def test_an_empty_record_says_how_to_begin_whatever_was_asked(empty: Client) -> None:
    reply = empty.get("/golfers?speed_m=3")
    assert reply.status_code == 409 and "no course in this record yet" in reply.text


# -- with the science


def test_a_real_record_is_answered_in_three_parts(small: Client) -> None:
    text = wait(small, "/golfers")
    for title in ("What they will notice", "What they will say", "What they will miss"):
        assert f"<h2>{title}</h2>" in text
    assert "200 putts on green" in text and "For the pro shop" in text and "For the crew" in text


def test_a_rougher_surface_costs_more_putts(small: Client) -> None:
    def cost(query: str) -> float:
        rows = small.get(f"/api/ask/golfers{query}").json()["findings"]
        held = [r for r in rows if r["about"] == "putts per 18 holes" and r["player"] == "tour"]
        return held[0]["estimate"]["value"]

    assert cost("?sideways_mm_per_m=0") == pytest.approx(0.0, abs=1e-9)
    assert 0 < cost("?sideways_mm_per_m=4") < cost("?sideways_mm_per_m=12")
