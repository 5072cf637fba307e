"""What is noticed: against other days, between greens, and what a level asked for moves."""

from __future__ import annotations

import pytest

from greenwright.base.estimate import normal_estimate
from greenwright.desk.golfing.asked import Asked
from greenwright.desk.golfing.levels import Levels
from greenwright.desk.golfing.noticing import notice_rows
from tests.desk.golfing.made import Compared, trueness

SCORE = {"quantity": "smoothness", "unit": "score", "means": (7.0, 7.2, 6.8), "steps": (-1.5, 0.0)}


def levels(**given: float) -> Levels:
    speed = normal_estimate(3.0, 0.05, "m")
    return Levels(speed, None, trueness().course, 100.0, given)


def rows(one: Compared, **given: float) -> dict[tuple[str, str], dict]:
    found = notice_rows({one.quantity: one}, levels(**given))
    return {(r["green"], r["about"]): dict(r) for r in found}


def test_a_course_has_its_four_rows_and_each_green_its_own() -> None:
    found = rows(Compared())
    assert list(found) == [
        ("course", "yesterday"),
        ("course", "lately"),
        ("1", "others"),
        ("2", "others"),
        ("3", "others"),
        ("course", "next green"),
        ("course", "consistency"),
    ]
    for row in found.values():
        assert row["what"] == "notice" and row["quantity"] == "green_speed"
        assert row["chance"] == row["estimate"].value
        assert row["sources"] == ["notice.speed_threshold", "notice.speed_spread"]
        assert row["distance_m"] is row["player"] is row["chance_perfect"] is None


def test_half_notice_seven_inches() -> None:
    found = rows(Compared(steps=(0.1778, -0.1778), sd=1e-6))
    for about in ("yesterday", "lately"):
        # the elicited threshold: half of players notice 7 in, either way
        assert found["course", about]["chance"] == pytest.approx(0.5, abs=0.03)
        assert found["course", about]["difference"].unit == "m"


def test_a_great_difference_is_noticed_and_none_is_not() -> None:
    found = rows(Compared(steps=(0.6, 0.0)))
    assert found["course", "yesterday"]["chance"] > 0.99
    assert found["course", "lately"]["chance"] < 0.05


def test_scores_have_a_curve_of_their_own() -> None:
    found = rows(Compared(**SCORE, sd=1e-6))
    # the elicited threshold of smoothness: half notice 1.5 points
    assert found["course", "yesterday"]["chance"] == pytest.approx(0.5, abs=0.05)
    assert found["course", "yesterday"]["sources"][0] == "notice.smoothness_threshold"


def test_the_odd_green_and_its_worst_neighbour_are_found() -> None:
    found = rows(Compared(means=(3.0, 3.5, 3.0), sd=1e-3))
    chances = {green: found[green, "others"]["chance"] for green in "123"}
    # by hand: 0.5 m from the others, against 0.25 m
    assert chances["2"] > 0.97 > chances["1"] == pytest.approx(chances["3"], abs=0.01)
    step = found["course", "next green"]
    assert step["difference"].value == pytest.approx(0.5, abs=0.01) and step["chance"] > 0.9
    assert set(step["worst"]["greens"]) <= {"1", "2", "3"} and "2" in step["worst"]["greens"]


def test_consistency_says_sd_range_and_pair() -> None:
    row = rows(Compared())["course", "consistency"]
    assert set(row["consistency"]) == {"sd", "range", "pair"} and "difference" not in row


def test_greens_out_of_play_are_left_out() -> None:
    found = rows(Compared(in_play=(True, False, True)))
    assert [green for green, about in found if about == "others"] == ["1", "3"]
    alone = rows(Compared(in_play=(True, False, False)))
    assert list(alone) == [("course", "yesterday"), ("course", "lately")]


def test_a_level_asked_for_moves_the_course_but_not_its_greens() -> None:
    plain, moved = rows(Compared()), rows(Compared(), speed_m=3.4)
    # by hand: yesterday the course was at 3.0 - 0.2 m, lately at 3.0 - 0.1 m
    assert moved["course", "yesterday"]["difference"].value == pytest.approx(0.6, abs=2e-3)
    assert moved["course", "lately"]["difference"].value == pytest.approx(0.5, abs=2e-3)
    for key in plain:
        if key[1] not in ("yesterday", "lately"):
            assert moved[key]["chance"] == plain[key]["chance"]


def test_a_level_of_another_quantity_moves_nothing() -> None:
    plain, moved = rows(Compared()), rows(Compared(), smoothness=2.0, trueness_t=1e-5)
    assert plain == moved


def test_the_same_every_time() -> None:
    assert rows(Compared()) == rows(Compared())


def test_options_and_levels_share_their_names() -> None:
    assert {"speed_m", "smoothness"} <= set(Asked.__dataclass_fields__)
