"""The question effects, through the real rooms."""

from __future__ import annotations

import json

import jsonschema
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.evidence import look_up
from greenwright.record import Store
from tests.desk.records import DAY

WANTED = {
    "green", "practice", "outcome", "method", "dose", "horizon_days", "prior", "here",
    "share_local", "separable", "reason", "n_events", "half_life_days",
}  # fmt: skip


@pytest.fixture
def answer(small: Store) -> Answer:
    return desk.effects(small, on=DAY)


def rows(answer: Answer, practice: str, outcome: str) -> dict[float, dict]:
    return {
        row["horizon_days"]: row
        for row in answer.as_dict()["findings"]
        if (row["practice"], row["outcome"]) == (practice, outcome)
        and row["dose"]["unit"] != "extra cut"
    }


def test_it_obeys_the_published_schema(answer: Answer) -> None:
    jsonschema.validate(json.loads(answer.as_json()), answer_schema())


def test_every_row_has_every_key(answer: Answer) -> None:
    assert answer.findings
    assert all(set(row) >= WANTED for row in answer.findings)


@pytest.mark.parametrize(
    ("practice", "horizons"),
    [("roll", {0, 1, 2}), ("mow", {7}), ("topdress", {2, 7, 14})],
)
def test_each_practice_is_told_at_its_horizons(
    answer: Answer, practice: str, horizons: set[int]
) -> None:
    assert set(rows(answer, practice, "green_speed")) >= horizons


@pytest.mark.parametrize("practice", ["mow", "roll", "topdress", "verticut", "brush"])
@pytest.mark.parametrize("outcome", ["green_speed", "smoothness"])
def test_the_first_practices_speak_of_speed_and_smoothness(
    answer: Answer, practice: str, outcome: str
) -> None:
    assert rows(answer, practice, outcome)


def test_a_roll_does_what_was_reported_and_fades(answer: Answer) -> None:
    roll = rows(answer, "roll", "green_speed")
    reported = look_up("effect.roll.green_speed").value  # 9 in, as the trade reports it
    assert roll[0]["here"]["value"] == pytest.approx(reported, rel=0.1)
    assert roll[0]["here"]["value"] > roll[1]["here"]["value"] > roll[2]["here"]["value"] > 0


def test_nothing_is_claimed_to_be_local(answer: Answer) -> None:
    assert all(row["share_local"] == 0 for row in answer.findings)
    assert all(row["separable"] == "cannot tell" for row in answer.findings)
    assert all(row["prior"] == row["here"] for row in answer.findings)
    assert [caution["kind"] for caution in answer.cautions] == ["confounding"]


def test_events_of_the_record_are_counted(answer: Answer) -> None:
    # the small record holds five mornings of mowing, one of rolling, one of sand
    assert {r["n_events"] for r in rows(answer, "mow", "green_speed").values()} == {5}
    assert {r["n_events"] for r in rows(answer, "roll", "green_speed").values()} == {1}
    assert {r["n_events"] for r in rows(answer, "topdress", "green_speed").values()} == {1}
    assert {r["n_events"] for r in rows(answer, "brush", "green_speed").values()} == {0}


def test_what_cannot_be_told_names_the_comparison_that_would(answer: Answer) -> None:
    (gap,) = answer.gaps
    assert {"mow", "roll", "topdress"} <= set(gap["practices"])
    assert "mow, roll, topdress" in gap["text"] and "Leave green 1 out" in gap["text"]
    assert gap["reading"]["kind"] == "roll_distance"


def test_every_effect_names_its_source(answer: Answer) -> None:
    keys = {source["key"] for source in answer.sources}
    assert {"effect.roll.green_speed", "effect.roll.half_life"} <= keys


def test_asked_twice_it_says_the_same(small: Store, answer: Answer) -> None:
    assert desk.effects(small, on=DAY).findings == answer.findings
