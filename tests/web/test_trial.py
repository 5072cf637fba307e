"""A trial in the browser: laid out by the form, kept by its name, followed, refused in words."""

from __future__ import annotations

import pytest

from tests.web.client import Client
from tests.web.test_questions import wait

FORM = (
    "/trial?treatments=as+usual,rolled&name=six&layout=crossover&greens=1,2"
    "&kind=roll_distance&from=2026-06-01&days=2&periods=4&seed=7"
)


def test_the_form_keeps_a_trial_and_the_page_follows_it(small: Client) -> None:
    assert "This is a proposal" in wait(small, "/trial?greens=1,2")
    text = wait(small, FORM)
    assert "six: As usual or rolled?" in text and "Field sheet" in text
    assert "six: As usual or rolled?" in wait(small, "/trial")
    held = small.get("/api/ask/trial?name=six").json()
    assert held["state"]["kept"] is True and held["trial"]["seed"] == 7


def test_the_form_holds_what_was_asked(small: Client) -> None:
    text = wait(small, FORM.replace("name=six", "name=seven"))
    assert 'value="as usual,rolled"' in text and 'value="seven"' in text


@pytest.mark.parametrize(
    ("path", "why"),
    [
        ("/trial?name=nobody", "no trial named"),
        ("/trial?layout=wish", "not laid out over greens"),
        ("/trial?days=many", "not a whole number"),
    ],
)
def test_what_cannot_be_is_said_on_the_page(small: Client, path: str, why: str) -> None:
    reply = small.get(path)
    assert reply.status_code == 400 and why in reply.text
