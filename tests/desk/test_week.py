"""The question week, through the real rooms, on the small record and what it must hold to."""

from __future__ import annotations

import json
from collections import defaultdict
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import jsonschema
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.errors import CannotAnswer
from greenwright.desk import books
from greenwright.record import Store
from tests.desk.records import DAY, load_small, write_csv

WANTED = {
    "date", "greens", "practice", "amount", "unit", "passes", "material", "labour_h", "reason",
    "effects", "confidence", "changes_mind", "stops",
}  # fmt: skip
SUNDAY = date(2026, 6, 7)
DISTURBING = {"core", "solid_tine", "needle_tine", "slit"}


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Store:
    path = tmp_path_factory.mktemp("week") / "small.db"
    load_small(path)
    with books.open_book(path) as store:
        yield store


@pytest.fixture(scope="module")
def answer(book: Store) -> Answer:
    return desk.week(book, on=DAY)


def rolled(answer: Answer) -> dict[tuple[str, date], float]:
    """Return passes by green and day."""
    passes: dict[tuple[str, date], float] = defaultdict(float)
    for row in answer.choices:
        if row["practice"] == "roll":
            for green in row["greens"]:
                passes[green, row["date"]] += row["passes"]
    return passes


def test_it_obeys_the_published_schema(answer: Answer) -> None:
    jsonschema.validate(json.loads(answer.as_json()), answer_schema())


def test_the_plan_is_of_the_seven_days_ahead(answer: Answer) -> None:
    assert answer.choices
    days = {row["date"] for row in answer.choices}
    assert DAY + timedelta(days=1) <= min(days) and max(days) <= DAY + timedelta(days=7)
    assert [row["date"] for row in answer.choices] == sorted(row["date"] for row in answer.choices)


def test_every_line_has_a_reason_an_effect_with_an_interval_and_hours(answer: Answer) -> None:
    for row in answer.choices:
        assert set(row) >= WANTED
        assert row["reason"] and row["changes_mind"] and row["labour_h"] > 0
        assert row["effects"]
        for effect in row["effects"]:
            assert effect["estimate"].low <= effect["estimate"].value <= effect["estimate"].high


def test_no_day_has_more_than_three_hours_and_sunday_none(answer: Answer) -> None:
    # limits.csv of the small record: 3 h a day, 0 h on Sundays
    hours: dict[date, float] = defaultdict(float)
    for row in answer.choices:
        hours[row["date"]] += row["labour_h"]
    assert max(hours.values()) <= 3 + 1e-9
    assert hours.get(SUNDAY, 0) == 0


def test_heights_keep_their_limits(answer: Answer) -> None:
    # limits.csv: not under 3.2 mm, steps of at most 0.13 mm, at least 3 days apart; mown at 4.0
    for green in ("1", "2", "3"):
        mown = [
            (row["date"], row["amount"])
            for row in answer.choices
            if row["practice"] == "mow" and green in row["greens"]
        ]
        heights = [(DAY, 4.0), *mown]
        steps = [(b[0], b[1] - a[1]) for a, b in pairwise(heights) if b[1] != pytest.approx(a[1])]
        assert all(height >= 3.2 - 1e-9 for _, height in heights)
        assert all(abs(step) <= 0.13 + 1e-9 for _, step in steps)
        changed = [day for day, _ in steps]
        assert all((b - a).days >= 3 for a, b in pairwise(changed))


def test_at_most_three_rolls_in_any_seven_days(answer: Answer) -> None:
    # limits.csv: rolls_week 3; the record holds one roll of group A (greens 1, 2) on 2 June
    passes = rolled(answer)
    for green in ("1", "2"):
        passes[green, date(2026, 6, 2)] += 1
    for green in ("1", "2", "3"):
        for start in range(14):
            first = date(2026, 5, 31) + timedelta(days=start)
            window = [passes.get((green, first + timedelta(days=k)), 0) for k in range(7)]
            assert sum(window) <= 3


def test_no_coring_so_near_the_event(answer: Answer) -> None:
    assert not DISTURBING & {row["practice"] for row in answer.choices}


def test_planned_work_stands(answer: Answer) -> None:
    # work.csv: all greens are to be mown at 4.0 mm on 8 June
    planned = [row for row in answer.choices if row["fixed"]]
    greens = {green for row in planned for green in row["greens"]}
    assert greens == {"1", "2", "3"}
    assert {(row["date"], row["practice"], row["amount"]) for row in planned} == {
        (date(2026, 6, 8), "mow", 4.0)
    }


def test_it_stands_beside_doing_nothing_and_the_usual(answer: Answer) -> None:
    plans = answer.more["plans"]
    assert set(plans) == {"advised", "nothing", "usual"}
    assert plans["nothing"]["lines"] == [] or all(r["fixed"] for r in plans["nothing"]["lines"])
    assert plans["advised"]["loss"] <= plans["nothing"]["loss"] + 1e-9
    assert plans["advised"]["labour_h"] == pytest.approx(
        sum(row["labour_h"] for row in answer.choices)
    )
    for plan in plans.values():
        assert len(plan["days"]) == 7
        assert plan["labour_h"] == pytest.approx(sum(d["labour_h"] for d in plan["days"]))


@pytest.mark.parametrize("word", ["label", "licensed", "Lightning", "Heat"])
def test_the_usual_cautions_stand_beside_it(answer: Answer, word: str) -> None:
    assert any(c["kind"] == "safety" and word in c["text"] for c in answer.cautions)


def test_the_targets_are_those_of_the_record(answer: Answer) -> None:
    assert answer.more["targets"]["green_speed"] == {"low": 2.75, "high": 3.05, "default": False}


def test_advice_is_kept_once(book: Store, answer: Answer) -> None:
    again = desk.week(book, on=DAY)
    assert (again.choices, again.more) == (answer.choices, answer.more)
    (kept,) = books.kept_answers(book, "week")
    assert kept.as_of == DAY.isoformat()
    assert kept.answer["choices"] == answer.as_dict()["choices"]


def test_another_day_is_another_advice(book: Store, answer: Answer) -> None:
    before = len(books.kept_answers(book, "week"))
    desk.week(book, on=DAY - timedelta(days=1))
    assert len(books.kept_answers(book, "week")) == before + 1


def test_progress_runs_from_nought_to_one(book: Store) -> None:
    told: list[float] = []
    desk.week(book, on=DAY, progress=lambda _, share: told.append(share))
    assert told[0] == 0 and told[-1] == 1 and all(0 <= share <= 1 for share in told)
    assert told == sorted(told)


def test_without_a_speed_there_is_no_plan(tmp_path: Path) -> None:
    folder = write_csv(tmp_path / "r", "course", "course,name\nfen,Sedge Hill\n")
    write_csv(folder, "greens", "green\n1\n")
    write_csv(folder, "readings", "date,green,kind,value,unit\n2026-06-05,1,roll_score,7,score\n")
    with books.open_book(tmp_path / "x.db", create=True) as store:
        books.load_paths(store, [folder], on=DAY)
        with pytest.raises(CannotAnswer, match="green speed"):
            desk.week(store, on=DAY)
