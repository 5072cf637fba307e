"""Reckoner, evidence, courses, vendored files, serving."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest
from markupsafe import escape

from greenwright.base.errors import BadInput
from greenwright.base.evidence import evidence
from greenwright.desk.reckon import calculators
from greenwright.web.serve import listening, serve
from greenwright.web.views import HERE
from tests.web.client import Client, client_of
from tests.web.conftest import ON


@pytest.mark.parametrize("name", list(calculators()))
def test_every_calculation_has_a_page_and_its_example_runs(small: Client, name: str) -> None:
    held = calculators()[name]
    assert held.question in small.get("/reckoner").text.replace("&#39;", "'")
    bare = small.get(f"/reckoner/{name}")
    assert bare.status_code == 200 and 'class="result"' not in bare.text
    done = small.get(f"/reckoner/{name}", params=dict(held.examples[0].inputs))
    assert done.status_code == 200 and 'class="result"' in done.text


def test_a_two_way_speed_in_the_course_units(small: Client) -> None:
    text = small.get("/reckoner/two-way-speed", params={"up": "8ft", "down": "12ft"}).text
    # by hand: 9.6 ft = 9 ft 7.2 in
    assert "9&#39;7&#34;" in text


@pytest.mark.parametrize("name", list(calculators()))
def test_a_worked_example_names_its_inputs_as_the_form_does(small: Client, name: str) -> None:
    held = calculators()[name]
    text = small.get(f"/reckoner/{name}").text
    example = text[text.index("Worked example: ") :].split("</p>")[0]
    labels = {a.name: a.label for a in held.arguments}
    for given in held.examples[0].inputs:
        label = str(escape(labels[given]))
        assert label[:1].lower() + label[1:] in example


def test_a_strange_input_is_said_and_kept(small: Client) -> None:
    reply = small.get("/reckoner/two-way-speed", params={"up": "eight", "down": "12ft"})
    assert reply.status_code == 422
    assert 'value="eight"' in reply.text and 'role="alert"' in reply.text


def test_an_unknown_calculation(small: Client) -> None:
    assert small.get("/reckoner/none").status_code == 400


def test_the_reckoner_needs_no_course(empty: Client) -> None:
    assert empty.get("/reckoner/two-way-speed").status_code == 200
    assert empty.get("/about").status_code == 200 and empty.get("/evidence").status_code == 200


def test_evidence_is_shown_and_narrowed(small: Client) -> None:
    text = small.get("/evidence").text
    assert f"{len(evidence())} of {len(evidence())} numbers" in text
    few = small.get("/evidence", params={"find": "roll speed", "grade": "published"}).text
    count = int(re.search(r"(\d+) of \d+ numbers", few)[1])
    assert 0 < count < len(evidence())
    assert "Nothing fits" in small.get("/evidence", params={"find": "zzzz"}).text


def test_two_courses_can_be_switched(small: Client) -> None:
    assert "?course=" not in small.get("/about").text
    course = b"course,name,timezone\nmarsh,Marsh End,Europe/London\n"
    greens = b"green,group,order\n1,A,1\n2,A,2\n"
    files = [("files", ("course.csv", course)), ("files", ("greens.csv", greens))]
    looked = small.post("/record/load/look", files=files).text
    token = re.search(r'name="token" value="(\w+)"', looked)[1]
    small.post("/record/load/keep", data={"token": token, "who": "ana"})
    assert "?course=marsh" in small.get("/about").text
    assert "Marsh End" in small.get("/record?file=greens&course=marsh").text
    assert small.get("/record?course=none").status_code == 400


def test_vendored_files_are_what_the_list_says() -> None:
    static = HERE / "static"
    listed = re.findall(
        r"^\| (\S+) \| .* \| ([0-9a-f]{64}) \|$", (static / "VENDORED.md").read_text(), re.M
    )
    assert listed
    for name, digest in listed:
        assert hashlib.sha256((static / name).read_bytes()).hexdigest() == digest
    own = {"style.css", "page.js", "icon.svg", "VENDORED.md", "htmx-LICENSE.txt"}
    assert {p.name for p in static.iterdir()} == own | {name for name, _ in listed}


def test_templates_ask_nothing_of_other_machines() -> None:
    for path in (HERE / "templates").iterdir():
        assert "http://" not in path.read_text() and "https://" not in path.read_text()


def test_it_serves_only_on_this_machine(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="not an address of this machine"):
        serve(tmp_path / "x.db", host="0.0.0.0")


def test_a_taken_port_is_said() -> None:
    with listening("127.0.0.1", 0) as held:
        held.listen()
        with pytest.raises(BadInput, match="cannot be used"):
            listening("127.0.0.1", held.getsockname()[1])


def test_a_file_that_is_no_record_is_refused(tmp_path: Path) -> None:
    from greenwright.base.errors import StoreError

    path = tmp_path / "notes.db"
    path.write_text("just notes, " * 200)
    with pytest.raises(StoreError), client_of(path, ON):
        pass
