"""The engine under its own model: ranks of the truth are uniform, and a fault would be seen.

``python -m tests.calibration.own_worlds 500`` is the long run of it.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.calibration.own_worlds import evenness, held, ranks, table

WORLDS = 120


@pytest.fixture(scope="module")
def found() -> dict[str, np.ndarray]:
    return ranks(range(WORLDS))


@pytest.mark.parametrize("what", ["effect", "now", "ahead", "half-life", "departure"])
def test_ranks_of_the_truth_are_uniform(found: dict[str, np.ndarray], what: str) -> None:
    assert min(evenness(found[what])) > 0.005
    # 90 % intervals: with 120 worlds the share that holds the truth has sd 2.7 %.
    assert abs(held(found[what]) - 0.9) < 0.09


def test_a_planted_fault_is_caught(found: dict[str, np.ndarray]) -> None:
    # Half the width holds 59 % (normal table: within 0.82 sd).
    assert abs(held(found["narrow"]) - 0.9) > 0.2
    assert max(evenness(found["narrow"])) < 0.005


def test_half_lives_are_drawn_smoothly(found: dict[str, np.ndarray]) -> None:
    """Draws that took the few points' own values left whole tenths of the ranks empty."""
    counts = np.histogram(found["half-life"], bins=10, range=(0, 1))[0]
    assert counts.min() > 0


def test_evenness_knows_even_ranks_from_others() -> None:
    rng = np.random.default_rng(4)
    assert min(evenness(rng.random(500))) > 0.01
    assert max(evenness(rng.beta(2, 2, 500))) < 1e-6
    # Biased by a quarter: squares of even ranks.
    assert max(evenness(rng.random(500) ** 1.5)) < 1e-4


def test_the_table_names_every_quantity(found: dict[str, np.ndarray]) -> None:
    lines = table(found).splitlines()
    assert len(lines) == 1 + len(found)
    assert all(line.startswith(what) for line, what in zip(lines[1:], found, strict=True))
