"""Browsing, correcting and taking back rows; loading files with a look first."""

from __future__ import annotations

import re
from io import BytesIO

import openpyxl
import pytest

from greenwright.web.loading import Waiting, safe_name
from tests.web.client import Client
from tests.web.conftest import SMALL

FILES = ("readings", "work", "weather", "greens", "course", "crew", "lab", "limits", "targets")


def first_row(client: Client, file: str = "readings", **choice: str) -> str:
    text = client.get("/record", params={"file": file, **choice}).text
    return re.search(rf'href="(/record/row/{file}/[^"]+)"', text)[1]


@pytest.mark.parametrize("file", FILES)
def test_every_file_can_be_browsed_and_opened(small: Client, file: str) -> None:
    text = small.get("/record", params={"file": file}).text
    assert "rows of the record" in text.lower()
    assert small.get(first_row(small, file)).status_code == 200


def test_lists_are_narrowed_by_green_and_kind(small: Client) -> None:
    text = small.get("/record", params={"green": "2", "kind": "moisture"}).text
    assert "1 row," in text and "Soil moisture" in text
    none = small.get("/record", params={"kind": "cover"}).text
    assert "No rows that fit this choice" in none


def test_a_file_that_is_none_is_refused(small: Client) -> None:
    assert small.get("/record", params={"file": "secrets"}).status_code == 400


def test_pages_beyond_the_end_are_empty_and_say_so(small: Client) -> None:
    assert "No rows" in small.get("/record", params={"page": "99"}).text


def test_a_correction_keeps_the_earlier_state(small: Client) -> None:
    path = first_row(small, kind="moisture")
    form = {"value": "26", "unit": "%", "who": "ben", "why": "misread the dial"}
    text = small.post(path, data=form).text
    assert "The earlier state stays in the history" in text
    assert "ben: misread the dial" in text and "became 26" in text


@pytest.mark.parametrize("missing", ["who", "why"])
def test_a_correction_needs_a_name_and_a_reason(small: Client, missing: str) -> None:
    path = first_row(small, kind="moisture")
    form = {"value": "26", "unit": "%", "who": "ben", "why": "misread"} | {missing: ""}
    reply = small.post(path, data=form)
    assert reply.status_code == 422 and "needs a name and a reason" in reply.text
    assert 'value="26"' in reply.text  # what was typed is kept


def test_a_correction_that_no_row_could_hold_is_refused(small: Client) -> None:
    path = first_row(small, kind="moisture")
    form = {"value": "900", "unit": "%", "who": "ben", "why": "typing"}
    reply = small.post(path, data=form)
    assert reply.status_code == 422 and 'value="900"' in reply.text
    assert "900" not in small.get("/record", params={"kind": "moisture"}).text


def test_extra_fields_are_ignored(small: Client) -> None:
    path = first_row(small, kind="moisture")
    form = {"value": "26", "unit": "%", "who": "b", "why": "c", "course_key": "x", "id": "y"}
    small.post(path, data=form)
    assert small.get(path).status_code == 200


def test_a_row_is_taken_out_of_use_and_back(small: Client) -> None:
    path = first_row(small, kind="moisture")
    text = small.post(f"{path}/withdraw", data={"who": "ben", "why": "wrong green"}).text
    assert "no answer counts it" in text and "wrong green" in text
    assert "No rows" in small.get("/record", params={"kind": "moisture"}).text


@pytest.mark.parametrize("path", ["/record/row/readings/none", "/record/row/secrets/1"])
def test_rows_that_are_not_there(small: Client, path: str) -> None:
    assert small.get(path).status_code == 404


def upload(client: Client, *names: str, url: str = "/record/load/look") -> str:
    files = [("files", (n, (SMALL / n).read_bytes(), "text/csv")) for n in names]
    reply = client.post(url, files=files, data={"who": "ana"})
    assert reply.status_code == 200, reply.text
    return reply.text


ALL = sorted(p.name for p in SMALL.glob("*.csv"))


def test_an_empty_record_is_filled_after_a_look(empty: Client) -> None:
    looked = upload(empty, *ALL)
    # expected.json of the example: 109 rows, 13 refused
    assert "109 rows read: 96 would be kept, 13 refused" in looked
    assert "readings.csv, row 33" in looked and "Nothing of this has been saved yet" in looked
    assert empty.get("/").status_code == 409
    token = re.search(r'name="token" value="(\w+)"', looked)[1]
    kept = empty.post("/record/load/keep", data={"token": token, "who": "ana"}).text
    assert "Saved: 96 new" in kept
    assert empty.get("/effects").status_code == 200
    again = empty.post("/record/load/keep", data={"token": token})
    assert again.status_code == 422 and "no longer waiting" in again.text


def test_loading_the_same_again_adds_nothing(small: Client) -> None:
    looked = upload(small, "work.csv")
    assert "9 are in the record already" in looked and "Nothing new to load" in looked


def test_a_workbook_is_read(small: Client) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "rounds"
    sheet.append(["date", "rounds"])
    sheet.append(["2026-05-20", 77])
    held = BytesIO()
    book.save(held)
    files = [("files", ("season.xlsx", held.getvalue(), "application/octet-stream"))]
    text = small.post("/record/load/look", files=files).text
    assert "1 row read: 1 would be kept, 0 refused" in text


def test_no_file_and_a_file_that_is_none(small: Client) -> None:
    reply = small.post("/record/load/look", data={"who": "ana"})
    assert reply.status_code == 422 and "No file was chosen" in reply.text
    files = [("files", ("book.xlsx", b"this is no workbook", "text/plain"))]
    reply = small.post("/record/load/look", files=files)
    assert reply.status_code == 422 and 'role="alert"' in reply.text


def test_file_names_are_made_harmless() -> None:
    assert safe_name("../../etc/passwd") == "passwd"
    assert safe_name('wo"rk;.csv') == "wo_rk_.csv"
    assert safe_name("...") == "file"


def test_only_so_many_files_wait() -> None:
    waiting = Waiting(most=1)
    first, folder = waiting.put(())
    second, _ = waiting.put(())
    assert waiting.take(first) is None and not folder.exists()
    held = waiting.take(second)
    assert held is not None
    held.cleanup()
