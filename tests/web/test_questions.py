"""The pages of the questions: asked today, as of another day, with nothing to go by."""

from __future__ import annotations

import re
import time

import httpx
import pytest

from greenwright.base.answer import answer_schema
from greenwright.desk import QUESTIONS_READY
from greenwright.web import questions
from greenwright.web.views import navigation
from tests.web.client import Client


def reply_of(client: Client, path: str, *, seconds: float = 50.0) -> httpx.Response:
    """Return the reply once it is no longer the page that asks to wait."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        reply = client.get(path)
        if 'id="progress"' not in reply.text:
            return reply
        time.sleep(0.2)
    raise AssertionError(f"{path} was not answered within {seconds} s")


def wait(client: Client, path: str) -> str:
    """Return the page once its answer is there."""
    return reply_of(client, path).text


@pytest.mark.parametrize("path", ["/", "/effects"])
def test_a_question_page_has_its_parts(small: Client, path: str) -> None:
    text = wait(small, path)
    assert re.search(r"<h1>[^<]+\?</h1>", text)
    assert "How we know" in text and "What we don&#39;t know yet" in text
    assert text.count('role="img"') >= 2 and "<title id=" in text and "<desc id=" in text


def test_today_says_what_the_record_says(small: Client) -> None:
    text = wait(small, "/")
    assert "Heron Fen" in text and "Friday 5 June 2026" in text
    # targets.csv of the example: 2.75 to 3.05 m is 9'0" to 10'0" by hand
    assert "slower than the wanted 9&#39;0&#34;–10&#39;0&#34;" in text


def test_another_day_is_asked_as_it_was_known(small: Client) -> None:
    text = wait(small, "/?on=2026-06-03")
    assert "Wednesday 3 June 2026 (not today)" in text
    assert 'href="/effects?on=2026-06-03"' in text  # the day is kept from page to page


def test_a_day_before_any_reading_says_what_to_do(small: Client) -> None:
    reply = reply_of(small, "/?on=2025-01-01")
    assert reply.status_code == 409
    assert "The record cannot answer this yet" in reply.text and "Enter a reading" in reply.text


@pytest.mark.parametrize("on", ["yesterday", "2026-13-01", "<b>"])
def test_a_strange_day_is_refused_plainly(small: Client, on: str) -> None:
    reply = small.get("/", params={"on": on})
    assert reply.status_code == 400 and "is not a date" in reply.text and "<b>" not in reply.text


def test_an_empty_record_says_how_to_begin(empty: Client) -> None:
    reply = empty.get("/")
    assert reply.status_code == 409
    assert "no course in this record yet" in reply.text and 'href="/record/load"' in reply.text


def test_only_questions_that_can_be_answered_are_in_the_navigation() -> None:
    first, more = navigation()
    names = [name for _, name in (*first, *more)]
    assert [name for _, name in first] == ["Today", "Week", "Record"]
    assert "Golfers" in names and "Trials" in names
    assert set(questions.READY) <= set(QUESTIONS_READY)


@pytest.mark.parametrize("path", ["/check", "/nothing", "/static/none.css", "/week/table/0.txt"])
def test_addresses_that_lead_nowhere(small: Client, path: str) -> None:
    reply = small.get(path)
    assert reply.status_code == 404 and "no page at this address" in reply.text


def test_tables_come_as_csv(small: Client) -> None:
    text = wait(small, "/")
    found = re.findall(r'href="(/today/table/\d+\.csv)"', text)
    reply = small.get(found[0])
    assert reply.headers["content-type"].startswith("text/csv")
    assert reply.headers["content-disposition"] == ('attachment; filename="today-2026-06-05-1.csv"')
    assert reply.text.startswith("Green,")
    assert small.get("/today/table/99.csv").status_code == 404


def test_an_answer_is_kept_until_the_record_changes(small: Client) -> None:
    wait(small, "/")
    room = small.app.state.room
    held = [room.shelf.job(w, None).future for w in room.shelf._jobs]
    wait(small, "/")
    assert [room.shelf.job(w, None).future for w in room.shelf._jobs] == held
    row = {"kind": "moisture", "green": "1", "value": "24", "date": "2026-06-05", "token": "a"}
    assert small.post("/record/enter", data=row, follow_redirects=False).status_code == 303
    assert "31 readings" in wait(small, "/")


def test_the_program_interface_gives_the_same_answer(small: Client) -> None:
    import jsonschema

    reply = small.get("/api/ask/today")
    jsonschema.validate(reply.json(), answer_schema())
    assert reply.json()["as_of"] == "2026-06-05"
    assert small.get("/api/schema").json() == answer_schema()


def test_the_program_interface_says_errors_in_the_same_words(small: Client) -> None:
    reply = small.get("/api/ask/check")
    assert reply.status_code == 400 and "today" in reply.json()["error"]["expected"]
    assert small.get("/api/none").status_code == 404


def test_reckon_as_json(small: Client) -> None:
    held = small.get("/api/reckon/two-way-speed", params={"up": "8ft", "down": "12ft"}).json()
    # by hand: 2 x 8 x 12 / 20 = 9.6 ft = 2.92608 m
    assert held["result"]["level_speed"]["value"] == pytest.approx(2.92608, abs=1e-5)


def test_a_fault_of_ours_is_told_without_its_insides(
    small: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("secret path /srv/x")

    monkeypatch.setattr("greenwright.web.records.books.browse", broken)
    reply = small.get("/record")
    assert reply.status_code == 500 and "secret" not in reply.text
    assert "the record is as it was before" in reply.text
    assert "content-security-policy" in reply.headers


@pytest.mark.slow
def test_the_week_is_shown_with_progress_and_then_in_full(small: Client) -> None:
    first = small.get("/week").text
    if 'id="progress"' in first:
        assert '<noscript><meta http-equiv="refresh"' in first
        part = small.get("/progress/week", headers={"hx-request": "true"})
        assert part.status_code == 200
    text = wait(small, "/week")
    assert "The crew's week" in text and "Leave the work if" in text
    done = small.get("/progress/week", headers={"hx-request": "true"})
    assert done.headers["hx-redirect"] == "/week"
    plain = small.get("/progress/week", follow_redirects=False)
    assert plain.status_code == 303 and plain.headers["location"] == "/week"
