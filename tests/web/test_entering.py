"""Quick entry: rows are in the record before Saved is said; nothing typed is lost; undo."""

from __future__ import annotations

import re

import pytest

from greenwright.web.entryforms import Entry, next_green
from greenwright.web.rowwords import summary
from tests.web.client import Client

MOISTURE = {
    "of": "reading",
    "kind": "moisture",
    "green": "2",
    "value": "24",
    "unit": "%",
    "date": "2026-06-05",
    "observer": "ana",
    "token": "3f0c6a52-7a0e-4c8e-9d0f-0a4a3c1f1a10",
}


def count(client: Client, file: str = "readings") -> int:
    text = client.get("/record", params={"file": file}).text
    return int(re.search(r'role="status">([\d,]+) row', text)[1].replace(",", ""))


def test_a_reading_is_saved_and_the_next_green_offered(small: Client) -> None:
    before = count(small)
    reply = small.post("/record/enter", data=MOISTURE)
    assert reply.status_code == 200 and "<strong>Saved:</strong>" in reply.text
    assert "Soil moisture 24 %, green 2" in reply.text
    assert '<option value="3" selected>' in reply.text  # played after 2
    assert 'value="ana"' in reply.text  # who reads is kept
    assert count(small) == before + 1


def test_sending_the_same_form_twice_adds_nothing(small: Client) -> None:
    before = count(small)
    for _ in range(2):
        small.post("/record/enter", data=MOISTURE)
    assert count(small) == before + 1


def test_undo_takes_it_back_and_keeps_its_history(small: Client) -> None:
    before = count(small)
    saved = small.post("/record/enter", data=MOISTURE).text
    ids = re.search(r'name="ids" value="([^"]+)"', saved)[1]
    form = {"of": "reading", "kind": "moisture", "green": "2", "ids": ids}
    undone = small.post("/record/undo", data=form)
    assert "Taken back: Soil moisture 24 %, green 2." in undone.text
    assert '<option value="2" selected>' in undone.text
    assert count(small) == before
    row = small.get(f"/record/row/readings/{ids}").text
    assert "out of use" in row and "taken back right after entry" in row


ROLLS = {
    "of": "reading",
    "kind": "roll_distance",
    "green": "1",
    "date": "2026-06-05",
    "time": "06:40",
    "a1_ft": "8",
    "a1_in": "0",
    "a2_ft": "8",
    "b1_ft": "12",
    "b1_in": "6",
    "token": "3f0c6a52-7a0e-4c8e-9d0f-0a4a3c1f1a11",
}


def test_rolls_are_a_row_each_of_one_set(small: Client) -> None:
    before = count(small)
    saved = small.post("/record/enter", data=ROLLS).text
    assert "3 rolls, green 1" in saved
    assert count(small) == before + 3
    ids = re.search(r'name="ids" value="([^"]+)"', saved)[1].split(",")
    rows = [small.get(f"/record/row/readings/{i}").text for i in ids]
    # by hand: 12'6" written as it was read; all three of one set
    assert "12&#39;6&#34;" in rows[2] and "<dd>b</dd>" in rows[2]
    sets = {re.search(r"<dt>Set</dt><dd>(\w+)</dd>", r)[1] for r in rows}
    assert len(sets) == 1


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"green": ""}, "Choose a green"),
        ({"value": ""}, "Fill in what was read"),
        ({"value": "90"}, "90"),
        ({"value": "wet"}, "wet"),
        ({"green": "77"}, "77"),
        ({"date": "2026-06-09"}, "future"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_is_kept(
    small: Client, change: dict, told: str
) -> None:
    before = count(small)
    reply = small.post("/record/enter", data=MOISTURE | change | {"note": "by the bunker"})
    assert reply.status_code == 422
    alert = re.search(r'role="alert".*?</div>', reply.text, re.DOTALL)[0]
    assert "Not saved" in alert and told in alert
    assert 'value="by the bunker"' in reply.text
    assert count(small) == before


def test_if_one_roll_is_refused_none_is_kept(small: Client) -> None:
    before = count(small)
    reply = small.post("/record/enter", data=ROLLS | {"a2_ft": "80"})
    assert reply.status_code == 422 and "Roll 2" in reply.text
    assert 'value="80"' in reply.text and count(small) == before


def test_no_roll_at_all_is_refused(small: Client) -> None:
    bare = {k: v for k, v in ROLLS.items() if "_" not in k}
    reply = small.post("/record/enter", data=bare)
    assert reply.status_code == 422 and "Fill in at least one roll" in reply.text


def test_work_is_saved_on_groups(small: Client) -> None:
    before = count(small, "work")
    form = {
        "of": "work",
        "kind": "roll",
        "greens": ["A", "3"],
        "passes": "1",
        "date": "2026-06-05",
        "status": "done",
        "token": "3f0c6a52-7a0e-4c8e-9d0f-0a4a3c1f1a12",
    }
    reply = small.post("/record/enter", data=form)
    assert reply.status_code == 200 and "Roll, on A, 3" in reply.text
    assert count(small, "work") == before + 1


def test_work_without_a_green_is_refused(small: Client) -> None:
    form = {"of": "work", "kind": "mow", "amount": "3.6", "unit": "mm", "date": "2026-06-05"}
    reply = small.post("/record/enter", data=form)
    assert reply.status_code == 422 and "Choose at least one green" in reply.text
    assert 'value="3.6"' in reply.text


@pytest.mark.parametrize("kind", ["firmness", "clippings", "hops", "roll_score", "quality"])
def test_each_kind_has_its_form(small: Client, kind: str) -> None:
    text = small.get("/record/enter", params={"kind": kind}).text
    assert ('name="method"' in text) == (kind == "firmness")
    assert ('name="n"' in text) == (kind == "hops")
    assert ('<select id="unit"' in text) == (kind == "clippings")


def test_undo_of_nothing_is_refused(small: Client) -> None:
    assert small.post("/record/undo", data={"ids": ""}).status_code == 400


def test_saved_is_not_said_of_rows_that_are_not_there(small: Client) -> None:
    text = small.get("/record/enter", params={"saved": "not-a-row"}).text
    assert "Saved" not in text


def test_entries_and_the_next_green() -> None:
    assert Entry.of({}) == Entry("reading", "roll_distance")
    assert Entry.of({"of": "work", "kind": "nonsense"}) == Entry("work", "mow")
    assert next_green("9", ["1", "2"]) == ""
    assert summary("work", {"practice": "roll", "green": "all"}) == "Roll, all greens"
