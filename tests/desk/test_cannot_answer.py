"""A record that cannot answer says what is missing, where, and the one thing to do."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import pytest

from greenwright import desk
from greenwright.base.errors import CannotAnswer, GreenwrightError
from greenwright.desk import books
from greenwright.desk.answering import require_readings
from greenwright.record import Store
from tests.desk.records import DAY, write_csv

COURSE = {"course": "course,name\nfen,Sedge Hill\n"}
GREENS = {**COURSE, "greens": "green\n1\n2\n"}
RESTING = {**COURSE, "greens": "green,in_play\n1,no\n"}
HEAD = "date,green,kind,value,unit\n"
ROUGH = {**GREENS, "readings": HEAD + "2026-06-05,1,roll_score,7,score\n"}
SPEED = {**GREENS, "readings": HEAD + "2026-06-05,1,green_speed,9.5,ft\n"}


@contextmanager
def record_of(folder: Path, files: Mapping[str, str]) -> Iterator[Store]:
    for name, text in files.items():
        write_csv(folder / "files", name, text)
    with books.open_book(folder / "x.db", create=True) as store:
        if files:
            books.load_paths(store, [folder / "files"], on=DAY)
        yield store


@pytest.mark.parametrize(
    ("files", "question", "says"),
    [
        ({}, "today", "no course"),
        ({}, "effects", "no course"),
        ({}, "week", "no course"),
        (COURSE, "today", "no green in play"),
        (COURSE, "effects", "no green in play"),
        (COURSE, "week", "no green in play"),
        (RESTING, "today", "no green in play"),
        (RESTING, "week", "no green in play"),
        (GREENS, "today", "no reading on or before 2026-06-05"),
        (GREENS, "week", "no reading of "),
        (ROUGH, "week", "green speed"),
    ],
)
def test_what_is_missing_is_named(
    tmp_path: Path, files: Mapping[str, str], question: str, says: str
) -> None:
    with record_of(tmp_path, files) as store, pytest.raises(CannotAnswer, match=says) as caught:
        desk.ask(question, store, on=DAY)
    told = str(caught.value)
    assert caught.value.exit_code == 1 and caught.value.do
    assert not re.search(r"\w_\w|None|\[|\{", told), told
    assert re.search(r"[.?]$", told) and caught.value.do[:1] in told


def test_a_failed_question_keeps_no_advice(tmp_path: Path) -> None:
    with record_of(tmp_path, ROUGH) as store:
        with pytest.raises(CannotAnswer):
            desk.week(store, on=DAY)
        assert books.kept_answers(store, "week") == ()


@pytest.mark.parametrize(
    ("files", "question"),
    [(GREENS, "effects"), (ROUGH, "today"), (SPEED, "today"), (SPEED, "week")],
)
def test_little_is_enough_where_it_can_be(
    tmp_path: Path, files: Mapping[str, str], question: str
) -> None:
    with record_of(tmp_path, files) as store:
        answer = desk.ask(question, store, on=DAY)
    assert answer.findings or answer.choices or answer.more.get("plans")


def test_what_was_never_read_is_a_gap_with_its_cheapest_reading(tmp_path: Path) -> None:
    with record_of(tmp_path, ROUGH) as store:
        gaps = {gap["about"]: gap for gap in desk.today(store, on=DAY).gaps}
    assert gaps["green_speed"]["text"] == "Green speed has never been read here."
    assert gaps["green_speed"]["reading"]["kind"] == "roll_distance"
    assert gaps["green_speed"]["reading"]["minutes"] > 0


def test_greens_never_read_stand_wide(tmp_path: Path) -> None:
    with record_of(tmp_path, SPEED) as store:
        answer = desk.today(store, on=DAY)
    held = {f["green"]: f for f in answer.findings}
    assert held["2"]["last_read"] is None and held["1"]["last_read"] == DAY
    assert held["2"]["estimate"].sd > held["1"]["estimate"].sd
    gap = next(g for g in answer.gaps if g["about"] == "green_speed")
    assert "on green 2." in gap["text"] and gap["reading"]["green"] == "2"


@pytest.mark.parametrize(
    ("kinds", "says"),
    [
        ((), "no reading on or before"),
        (("roll_distance",), "no reading of "),
        (("roll_distance", "green_speed"), " or green speed on or before"),
    ],
)
def test_kinds_are_told_by_their_labels(tmp_path: Path, kinds: tuple[str, ...], says: str) -> None:
    from greenwright.record import snapshot

    with record_of(tmp_path, GREENS) as store:
        held = snapshot(store, None, on=DAY)
    with pytest.raises(CannotAnswer, match=says):
        require_readings(held, kinds)


@pytest.mark.parametrize("question", ["check", "Today", "", "today "])
def test_only_questions_of_this_version_are_taken(tmp_path: Path, question: str) -> None:
    with record_of(tmp_path, SPEED) as store, pytest.raises(GreenwrightError) as caught:
        desk.ask(question, store, on=DAY)
    assert caught.value.exit_code == 2 and ", ".join(desk.QUESTIONS_READY) in str(caught.value)
