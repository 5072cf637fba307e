"""Cells of worlds against the bars that learning is held to; a few small worlds on each run.

``make calibrate`` plays eight large worlds of the main cells; the whole table is printed by
``python -m tests.calibration.learning_cells``.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.calibration.harness import Cell, Row, Summary, hard_enough, play, summary
from tests.calibration.learning_cells import CELLS, lines, main, played

BY_NAME = {cell.name: cell for cell in CELLS}
WORLDS = 8


def small(name: str) -> Cell:
    """A cell's world on 9 greens and 260 days."""
    cell = BY_NAME[name]
    world = replace(cell.world, greens=9, days=260)
    jump = world.surface.jump
    if jump is not None:
        few = tuple(g for g in jump.greens if g < 9)
        world = replace(world, surface=replace(world.surface, jump=replace(jump, greens=few)))
    return replace(cell, world=world)


@pytest.mark.parametrize(
    ("name", "sign"),
    [
        pytest.param("shade by moisture", "own slope on wet", marks=pytest.mark.long),
        ("some greens step", "unit step"),
        pytest.param("instrument step", "step", marks=pytest.mark.long),
        pytest.param("heavy tails", "tails", marks=pytest.mark.long),
    ],
)
def test_a_wrong_model_is_told_by_what_is_wrong_with_it(name: str, sign: str) -> None:
    assert sign in play(small(name), seed=52).misfits


def test_a_roll_that_does_nothing_is_not_said_to_work() -> None:
    one = play(small("sham roll, need"), seed=52)
    assert one.truth == 0.0 and one.prior > 0.1
    assert one.holds and not one.works
    assert one.moved > 0.5  # at least half of the way from what is believed elsewhere


def test_the_table_names_what_it_prints(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["2", "--cell", "no such cell"])
    assert "invalid choice" in capsys.readouterr().err
    head, *rest = lines([], 1)
    assert rest == [] and all(word in head for word in ("means", "recorded", "lags", "power"))


# --- make calibrate -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def cells() -> dict[str, list[Row]]:
    return {}


def told(cells: dict[str, list[Row]], name: str) -> Summary:
    if name not in cells:
        cells[name] = played(BY_NAME[name], WORLDS)
    return summary(cells[name])


@pytest.mark.long
def test_under_a_coin_it_is_found_told_and_plain(cells: dict[str, list[Row]]) -> None:
    found = told(cells, "coin")
    assert abs(found.bias) <= 0.03
    assert found.holds >= 7 / 8
    assert found.verdicts["yes"] >= 0.9 and found.power >= 0.8


@pytest.mark.long
def test_the_need_driven_worlds_are_a_trap_and_are_seen_through(
    cells: dict[str, list[Row]],
) -> None:
    found = told(cells, "need")
    assert hard_enough(cells["need"])
    assert abs(found.bias) <= 0.06
    assert found.holds >= 7 / 8
    assert found.width <= 1.5


@pytest.mark.long
def test_strong_need_is_found_or_not_told(cells: dict[str, list[Row]]) -> None:
    found = told(cells, "strong")
    assert abs(found.bias) <= 0.1
    assert found.holds >= 7 / 8


@pytest.mark.long
@pytest.mark.parametrize("name", [cell.name for cell in CELLS if not cell.right])
def test_wrong_worlds_are_told(cells: dict[str, list[Row]], name: str) -> None:
    assert told(cells, name).misfit >= 0.7


@pytest.mark.long
def test_right_worlds_seldom_are(cells: dict[str, list[Row]]) -> None:
    for name in ("coin", "need", "strong"):
        told(cells, name)
    rows = [row for name in ("coin", "need", "strong") for row in cells[name]]
    # of 24, one in twenty and twice its sd
    assert sum(bool(row.misfits) for row in rows) <= 3


@pytest.mark.long
@pytest.mark.parametrize("name", ["prior far too high", "prior far too low"])
def test_a_wrong_prior_is_left_at_least_half_way_by_500_sets(
    cells: dict[str, list[Row]], name: str
) -> None:
    found = told(cells, name)
    assert found.sets < 560
    assert found.moved >= 0.5
