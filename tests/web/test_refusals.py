"""Every form refuses in words (what, where, expected) and keeps what was typed."""

from __future__ import annotations

import re
from datetime import date
from html import unescape
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.base.tables import kinds, practices, record_files
from greenwright.base.values import Course
from greenwright.desk import OPTIONS
from greenwright.web import options
from greenwright.web.entryforms import OFTEN, Entry, clock_time, rows, spec
from greenwright.web.forms import Form
from greenwright.web.loading import safe_name
from greenwright.web.options import TAKEN, in_address, options_of
from greenwright.web.security import HEADERS, limit_for
from tests.web.client import Client
from tests.web.test_entering import count
from tests.web.test_records import first_row

SMALL_LOAD = "date,rounds\n2026-05-02,40\n"
METRIC = Course(course="fen", name="Fen", timezone="Europe/London")


def alert(text: str) -> str:
    found = re.search(r'role="alert".*?</div>', text, re.DOTALL)
    assert found, "no alert on the page"
    return unescape(re.sub(r"<[^>]+>", " ", found[0]))


def box(text: str, ident: str) -> str:
    """Return the tag of an input, or the chosen option of a select."""
    tag = re.search(rf'<(input|select)[^>]* ?id="{ident}"[^>]*>', text)
    assert tag, f"no field {ident}"
    if tag[1] == "input":
        return tag[0]
    chosen = re.search(r"<option[^>]* selected[^>]*>", text[tag.end() :].split("</select>")[0])
    return chosen[0] if chosen else ""


# -- quick entry: a form for each kind and practice

TYPED = {"date": "2026-06-05", "time": "06:40", "note": "by the bunker", "token": "t"}


@pytest.mark.parametrize("kind", [k for k in OFTEN["reading"] if k != "roll_distance"])
def test_a_reading_that_cannot_be_is_refused_at_its_box(small: Client, kind: str) -> None:
    form = {"of": "reading", "kind": kind, "green": "2", "value": "wet", "observer": "ana"}
    form |= TYPED | {"surface": "damp", "station": "B", "method": "impact deceleration"}
    form["method"] = form["method"] if kind == "firmness" else "bench" if kind[0] == "h" else ""
    reply = small.post("/record/enter", data=form)
    assert reply.status_code == 422
    told = alert(reply.text)
    assert (
        "Not saved" in told
        and "'wet' is not a number" in told
        and "correct the cell" in told.lower()
    )
    assert 'aria-invalid="true"' in box(reply.text, "value")
    kept = {"value": "wet", "observer": "ana", "note": "by the bunker", "time": "06:40"}
    for name, text in (kept | {"station": "B"}).items():
        assert f'value="{text}"' in box(reply.text, name)
    assert 'value="2"' in box(reply.text, "green") and "damp" in reply.text
    assert 'name="token" value="t"' in reply.text  # sent again, it is still the same entry


@pytest.mark.parametrize("practice", OFTEN["work"])
def test_work_that_cannot_be_is_refused_at_its_box(small: Client, practice: str) -> None:
    form = {"of": "work", "kind": practice, "greens": ["A", "3"], "labour_h": "two", **TYPED}
    form |= {"operator": "ben", "machine": "red one", "status": "planned", "passes": "2"}
    reply = small.post("/record/enter", data=form)
    assert reply.status_code == 422 and "'two' is not a number" in alert(reply.text)
    assert 'aria-invalid="true"' in box(reply.text, "labour_h")
    for name, text in {"labour_h": "two", "operator": "ben", "machine": "red one"}.items():
        assert f'value="{text}"' in box(reply.text, name)
    assert "planned" in box(reply.text, "status") or "selected>planned" in reply.text
    ticked = re.findall(r'name="greens" value="([^"]+)" checked', reply.text)
    assert ticked == ["A", "3"]


@pytest.mark.parametrize(
    ("change", "name", "told"),
    [
        ({"date": "05/06/2026"}, "date", "day first or month first"),
        ({"date": "2026-06-06"}, "date", "in the future (today is 2026-06-05)"),
        ({"time": "7 am"}, "time", "two digits each, as 07:15"),
        ({"green": "77"}, "green", "write one of: 1, 2, 3"),
        ({"value": "90"}, "value", "outside 0 to 70 %"),
        ({"value": "20,5"}, "value", "decimal point, not a comma"),
    ],
)
def test_each_box_says_what_it_expects(
    small: Client, change: dict[str, str], name: str, told: str
) -> None:
    good = {"kind": "moisture", "green": "2", "value": "24", "unit": "%", **TYPED}
    before = count(small)
    reply = small.post("/record/enter", data=good | change)
    assert reply.status_code == 422
    assert told.casefold() in alert(reply.text).casefold()
    tag = re.search(rf'<(?:input|select) id="{name}"[^>]*>', reply.text)
    assert 'aria-invalid="true"' in tag[0] and 'aria-describedby="faults"' in tag[0]
    assert count(small) == before


