"""Rows of the question effects: what the issue's horizons want, and that they claim nothing."""

from __future__ import annotations

import pytest

from greenwright.respond import responses
from greenwright.respond.rows import effect_rows
from tests.respond.test_responses import did, record

WORK = (
    did("roll", 1),
    did("roll", 1, green="1"),
    did("roll", 3),
    did("mow", 2, passes=2.0, amount=4.0),
)


@pytest.fixture(scope="module")
def rows():  # type: ignore[no-untyped-def]
    held = record(*WORK)
    return effect_rows(held, responses(held, seed=1))


def test_the_horizons_that_were_promised(rows) -> None:  # type: ignore[no-untyped-def]
    held = {(r.practice, r.outcome, r.horizon_days) for r in rows}
    for practice, horizons in {
        "roll": (0, 1, 2), "mow": (7,), "topdress": (2, 7, 14), "verticut": (2, 7), "brush": (1,),
    }.items():  # fmt: skip
        for outcome in ("green_speed", "smoothness"):
            for horizon in horizons:
                assert (practice, outcome, horizon) in held
    assert ("mow", "quality", 7) in held


def test_nothing_is_claimed_that_was_not_learned(rows) -> None:  # type: ignore[no-untyped-def]
    for row in rows:
        assert row.here == row.prior and row.prior.basis == "prior"
        assert (row.share_local, row.separable) == (0.0, "cannot tell")
        assert "No effect has been learned" in row.reason
        assert row.sources


def test_events_are_days_of_the_record(rows) -> None:  # type: ignore[no-untyped-def]
    # by hand: rolls on two days; one double cut; no sand
    counts = {(r.practice, r.dose_unit): r.n_events for r in rows}
    assert counts["roll", "pass"] == 2
    assert counts["mow", "extra cut"] == 1
    assert counts["topdress", "L/m2"] == 0


def test_doses_are_the_reference_ones(rows) -> None:  # type: ignore[no-untyped-def]
    doses = {(r.practice, r.horizon_days): (r.dose, r.dose_unit) for r in rows}
    assert doses["roll", 0] == (1.0, "pass")
    assert doses["mow", 7] == (-0.25, "mm")
    assert doses["topdress", 14] == (0.5, "L/m2")


def test_a_roll_fades(rows) -> None:  # type: ignore[no-untyped-def]
    rolls = [r.here.value for r in rows if (r.practice, r.outcome) == ("roll", "green_speed")]
    # common practice: gone within 48 hours; 10 % may be left of 9 in (0.23 m)
    assert rolls[0] > 0.2 and rolls == sorted(rolls, reverse=True) and rolls[2] < 0.05


def test_lower_is_worse_for_the_turf(rows) -> None:  # type: ignore[no-untyped-def]
    row = next(r for r in rows if r.outcome == "quality")
    # published: -0.4 to -1.0 rating per mm lower, middle 0.7: 0.175 for 0.25 mm
    assert row.here.value == pytest.approx(-0.175, abs=1e-3)
