"""The question forecast, through the real rooms, on a small invented course."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import jsonschema
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.desk.coming_work import coming_work
from greenwright.desk.questions import forecast as question
from greenwright.record import Store, snapshot
from greenwright.respond.ahead import forecast
from greenwright.respond.learning import Learned, learn
from tests.desk.played import GREENS, PLAYED_ON, load_played, opened
from tests.desk.records import DAY

WANTED = {"green", "quantity", "method", "date", "estimate", "quantiles"}
CORE = ["green_speed", "smoothness"]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    with opened(load_played(tmp_path_factory.mktemp("played"))) as held:
        yield held


@pytest.fixture(scope="module")
def learned(store: Store) -> Learned:
    return learn(snapshot(store, None, on=PLAYED_ON), seed=1, quantities=CORE)


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """Learn once for all tests but those of a record with little in it."""
    if "learned" in request.fixturenames or "answer" in request.fixturenames:
        held = request.getfixturevalue("learned")
        monkeypatch.setattr(question, "learn_kept", lambda *_args, **_more: held)


@pytest.fixture
def answer(store: Store, learned: Learned) -> Answer:
    return desk.forecast(store, on=PLAYED_ON)


def test_it_obeys_the_published_schema(answer: Answer) -> None:
    jsonschema.validate(json.loads(answer.as_json()), answer_schema())


def test_every_green_and_the_course_have_every_day(answer: Answer) -> None:
    assert all(set(row) >= WANTED for row in answer.findings)
    seen = {(r["green"], r["quantity"], (r["date"] - PLAYED_ON).days) for r in answer.findings}
    assert seen == {(g, q, d) for g in ("course", *GREENS) for q in CORE for d in range(1, 15)}
    assert len(seen) == len(answer.findings)


def test_quantiles_are_in_order_and_hold_the_estimate(answer: Answer) -> None:
    for row in answer.findings:
        held = [row["quantiles"][key] for key in ("0.05", "0.25", "0.5", "0.75", "0.95")]
        assert held == sorted(held) and held[0] < held[-1]
        assert (row["estimate"].low, row["estimate"].high) == (held[0], held[-1])
        assert row["reading"].low < row["reading"].value < row["reading"].high


def test_what_stands_beside_the_findings(answer: Answer) -> None:
    more = answer.more
    assert more["greens"] == GREENS and more["days"] == 14 and more["event"] is None
    assert more["plan"] in ("record", "usual", "both")
    assert sum(more["weather"].values()) == 14
    ago = {(row["date"] - PLAYED_ON).days for row in more["past"]}
    assert ago == set(range(-21, 1))
    assert {row["quantity"] for row in more["read"]} == set(CORE)
    done = [row for row in more["work"] if row["status"] == "done"]
    ahead = [row for row in more["work"] if row["status"] == "planned"]
    assert (
        done and ahead and all(row["date"] <= PLAYED_ON < a["date"] for row in done for a in ahead)
    )
    assert set(more["targets"]) == set(CORE)


def test_asked_twice_it_says_the_same(store: Store, learned: Learned) -> None:
    first, second = (desk.forecast(store, on=PLAYED_ON, days=2) for _ in range(2))
    assert first.as_dict()["findings"] == second.as_dict()["findings"]


def test_fewer_days_are_the_first_of_more(store: Store, learned: Learned, answer: Answer) -> None:
    few = desk.forecast(store, on=PLAYED_ON, days="3")
    assert few.more["days"] == 3
    whole = {(r["green"], r["quantity"], r["date"]): r["estimate"].value for r in answer.findings}
    for row in few.findings:
        key = row["green"], row["quantity"], row["date"]
        assert row["estimate"].value == pytest.approx(whole[key], abs=1e-6)


def test_an_event_gets_its_chance_on_its_day_alone(store: Store, learned: Learned) -> None:
    held = desk.forecast(store, on=PLAYED_ON, days=2, event="hollow trophy")
    cup = date(2026, 6, 13)  # of the invented calendar
    assert held.more["event"] == {"name": "Hollow Trophy", "date": cup}
    chances = {r["date"] for r in held.findings if "in_target" in r}
    assert chances == {cup} and held.more["days"] == 8
    assert all(0 <= r["in_target"] <= 1 for r in held.findings if r["date"] == cup)
    jsonschema.validate(json.loads(held.as_json()), answer_schema())


@pytest.mark.parametrize("days", [0, 15, 2.5, "soon", float("nan"), float("inf")])
def test_other_numbers_of_days_are_refused(store: Store, days: object) -> None:
    with pytest.raises(BadInput, match="look ahead") as caught:
        desk.forecast(store, on=PLAYED_ON, days=days)
    assert caught.value.where == "days" and "1 to 14" in str(caught.value)


def test_an_unknown_event_is_refused(store: Store, learned: Learned) -> None:
    with pytest.raises(BadInput, match="Hollow Trophy"):
        desk.forecast(store, on=PLAYED_ON, event="Moon Cup")


def test_a_record_with_few_readings_says_what_is_missing(small: Store) -> None:
    with pytest.raises(CannotAnswer, match="too few readings") as caught:
        desk.forecast(small, on=DAY)
    assert "12 times" in str(caught.value) and caught.value.exit_code == 1


def test_a_set_is_asked_for_where_it_narrows_most(
    store: Store, learned: Learned, answer: Answer
) -> None:
    record = snapshot(store, None, on=PLAYED_ON)
    planned = coming_work(record, 1).all
    one = learned.outcomes["green_speed", ""]
    left = forecast(one, record, days=1, planned=planned).left
    gap = next(g for g in answer.gaps if g["about"] == "green_speed")
    green, told = gap["reading"]["green"], float(gap["text"].split("leave ")[1].split(" %")[0])
    assert green == min(left, key=left.get)  # type: ignore[arg-type]
    assert told == pytest.approx(100 * left[green], abs=0.51)


def test_what_is_assumed_is_said(answer: Answer, tmp_path: Path) -> None:
    texts = " ".join(c["text"] for c in answer.cautions)
    assert "usual work of the weekday" in texts or answer.more["plan"] == "record"
    typical = answer.more["weather"]["typical"]
    assert typical == 0 or any(g["about"] == "weather" for g in answer.gaps)