def test_what_is_typed_never_becomes_markup(small: Client) -> None:
    nasty = '"><script>alert(1)</script>'
    form = {"kind": "moisture", "green": nasty, "value": nasty, "note": nasty, "observer": nasty}
    text = small.post("/record/enter", data=form).text
    assert "<script>alert" not in text
    assert f"value=&#34;{nasty}" not in text and "&lt;script&gt;" in text


@pytest.mark.parametrize("kind", sorted(kinds()))
def test_every_kind_has_a_form_of_its_own_unit(kind: str) -> None:
    held = spec(Entry.of({"kind": kind}), METRIC)
    names = [key for key, _ in (*held["often"], *held["rest"])]
    assert sorted(names) == sorted(kinds()) and held["what"] == kinds()[kind].what
    assert all(isinstance(unit, str) and unit != "own" for unit in held["units"])


@pytest.mark.parametrize("practice", sorted(practices()))
def test_every_practice_has_a_form(practice: str) -> None:
    held = spec(Entry.of({"of": "work", "kind": practice}), METRIC)
    assert bool(held["units"]) == bool(practices()[practice].unit)
    assert held["needs_material"] == practices()[practice].needs_material


def form_of(**fields: Any) -> Form:
    return Form({k: v if isinstance(v, list) else [v] for k, v in fields.items()})


@pytest.mark.parametrize(
    ("fields", "cells"),
    [
        ({"a1": "2.44"}, [("2.44", "m", "a")]),
        ({"a1_ft": "8", "b2_in": "11"}, [("8'0\"", None, "a"), ("0'11\"", None, "b")]),
        ({"a1": "8ft", "a3": "2.5"}, [("8ft", None, "a"), ("2.5", "m", "a")]),
        ({"b1": "2,44"}, [("2,44", "m", "b")]),  # refused by the record, not guessed here
    ],
)
def test_rolls_become_rows_as_they_were_typed(fields: dict, cells: list) -> None:
    entry = Entry.of({"kind": "roll_distance"})
    made = rows(entry, form_of(green="1", token="t", **fields), METRIC)
    assert [(r["value"], r.get("unit"), r["direction"]) for r in made] == cells
    again = rows(entry, form_of(green="1", token="t", **fields), METRIC)
    assert [r["id"] for r in again] == [r["id"] for r in made]  # sent twice, kept once
    assert len({r["id"] for r in made}) == len(made)


@pytest.mark.parametrize(
    ("greens", "cell"),
    [(["1", "3"], "1;3"), (["A", "A", "2"], "A;2"), (["2", "all"], "all")],
)
def test_greens_ticked_become_one_cell(greens: list[str], cell: str) -> None:
    made = rows(Entry.of({"of": "work", "kind": "roll"}), form_of(greens=greens, unit="mm"), METRIC)
    assert made[0]["green"] == cell and "unit" not in made[0]  # no amount, no unit


def test_the_clock_is_two_digits_each() -> None:
    assert re.fullmatch(r"[0-2]\d:[0-5]\d", clock_time("Europe/London"))


# -- one row


def test_a_refused_correction_leaves_the_row_as_it_was_told(small: Client) -> None:
    path = first_row(small, kind="moisture")
    held = re.search(r"<dt>Value</dt><dd>([^<]+)</dd>", small.get(path).text)[1]
    form = {"value": "soaked", "who": "ben", "why": "misread"}
    reply = small.post(path, data=form)
    assert reply.status_code == 422 and "'soaked' is not a number" in alert(reply.text)
    assert 'value="soaked"' in box(reply.text, "c-value")  # in its box, to be mended
    assert f"<dt>Value</dt><dd>{held}</dd>" in reply.text  # what the record holds is unchanged
    assert 'value="ben"' in box(reply.text, "who") and 'value="misread"' in box(reply.text, "why")


@pytest.mark.parametrize(
    ("typed", "where"), [({"who": "ben"}, "why"), ({"why": "not ours"}, "who"), ({}, "who")]
)
def test_taking_out_without_a_name_or_reason_keeps_the_other(
    small: Client, typed: dict[str, str], where: str
) -> None:
    path = first_row(small, kind="moisture")
    reply = small.post(f"{path}/withdraw", data=typed)
    assert reply.status_code == 422 and f"({where})" in alert(reply.text)
    for name, text in typed.items():
        assert f'value="{text}"' in box(reply.text, f"w-{name}")
        assert f'value="{text}"' not in box(reply.text, name)  # the other form stays empty
    assert re.search(r'<details class="fold" open><summary><h2>Take it out', reply.text)
    assert "out of use: no answer" not in small.get(path).text


# -- loading


