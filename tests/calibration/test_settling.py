"""A comparison does what was foretold of it: the doubt left, the verdict, how often it is clear.

Invented courses whose group manager goes by the look of the greens, played on by the simulator,
which shares no code with what proposed the comparison. ``python -m
tests.calibration.settled_worlds 16`` plays many.
"""

from __future__ import annotations

import pytest

from tests.calibration.settled_worlds import TRUTH, Settled, settle, told


@pytest.fixture(scope="module")
def worlds() -> list[Settled]:
    return [settle(seed, "double_cut") for seed in (1, 2)]


def test_the_doubt_left_is_the_doubt_foretold(worlds: list[Settled]) -> None:
    # Scales are learned again and the toss falls as it falls: within 15 %.
    assert [w.ratio for w in worlds] == pytest.approx([1.0] * len(worlds), abs=0.15)


def test_what_was_in_part_becomes_a_yes(worlds: list[Settled]) -> None:
    for world in worlds:
        assert world.before != "yes" and world.after == "yes"
        assert world.trial.chance_yes == 1.0


def test_what_the_toss_finds_holds_the_truth(worlds: list[Settled]) -> None:
    for world in worlds:
        assert abs(world.mean - TRUTH[world.act]) < 2.6 * world.sd


def test_foretold_and_found_stand_on_one_line(worlds: list[Settled]) -> None:
    line = told(worlds)
    assert line.startswith("double_cut, 2 worlds") and "yes 1.00 of foretold 1.00" in line
