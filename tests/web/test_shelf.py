"""Answers in the making: one for each question however many ask, shown as far as they are."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from threading import Event, Lock
from typing import Any

import pytest
from typer.testing import CliRunner

from greenwright import desk
from greenwright.base.errors import BadInput, CannotAnswer, GreenwrightError, StoreError
from greenwright.cli import app
from greenwright.web import shelf as shelves
from greenwright.web.shelf import BY_WHAT_IS_KEPT, KEPT, Shelf, Wanted
from tests.show import handmade_learning as made
from tests.web.client import Client

ON = date(2026, 6, 5)
PATIENT_S = 20.0
"""So long a test waits for a thread before it gives up."""


class Store:
    """A record that says only when it changed: its rows, and what was kept beside them."""

    def __init__(self) -> None:
        self.rows = self.kept = 0

    def stamp(self, *, kept: bool) -> tuple[int, ...]:
        """Return what an answer rests on."""
        return (self.rows, self.kept) if kept else (self.rows,)


class Desk:
    """Stands in for the desk: waits until it is let go, counts, and may fail."""

    def __init__(self) -> None:
        self.calls: list[str] = []
        self.go, self.begun = Event(), Event()
        self.faults: list[Exception] = []
        self.share = 0.4
        self._lock = Lock()

    def __call__(self, question: str, *_: Any, progress: Any, **__: Any) -> Any:
        """Tell progress, wait, and give the answer of why."""
        with self._lock:
            self.calls.append(question)
            fault = self.faults.pop(0) if self.faults else None
        progress("Weighing the rolls", self.share)
        self.begun.set()
        assert self.go.wait(PATIENT_S)
        if fault is not None:
            raise fault
        return made.why()


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Iterator[Desk]:
    """Put a desk that waits in the place of the real one."""
    stand_in = Desk()
    monkeypatch.setattr(desk, "ask", stand_in)
    yield stand_in
    stand_in.go.set()


@pytest.fixture
def shelf(slow: Desk, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shelf]:
    """Return a shelf over a record that is none, whose pages are words."""
    monkeypatch.setattr(shelves, "page", lambda answer, course: f"page of {answer.question}")
    held = Shelf(Store())
    yield held
    slow.go.set()
    held.close()


def wish(question: str = "why", **options: Any) -> Wanted:
    return Wanted(question, "fen", ON, tuple(sorted(options.items())))


# -- the shelf alone


def test_many_who_ask_at_once_wait_for_one_answer(shelf: Shelf, slow: Desk) -> None:
    with ThreadPoolExecutor(8) as people:
        jobs = list(people.map(lambda _: shelf.job(wish(), None), range(24)))
    assert len({id(job) for job in jobs}) == 1
    slow.go.set()
    assert [shelf.ready(job, PATIENT_S).page for job in jobs] == ["page of why"] * 24
    assert slow.calls == ["why"]


def test_other_options_are_other_questions(shelf: Shelf, slow: Desk) -> None:
    slow.go.set()
    jobs = [shelf.job(wish(green=g), None) for g in ("1", "2", "1", "2")]
    assert jobs[0] is jobs[2] and jobs[1] is jobs[3] and jobs[0] is not jobs[1]
    for job in jobs:
        shelf.ready(job, PATIENT_S)
    assert len(slow.calls) == 2


def test_a_job_that_is_not_done_says_how_far_it_is(shelf: Shelf, slow: Desk) -> None:
    job = shelf.job(wish(), None)
    assert slow.begun.wait(PATIENT_S)
    assert shelf.ready(job, 0.0) is None
    assert (job.text, job.share) == ("Weighing the rolls", 0.4)
    slow.go.set()
    assert shelf.ready(job, PATIENT_S).answer.question == "why"


@pytest.mark.parametrize(("told", "kept"), [(-0.5, 0.0), (0.3, 0.3), (7.0, 1.0)])
def test_a_share_stays_a_share(told: float, kept: float, shelf: Shelf, slow: Desk) -> None:
    slow.share = told
    job = shelf.job(wish(), None)
    assert slow.begun.wait(PATIENT_S)
    assert job.share == kept


@pytest.mark.parametrize(
    ("question", "rows", "kept", "again"),
    [
        ("why", 1, 0, True),
        ("why", 0, 1, False),  # a kept forecast makes the answer of why no older
        *((q, 0, 1, True) for q in BY_WHAT_IS_KEPT),
        ("why", 0, 0, False),
    ],
)
def test_an_answer_is_old_once_what_it_rests_on_changed(
    shelf: Shelf, slow: Desk, question: str, rows: int, kept: int, again: bool
) -> None:
    slow.go.set()
    first = shelf.job(wish(question), None)
    shelf.ready(first, PATIENT_S)
    shelf._store.rows += rows
    shelf._store.kept += kept
    assert (shelf.job(wish(question), None) is not first) is again


def test_a_change_meanwhile_waits_for_the_answer_in_the_making(shelf: Shelf, slow: Desk) -> None:
    first = shelf.job(wish(), None)
    shelf._store.rows += 1
    assert shelf.job(wish(), None) is first  # nobody starts the same work twice
    slow.go.set()
    shelf.ready(first, PATIENT_S)
    assert shelf.job(wish(), None) is not first  # it rests on rows that are no more


def test_the_oldest_answer_makes_room(shelf: Shelf, slow: Desk) -> None:
    slow.go.set()
    jobs = [shelf.job(wish(n=n), None) for n in range(KEPT)]
    shelf.job(wish(n=0), None)  # asked for again, so it is no longer the oldest
    shelf.job(wish(n=KEPT), None)
    assert len(shelf._jobs) == KEPT
    assert wish(n=0) in shelf._jobs and wish(n=1) not in shelf._jobs
    for job in jobs:
        shelf.ready(job, PATIENT_S)


@pytest.mark.parametrize("fault", [StoreError("busy"), RuntimeError("worn"), OSError("disk")])
def test_an_accident_is_told_once_and_then_tried_again(
    shelf: Shelf, slow: Desk, fault: Exception
) -> None:
    slow.faults.append(fault)
    slow.go.set()
    job = shelf.job(wish(), None)
    with pytest.raises(type(fault)):
        shelf.ready(job, PATIENT_S)
    assert shelf.ready(shelf.job(wish(), None), PATIENT_S).page == "page of why"
    assert slow.calls == ["why", "why"]


@pytest.mark.parametrize("fault", [BadInput("no such green"), CannotAnswer("no reading yet")])
def test_what_the_record_forbids_is_not_reckoned_again(
    shelf: Shelf, slow: Desk, fault: GreenwrightError
) -> None:
    slow.faults.append(fault)
    slow.go.set()
    for _ in range(2):
        with pytest.raises(type(fault)):
            shelf.ready(shelf.job(wish(), None), PATIENT_S)
    assert slow.calls == ["why"]


# -- through the pages


def test_the_page_waits_shows_progress_and_then_the_answer(small: Client, slow: Desk) -> None:
    first = small.get("/why?green=2").text
    assert 'id="progress"' in first and 'value="40"' in first and "Weighing the rolls" in first
    assert 'hx-get="/progress/why?green=2"' in first
    assert '<noscript><meta http-equiv="refresh"' in first
    part = small.get("/progress/why?green=2", headers={"hx-request": "true"})
    assert part.status_code == 200 and "hx-redirect" not in part.headers
    assert "<html" not in part.text and 'value="40"' in part.text
    slow.go.set()
    small.app.state.room.shelf.ready(next(iter(small.app.state.room.shelf._jobs.values())), 20)
    done = small.get("/progress/why?green=2", headers={"hx-request": "true"})
    assert done.headers["hx-redirect"] == "/why?green=2" and done.text == ""
    plain = small.get("/progress/why?green=2", follow_redirects=False)
    assert (plain.status_code, plain.headers["location"]) == (303, "/why?green=2")
    assert slow.calls == ["why"]


def test_nobody_waits_for_another_s_question(small: Client, slow: Desk) -> None:
    assert 'id="progress"' in small.get("/why").text
    for path in ("/about", "/record", "/record/enter", "/reckoner", "/evidence"):
        assert small.get(path).status_code == 200
    assert slow.calls == ["why"]


def test_after_an_accident_the_page_can_be_asked_again(small: Client, slow: Desk) -> None:
    slow.faults.append(RuntimeError("secret"))
    slow.go.set()
    broken = small.get("/why")
    assert broken.status_code == 500 and "secret" not in broken.text and "Try again" in broken.text
    assert small.get("/why").status_code == 200
    slow.faults.append(RuntimeError("secret"))
    small.app.state.room.shelf._jobs.clear()
    told = small.get("/api/ask/why")
    assert told.status_code == 500 and "secret" not in told.text
    assert small.get("/api/ask/why").json()["question"] == "why"


@pytest.mark.parametrize("path", ["/progress/nothing", "/progress/record", "/nothing/table/0.csv"])
def test_progress_of_no_question(small: Client, path: str) -> None:
    assert small.get(path).status_code == 404


# -- the same answer for programs


def plain(answer: dict[str, Any]) -> dict[str, Any]:
    answer["made_by"].pop("seconds")
    return answer


def called(*words: str | Path) -> Any:
    done = CliRunner().invoke(app, [str(word) for word in words])
    assert done.exit_code == 0, done.stderr
    return json.loads(done.stdout)


def test_the_address_and_the_command_line_give_one_answer(
    small: Client, small_bytes: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "again.db"
    path.write_bytes(small_bytes)
    told = small.get("/api/ask/today?on=2026-06-04").json()
    said = called("ask", "today", "--record", path, "--on", "2026-06-04", "--json")
    assert plain(told) == plain(said)


@pytest.mark.parametrize(
    ("name", "given"),
    [
        ("two-way-speed", {"up": "8ft", "down": "12ft"}),
        ("two-way-speed", {"up": "2.4 m", "down": "3 m"}),
    ],
)
def test_a_calculation_is_one_by_address_and_by_command(
    small: Client, name: str, given: dict[str, str]
) -> None:
    told = small.get(f"/api/reckon/{name}", params=given).json()
    words = [f"{key}={text}" for key, text in given.items()]
    assert told == called("reckon", name, *words, "--json")


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/api/ask/nothing", 400, "today"),
        ("/api/ask/today?green=1", 400, "on, course"),
        ("/api/ask/why?from=soon", 400, "a date as 2026-06-05"),
        ("/api/ask/today?on=soon", 400, "a date as 2026-06-05"),
        ("/api/ask/today?course=mars", 400, "heron"),
        ("/api/ask/today?on=2025-01-01", 409, ""),
        ("/api/reckon/two-way-speed?up=8ft", 400, ""),
        ("/api/reckon/nothing?up=8ft", 400, "two-way-speed"),
    ],
)
def test_programs_are_refused_in_four_words(
    small: Client, path: str, status: int, words: str
) -> None:
    reply = small.get(path)
    assert reply.status_code == status
    held = reply.json()["error"]
    assert set(held) == {"what", "where", "expected", "do"} and held["what"]
    assert words in held["expected"]
    assert re.match(r"application/json", reply.headers["content-type"])