def test_a_refused_load_keeps_the_name_typed(small: Client) -> None:
    reply = small.post("/record/load/look", data={"who": "ana"}, files={"x": ("", b"")})
    assert reply.status_code == 422 and "No file was chosen" in alert(reply.text)
    assert 'value="ana"' in box(reply.text, "who")
    gone = small.post("/record/load/keep", data={"token": "gone", "who": "ana"})
    assert "no longer waiting" in alert(gone.text) and 'value="ana"' in box(gone.text, "who")


def test_two_files_of_one_name_are_refused_as_one_would_be_lost(small: Client) -> None:
    files = [("files", (f"{folder}/rounds.csv", SMALL_LOAD.encode())) for folder in ("a", "b")]
    reply = small.post("/record/load/look", files=files)
    assert reply.status_code == 422 and "Two files are called rounds.csv" in alert(reply.text)
    single = small.post("/record/load/look", files=files[:1])
    assert single.status_code == 200 and "Look before you load" in single.text


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("..", "file"),
        ("/etc/passwd", "passwd"),
        ("C:\\record\\Lab.csv", "lab.csv"),
        (".hidden", "hidden"),
        ("x" * 200, "x" * 80),
        ("grün.csv", "gr_n.csv"),
        ("a\0b.csv", "a_b.csv"),
    ],
)
def test_names_lead_nowhere(name: str, safe: str) -> None:
    assert safe_name(name) == safe


@given(st.text(max_size=120))
def test_any_name_is_harmless(name: str) -> None:
    assert re.fullmatch(r"[a-z0-9_-][a-z0-9_.-]{0,79}", safe_name(name))


# -- addresses


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/record?page=many", 400, "whole number"),
        ("/record?file=secrets", 400, "readings"),
        ("/today/table/first.csv", 404, "no page at this address"),
        ("/record?course=mars", 400, "heron"),
        ("/reckoner/none", 400, ""),
        ("/record/row/none/1", 404, "no page at this address"),
    ],
)
def test_an_address_that_cannot_be_read_is_told_on_a_page(
    small: Client, path: str, status: int, words: str
) -> None:
    reply = small.get(path)
    assert reply.status_code == status
    assert reply.headers["content-type"].startswith("text/html")
    assert words in alert(reply.text)
    assert all(reply.headers[name] == value for name, value in HEADERS.items())


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH"])
def test_other_ways_to_ask_are_refused_with_the_headers(small: Client, method: str) -> None:
    reply = small._send(method, "/record/enter")
    assert reply.status_code == 405 and "cannot be used in this way" in reply.text
    assert all(reply.headers[name] == value for name, value in HEADERS.items())


def test_files_may_be_larger_than_forms() -> None:
    # 12 MB of files, as the page says; 128 kB of fields
    assert limit_for({"content-type": "multipart/form-data; boundary=x"}) == 12 * 1024**2
    assert limit_for({"content-type": "application/x-www-form-urlencoded"}) == 128 * 1024
    assert limit_for({}) == 128 * 1024


# -- options there and back

SAMPLES: dict[str, Any] = {
    "from": date(2026, 5, 1), "until": date(2026, 6, 1), "days": 5, "year": 2025, "periods": 4,
    "seed": 1_234_567, "rounds": 120.0, "speed_m": 9.5 * 0.3048, "smoothness": 6.25,
    "trueness_t": 2.1e-6, "sideways_mm_per_m": 8.0, "distance_m": 7.3 * 0.3048,
    "crop_coefficient": 0.7, "root_depth_m": 0.127, "difference": 0.1, "sd": 1 / 3,
}  # fmt: skip


@pytest.mark.parametrize("question", sorted(TAKEN))
def test_every_option_of_a_question_goes_there_and_back(question: str) -> None:
    given = {n: SAMPLES.get(n, f"a word & {n}") for n in TAKEN[question]}
    once = options_of(question, in_address(given))
    assert set(once) == set(given)
    for name, value in given.items():
        exact = pytest.approx(value, rel=1e-11) if isinstance(value, float) else value
        assert once[name] == exact
    # what a page links to is the very answer that it shows, to the last digit
    assert options_of(question, in_address(once)) == once


@given(st.floats(0.01, 90.0), st.sampled_from(["", "ft", "in", "cm", "yd"]))
def test_a_length_in_any_unit_settles_after_one_address(value: float, unit: str) -> None:
    once = options_of("golfers", {"speed_m": f"{value!r}{unit}"})
    assert options_of("golfers", in_address(once)) == once


@pytest.mark.parametrize("question", sorted(TAKEN))
def test_words_too_long_are_refused_and_not_cut(question: str) -> None:
    name = next(iter(TAKEN[question]))
    assert name in OPTIONS[question]
    with pytest.raises(BadInput, match="too long") as raised:
        options_of(question, {name: "1" * (options.LONGEST + 1)})
    assert raised.value.where == name and "80 characters" in raised.value.expected


def test_every_file_of_a_record_can_be_listed(small: Client) -> None:
    for file in record_files():
        reply = small.get("/record", params={"file": file})
        assert reply.status_code == 200, file
