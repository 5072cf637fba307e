"""What is said: rows by topic, rounds, surveys kept apart, and a rule carried by weak evidence."""

from __future__ import annotations

import pytest

from greenwright.base.evidence import look_up
from greenwright.base.values import Snapshot
from greenwright.desk.golfing.asked import Asked
from greenwright.desk.golfing.levels import levels
from greenwright.desk.golfing.saying import complaint_rows, remarks
from greenwright.golfers.tally import TOPICS
from tests.desk.golfing.made import before, played, record, said, scored, smoothness


def rows(held: Snapshot, score: float | None = 7.0, **options: float) -> dict[str, dict]:
    one = None if score is None else smoothness(score)
    met = levels(held, {} if one is None else {"smoothness": one}, Asked(**options))
    found = complaint_rows(remarks(held, one, met), met.rounds)
    return {r["about"]: dict(r) for r in found if not r["asked"]}


def test_every_topic_has_a_row_with_its_reasons() -> None:
    found = rows(record())
    assert list(found) == ["any", *TOPICS]
    for row in found.values():
        assert row["what"] == "complaints" and row["estimate"].unit == "1"
        assert row["prior"].basis == "prior" and 0 <= row["chance"] <= 1
        assert row["related"] == "cannot tell" and row["reason"] and row["rounds"] == 100
        assert all(look_up(key).grade for key in row["sources"])
    assert "praise.base_rate" in found["praise"]["sources"]
    assert "praise.base_rate" not in found["any"]["sources"]


def test_a_silent_record_leaves_the_trades_rule() -> None:
    row = rows(record())["any"]
    assert row["estimate"].value == pytest.approx(row["prior"].value, rel=0.1)
    assert row["share_local"] == pytest.approx(0.0, abs=1e-6)


def test_more_rounds_and_a_worse_surface_bring_more_remarks() -> None:
    held = record()
    few, many = (rows(held, rounds=r)["any"]["estimate"].value for r in (50, 100))
    assert many == pytest.approx(2 * few)
    smooth, rough = (rows(held, score=s)["bumpy"]["estimate"].value for s in (8.5, 6.0))
    assert rough > 2 * smooth
    asked = rows(held, score=8.5, smoothness=6.0)["bumpy"]["estimate"].value
    assert asked == pytest.approx(rough, rel=0.25)


def test_no_rounds_no_remarks() -> None:
    row = rows(record(), rounds=0)["any"]
    assert row["estimate"].value == 0 and row["chance"] == 0


def test_a_course_that_writes_everything_down_is_learnt_from() -> None:
    days = range(1, 120)
    held = record(
        rounds=tuple(played(before(n), 60) for n in days),
        feedback=tuple(said(before(n), "slow", 1 if n % 2 else 0) for n in days),
        readings=tuple(scored(before(n), 7.0) for n in days),
    )
    found = rows(held)
    # by hand: a remark every second day of 60 rounds, 0.5 a day; the rule alone expects fewer
    assert found["slow"]["estimate"].value == pytest.approx(0.5, abs=0.2)
    assert found["slow"]["estimate"].value > 3 * found["slow"]["prior"].value
    assert found["slow"]["share_local"] > 0.5
    assert found["slow"]["n_days"] == len(days) and found["slow"]["n_remarks"] == 60


def test_what_was_said_long_ago_or_later_is_not_heard() -> None:
    old = record(feedback=tuple(said(before(n), "slow", 5) for n in range(400, 430)))
    assert rows(old)["slow"]["n_days"] == 0


def test_surveys_are_kept_apart() -> None:
    held = record(
        feedback=(
            said(before(5), "bumpy", 8, asked=True, n_asked=20),
            said(before(200), "fast", 8, asked=True, n_asked=20),
        )
    )
    met = levels(held, {}, Asked())
    found = complaint_rows(remarks(held, None, met), met.rounds)
    asked = [row for row in found if row["asked"]]
    assert [(row["about"], row["n_asked"]) for row in asked] == [("bumpy", 20)]
    # by hand: 8 of 20 say so, drawn a little to the middle
    assert asked[0]["estimate"].value == pytest.approx(0.4, abs=0.03)
    assert rows(held, score=None)["bumpy"]["n_remarks"] == 0
