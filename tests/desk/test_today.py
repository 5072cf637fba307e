"""The question today, through the real rooms."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import jsonschema
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.errors import CannotAnswer
from greenwright.base.tables import quantities
from greenwright.desk import books
from greenwright.record import Store
from tests.desk.records import DAY, SMALL, write_csv

WANTED = {"green", "quantity", "method", "estimate", "in_target", "last_read", "change_7d"}


@pytest.fixture
def answer(small: Store) -> Answer:
    return desk.today(small, on=DAY)


def rows(answer: Answer, quantity: str) -> dict[str, dict]:
    return {r["green"]: r for r in answer.as_dict()["findings"] if r["quantity"] == quantity}


def test_it_obeys_the_published_schema(answer: Answer) -> None:
    jsonschema.validate(json.loads(answer.as_json()), answer_schema())


def test_every_green_and_the_course_have_every_key(answer: Answer) -> None:
    for quantity in {r["quantity"] for r in answer.findings}:
        found = rows(answer, quantity)
        assert list(found) == ["course", "1", "2", "3"]
        assert all(set(row) >= WANTED for row in found.values())
        assert set(found["course"]) >= WANTED | {"between_greens_sd", "odd_greens"}


def test_what_was_read_is_what_is_told(answer: Answer) -> None:
    # the small record holds rolls, roll scores (which inform both eye scales), one moisture
    # and one clipping reading
    told = [r["quantity"] for r in answer.findings if r["green"] == "course"]
    assert told == ["green_speed", "smoothness", "trueness_score", "moisture", "clippings"]
    assert told == [q for q in quantities() if q in told]


def test_speeds_lie_where_the_readings_are_and_under_the_target(answer: Answer) -> None:
    # greens 1 to 3 were read at 2.50, 2.41 and 2.33 m on the day; the target is 2.75 to 3.05 m
    for row in rows(answer, "green_speed").values():
        assert 2.2 < row["estimate"]["value"] < 2.65
        assert row["estimate"]["low"] < row["estimate"]["value"] < row["estimate"]["high"]
        assert row["in_target"] < 0.1
        assert row["target"] == {"low": 2.75, "high": 3.05, "default": False}
        assert row["last_read"] == "2026-06-05"


def test_the_day_before_does_not_see_the_day(small: Store) -> None:
    before = desk.today(small, on=DAY - timedelta(days=1)).as_dict()
    dates = {r["last_read"] for r in before["findings"]}
    assert "2026-06-05" not in dates
    assert before["record"]["last_reading"] == "2026-06-03"
    assert before["as_of"] == "2026-06-04"


def test_the_record_is_counted(answer: Answer) -> None:
    # 30 readings and 9 pieces of work are kept of the small record; one of them is planned
    assert answer.record == {
        "course": "heron",
        "name": "Heron Fen",
        "greens": 3,
        "readings": 30,
        "work": 8,
        "last_reading": DAY,
    }


def test_asked_twice_it_says_the_same(small: Store) -> None:
    first, again = desk.today(small, on=DAY), desk.today(small, on=DAY)
    still = {"seconds": 0.0}
    assert replace(first, made_by={**first.made_by, **still}) == replace(
        again, made_by={**again.made_by, **still}
    )


def test_every_outside_number_is_told_once_with_its_grade(answer: Answer) -> None:
    keys = [source["key"] for source in answer.sources]
    assert len(keys) == len(set(keys)) > 10
    assert "measure.roll_sd_within_set" in keys
    assert all(source["grade"] for source in answer.sources)


def test_greens_without_a_reading_are_a_gap_with_its_cheapest_reading(answer: Answer) -> None:
    moisture = next(gap for gap in answer.gaps if gap["about"] == "moisture")
    assert "greens 1 and 3" in moisture["text"]
    assert moisture["reading"]["kind"] == "moisture" and moisture["reading"]["green"] in ("1", "3")
    assert moisture["reading"]["n"] >= 1 and moisture["reading"]["minutes"] > 0
    assert "reading_time.moisture" in [source["key"] for source in answer.sources]


def test_progress_runs_from_nought_to_one(small: Store) -> None:
    told: list[tuple[str, float]] = []
    desk.today(small, on=DAY, progress=lambda text, share: told.append((text, share)))
    shares = [share for _, share in told]
    assert shares == sorted(shares) and shares[0] == 0 and shares[-1] == 1
    assert all(text for text, _ in told)


def test_an_old_record_says_so(small: Store) -> None:
    late = desk.today(small, on=date(2026, 7, 5))
    # by hand: 5 June to 5 July
    assert any(c["kind"] == "data" and "30 days old" in c["text"] for c in late.cautions)
    speed = [r for r in late.findings if r["quantity"] == "green_speed"]
    fresh = [r for r in desk.today(small, on=DAY).findings if r["quantity"] == "green_speed"]
    assert speed[0]["estimate"].sd > fresh[0]["estimate"].sd
    assert any(gap["about"] == "green_speed" and "any green" in gap["text"] for gap in late.gaps)


COURSE = "course,name,timezone,setting\nfen,Sedge Hill,UTC,member\n"
GREENS = "green,group,order\n1,A,1\n2,A,2\n"


def test_without_a_target_the_default_is_used_and_said(tmp_path: Path) -> None:
    folder = write_csv(tmp_path / "r", "course", COURSE)
    write_csv(folder, "greens", GREENS)
    write_csv(folder, "readings", "date,green,kind,value,unit\n2026-06-05,1,green_speed,9.5,ft\n")
    with books.open_book(tmp_path / "x.db", create=True) as store:
        books.load_paths(store, [folder], on=DAY)
        answer = desk.today(store, on=DAY)
    # a member course: 9.5 to 10.5 ft, common practice, is 2.8956 to 3.2004 m
    row = next(r for r in answer.findings if r["green"] == "1")
    assert row["target"] == {"low": 2.8956, "high": 3.2004, "default": True}
    assert "targets.default.member.green_speed" in [source["key"] for source in answer.sources]
    assert any(gap["about"] == "target:green_speed" for gap in answer.gaps)
    never = next(gap for gap in answer.gaps if gap["about"] == "smoothness")
    assert "never been read" in never["text"] and never["reading"]["kind"] == "roll_score"


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ({"course": COURSE}, "no green in play"),
        ({"course": COURSE, "greens": GREENS}, "no reading"),
        ({"course": COURSE, "greens": "green,in_play\n1,no\n"}, "no green in play"),
    ],
)
def test_it_says_what_the_record_lacks(tmp_path: Path, files: dict[str, str], says: str) -> None:
    for name, text in files.items():
        write_csv(tmp_path / "r", name, text)
    with books.open_book(tmp_path / "x.db", create=True) as store:
        books.load_paths(store, [tmp_path / "r"], on=DAY)
        with pytest.raises(CannotAnswer, match=says) as caught:
            desk.today(store, on=DAY)
    assert caught.value.do and caught.value.exit_code == 1


def test_of_two_courses_one_must_be_named(tmp_path: Path) -> None:
    other = write_csv(tmp_path / "o", "course", COURSE)
    with books.open_book(tmp_path / "x.db", create=True) as store:
        books.load_paths(store, [SMALL], on=DAY)
        books.load_paths(store, [other], on=DAY)
        with pytest.raises(CannotAnswer, match="fen, heron"):
            desk.today(store, on=DAY)
        assert desk.today(store, on=DAY, course="heron").record["name"] == "Heron Fen"


READER = "date,green,kind,value,unit,observer\n"


def test_an_observer_who_clearly_reads_apart_is_named(tmp_path: Path) -> None:
    days = [DAY - timedelta(days=k) for k in range(40)]
    text = READER + "".join(
        f"{day},{green},smoothness_score,{score},score,{who}\n"
        for day in days
        for green in ("1", "2")
        for who, score in (("kim", 4), ("lee", 8), ("max", 8))
    )
    folder = write_csv(tmp_path / "r", "course", COURSE)
    write_csv(folder, "greens", GREENS)
    write_csv(folder, "readings", text)
    with books.open_book(tmp_path / "x.db", create=True) as store:
        books.load_paths(store, [folder], on=DAY)
        answer = desk.today(store, on=DAY)
    named = {c["observer"]: c["text"] for c in answer.cautions if c["kind"] == "observer"}
    assert "lower" in named["kim"]
    jsonschema.validate(json.loads(answer.as_json()), answer_schema())
