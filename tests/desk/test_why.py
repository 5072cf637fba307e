"""The question why, through the real rooms, on a small invented course."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta

import jsonschema
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.errors import BadInput, CannotAnswer, UnknownKey
from greenwright.desk.questions import why as question
from greenwright.record import Store, snapshot
from greenwright.respond.learning import Learned, learn
from tests.desk.played import GREENS, PLAYED_ON, load_played, opened
from tests.desk.records import DAY

WANTED = {"green", "quantity", "method", "from", "to", "part", "estimate"}
CORE = ["green_speed", "smoothness", "clippings"]
WEEK_AGO = PLAYED_ON - timedelta(days=7)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    with opened(load_played(tmp_path_factory.mktemp("played"))) as held:
        yield held


@pytest.fixture(scope="module")
def learned(store: Store) -> Learned:
    return learn(snapshot(store, None, on=PLAYED_ON), seed=1, quantities=CORE)


@pytest.fixture
def ask(store: Store, learned: Learned, monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    """Ask why, with what was learned once."""
    monkeypatch.setattr(question, "learn_kept", lambda *_args, **_more: learned)
    return lambda **options: desk.why(store, on=PLAYED_ON, **options)


def by_quantity(answer: Answer) -> dict[str, dict[str, float]]:
    held: dict[str, dict[str, float]] = defaultdict(dict)
    for row in answer.findings:
        held[row["quantity"]][row["part"]] = row["estimate"].value
    return held


def test_it_obeys_the_published_schema(ask) -> None:  # type: ignore[no-untyped-def]
    for options in ({}, {"green": "2", "against": "1"}):
        jsonschema.validate(json.loads(ask(**options).as_json()), answer_schema())


def test_a_week_of_the_course_is_the_default(ask) -> None:  # type: ignore[no-untyped-def]
    answer = ask()
    assert all(set(row) >= WANTED for row in answer.findings)
    ends = {(r["green"], r["from"], r["to"]) for r in answer.findings}
    assert ends == {("course", WEEK_AGO, PLAYED_ON)}
    assert (answer.more["green"], answer.more["against"]) == ("course", "")


@pytest.mark.parametrize("options", [{}, {"green": "3"}, {"green": "2", "against": "1"}])
def test_parts_add_up_to_the_total(ask, options: dict) -> None:  # type: ignore[no-untyped-def]
    for held in by_quantity(ask(**options)).values():
        total = held.pop("total")
        assert sum(held.values()) == pytest.approx(total, abs=1e-10)
        assert {"weather", "growth", "green", "unexplained"} < set(held)


def test_the_total_is_the_gap_between_the_levels(ask) -> None:  # type: ignore[no-untyped-def]
    answer = ask(green="1")
    levels = {
        (row["quantity"], row["date"]): row["estimate"].value for row in answer.more["levels"]
    }
    moved = levels["green_speed", PLAYED_ON] - levels["green_speed", WEEK_AGO]
    assert by_quantity(answer)["green_speed"]["total"] == pytest.approx(moved, abs=1e-9)


def test_a_difference_stands_on_one_day(ask) -> None:  # type: ignore[no-untyped-def]
    answer = ask(green="2", against="1", until=str(WEEK_AGO))
    assert {(r["from"], r["to"], r["against"]) for r in answer.findings} == {
        (WEEK_AGO, WEEK_AGO, "1")
    }
    back = by_quantity(ask(green="1", against="2", until=WEEK_AGO))
    for quantity, held in by_quantity(answer).items():
        assert held["total"] == pytest.approx(-back[quantity]["total"], rel=1e-9)


def test_work_between_the_days_is_told(ask) -> None:  # type: ignore[no-untyped-def]
    answer = ask(green="1")
    rows = answer.more["work"]
    assert rows and all(WEEK_AGO < row["date"] <= PLAYED_ON for row in rows)
    assert all("1" in row["greens"] and row["status"] == "done" for row in rows)


def test_an_end_that_nobody_read_is_a_gap(ask, learned: Learned) -> None:  # type: ignore[no-untyped-def]
    one = learned.outcomes["green_speed", ""]
    read = {one.first + timedelta(days=int(d)) for d in one.plain.layout.rows.day}
    bare = [
        d for k in range(10, 90)
        if not {(d := PLAYED_ON - timedelta(days=k)) + timedelta(days=j) for j in range(-2, 3)}
        & read
    ]  # fmt: skip
    asked = ask(**{"from": WEEK_AGO})
    assert not [g for g in asked.gaps if g["about"] == "green_speed"]
    if bare:
        found = ask(**{"from": bare[0]})
        assert [g for g in found.gaps if g["about"] == "green_speed"]


@pytest.mark.parametrize(
    ("options", "where"),
    [
        ({"until": PLAYED_ON + timedelta(days=1)}, "until"),
        ({"from": PLAYED_ON, "until": WEEK_AGO}, "from"),
        ({"from": PLAYED_ON}, "from"),
        ({"from": "1999-01-01"}, "from"),
        ({"until": "yesterday"}, "until"),
        ({"green": "19"}, "green"),
        ({"green": "1", "against": "19"}, "against"),
        ({"green": "1", "against": "1"}, "against"),
    ],
)
def test_what_cannot_be_asked_is_refused(ask, options: dict, where: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput) as caught:
        ask(**options)
    assert caught.value.where == where and caught.value.expected


def test_an_unknown_option_is_named(ask) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(UnknownKey, match="because"):
        ask(because="rain")


def test_a_record_with_few_readings_says_what_is_missing(small: Store) -> None:
    with pytest.raises(CannotAnswer, match="too few readings") as caught:
        desk.why(small, on=DAY)
    assert "12 times" in str(caught.value)


def test_every_green_of_the_invented_course_can_be_asked_about(ask) -> None:  # type: ignore[no-untyped-def]
    assert {ask(green=g).findings[0]["green"] for g in GREENS} == set(GREENS)
