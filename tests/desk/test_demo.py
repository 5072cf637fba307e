"""The invented course, from its files to its week: what `make run` shows."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import jsonschema
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.tables import practices
from greenwright.desk import backtest, books
from greenwright.record import Store

DAY = date(2026, 6, 12)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    report = books.make_demo(path, on=DAY)
    assert report.total.refused == 0 and report.total.kept > 10_000
    with books.open_book(path) as store:
        yield store


@pytest.fixture(scope="module")
def answers(demo: Store) -> dict[str, Answer]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(backtest, "BACK_D", backtest.EVERY_D)  # one past day is quicker than eight
        return {question: desk.ask(question, demo, on=DAY) for question in desk.QUESTIONS_READY}


def test_every_question_obeys_the_schema(answers: dict[str, Answer]) -> None:
    for answer in answers.values():
        jsonschema.validate(json.loads(answer.as_json()), answer_schema())
        assert answer.record["greens"] == 18 and answer.record["last_reading"] == DAY


def test_every_green_has_a_speed_near_its_readings(answers: dict[str, Answer]) -> None:
    rows = [r for r in answers["today"].findings if r["quantity"] == "green_speed"]
    assert len(rows) == 19
    # 8 to 11 ft: what the invented course is set up to be
    assert all(8 * 0.3048 < row["estimate"].value < 11 * 0.3048 for row in rows)
    assert all(0 <= row["in_target"] <= 1 for row in rows)


def test_a_green_read_today_is_known_better_than_one_that_was_not(
    answers: dict[str, Answer],
) -> None:
    rows = [r for r in answers["today"].findings if r["quantity"] == "green_speed"]
    fresh = [r["estimate"].sd for r in rows if r["last_read"] == DAY and r["green"] != "course"]
    stale = [r["estimate"].sd for r in rows if r["last_read"] < DAY - timedelta(days=7)]
    assert fresh and stale and max(fresh) < min(stale)


def test_the_week_is_work_that_the_tables_know(answers: dict[str, Answer]) -> None:
    choices = answers["week"].choices
    assert choices
    for row in choices:
        assert row["practice"] in practices()
        assert DAY < row["date"] <= DAY + timedelta(days=7)
        assert row["confidence"] in ("act", "try", "read first")


def test_no_green_is_mown_by_two_lines_on_one_day(answers: dict[str, Answer]) -> None:
    seen: dict[tuple[date, str, str], int] = defaultdict(int)
    for row in answers["week"].choices:
        for green in row["greens"]:
            seen[row["date"], green, row["practice"]] += 1
    assert {key: n for key, n in seen.items() if n > 1} == {}


def test_the_plan_beats_what_it_is_compared_with(answers: dict[str, Answer]) -> None:
    plans = answers["week"].more["plans"]
    assert plans["advised"]["loss"] <= min(plans["usual"]["loss"], plans["nothing"]["loss"]) + 1e-9


def test_the_same_seed_is_the_same_course(
    tmp_path: Path, demo: Store, answers: dict[str, Answer]
) -> None:
    books.make_demo(tmp_path / "again.db", on=DAY)
    books.make_demo(tmp_path / "other.db", on=DAY, seed=8)
    told = {}
    for name in ("again", "other"):
        with books.open_book(tmp_path / f"{name}.db") as store:
            told[name] = desk.today(store, on=DAY).findings
    assert told["again"] == answers["today"].findings != told["other"]
